"""What arrays are up against, and what keeping clear of it costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from geometry.placement import PRESSING_M
from scenes.place.placement import Placement
from scenes.room.scene import Scene
from scenes.rules.constraints import Pressing, pressing_name, tightest


def pressing_on(placement: Placement) -> dict[str, tuple[Pressing, ...]]:
    """For each array where it is placed, what it is up against: beyond the spare it keeps next to nothing is left."""
    return pressed_by(placement.scene, placement.scene, PRESSING_M + placement.kept.spare_m)


def pressed_by(room: Scene, placed: Scene, within_m: float = PRESSING_M) -> dict[str, tuple[Pressing, ...]]:
    """For each array of `placed`, what it is up against (or in conflict with) in the room, each thing and rule once.

    `within_m` is how much may be left of the rule; -ON_EDGE_M asks for conflicts only.
    """
    found: dict[str, tuple[Pressing, ...]] = {}
    for array in placed.arrays:
        if array.placed:
            pressing = tightest(room, array, array.centre_m, within_m)
            once = {(one.against, one.rule): one for one in reversed(pressing)}
            if once:
                found[array.id] = tuple(reversed(once.values()))
    return found


def pressing_names(pressed: Mapping[str, Sequence[Pressing]]) -> dict[str, list[str]]:
    """The same as JSON has it."""
    return {id: [pressing_name(one) for one in some] for id, some in pressed.items()}


def margin_cost_m(placement: Placement, unconstrained: Placement) -> float | None:
    """The most of the largest margin that keeping clear costs, metres; None where there is no place to compare."""
    if unconstrained.bound_m is None or placement.largest_margin_m is None:
        return None
    return max(unconstrained.bound_m - placement.largest_margin_m, 0.0)
