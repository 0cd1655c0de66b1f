"""What imports of models and of drawings share: their options, and how a spec names files and profiles."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from geometry.records import record
from viz.commands.errors import WrongUse


@Parameter(name="*")
@record(frozen=True)
class DrawingOptions:
    """Options of a drawing (DXF)."""

    at: Annotated[str | None, Parameter(help="A point in the room, X,Y, in the drawing's own units.")] = None
    ceiling: Annotated[
        str | None, Parameter(help="The ceiling's height, such as 2.7m: a drawing has none.")
    ] = None
    structure: Annotated[str | None, Parameter(help="The underside of the structure, such as 3.3m.")] = None
    units: Annotated[
        str | None, Parameter(help="The drawing's unit, m, cm, mm, ft or in, if the guess is wrong.")
    ] = None
    layers: Annotated[
        Path | None, Parameter(help="A YAML file: walls, openings, rooms, each a list of layers.")
    ] = None
    cut: Annotated[
        list[str] | None,
        Parameter(negative="", help='A line that closes an open plan, "X,Y X,Y"; as often as needed.'),
    ] = None


@Parameter(name="*")
@record(frozen=True)
class RoomChoice:
    """Which rooms are written, and what of them the model does not say."""

    room: Annotated[str | None, Parameter(help="Write this room's spec: its number, name or GlobalId.")] = (
        None
    )
    all: Annotated[bool, Parameter(negative="", help="Write a spec for every room, into a folder.")] = False
    profiles: Annotated[Path | None, Parameter(help="A file of array profiles for the specs to name.")] = None
    profile: Annotated[
        str | None, Parameter(help="Which of these profiles the array has; not needed where there is one.")
    ] = None
    date: Annotated[
        str | None, Parameter(help="The day it was taken, year-month-day; today if left out.")
    ] = None


def profile_of(profiles: Path | None, profile: str | None) -> str | None:
    """The profile of the first array: the one asked for, or the file's only one. Raises WrongUse, SpecMistakes."""
    from scenes.spec.reading import read_profiles

    if profiles is None:
        if profile is not None:
            raise WrongUse("use.profile alone")
        return None
    names = list(read_profiles(profiles))
    if profile is None and len(names) == 1:
        return names[0]
    if profile not in names:
        if profile is None:
            raise WrongUse("use.profile", path=profiles, names=", ".join(names))
        raise WrongUse("use.no profile", path=profiles, names=", ".join(names), profile=profile)
    return profile


def relative(path: Path, folder: Path) -> str:
    """A path from the spec's folder, with forward slashes; the name alone where there is no way between."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:
        return path.name


def today() -> str:
    import datetime

    return datetime.date.today().isoformat()
