"""What would help where not everybody can be served: each change is applied to the whole room, placed and judged.

Whether a change could help is asked of the search alone first, which is quick; what is told comes from the room so
changed, with its rules and lines of sight, placed as it would be written and reviewed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from geometry.conflicts import can_serve, reach_needed
from geometry.kind import Position
from geometry.records import record
from scenes.findings.placement import Change, Try
from scenes.place.everybody import everybody
from scenes.place.placement import Placement
from scenes.place.planes import planes_of
from scenes.place.problem import Held, kind_of
from scenes.room.ceiling import lowest_m
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m

HIGHEST_CEILING_M = 6.0
"""Ceilings tried where a room cannot be served: up to here, or as much above the room's own."""
LOWEST_CEILING_M = 2.0
"""And down to here, for what hangs in the ceiling."""
CEILING_STEP_M, CEILING_STEP_IN_M = 0.05, 0.0508
"""In these steps from the room's own, in metric rooms and in the others."""
REACH_STEP_M, REACH_STEP_IN_M = 0.01, 0.0254 / 8
"""A reach that is needed is told in whole steps of this."""
A_LITTLE_MORE = (0, 5, 10)
"""Steps added where what is just enough leaves no place in whole steps."""

Again = Callable[[Scene, tuple[Held, ...], int | None], Placement]
"""A room placed again with what is held and so many arrays, as it would be written."""


@record(frozen=True, slots=True)
class Remedies:
    """One array in a room that cannot be served by it; what is held, and how rooms are placed again."""

    scene: Scene
    array: Array
    held: tuple[Held, ...]
    again: Again

    def tried(self, *, nothing_allowed: bool) -> Iterator[Try]:
        """Every change worth trying, tried; where no position is allowed at all only what could open one."""
        for name in self.held:
            fewer = tuple(other for other in self.held if other != name)
            yield judged("hold", name, self.again(self.scene, fewer, None))
        yield from self._without()
        yield self._ceiling()
        if nothing_allowed:
            return
        if not self.scene.areas:
            yield judged("arrays", 2, self.again(self.scene, (), 2))
        if (
            max([0.0, *(one.sway_m for one in self.scene.heads), *(one.sway_m for one in self.scene.areas)])
            > 0
        ):
            heads = tuple(replace(head, sway=replace(head.sway, value=0.0)) for head in self.scene.heads)
            areas = tuple(replace(area, sway=replace(area.sway, value=0.0)) for area in self.scene.areas)
            yield self._try("lean", 0.0, replace(self.scene, heads=heads, areas=areas))
        yield self._reach()

    def _try(self, change: Change, value: float | str, scene: Scene) -> Try:
        return judged(change, value, self.again(scene, self.held, None))

    def _could(self, scene: Scene) -> bool:
        """Whether one array can cover everybody in a room so changed, as far as the search alone knows."""
        array = scene.arrays[0]
        low_m, high_m = height_span_m(scene, array)
        if low_m > high_m:
            return False
        kinds = (kind_of(scene, one, self.held) for one in planes_of(scene, array, self.held))
        return any(isinstance(can_serve(everybody(scene), kind), Position) for kind in kinds)

    # ---- things taken out, one at a time

    def _without(self) -> Iterator[Try]:
        things = [device.id for device in self.scene.overhead]
        things += [obstacle.id for obstacle in self.scene.obstacles]
        if not things:
            return
        works = False
        if self._could(replace(self.scene, overhead=(), obstacles=())):
            for id in things:
                without = _taken_out(self.scene, id)
                if self._could(without):
                    found = self._try("without", id, without)
                    works |= found.works
                    yield found
        if not works:
            yield Try("without", None, False, None, None)

    # ---- another ceiling, with all that is in it

    def _ceiling(self) -> Try:
        for height in self._ceilings():
            found = self._try("ceiling", height, _at_ceiling(self.scene, height))
            if found.works:
                return found
        return Try("ceiling", None, False, None, None)

    def _ceilings(self) -> Sequence[float]:
        """The nearest heights that could do, nearest first."""
        step = CEILING_STEP_IN_M if self.scene.units in ("ft", "in") else CEILING_STEP_M
        room = self.scene.room
        most = max(HIGHEST_CEILING_M, room.ceiling_m + 2)
        rises = [room.structure_m - room.ceiling_m] if room.structure_m is not None else []
        for part in room.parts:
            over_m = part.structure_m if part.structure_m is not None else room.structure_m
            rises += [] if over_m is None else [over_m - part.surface.span_m[1]]
        if rises:
            most = room.ceiling_m + min(rises)
        higher = [
            round(room.ceiling_m + k * step, 9)
            for k in range(1, int((most - room.ceiling_m) / step + 1e-9) + 1)
        ]
        if self.array.profile.mount != "flush":
            # what hangs under a low ceiling can hang there under a high one too: only higher can help
            first = _first(higher, lambda height: self._could(_at_ceiling(self.scene, height)))
            return [higher[first + more] for more in A_LITTLE_MORE if first + more < len(higher)]
        least = max([LOWEST_CEILING_M, *(one.sill_m + one.height_m for one in room.openings)])
        least += room.ceiling_m - lowest_m(room)
        lower = [
            round(room.ceiling_m - k * step, 9)
            for k in range(1, int((room.ceiling_m - least) / step + 1e-9) + 1)
        ]
        heights = sorted((*higher, *lower), key=lambda height: abs(height - room.ceiling_m))
        could = [height for height in heights if self._could(_at_ceiling(self.scene, height))]
        return could[: len(A_LITTLE_MORE)]

    # ---- a longer reach

    def _reach(self) -> Try:
        step = REACH_STEP_IN_M if self.scene.units in ("ft", "in") else REACH_STEP_M
        heads, planes = everybody(self.scene), planes_of(self.scene, self.array, self.held)
        each = [reach_needed(heads, kind_of(self.scene, one, self.held), step_m=step) for one in planes]
        needed = min((reach for reach in each if reach is not None), default=None)
        for more in A_LITTLE_MORE if needed is not None else ():
            reach = round((needed or 0.0) + more * step, 9)
            profile = replace(self.array.profile, reach_m=(self.array.profile.reach_m[0], reach))
            longer = self.scene.with_arrays((replace(self.array, profile=profile),))
            found = self._try("reach", reach, longer)
            if found.works:
                return found
        return Try("reach", None, False, None, None)


def judged(change: Change, value: float | str, placed: Placement) -> Try:
    """A change as it is told, by the room so changed and placed."""
    review = placed.judged
    # somebody at an edge by a hair is no help: everybody is covered, leaning too
    works = review is not None and review.verdict != "fail" and review.counts.covered == review.counts.talkers
    covered = None if review is None else review.counts.covered
    bands = tuple(array.band_name for array in placed.arrays) or None
    return Try(change, value, works, covered, placed.largest_margin_m, bands)


def _first(heights: Sequence[float], could: Callable[[float], bool]) -> int:
    """The index of the first of rising heights that could do; their number where not even the highest could."""
    if not heights or not could(heights[-1]):
        return len(heights)
    first, last = 0, len(heights) - 1
    while first < last:
        middle = (first + last) // 2
        first, last = (first, middle) if could(heights[middle]) else (middle + 1, last)
    return last


def _taken_out(scene: Scene, id: str) -> Scene:
    """The room without this device or obstacle."""
    return replace(
        scene,
        overhead=tuple(one for one in scene.overhead if one.id != id),
        obstacles=tuple(one for one in scene.obstacles if one.id != id),
    )


def _at_ceiling(scene: Scene, ceiling_m: float) -> Scene:
    """The room under another ceiling, with all that is measured from it: its parts rise as much as the rest."""
    up = ceiling_m - scene.room.ceiling_m
    overhead = tuple(replace(one, low_m=one.low_m + up) for one in scene.overhead)
    arrays = tuple(
        replace(array, height_m=None if array.height_m is None else array.height_m + up)
        if array.profile.mount == "flush"
        else array
        for array in scene.arrays
    )
    parts = tuple(
        replace(part, surface=replace(part.surface, level_m=part.surface.level_m + up))
        for part in scene.room.parts
    )
    room = replace(scene.room, ceiling_m=ceiling_m, parts=parts)
    return replace(scene, room=room, overhead=overhead, arrays=arrays)
