"""A placement moved onto tile centres or round numbers: each array to its best lattice place, with what it costs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Final, Literal

import numpy as np

from geometry.aims import ENOUGH_M, Aim, AimName, Margin
from geometry.arrangement import stands
from geometry.band import Floats
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads
from geometry.kind import ArrayKind, Position
from geometry.on_lattice import LatticePlaces
from geometry.patterns import Pattern
from geometry.problem import ArrangementProblem
from geometry.shapes import Point3
from geometry.snap import CeilingGrid, Lattice, Snapped, cost_of, snap
from scenes.findings.wishes import WishTold
from scenes.place.everybody import everybody
from scenes.place.placement import Placement, snapped_placement
from scenes.place.problem import (
    BARE,
    HOLDS,
    OFF_STEPS,
    Held,
    Kept,
    aim_of,
    bands_of,
    between_arrays,
    bodies_of,
    kind_of,
    seen_coverage,
    wished,
)
from scenes.place.refusals import PlaceRefused
from scenes.place.rows import FINE_IN_M, FINE_M, row_on_steps
from scenes.review.blockers import solids_before
from scenes.room.ceiling import ceiling_over_m, room_under, scene_under
from scenes.room.kinds import IN_A_TILE
from scenes.room.scene import Array, Device, Scene
from scenes.room.tiles import half_in_ceiling_m
from scenes.rules.apply import measures_of
from scenes.rules.constraints import constraints_for
from scenes.rules.measures.grid import Tees
from scenes.rules.surroundings import Site
from scenes.rules.under import region_over

WRITTEN_STEP_M = 0.01
WRITTEN_STEP_IN_M = 0.0254 / 2
"""Places are written in whole steps of this, in metric rooms and in the others."""
NEARBY: Final = ((0.05, 1), (0.2, 1), (0.6, 4), (1.5, 10), (math.inf, 10))
"""So far from where an array would be best, in metres, a place is sought, and in so many whole steps."""


def snap_scene(
    placed: Scene,
    to: Literal["tile"] | float,
    *,
    aim: AimName = "near",
    enough_m: float = ENOUGH_M,
    hold: tuple[Held, ...] = (),
    nearby: bool = False,
    kept: Kept = BARE,
) -> tuple[Scene, dict[str, Snapped]]:
    """The placed scene with every array on its best lattice place, and what was found for each.

    `to` is "tile" (centres of the lay-in grid; PlaceRefused without one) or a pitch in metres, which counts
    from the room's own origin on plan and down from the ceiling. Arrays move one after the other, each on
    the heads it serves now; one without a lattice place stays where it is (its Snapped has no place). What is
    held stays, and the lattice begins there. `nearby` looks near where it is first, and farther, in
    wider steps, only where no place is allowed there: for a pitch so fine that nobody minds which place it is.
    """
    if to == "tile" and any(room_under(placed.room, one.at_m).grid is None for one in placed.arrays):
        raise PlaceRefused("no grid")
    found: dict[str, Snapped] = {}
    for array in placed.arrays:
        rows, serving = _served(placed)
        index = [other.id for other in placed.arrays].index(array.id)
        heads = rows.take(np.flatnonzero(serving == index))
        if not len(heads):
            continue
        names, _ = bands_of(array, hold)
        kind = replace(
            kind_of(placed, array, hold, kept=kept),
            constraints=(
                *constraints_for(placed, array),
                *wished(placed, array, kept),
                *_stays_in_part(placed, array, to),
            ),
            blockers=solids_before(placed, array),
        )
        lattice = _lattice(placed, array, to, hold, nearby=nearby)
        here = Position(array.centre_m, names.index(str(array.band_name)))
        wish = aim_of(aim, enough_m)
        snapped = _with_spare(heads, kind, lattice, wish, here, nearby=nearby)
        found[array.id] = snapped
        if snapped.position is not None:
            x, y, z = snapped.position.at_m
            moved = replace(array, at_m=(x, y), height_m=z, band_name=names[snapped.position.band])
            placed = placed.with_arrays(tuple(moved if a.id == array.id else a for a in placed.arrays))
    return placed, found


def _snapped(
    heads: Heads, kind: ArrayKind, lattice: Lattice, wish: Aim, here: Position, *, nearby: bool
) -> Snapped:
    """The best place on the lattice; with `nearby` in the nearest box about the array that has any."""
    for box, steps in _boxes(kind.box, here.at_m) if nearby else ((kind.box, 1),):
        wider = lattice if lattice.pitch_m is None else replace(lattice, pitch_m=steps * lattice.pitch_m)
        snapped = snap(heads, replace(kind, box=box), wider, wish, instead=Margin(), free=here)
        if snapped.position is not None:
            break
    return snapped


def _with_spare(
    heads: Heads, kind: ArrayKind, lattice: Lattice, wish: Aim, here: Position, *, nearby: bool
) -> Snapped:
    """The best place on the lattice with a spare of every rule, of the tees too; where there is none, with less."""
    spare_m = kind.spare_m
    if spare_m <= 0:
        return _snapped(heads, kind, lattice, wish, here, nearby=nearby)
    off = lattice.off_tees_m
    wider = lattice if off is None else replace(lattice, off_tees_m=off + spare_m)
    snapped = _snapped(heads, kind, wider, wish, here, nearby=nearby)
    if snapped.position is not None:
        return replace(snapped, lattice=lattice)
    # what is left of a rule may be thinner than the lattice is wide
    left = tuple(one for one in kind.constraints if one.key != OFF_STEPS)
    for some in (kind, replace(kind, spare_m=0.0, constraints=left)):
        snapped = _snapped(heads, some, lattice, wish, here, nearby=nearby)
        if snapped.position is not None:
            return replace(snapped, lacks="spare")
    return snapped


def _served(placed: Scene) -> tuple[Heads, np.ndarray[Any, np.dtype[np.int64]]]:
    """Everybody, and which array serves each: areas, of which there is one array only, the first."""
    serving, areas = seen_coverage(placed).serving(), np.zeros(len(placed.areas), np.int64)
    return everybody(placed), np.concatenate([serving, areas])


def tile_lattice(scene: Scene, array: Array) -> Lattice:
    """The tile centres that an array like this one may be put on, under a ceiling that is one all over."""
    here = array if array.at_m is not None else replace(array, at_m=scene.heads[0].at_m)
    return _places_under(scene, here, None)


def _places_under(scene: Scene, array: Array, pitch_m: float | None) -> Lattice:
    """The places on plan under the part of the ceiling that the array hangs from: its tiles, or a pitch's nodes."""
    room = room_under(scene.room, array.at_m)
    return Lattice(
        pitch_m=pitch_m,
        outline_m=np.array(room.outline_m),
        grid=None if room.grid is None else CeilingGrid(room.grid.pitch_m, room.grid.origin_m),
        devices_m=tuple(_outline(device) for device in scene.overhead if device.kind in IN_A_TILE),
        passes_m=half_in_ceiling_m(array),
        off_tees_m=_off_tees_m(scene, array),
    )


def _stays_in_part(scene: Scene, array: Array, to: Literal["tile"] | float) -> tuple[Constraint, ...]:
    """Under a ceiling in parts: that a tile is one of the grid over the array, whose part it stays in."""
    if to != "tile" or not scene.room.parts:
        return ()
    here = region_over(scene.room, array.centre_m[:2])
    return (Constraint(("part",), lambda at: -here.outside_m(at), stop=True),)


def _lattice(
    scene: Scene, array: Array, to: Literal["tile"] | float, hold: tuple[Held, ...], *, nearby: bool
) -> Lattice:
    """The places that an array may be put on."""
    return replace(
        _places_under(scene, array, None if to == "tile" else float(to)),
        height_step_m=None if to == "tile" or array.profile.mount == "flush" else float(to),
        height_from_m=_heights_from_m(scene, array, hold, nearby=nearby),
        origin_m=array.centre_m[:2] if "at" in hold and nearby else (0.0, 0.0),
    )


def _boxes(box: SearchBox, at_m: Point3) -> Iterator[tuple[SearchBox, int]]:
    """The parts of a box near a place, growing, at last all of it; and the pitch there, in whole steps."""
    for reach, steps in NEARBY:
        low = tuple(max(a, b - reach) for a, b in zip(box.low_m, at_m, strict=True))
        high = tuple(min(a, b + reach) for a, b in zip(box.high_m, at_m, strict=True))
        yield SearchBox((low[0], low[1], low[2]), (high[0], high[1], high[2])), steps


def whole_step_m(units: str) -> float:
    """The step of places as they are written: whole centimetres, or half inches."""
    return WRITTEN_STEP_IN_M if units in ("ft", "in") else WRITTEN_STEP_M


def snap_placement(
    free: Placement,
    to: Literal["tile"] | float,
    *,
    nearby: bool = False,
    rooms: bool | None = None,
) -> Placement:
    """The placement with every array on its best lattice place, by the same aim, with the same held and wishes.

    `nearby` and PlaceRefused as `snap_scene`; `rooms`, whether it tells how far each array may move: left out, if
    `free` does.
    """
    hold: tuple[Held, ...] = tuple(name for name in HOLDS if name in free.held)
    in_row = _snapped_row(free, to, hold, nearby=nearby) if free.kept.rows else None
    scene, found = in_row or snap_scene(
        free.scene, to, aim=free.aim, enough_m=free.enough_m, hold=hold, nearby=nearby, kept=free.kept
    )
    if free.kept.rows and in_row is None:
        free = replace(free, wishes=tuple(_off_row(told) for told in free.wishes))
    if rooms is not None:
        free = replace(free, with_rooms=rooms)
    return snapped_placement(free, scene, found)


def _off_row(told: WishTold) -> WishTold:
    """The wish; that for a row is not kept by the places that are written."""
    return replace(told, reason="lattice") if told.wish == "row" and told.kept else told


def _snapped_row(
    free: Placement, to: Literal["tile"] | float, hold: tuple[Held, ...], *, nearby: bool
) -> tuple[Scene, dict[str, Snapped]] | None:
    """The row of the placement on the lattice, still a row, and what was found; None where none is allowed there.

    On whole steps spacing and height are whole; on tiles it is the row of tiles that covers the most with the
    largest margin.
    """
    scene, first = free.scene, free.scene.arrays[0]
    kind = kind_of(scene, first, hold, kept=free.kept)
    problem = ArrangementProblem(
        everybody(scene), (kind,), between_arrays(scene, (first,)), bodies_of(scene, (first,))
    )
    names, _ = bands_of(first, hold)
    here = [Position(array.centre_m, names.index(str(array.band_name))) for array in scene.arrays]
    aim: AimName = free.aim
    if to == "tile":
        (positions, judged), aim = _row_on_tiles(scene, first, problem, free.kept.rows), "margin"
    else:
        from_m = _heights_from_m(scene, first, hold, nearby=nearby)
        fine_m = FINE_IN_M if scene.units in ("ft", "in") else FINE_M
        by = aim_of(aim, free.enough_m)
        positions, judged = row_on_steps(problem, free.kept.rows, here, by, float(to), fine_m, from_m)
    if not positions:
        return None
    arrays, found = [], {}
    was, now = stands(problem, here), stands(problem, positions)
    for array, old, new in zip(scene.arrays, was, now, strict=True):
        x, y, z = new.position.at_m
        arrays.append(replace(array, at_m=(x, y), height_m=z, band_name=names[new.position.band]))
        lattice, cost = _lattice(scene, array, to, hold, nearby=nearby), None
        if old.figures is not None and new.figures is not None:
            cost = cost_of(new.position, new.figures, old.position, old.figures)
        found[array.id] = Snapped(lattice, aim, new.position, new.figures, judged, {}, cost)
    return scene.with_arrays(tuple(arrays)), found


def _row_on_tiles(
    scene: Scene, array: Array, problem: ArrangementProblem, rows: Sequence[Pattern]
) -> tuple[tuple[Position, ...], int]:
    """The row of tiles that covers the most with the largest margin, and of how many; empty where there is none."""
    tiles = tile_places(scene, array, problem)
    some = [] if tiles is None else [tiles.best_pattern(row) for row in rows]
    found = [(one, one.figures) for one in some if one is not None and one.figures is not None]
    if not found:
        return (), 0
    best, _ = max(found, key=lambda pair: (pair[1].covered, pair[1].margin_m))
    return best.positions, sum(one.evaluations for one, _ in found)


def tile_places(scene: Scene, array: Array, problem: ArrangementProblem) -> LatticePlaces | None:
    """The tile centres at whole steps of height for arrays like this one; None where there is no one grid."""
    grid = scene.room.grid
    if grid is None or scene.room.parts:
        return None
    box = problem.kinds[0].box
    origin = (grid.origin_m[0] + grid.pitch_m[0] / 2, grid.origin_m[1] + grid.pitch_m[1] / 2)
    plan, _ = tile_lattice(scene, array).places(box)
    steps = np.round((plan - np.array(origin)) / np.array(grid.pitch_m)).astype(np.int64).reshape(-1, 2)
    low, high = box.low_m[2], box.high_m[2]
    heights = np.array([high])
    if array.profile.mount != "flush" and high > low:
        step = whole_step_m(scene.units)
        top = ceiling_over_m(scene.room, (origin[0], origin[1])) if array.given_as == "drop" else 0.0
        first, last = math.ceil((low - top) / step - 1e-9), math.floor((high - top) / step + 1e-9)
        heights = top + step * np.arange(first, last + 1)
    pitch = (float(grid.pitch_m[0]), float(grid.pitch_m[1]))
    return LatticePlaces(problem, steps, pitch, origin, heights) if len(heights) else None


def larger_on_lattice(
    snapped: Placement, rival: Placement, to: Literal["tile"] | float, *, nearby: bool = False
) -> Placement:
    """The placement by the largest margin, or, where that is larger on the lattice, by it about the rival's places.

    A place of the largest margin may lie so close to a rule that the lattice has nothing beside it; one with more
    room about it, as the aim `tolerance` finds, may then have more as it is written.
    """
    free = snapped.searched
    if free is None or not rival.arrays or snapped.margin_m is None:
        return snapped
    hold: tuple[Held, ...] = tuple(name for name in HOLDS if name in free.held)
    scene, found = snap_scene(rival.scene, to, aim="margin", hold=hold, nearby=nearby, kept=free.kept)
    other = snapped_placement(replace(free, with_rooms=snapped.with_rooms), scene, found)
    if other.margin_m is None or other.margin_m <= snapped.margin_m:
        return snapped
    return replace(other, searched=free)


def _heights_from_m(scene: Scene, array: Array, hold: tuple[Held, ...], *, nearby: bool) -> float:
    """Where whole steps of height are counted from: floor or ceiling, so that what is written is whole, or itself."""
    if "height" in hold:
        return array.centre_m[2]
    return 0.0 if nearby and array.given_as != "drop" else ceiling_over_m(scene.room, array.at_m)


def _off_tees_m(scene: Scene, array: Array) -> float | None:
    """What the lattice keeps from tees; None for a body too large for any tile: its maker says how it is carried."""
    here = Site(scene_under(scene, array.at_m), array)
    asked = (one for one in measures_of(here) if isinstance(one, Tees) and not one.off)
    return next((tees.required_m for tees in asked if tees.fits), None)


def _outline(device: Device) -> Floats:
    """Plan outline of a device, (4, 2): of a round one the square around it."""
    half_x, half_y = device.size_m[0] / 2, device.size_m[1] / 2
    turn = np.radians(device.turn_deg)
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    corners = np.array([[-half_x, -half_y], [half_x, -half_y], [half_x, half_y], [-half_x, half_y]])
    outline: Floats = corners @ turned + np.array(device.at_m)
    return outline
