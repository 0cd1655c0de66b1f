"""The aims of a placement as the contract words them: sight binds, `tolerance` is a ball, `most` covers the most."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from tests.outside.oracle.placing import CERTIFIED_M, ROUNDED_M
from tests.outside.oracle.reading import Floats, read
from tests.outside.oracle.rulesheet import worst_spare
from tests.outside.oracle.searching import Place, Search, few_mouths
from tests.outside.oracle.seating import heads_of

AIMS = ("near", "tolerance", "margin", "centre", "most")
AT_RANDOM = 1_500
BALL = 300
"""Places asked on and in a ball."""


def aim_differences(path: Path, told: Mapping[str, Any], seed: int = 0) -> list[str]:
    """What of the rows in aims[] is not so that `placing` does not ask: sight, `tolerance` and `most`."""
    room = read(path)
    search = Search(room, room.arrays[0], heads_of(room), seed)
    rows = {row["aim"]: row for row in told["aims"]}
    found = []
    if set(rows) != set(AIMS):
        found.append(f"aims {sorted(rows)}, the contract has {sorted(AIMS)}")
    for name, row in rows.items():
        if not row["arrays"]:
            continue
        place = _place(row)
        if name != "most" and not search.holds(place):
            found.append(f"{name}: somebody is not seen from {place.at}")
        counts, _ = counts_at(search, place.band, np.array([place.at]))
        if row["covered"] != int(counts[0]):
            found.append(f"{name}: covered {row['covered']}, oracle {counts[0]:.0f}")
    if "tolerance" in rows and rows["tolerance"]["arrays"]:
        found += [f"tolerance: {wrong}" for wrong in _ball(search, rows["tolerance"])]
    if "most" in rows:
        found += [f"most: {wrong}" for wrong in _most(search, rows["most"])]
    return found


def _place(row: Mapping[str, Any]) -> Place:
    [array] = row["arrays"]
    x, y = array["at_m"]
    return Place((x, y, array["height_m"]), array["band"], 0.0)


def _ball(search: Search, row: Mapping[str, Any]) -> Iterator[str]:
    """In the ball told everybody stays covered and seen and every rule holds, but for stops."""
    radius, place = float(row["value"]), _place(row)
    if radius <= 0:
        return
    way = search.random.normal(size=(BALL, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    share = np.concatenate([np.ones(BALL // 2), search.random.random(BALL - BALL // 2)])
    places = np.array(place.at) + (radius - ROUNDED_M) * share[:, None] * way
    low, high = search.box
    places = places[(places >= low).all(axis=1) & (places <= high).all(axis=1)]
    lost = search.worth(place.band, places).margin < 0
    lost |= ~search.allowed(places, 0.0)
    if lost.any():
        yield f"in a ball of {radius} about {place.at} something is lost at {places[lost][0]}"


def counts_at(search: Search, band: str, places: Floats) -> tuple[Floats, Floats]:
    """How many people are covered and seen from places (n, 3), and the least margin of those (inf of none)."""
    margins = search.margins(band, places)
    owner = {head.id: head.person for head in search.heads}
    for k, person in enumerate(dict.fromkeys(owner.values())):
        mine = [head for head in search.heads if head.person == person]
        mouths = np.concatenate([few_mouths(head) for head in mine])
        maybe = margins[:, k] >= 0
        margins[maybe, k] = np.where(search.lines.see_all(places[maybe], mouths), margins[maybe, k], -np.inf)
    counted = margins >= 0
    return counted.sum(axis=1).astype(float), np.where(counted, margins, np.inf).min(axis=1)


def most_of(search: Search) -> tuple[float, float, Place] | None:
    """The most people covered that the oracle finds, the least margin of those, and where."""
    best: tuple[float, float, Place] | None = None
    for band in search.array.profile.bands:
        spots = search.anywhere(AT_RANDOM * 4)
        covered = (search.margins(band, spots) >= 0).sum(axis=1)
        order = np.argsort(-covered, kind="stable")[:AT_RANDOM]
        spots = spots[order][worst_spare(search.demands, spots[order]) >= -1e-9]
        if not len(spots):
            continue
        counts, margins = counts_at(search, band, spots)
        for k in np.lexsort((-margins, -counts))[:2]:
            place = Place((float(spots[k][0]), float(spots[k][1]), float(spots[k][2])), band, 0.0)
            found = _polished_most(search, (float(counts[k]), float(margins[k]), place))
            if best is None or found[:2] > best[:2]:
                best = found
    return best


def _polished_most(search: Search, best: tuple[float, float, Place]) -> tuple[float, float, Place]:
    low, high = search.box
    reach = 0.25
    while reach > 1e-4:
        tries = np.clip(best[2].at + reach * search.random.normal(size=(40, 3)), low, high)
        tries = tries[worst_spare(search.demands, tries) >= -1e-9]
        counts, margins = counts_at(search, best[2].band, tries)
        better = [k for k in range(len(tries)) if (counts[k], margins[k]) > best[:2]]
        if better:
            k = max(better, key=lambda k: (counts[k], margins[k]))
            x, y, z = (float(value) for value in tries[k])
            best = (float(counts[k]), float(margins[k]), Place((x, y, z), best[2].band, 0.0))
        else:
            reach *= 0.6
    return best


def _most(search: Search, row: Mapping[str, Any]) -> Iterator[str]:
    own = most_of(search)
    if own is None:
        return
    covered, margin, place = own
    if row["bound"] is not None and covered > row["bound"] + 1e-9:
        yield f"bound {row['bound']} beaten: {covered:.0f} covered at {place}"
    if not row["arrays"]:
        yield f"no place, oracle has {covered:.0f} covered at {place}"
        return
    told = _place(row)
    if worst_spare(search.demands, np.array([told.at]))[0] < -ROUNDED_M:
        yield f"a rule is not kept at {told.at}"
    counts, margins = counts_at(search, told.band, np.array([told.at]))
    if row["outcome"] == "certified" and covered > counts[0]:
        yield f"certified with {counts[0]:.0f} covered, oracle {covered:.0f} at {place}"
    if covered == counts[0] and np.isfinite(margin) and margin > margins[0] + CERTIFIED_M + ROUNDED_M:
        yield f"certified with a margin of {margins[0]:.4f}, oracle {margin:.4f} at {place}"
