"""The room as it hangs: arrays where they were measured, judged, and what to correct first, each correction a rerun."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from geometry.off_by import OffBy
from geometry.polygons import TOUCHING_M, inside
from geometry.records import record
from geometry.shapes import Point2
from geometry.tolerance import left_after_tilt_m
from scenes.findings.as_built import SET_M, TURN_DEG, AsBuilt, Correction, Off, Quantity
from scenes.findings.review import VERDICTS, Limit, Review
from scenes.review.review import review
from scenes.review.schedule import from_wall_m
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Room, Scene
from scenes.room.walls import reference_walls
from scenes.rules.spares import Holding
from scenes.spec.agreement import Report, reporting, unknown
from scenes.spec.measured import Measured, MeasuredArray
from scenes.spec.mistakes import Mistake, Path, SpecMistakes

QUANTITIES: Final[tuple[Quantity, ...]] = ("band", "turn", "level", "height", "place")
ALWAYS: Final[tuple[Quantity, ...]] = ("band", "turn")
"""What is put right whatever the room says: it is set wrongly, and nobody meant it to be."""
SAME: Final = 1e-9


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
    off = tuple(_off(designed, found, told[array.id], walls) for array in scene.arrays if array.id in told)
    corrections, left = _Correcting(designed, found, off).found()
    return AsBuilt(
        designed=designed,
        review=found,
        walls=walls,
        arrays=off,
        unmeasured=tuple(array.id for array in scene.arrays if array.id not in told),
        corrections=corrections,
        left=left,
        date=measured.date,
        by=measured.by,
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


def _off(designed: Review, found: Review, one: MeasuredArray, walls: tuple[int, int]) -> Off:
    scene = designed.scene
    array, hung = scene.array(one.id), found.scene.array(one.id)
    x_m, y_m = (
        from_wall_m(scene.room, wall, hung.centre_m[:2]) - from_wall_m(scene.room, wall, array.centre_m[:2])
        for wall in walls
    )
    turned = (hung.turn_deg - array.turn_deg + 180.0) % 360.0 - 180.0
    off = Off(
        array=one.id,
        x_m=None if one.off_walls is None else x_m,
        y_m=None if one.off_walls is None else y_m,
        up_m=None if one.underside is None else hung.centre_m[2] - array.centre_m[2],
        level_deg=one.level,
        allowed_deg=array.profile.level_deg,
        band=one.band,
        band_designed=str(array.band_name),
        turn_deg=None if one.turn is None else turned,
        at_risk=(),
        outside=(),
    )
    return replace(
        off, at_risk=_at_risk(found, hung, off.tilt_deg), outside=tuple(_outside(off, designed, hung))
    )


def _outside(off: Off, designed: Review, hung: Array) -> Iterator[Quantity]:
    """What of an array is beyond what its hang card allows: all at once, as the card says first."""
    told = designed.array(off.array).tolerance
    if off.band is not None and off.band != off.band_designed:
        yield "band"
    if off.turn_deg is not None and abs(off.turn_deg) >= TURN_DEG:
        yield "turn"
    if off.tilt_deg > off.allowed_deg + SAME:
        yield "level"
    if off.up_m is not None:
        most_m = told.up_m if off.up_m > 0 else told.down_m
        if _beyond(abs(off.up_m), most_m):
            yield "height"
    if off.x_m is not None:
        at_m, hung_m = designed.scene.array(off.array).centre_m, hung.centre_m
        if _beyond(max(abs(hung_m[0] - at_m[0]), abs(hung_m[1] - at_m[1])), told.sideways_m):
            yield "place"


def _beyond(length_m: float, most_m: float | None) -> bool:
    return most_m is not None and length_m > max(most_m, SET_M) + SAME


def _at_risk(found: Review, array: Array, level_deg: float) -> tuple[Limit, ...]:
    """What holds of it level and may be lost so far out of level: heads that it alone covers, a thing it is clear of."""
    if not level_deg:
        return ()
    heads = [
        Limit("head", head.id)
        for head in found.heads
        if head.array == array.id
        and head.standing == "covered"
        and not head.also_covered_by
        and left_after_tilt_m(head.margin_m, array.band, level_deg) < 0
    ]
    tilted = replace(array, profile=replace(array.profile, level_deg=level_deg))
    rule = Holding(found.scene, tilted).lost_in(OffBy())
    return (*heads, *(() if rule is None else (rule,)))


# ---- what to correct first


@record(frozen=True, slots=True)
class _Correcting:
    """The search for the least that makes the room hold: each try is the room put right so far, and judged again."""

    designed: Review
    built: Review
    off: tuple[Off, ...]

    def found(self) -> tuple[tuple[Correction, ...], tuple[tuple[str, tuple[Quantity, ...]], ...]]:
        """The corrections, and what stays outside the tolerance of a card beside them.

        A room that fails as designed is not put right by hanging it so; only what is set wrongly is told.
        """
        always = {one.array: tuple(q for q in one.outside if q in ALWAYS or q == "level") for one in self.off}
        chosen, holds = self._least(always)
        corrections = tuple(
            Correction(name, tuple(q for q in QUANTITIES if q in some), holds)
            for name, some in chosen.items()
            if some
        )
        left = tuple(
            (one.array, rest)
            for one in self.off
            if (rest := tuple(q for q in one.outside if q not in chosen.get(one.array, ())))
        )
        return corrections, left

    def _least(self, always: _Some) -> tuple[_Some, bool]:
        """What has to be put right in any case; else one array's more, as few quantities as do; else all there is."""
        if self.designed.held or self._holds(always):
            return always, not self.designed.held
        for name, some in self._tries(always):
            chosen = {**always, name: (*always[name], *some)}
            if self._holds(chosen):
                return chosen, True
        outside = {one.array: tuple({*always[one.array], *one.outside, *_risk(one)}) for one in self.off}
        if self._holds(outside):
            return outside, True
        every = {one.array: tuple({*outside[one.array], *_differs(one)}) for one in self.off}
        return every, self._holds(every)

    def _tries(self, always: _Some) -> list[tuple[str, tuple[Quantity, ...]]]:
        """What else of an array may be put back: each quantity that is off, then two, three of them together."""
        tries: list[tuple[str, tuple[Quantity, ...]]] = []
        for one in self.off:
            more = [q for q in _differs(one) if q not in always[one.array]]
            tries += [
                (one.array, some)
                for count in range(1, len(more) + 1)
                for some in itertools.combinations(more, count)
            ]
        return sorted(tries, key=lambda way: (len(way[1]), [QUANTITIES.index(q) for q in way[1]]))

    def _holds(self, chosen: _Some) -> bool:
        """Whether the room holds with that put back: judged no worse than designed, and nothing lost out of level."""
        scene = self.built.scene
        for name, some in chosen.items():
            scene = _put_back(scene, self.designed.scene, name, some)
        found = self.built if scene is self.built.scene else review(scene)
        if VERDICTS.index(found.verdict) > VERDICTS.index(self.designed.verdict):
            return False
        return not any(
            _at_risk(found, scene.array(one.array), one.tilt_deg)
            for one in self.off
            if "level" not in chosen.get(one.array, ())
        )


_Some = dict[str, tuple[Quantity, ...]]
"""Quantities by array."""


def _risk(one: Off) -> tuple[Quantity, ...]:
    return ("level",) if one.at_risk else ()


def _differs(one: Off) -> Iterator[Quantity]:
    """Which quantities of an array are not as designed, or may not be."""
    if one.band is not None and one.band != one.band_designed:
        yield "band"
    if one.turn_deg is not None and abs(one.turn_deg) >= TURN_DEG:
        yield "turn"
    if one.tilt_deg:
        yield "level"
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
    """The room as it hangs with some quantities of one array as designed; the same room where none of them moves it."""
    changes: dict[str, object] = {}
    for quantity in some:
        if quantity in _BACK:
            changes |= _BACK[quantity](scene.array(name))
    return built.with_array(name, **changes) if changes else built
