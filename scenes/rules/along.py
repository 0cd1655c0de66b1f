"""The rows of a review with one array at many heights, straight above and below where it is on plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scenes.findings.clearance import Clearance, ClearanceState
from scenes.room.ceiling import scene_under
from scenes.room.scene import Array, Scene
from scenes.rules.apply import measures_of
from scenes.rules.clearances import Ranked, rows_of, rows_of_devices
from scenes.rules.measure import MET_M, Measure
from scenes.rules.surroundings import Site, Things

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

OPEN: tuple[ClearanceState, ...] = ("short", "advised", "unjudged")
"""What a row may say that is neither clear nor switched off."""


class OpenRows:
    """The rows of a review that are neither clear nor switched off, wherever up or down one array hangs.

    `array` needs a place on plan; the others of the scene count as far as they have one.
    """

    def __init__(self, scene: Scene, array: Array) -> None:
        self.array = array
        others = tuple(one for one in scene.arrays if one.id != array.id and one.placed)
        self._fixed = list(_rows_of_rest(scene.with_arrays(others)))
        ids = [one.id for one in scene.arrays]
        self._before = frozenset(ids[: ids.index(array.id)])
        # first of all, so that its rows about the others are its own; a review has those with earlier ones the other way
        self._measures = measures_of(
            Site(scene_under(scene.with_arrays((array, *others)), array.at_m), array)
        )

    @property
    def measures(self) -> Sequence[Measure]:
        """What is asked of the array that moves."""
        return self._measures

    def short(self, heights_m: Floats) -> Bools:
        """(h,) whether any row there is short."""
        found = np.full(len(heights_m), any(one.state == "short" for _, one in self._fixed))
        for measure in self._measures:
            asked = np.flatnonzero(~found)
            for k, (_, one) in _along(measure, self.array, heights_m[asked], met_too=False):
                found[asked[k]] |= one.state == "short"
        return found

    def at(self, heights_m: Floats) -> tuple[tuple[Clearance, ...], ...]:
        """For each height (h,) the rows of a review there, in its order."""
        rows: list[list[Ranked]] = [list(self._fixed) for _ in heights_m]
        for measure in self._measures:
            for k, (rank, one) in _along(measure, self.array, heights_m):
                rows[k].append((rank, _turned(one) if one.against in self._before else one))
        return tuple(tuple(one for _, one in sorted(some, key=lambda row: row[0])) for some in rows)


def _rows_of_rest(rest: Scene) -> Iterator[Ranked]:
    yield from rows_of_devices(rest)
    stacked: dict[str, Things] = {}
    for array in rest.arrays:
        for measure in measures_of(Site(scene_under(rest, array.at_m), array, stacked)):
            at = array.centre_m
            yield from (
                row for row in rows_of(measure, array, at, measure.spares(at)) if row[1].state in OPEN
            )


def _along(
    measure: Measure, array: Array, heights_m: Floats, *, met_too: bool = True
) -> Iterator[tuple[int, Ranked]]:
    """The open rows of one measure, with the place of their height: of what is met only what is not clear."""
    assert array.at_m is not None
    x, y = array.at_m
    at = np.column_stack([np.full(len(heights_m), x), np.full(len(heights_m), y), heights_m])
    doubt = np.ones(len(at), np.bool_)
    if measure.met_is_clear or not met_too:
        doubt = np.asarray((measure.signed(at) < -MET_M).any(axis=1), np.bool_)
    for k in np.flatnonzero(doubt).tolist():
        place = (x, y, float(heights_m[k]))
        for row in rows_of(measure, array, place, measure.spares(place)):
            if row[1].state in OPEN:
                yield k, row


def _turned(one: Clearance) -> Clearance:
    """Of two arrays the same seen from the other."""
    assert one.array is not None
    return replace(one, array=one.against, against=one.array)
