"""What each layout of a room costs the others: the largest margin with it and without it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scenes.findings.layouts import LayoutPrice
from scenes.place.placement import Placement
from scenes.room.layouts import without_layout
from scenes.room.scene import Scene


def prices(
    scene: Scene, placement: Placement, search: Callable[[Scene], Placement]
) -> tuple[LayoutPrice, ...]:
    """The price of every layout of a scene that is so placed; none where there are no two.

    `search` finds the largest margin of another scene by the same wishes and for as many arrays.
    """
    if len(scene.layouts) < 2:
        return ()
    margin_m = placement.largest_margin_m
    found = []
    for layout in scene.layouts:
        # what serves all of them serves the others: no search is worse than that
        known = [
            one
            for one in (search(without_layout(scene, layout)).largest_margin_m, margin_m)
            if one is not None
        ]
        without_m = max(known, default=None)
        costs_m = None if margin_m is None or without_m is None else without_m - margin_m
        found.append(LayoutPrice(layout, margin_m, without_m, costs_m))
    return tuple(found)


def as_json(price: LayoutPrice) -> dict[str, Any]:
    """A layout's price by its keys."""
    return {
        "name": price.name,
        "margin_m": price.margin_m,
        "without_margin_m": price.without_m,
        "costs_m": price.costs_m,
    }
