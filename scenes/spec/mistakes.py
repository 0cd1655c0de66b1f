"""Mistakes of a spec file as data: where, which one, what was found, what is allowed. Words are made elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Final, Literal

from geometry.records import record

MOST_TOLD: Final = 200  # mistakes listed at once; a file with more has one cause

Path = tuple[str | int, ...]

Value = str | int | float | tuple[str, ...]
"""What a mistake carries: a text of the file or of YAML, a count, a number, metres (its name ends in _m), names."""

MistakeCode = Literal[
    # the file
    "no-file", "is-folder", "not-a-file", "no-permission", "unreadable", "file-too-large", "not-utf-8", "not-unicode",
    "control-character", "empty-file", "not-keys", "more-mistakes",
    # YAML
    "second-document", "too-deep", "bad-syntax", "tab", "tag", "alias-unknown", "alias-inside",
    "aliases-too-many", "repeated-key", "key-not-text", "merge",
    # a file of profiles
    "library-name", "library-no-folder", "library-absolute", "library-missing", "library-bad-name",
    "library-ending", "library-not-one", "profiles-alone",
    # keys and what they hold
    "missing-key", "unknown-key", "one-of", "needs-keys", "needs-mapping", "needs-list", "too-few", "too-many",
    "not-text", "text-unquoted", "text-empty", "text-too-long", "text-unprintable", "true-or-false", "date",
    "version", "shape", "number", "number-above", "whole-number", "other",
    "length", "length-endless", "length-comma", "length-feet", "length-inches", "length-too-long", "mass",
    "length-negative", "length-too-small", "length-too-thick",
    "order-mouth", "order-band", "order-reach", "order-percentiles",
    # keys that go together or not
    "outline-or-size", "outline-and-size", "mouth-and-population", "needs-population", "seat-standing", "slump-standing",
    "pitch-and-count", "facing-and-towards",
    "octaves", "noise-curve", "noise-curve-range", "noise-twice", "reverberation-twice", "surfaces-too-large",
    "facings",
    "centre-flush", "hangs-elsewhere", "centre-above-body", "hole-as-wide-as-body",
    "ring-on-one-point", "spread-one-point", "spread-off-body", "height-and-drop",
    "spray-elsewhere", "from-above-to",
    "rule-change-nothing", "rule-change-both", "table-ends", "table-narrow", "slope-order", "part-shape",
    "part-height", "area-shape", "area-size",
    # what must agree
    "id-taken", "id-made", "id-like-layout", "talker-id-taken", "table-twice", "unknown-name", "no-names",
    "structure-low", "no-wall",
    "opening-past-wall", "opening-too-high", "door-sill", "ceiling-kind", "above-ceiling", "below-floor",
    "part-outside", "part-overlaps", "part-above-structure", "slope-flat", "flush-slope",
    "no-talker", "too-many-talkers", "outside-room", "seat-outside", "talker-outside", "talker-above-ceiling",
    "flush-height", "height-range", "drop-range", "corner-twice", "outline-closed", "outline-crosses",
    "outline-flat", "line-is-point", "area-outside", "hole-outside", "hole-overlaps", "women-by-name",
    # what a command needs
    "no-array", "no-position", "no-band", "array-shared",
    # a project
    "room-and-rooms", "room-file-or-use", "room-file-and-use", "change-of-file", "number-twice",
    "no-template", "no-templates",
    "file-name", "file-outside", "file-missing", "file-ending", "file-not-one",
    # what was measured
    "measured-elsewhere", "measured-no-column", "measured-nothing", "measured-design",
]  # fmt: skip
"""Which mistake it is; each has its words in viz/words/english_mistakes.py."""

MisreadAs = Literal["truth", "date", "number", "endless"]
"""What YAML takes a plain scalar for that looks like something else to people."""


@record(frozen=True, slots=True)
class Found:
    """What stands in the file: a text as written; a list or a mapping by its size and its keys; or nothing."""

    kind: Literal["text", "list", "mapping", "nothing"]
    text: str = ""
    count: int = 0


NOTHING: Final = Found("nothing")


@record(frozen=True, slots=True)
class Inside:
    """Where in a file that the spec names a mistake is; line and column None where there is no text."""

    file: str
    line: int | None
    column: int | None
    path: str


@record(frozen=True, slots=True)
class Mistake:
    """One mistake of a spec file: line and column from 1, the key's path, which it is, found and allowed.

    Line and column are None, both, where there is no text to stand in: the file could not be read.
    `allowed` are the values its words need, by name; `nearest` is the known name that may have been meant.
    """

    line: int | None
    column: int | None
    path: str
    code: MistakeCode
    found: Found = NOTHING
    allowed: tuple[tuple[str, Value], ...] = ()
    nearest: str | None = None
    inside: Inside | None = None


def mistake_at(
    line: int | None,
    column: int | None,
    path: str,
    code: MistakeCode,
    found: str | Found = NOTHING,
    *,
    nearest: str | None = None,
    **allowed: Value,
) -> Mistake:
    """A mistake at a place of the text; `allowed` by name."""
    what = found if isinstance(found, Found) else Found("text", shown(found))
    return Mistake(line, column, path, code, what, tuple(sorted(allowed.items())), nearest)


class SpecMistakes(Exception):
    """All mistakes of one file, in the order of its lines. Nothing was made of the file.

    `units` are those in which lengths among the mistakes are written.
    """

    exit_status = 2

    def __init__(self, file: str, mistakes: Iterable[Mistake], units: str = "m") -> None:
        self.file = shown(file, 300)
        self.units = units
        every = sorted(set(mistakes), key=lambda one: (one.line or 0, one.column or 0, one.path, one.code))
        if len(every) > MOST_TOLD:
            last, count = every[MOST_TOLD - 1], len(every) - MOST_TOLD
            every[MOST_TOLD:] = [mistake_at(last.line, last.column, "", "more-mistakes", number=count)]
        self.mistakes: tuple[Mistake, ...] = tuple(every)
        super().__init__(file, self.mistakes, units)

    def __str__(self) -> str:
        return "\n".join(
            f"{self.file}:{one.line}:{one.column} {one.path} {one.code}" for one in self.mistakes
        )


WriteRefusal = Literal[
    "unreadable",
    "elsewhere",
    "more of an array",
    "more than arrays",
    "not added",
    "read-only",
    "changed since",
    "changed since it was written",
    "nothing to undo",
    "not our copy",
]
"""Why a spec's file is left as it is."""


class WriteRefused(ValueError):
    """A change that is not written into the spec's file: why, and the array's id or the file's name."""

    exit_status = 2

    def __init__(self, name: WriteRefusal, about: str) -> None:
        super().__init__(name, about)
        self.name, self.about = name, about


def within(mistake: Mistake, line: int, column: int, file: str) -> Mistake:
    """A mistake of a file that the spec names, told at the place where the spec names it."""
    inside = Inside(file, mistake.line, mistake.column, mistake.path)
    path = mistake.path if mistake.path.startswith("profiles") else "profiles"
    return replace(mistake, line=line, column=column, path=path, inside=inside)


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


def nearest_of(found: str, known: Iterable[str]) -> str | None:
    """The known word that is near the one found; None if there is none."""
    from difflib import get_close_matches  # 3 ms that a file without mistakes need not wait for

    near = get_close_matches(found.strip("\"'"), list(known), n=1, cutoff=0.6)
    return near[0] if near else None
