"""Options that several commands share, and how their values are read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from viz.commands.errors import WrongUse

# Modules that import pydantic are imported inside the commands: where cyclopts finds it imported, it has pydantic
# check each argument once more and builds a schema for it, 15 ms of a cold `check`.

Json = Annotated[bool, Parameter(name="--json", negative="", help="Print only JSON.")]
Force = Annotated[
    bool,
    Parameter(
        negative="",
        help="Replace existing files, even those overtable did not write or that were changed since.",
    ),
]
Output = Annotated[Path, Parameter(name=["-o", "--output"])]
Paper = Literal["A4", "A3", "Letter", "Tabloid"]
Layout = Annotated[
    str | None,
    Parameter(
        help="Which layout, where the room has several. Left out: the first. The verdict is that of all."
    ),
]
UsualPaper = Annotated[
    Paper | None,
    Parameter(
        help="Paper size. Left out: A3, or Tabloid for a file in feet or inches. The scale is chosen to fit."
    ),
]
Size = Annotated[str, Parameter(help="Pixels across and down, such as 2400x1500.")]


def require_ending(path: Path, *endings: str) -> None:
    """Raises WrongUse if a file's name has none of these endings (".pdf")."""
    if path.suffix.lower() not in endings:
        from viz.words.locale import Locale

        allowed = Locale("m").either(endings)
        if not path.suffix:
            raise WrongUse("use.no ending", path=path, endings=allowed)
        raise WrongUse("use.ending", path=path, ending=path.suffix, endings=allowed)


RUNGS = 4
"""A ladder goes up to so many arrays unless asked otherwise."""


def rungs_of(given: tuple[int, ...] | None) -> int | None:
    """How many rungs a ladder is asked to have by the numbers of --ladder; None without one. Raises WrongUse."""
    from scenes.findings.ladder import MOST_RUNGS

    if given is None:
        return None
    if len(given) > 1 or not all(1 <= count <= MOST_RUNGS for count in given):
        raise WrongUse("place.ladder", text=" ".join(str(count) for count in given), most=MOST_RUNGS)
    return given[0] if given else RUNGS


def day_of(text: str | None) -> str | None:
    """The date of --date as year-month-day, or None. Raises WrongUse."""
    import datetime

    if text is None:
        return None
    try:
        if len(text) != 10:
            raise ValueError
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise WrongUse("use.date", text=repr(text)) from None


def size_of(text: str) -> tuple[int, int]:
    """The pixels across and down of --size. Raises WrongUse."""
    across, cross, down = text.lower().replace("×", "x").partition("x")
    if not cross or not across.strip().isdigit() or not down.strip().isdigit():
        raise WrongUse("use.size", text=repr(text))
    return int(across), int(down)
