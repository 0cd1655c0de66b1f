"""A placement of the product against the oracle: places are worth what is said, and bounds are not beaten.

For one array, in a room that leaves no size to a default. The figures of a place are worked out again; the rules are
asked at it; and the oracle looks for a better one, from which everybody is seen too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from tests.outside.oracle import product
from tests.outside.oracle.comparing import ANGLE_DEG, MOUTH_M, close
from tests.outside.oracle.hanging import Listeners
from tests.outside.oracle.reading import Floats, Room, read
from tests.outside.oracle.rulesheet import worst_spare
from tests.outside.oracle.searching import (
    Place,
    Score,
    Search,
    centred,
    exact_margin,
    largest_margin,
    nearest,
)
from tests.outside.oracle.seating import heads_of

CERTIFIED_M, CERTIFIED_DEG = 0.001, 0.01
"""A certified aim leaves no more than this between value and bound."""
ROUNDED_M = 2e-4
"""Places are told rounded; so far may their figures be from those of the place that was meant."""
SPARE_M = 0.02
"""What `near` keeps from every rule unless the file says otherwise: contract, wishes."""


@dataclass(frozen=True)
class Aim:
    """One aim as the oracle has it; `better` says which way its value grows."""

    score: Score
    gap: float
    better: int
    needs: float | None = None
    """The margin that everybody is left."""
    spare: float = 0.0


def aims(enough: float, spare: float) -> dict[str, Aim]:
    """The aims that the oracle can judge, by the contract's names; `near` keeps every rule by at least `spare`."""
    return {
        "margin": Aim(largest_margin, CERTIFIED_M, 1),
        "near": Aim(nearest(enough), CERTIFIED_M, -1, enough, spare),
        "centre": Aim(centred, CERTIFIED_DEG, -1, 0.0),
    }


def rows_by_aim(told: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """The rows of aims[] by the contract's names."""
    rows = {row["aim"]: row for row in told["aims"]}
    if "margin" not in rows and "tolerance" in rows:  # what the aim `margin` was called before the contract
        rows["margin"] = rows.pop("tolerance")
    return rows


def placement_differences(
    path: Path, told: Mapping[str, Any], seed: int = 0, *, thorough: bool = False
) -> list[str]:
    """What of `place --json` is not so, for a room with one array; `thorough` lets places evolve too."""
    room = read(path)
    search = Search(room, room.arrays[0], heads_of(room), seed)
    found: list[str] = []
    rows = rows_by_aim(told)
    # a search that is not bare keeps its spare, since there are the contract's aims
    spare = SPARE_M if {"margin", "tolerance"} <= set(rows) and not product.bare_search() else 0.0
    for name, aim in aims(told["enough_m"], spare).items():
        row = rows.get(name)
        if row is None:
            continue
        found += [f"{name}: {wrong}" for wrong in _row(search, name, aim, row, thorough)]
    found += _placed(room, told)
    return found


def _row(search: Search, name: str, aim: Aim, row: Mapping[str, Any], thorough: bool) -> Iterator[str]:
    own = search.best(aim.score, aim.spare)
    if thorough:
        found = [place for place in (own, search.evolved(aim.score, aim.spare)) if place is not None]
        own = max(found, key=lambda place: place.score, default=None)
    if own is not None and aim.needs is not None and exact_margin(search, own) < aim.needs:
        own = None  # a way walked, asked at few places while searching, comes nearer to an edge between them
    value = None if own is None else exact_margin(search, own) if name == "margin" else aim.better * own.score
    bound = row["bound"]
    if value is not None and bound is not None and aim.better * (value - bound) > 1e-6:
        yield f"bound {bound} beaten: {value:.6f} at {own}"
    if own is not None and row["outcome"] == "none allowed":
        yield f"none allowed, oracle: {own}"
    if not row["arrays"]:
        return
    yield from _stated(search, row)
    if row["outcome"] == "certified":
        told = _value(name, row)
        if abs(told - bound) > aim.gap + 1e-6 and name != "margin":
            yield f"certified with {told} and bound {bound}"
        if value is not None and aim.better * (value - told) > aim.gap + ROUNDED_M:
            yield f"certified {told}, oracle has {value:.6f} at {own}"


def _value(name: str, row: Mapping[str, Any]) -> float:
    key = {"margin": "margin_m", "near": "worst_slant_m", "centre": "rms_off_centre_deg"}[name]
    return float(row[key])


def _stated(search: Search, row: Mapping[str, Any]) -> Iterator[str]:
    """The figures of a row's place, and the rules at it."""
    [array] = row["arrays"]
    place = Place((*array["at_m"], array["height_m"]), array["band"], 0.0)
    at = np.array([place.at])
    worth, margin = search.worth(place.band, at), exact_margin(search, place)
    for key, value, within in (
        ("margin_m", margin, ROUNDED_M),
        ("worst_slant_m", float(worth.farthest[0]), ROUNDED_M),
        ("rms_off_centre_deg", float(worth.rms[0]), 0.02),
    ):
        if not close(row[key], value, within):
            yield f"{key} {row[key]}, oracle {value:.6f} at {place.at}"
    spare = float(worst_spare(search.demands, at)[0])
    if spare < -ROUNDED_M:
        worst = min((float(d.measure(at).spare[0]), d.rule, d.against) for d in search.demands if not d.off)
        yield f"a rule is not kept at {place.at}: {worst}"


def _placed(room: Room, told: Mapping[str, Any]) -> Iterator[str]:
    """arrays[] as it would be written: its margins, and margin_m the least of them."""
    if not told["arrays"]:
        return
    arrays = []
    for one, array in zip(told["arrays"], room.arrays, strict=True):
        arrays.append(replace(array, at=tuple(one["at_m"]), height=one["height_m"], band=one["band"]["name"]))
    placed = replace(room, arrays=tuple(arrays))
    heads = heads_of(placed)
    search = Search(placed, arrays[0], heads)
    least = exact_margin(search, Place(tuple(arrays[0].centre), str(arrays[0].band), 0.0))
    if not close(told["margin_m"], least, MOUTH_M):
        yield f"margin_m {told['margin_m']}, oracle {least:.6f} at arrays[]"
    worth = search.worth(str(arrays[0].band), arrays[0].centre[None, :])
    if not close(told["worst_slant_m"], float(worth.farthest[0]), ANGLE_DEG):
        yield f"worst_slant_m {told['worst_slant_m']}, oracle {float(worth.farthest[0]):.6f} at arrays[]"


# Two arrays ----------------------------------------------------------------------------------------------

PLACES_OF_PAIRS = 600
BEATEN_M = 1e-6


def pair_differences(path: Path, told: Mapping[str, Any], seed: int = 0) -> list[str]:
    """Of two arrays of the first one's profile: whether pairs of places at random beat the bound of the margin.

    Each head may have the better of the two; what the two ask of each other is left out, as the bound leaves it out.
    """
    room = read(path)
    search = Search(replace(room, arrays=room.arrays[:1]), room.arrays[0], heads_of(room), seed)
    spots = search.anywhere(6 * PLACES_OF_PAIRS)
    spots = spots[search.allowed(spots, 0.0)][:PLACES_OF_PAIRS]
    margins = [_of_heads(search, band, spots) for band in search.array.profile.bands]
    best, where = -np.inf, (0, 0)
    for one in margins:
        for other in margins:
            for k, row in enumerate(one):
                least = np.maximum(row[None], other).min(axis=1)
                if least.max() > best:
                    best, where = float(least.max()), (k, int(least.argmax()))
    if told["bound_m"] is not None and best > told["bound_m"] + BEATEN_M:
        return [
            f"bound {told['bound_m']} of two arrays beaten: {best:.4f} at {spots[where[0]]}, {spots[where[1]]}"
        ]
    return []


def _of_heads(search: Search, band: str, places: Floats) -> Floats:
    """The margin of every head at places (n, 3): (n, heads); ways walked are asked all along their legs."""
    profile = search.array.profile
    rows = Listeners.of(search.heads)
    values = rows.margin((*profile.bands[band], *profile.reach), places)
    owner = np.array(rows.owner)
    return np.stack([values[:, owner == head.id].min(axis=1) for head in search.heads], axis=1)
