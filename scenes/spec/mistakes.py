"""Mistakes of a spec file: where, what was found, what is allowed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

MOST_TOLD: Final = 200  # mistakes told at once; a file with more has one cause


Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Mistake:
    """One mistake of a spec file: line and column from 1, the key's path, what was found, what is allowed.

    Line and column are None, both, where there is no text to stand in: the file could not be read.
    """

    line: int | None
    column: int | None
    path: str
    found: str
    allowed: str


class SpecMistakes(Exception):
    """All mistakes of one file, in the order of its lines. Nothing was made of the file."""

    exit_status = 2

    def __init__(self, file: str, mistakes: Iterable[Mistake]) -> None:
        self.file = file
        every = sorted(set(mistakes), key=lambda one: (one.line or 0, one.column or 0, one.path, one.found))
        if len(every) > MOST_TOLD:
            last = every[MOST_TOLD - 1]
            more = f"{len(every) - MOST_TOLD} more mistakes at least"
            every[MOST_TOLD:] = [Mistake(last.line, last.column, "", more, "these put right first")]
        self.mistakes: tuple[Mistake, ...] = tuple(every)
        super().__init__(file, self.mistakes)

    def __str__(self) -> str:
        file = shown(self.file, 300)
        return "\n".join(
            f"{file}: {one.found}; allowed: {one.allowed}"
            if one.line is None
            else f"{file}:{one.line}:{one.column}  {one.path or '(the file)'}  "
            f"found {one.found}, allowed: {one.allowed}"
            for one in self.mistakes
        )

    def as_json(self) -> dict[str, Any]:
        """The object of the format `overtable/mistakes/1`, ready for `json.dumps`."""
        return {
            "format": "overtable/mistakes/1",
            "file": shown(self.file, 300),
            "mistakes": [
                {
                    "line": one.line,
                    "column": one.column,
                    "path": one.path,
                    "found": one.found,
                    "allowed": one.allowed,
                }
                for one in self.mistakes
            ],
        }


def path_text(path: Path) -> str:
    """A path as people write it: `arrays[0].height`; a key that is no plain word stands in quotes."""
    text = ""
    for key in path:
        if isinstance(key, int):
            text += f"[{key}]"
        elif re.fullmatch(r"[\w+-]+( [\w+-]+)*", key):
            text += f".{key}" if text else key
        else:
            text += f'["{shown(key, 40)}"]'
    return text


def shown(text: str, longest: int = 60) -> str:
    """Text fit for a terminal and for JSON: one line, cut at `longest`, unprintable characters escaped."""
    cut = text if len(text) <= longest else text[: longest - 1] + "…"
    return "".join(
        c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode("ascii") for c in cut
    )


def nearest_of(found: str, known: list[str]) -> str:
    """`; did you mean …?` where a known word is near the one found; else nothing."""
    from difflib import get_close_matches  # 3 ms that a file without mistakes need not wait for

    near = get_close_matches(found.strip("\"'"), known, n=1, cutoff=0.6)
    return f"; did you mean {shown(near[0], 40)}?" if near else ""
