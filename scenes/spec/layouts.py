"""What a spec file says of layouts: other furnishings of the same room, each with the top level's besides."""

from __future__ import annotations

from typing import Final

from pydantic import Field

from scenes.spec.equipment import Camera, Display
from scenes.spec.occupants import Area, SeatGroup, Standing
from scenes.spec.shell import Obstacle, Table
from scenes.spec.values import MOST_PARTS, Written

MOST_LAYOUTS: Final = 12
"""One set of arrays serves them all, and each is judged by itself."""

FURNISHING: Final = ("tables", "seats", "standing", "areas", "obstacles", "cameras", "displays")
"""The keys of a layout; the same at the top level belong to every layout."""


class Layout(Written):
    """Another furnishing of the same room: what is here besides what the top level says."""

    tables: tuple[Table, ...] = ()
    seats: tuple[SeatGroup, ...] = ()
    standing: tuple[Standing, ...] = ()
    areas: tuple[Area, ...] = Field((), max_length=MOST_PARTS)
    obstacles: tuple[Obstacle, ...] = Field((), description="a wall that divides the room, for instance")
    cameras: tuple[Camera, ...] = ()
    displays: tuple[Display, ...] = ()


Path = tuple[str | int, ...]


def path_in(path: Path, layout: str, shared: dict[str, int]) -> Path:
    """Where in the file a path is of the room in one layout, whose lists begin with the top level's `shared` ones."""
    key = path[0] if path else ""
    if key in FURNISHING and len(path) > 1 and isinstance(path[1], int) and path[1] >= shared[str(key)]:
        return ("layouts", layout, key, path[1] - shared[str(key)], *path[2:])
    return ("layouts", layout) if path == ("seats",) else path


UP: Final = "-up"
"""Behind the id of somebody who also stands up."""


def id_in(id: str, layout: str) -> str:
    """What a thing of one layout is called beside those of others: `S1 (theatre)`, standing up `S1 (theatre)-up`."""
    up = UP if id.endswith(UP) else ""
    return f"{id.removesuffix(UP)} ({layout}){up}"


def id_out(id: str, layout: str | None) -> str:
    """What it is called in its layout; a thing of none keeps its id."""
    if layout is None:
        return id
    bare, ending = id.removesuffix(UP), id_in("", layout)
    return bare.removesuffix(ending) + id[len(bare) :] if bare.endswith(ending) else id


def is_in(id: str, layout: str) -> bool:
    """Whether a thing is that layout's, by what it is called where all of them are at hand."""
    return id_out(id, layout) != id
