"""The room as it hangs: arrays where they were measured, judged, and what to correct first, each correction a rerun."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from geometry.polygons import TOUCHING_M, inside
from geometry.shapes import Point2
from geometry.tolerance import left_after_tilt_m
from scenes.findings.as_built import SET_M, AsBuilt, Correction, Off, Quantity
from scenes.findings.review import VERDICTS, Review
from scenes.review.review import review
from scenes.review.schedule import from_wall_m
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Room, Scene
from scenes.room.walls import reference_walls
from scenes.spec.agreement import Report, reporting, unknown
from scenes.spec.measured import Measured, MeasuredArray
from scenes.spec.mistakes import Mistake, Path, SpecMistakes

QUANTITIES: Final[tuple[Quantity, ...]] = ("band", "turn", "height", "place", "level")


def as_built(scene: Scene, measured: Measured) -> AsBuilt:
    """The placed scene as it hangs by what was measured; what was not measured hangs as designed.

    Raises `SpecMistakes` for arrays or bands that the room does not have and figures that cannot be.
    """
    wrong = _wrong(scene, measured)
    if wrong:
        raise SpecMistakes(measured.file, wrong, measured.units)
    walls = reference_walls(scene.room)
    told = {one.id: one for one in measured.arrays}
    built = scene.with_arrays(
        tuple(
            _hung(scene.room, array, told[array.id], walls) if array.id in told else array
            for array in scene.arrays
        )
    )
    designed, found = review(scene), review(built)
    off = tuple(_off(scene, found, told[array.id], walls) for array in scene.arrays if array.id in told)
    return AsBuilt(
        designed=designed,
        review=found,
        walls=walls,
        arrays=off,
        unmeasured=tuple(array.id for array in scene.arrays if array.id not in told),
        corrections=tuple(_corrections(scene, found, designed, off)),
    )


def _wrong(scene: Scene, measured: Measured) -> list[Mistake]:
    """Arrays and bands that the room does not have, arrays told twice, figures that cannot be."""
    arrays, seen = {array.id: array for array in scene.arrays}, dict[str, int]()
    wrong, report = reporting(measured.marks)
    for i, one in enumerate(measured.arrays):
        if one.id not in arrays:
            unknown(report, ("arrays", i, "id"), one.id, list(arrays), "array")
            continue
        if one.id in seen:
            report(("arrays", i, "id"), "id-taken", other=f"arrays[{seen[one.id]}].id")
        seen.setdefault(one.id, i)
        _wrong_of(scene, arrays[one.id], one, ("arrays", i), report)
    return wrong


def _wrong_of(scene: Scene, array: Array, one: MeasuredArray, path: Path, report: Report) -> None:
    profile, at = array.profile, array.centre_m[:2]
    if one.band is not None and one.band not in profile.bands:
        unknown(report, (*path, "band"), one.band, list(profile.bands), "band")
    if one.off_walls is not None:
        at = _plan_point(scene.room, one.off_walls, reference_walls(scene.room))
        if not inside(at, scene.room.outline_m):
            report((*path, "off_walls"), "outside-room")
            return
    if one.underside is None:
        return
    most_m = ceiling_over_m(scene.room, at) - profile.size_m[2]
    if profile.mount == "flush":
        report((*path, "underside"), "flush-height", key="underside")
    elif one.underside > most_m + TOUCHING_M:
        report((*path, "underside"), "height-range", least_m=0.0, most_m=most_m)


def _plan_point(room: Room, off_m: Point2, walls: tuple[int, int]) -> Point2:
    """The plan point so far off the lines of the two walls, square to each."""
    rows, right = [], []
    for wall, length_m in zip(walls, off_m, strict=True):
        # from_wall_m is linear in the point: its gradient and its value at the origin
        zero = from_wall_m(room, wall, (0.0, 0.0))
        rows.append([from_wall_m(room, wall, (1.0, 0.0)) - zero, from_wall_m(room, wall, (0.0, 1.0)) - zero])
        right.append(length_m - zero)
    x, y = np.linalg.solve(np.array(rows), np.array(right))
    return float(x), float(y)


def _hung(room: Room, array: Array, one: MeasuredArray, walls: tuple[int, int]) -> Array:
    """The array where it was measured."""
    return replace(
        array,
        at_m=array.at_m if one.off_walls is None else _plan_point(room, one.off_walls, walls),
        height_m=array.height_m if one.underside is None else one.underside + array.profile.centre_m,
        band_name=one.band or array.band_name,
        turn_deg=array.turn_deg if one.turn is None else one.turn,
    )


def _off(scene: Scene, found: Review, one: MeasuredArray, walls: tuple[int, int]) -> Off:
    designed, hung = scene.array(one.id), found.scene.array(one.id)
    x_m, y_m = (
        from_wall_m(scene.room, wall, hung.centre_m[:2])
        - from_wall_m(scene.room, wall, designed.centre_m[:2])
        for wall in walls
    )
    turned = (hung.turn_deg - designed.turn_deg + 180.0) % 360.0 - 180.0
    return Off(
        array=one.id,
        x_m=None if one.off_walls is None else x_m,
        y_m=None if one.off_walls is None else y_m,
        up_m=None if one.underside is None else hung.centre_m[2] - designed.centre_m[2],
        level_deg=one.level,
        allowed_deg=designed.profile.level_deg,
        band=one.band,
        band_designed=str(designed.band_name),
        turn_deg=None if one.turn is None else turned,
        at_risk=() if one.level is None else tuple(_at_risk(found, hung, abs(one.level))),
    )


def _at_risk(found: Review, array: Array, level_deg: float) -> Iterator[str]:
    """The heads it covers that hanging so far out of level may cost."""
    for head in found.heads:
        serves = head.array == array.id and head.standing == "covered"
        if serves and left_after_tilt_m(head.margin_m, array.band, level_deg) < 0:
            yield head.id


# ---- what to correct first


def _corrections(scene: Scene, found: Review, designed: Review, off: tuple[Off, ...]) -> Iterator[Correction]:
    """The least that makes the room hold as designed: one quantity of one array, else of one array several, else all.

    An array that hangs too far out of level is levelled whatever else is right.
    """
    tilted = [one.array for one in off if not one.level]
    yield from (Correction(name, ("level",), holds=_holds(found, designed)) for name in tilted)
    if _holds(found, designed):
        return
    tries = [(one.array, some) for one in off for some in _ways(one)]
    tries.sort(key=lambda way: (len(way[1]), [QUANTITIES.index(quantity) for quantity in way[1]]))
    for name, some in tries:
        if _holds(review(_put_back(found.scene, scene, name, some)), designed):
            yield Correction(name, some, holds=True)
            return
    back = found.scene
    every = [(one.array, tuple(_differs(one))) for one in off if any(_differs(one))]
    for name, some in every:
        back = _put_back(back, scene, name, some)
    holds = _holds(review(back), designed)
    yield from (Correction(name, some, holds) for name, some in every)


def _holds(found: Review, designed: Review) -> bool:
    return VERDICTS.index(found.verdict) <= VERDICTS.index(designed.verdict)


def _ways(one: Off) -> list[tuple[Quantity, ...]]:
    """What of an array may be put back: each quantity that is off, then two, three of them together."""
    off = list(_differs(one))
    return [some for count in range(1, len(off) + 1) for some in itertools.combinations(off, count)]


def _differs(one: Off) -> Iterator[Quantity]:
    """Which quantities of an array are not as designed."""
    if one.band is not None and one.band != one.band_designed:
        yield "band"
    if one.turn_deg:
        yield "turn"
    if one.up_m is not None and abs(one.up_m) >= SET_M:
        yield "height"
    if one.x_m is not None and one.y_m is not None and max(abs(one.x_m), abs(one.y_m)) >= SET_M:
        yield "place"


_BACK: Final[dict[Quantity, Callable[[Array], dict[str, object]]]] = {
    "band": lambda array: {"band_name": array.band_name},
    "turn": lambda array: {"turn_deg": array.turn_deg},
    "height": lambda array: {"height_m": array.height_m},
    "place": lambda array: {"at_m": array.at_m},
}


def _put_back(built: Scene, scene: Scene, name: str, some: tuple[Quantity, ...]) -> Scene:
    """The room as it hangs with some quantities of one array as designed."""
    changes: dict[str, object] = {}
    for quantity in some:
        changes |= _BACK[quantity](scene.array(name))
    return built.with_array(name, **changes)
