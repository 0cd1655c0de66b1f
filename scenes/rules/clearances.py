"""The rows of a review: every array against every thing by every rule, with required, actual, state and cause.

A check of clearances is advice, never approval.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from geometry.shapes import Point3
from scenes.findings.clearance import STATES, Clearance, ClearanceState
from scenes.findings.names import Id
from scenes.room.ceiling import scene_under
from scenes.room.layouts import in_layouts, joined_id
from scenes.room.scene import Array, Device, Scene
from scenes.rules.apply import measures_of
from scenes.rules.measure import MET_M, Against, Floats, Measure, Measured
from scenes.rules.room_above import through_structure
from scenes.rules.surroundings import Site, Things

Ranked = tuple[tuple[int, float], Clearance]
"""A row and where it stands among the others."""


def clearances(scene: Scene) -> tuple[Clearance, ...]:
    """Every array × thing × rule; the shortest first.

    Of the parts of an array the one nearest its limit is given. Order: short, advised, not judged, clear, each by
    what is left, then what is switched off. Touching is given only where something touches, a free height only over
    the table, two arrays against each other once, and of what is above the ceiling the nearest. Of several layouts
    what is the same in all is given once.
    """
    if scene.layouts:
        return clearances_together(scene, [clearances(one) for one in in_layouts(scene)])
    rows: list[Ranked] = []
    stacked: dict[str, Things] = {}
    for array in scene.arrays:
        site = Site(scene_under(scene, array.at_m), array, stacked)
        for measure in measures_of(site):
            at = array.centre_m
            rows += rows_of(measure, array, at, measure.spares(at))
    return _in_order([*rows, *rows_of_devices(scene)])


def clearances_together(scene: Scene, each: Sequence[Sequence[Clearance]]) -> tuple[Clearance, ...]:
    """Rows that are the same in all layouts once, the others with the layout's name, in the order of a review's."""
    shared = [row for row in each[0] if all(row in rows for rows in each[1:])]
    names = [joined_id(scene, layout) for layout in scene.layouts]
    own = [
        replace(row, against=name(row.against), layout=layout)
        for layout, name, rows in zip(scene.layouts, names, each, strict=True)
        for row in rows
        if row not in shared
    ]
    return tuple(sorted((*shared, *own), key=_rank))


def _rank(row: Clearance) -> tuple[int, float]:
    asked = row.required_m is not None and row.actual_m is not None
    return STATES.index(row.state), (row.actual_m or 0.0) - (row.required_m or 0.0) if asked else 0.0


def rows_of(measure: Measure, array: Array, at: Point3, spares: Floats) -> Iterator[Ranked]:
    """The rows of one measure with the acoustic centre at `at`, where `spares` is left of its columns."""
    for column in _nearest(measure, spares):
        found = measure.finding(column, at, spares)
        if found is not None:
            state = state_of(found)
            left = found.spare_m
            if found.required is not None and found.actual_m is not None:
                left = found.actual_m - found.required.value
            yield (STATES.index(state), left), _row(array.id, None, measure.against[column], found, state)


def rows_of_devices(scene: Scene) -> Iterator[Ranked]:
    """The rows about devices of the file alone, wherever arrays hang; none of what is clear."""
    from scenes.rules.measures.misplaced import misplaced

    return _ranked(itertools.chain(through_structure(scene), misplaced(scene)))


def ceiling_clearances(scene: Scene) -> tuple[Clearance, ...]:
    """Devices of the file against each other, the shortest first: what only `check --ceiling` asks."""
    from scenes.rules.measures.between_devices import between_devices

    return _in_order(_ranked(between_devices(scene)))


def by_state(*some: Iterable[Clearance]) -> tuple[Clearance, ...]:
    """Rows of several in the order of a review's; those of one state as they were."""
    return tuple(sorted(itertools.chain(*some), key=lambda row: STATES.index(row.state)))


def _ranked(found: Iterable[tuple[Device, Against, Measured]]) -> Iterator[Ranked]:
    """What was found of devices, as rows."""
    for device, against, measured in found:
        state = state_of(measured)
        yield (STATES.index(state), measured.spare_m), _row(None, device.id, against, measured, state)


def _in_order(rows: Iterable[Ranked]) -> tuple[Clearance, ...]:
    return tuple(row for _, row in sorted(rows, key=lambda row: row[0]))


def state_of(found: Measured) -> ClearanceState:
    """What a finding comes to: the one place where that is decided."""
    if found.rule.off:
        return "off"
    if not found.judged:
        return "unjudged"
    if found.spare_m >= -MET_M:
        return "clear"
    return "advised" if not found.sure or found.rule.basis(found.required) == "default" else "short"


def _nearest(measure: Measure, spares: Floats) -> Iterable[int]:
    """Of each thing the column with the least left."""
    nearest: dict[tuple[str, str], int] = {}
    for column, against in enumerate(measure.against):
        key = (against.kind, against.thing)
        if key not in nearest or spares[column] < spares[nearest[key]]:
            nearest[key] = column
    return nearest.values()


def _row(
    array: Id | None, device: Id | None, against: Against, found: Measured, state: ClearanceState
) -> Clearance:
    rule, asked = found.rule, state not in ("unjudged", "off")
    changed = state == "off" or found.required is rule.required
    return Clearance(
        array=array,
        device=device,
        against=against.thing,
        kind=against.kind,
        part=against.part,
        rule=rule.rule.id,
        required_m=found.required.value if asked and found.required is not None else None,
        actual_m=found.actual_m,
        state=state,
        basis=rule.basis(found.required),
        sureness=rule.sureness(found.required),
        cause=found.cause,
        change=rule.change if changed else None,
        shown=found.shown,
        code=rule.rule.code,
    )
