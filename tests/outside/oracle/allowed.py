"""The heights at which nothing of `check` fails, scanned, for a room with one array."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.outside.oracle.hanging import Listeners, at_heights, span
from tests.outside.oracle.judging import Judged, Lines, mouths_asked
from tests.outside.oracle.reading import Array, Floats, Room, read
from tests.outside.oracle.rulesheet import Sheet

STEP_M = 0.005
EDGE_M = 0.001
"""So near to the end of an allowed interval a height may be on either side of it."""
MARGIN_M = 0.001
SPARE_M, HANG_M = 0.02, 0.1
"""The contract's default of the wish `spare`, kept from every rule that binds; overtable's own length to hang by."""
DOES_NOT_BIND = ("grid-tee",)


@dataclass(frozen=True)
class Scan:
    """Heights, whether nothing fails there, and how many heads are covered with which least margin."""

    heights: Floats
    allowed: NDArray[np.bool_]
    covered: Floats
    margin: Floats

    @property
    def best(self) -> tuple[float, float] | None:
        """The most covered, then the largest margin, of the allowed heights; None if there are none."""
        if not self.allowed.any():
            return None
        pairs = zip(self.covered[self.allowed], self.margin[self.allowed], strict=True)
        return max((float(c), float(m)) for c, m in pairs)


def keeps(judged: Judged, array: Array, heights: Floats) -> NDArray[np.bool_]:
    """Whether every rule that binds still holds wherever the array is off by `spare`, with a length to hang by."""
    turn = np.linspace(0.0, 2 * np.pi, 16, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(16)])
    tilted = np.array(
        [[x * c, y * c, s] for x, y, _ in ring for c, s in ((0.7071, 0.7071), (0.7071, -0.7071))]
    )
    off = (SPARE_M - 1e-6) * np.concatenate([[[0, 0, 0], [0, 0, 1], [0, 0, -1]], ring, tilted])
    _, high = span(judged.room, array)
    places = (at_heights(array, heights)[:, None] + off).reshape(-1, 3)
    holds = np.ones(len(places), np.bool_)
    for demand in Sheet(judged.room, array).demands():
        if not demand.off and (demand.rule not in DOES_NOT_BIND or demand.basis == "own"):
            one = demand.measure(places)
            holds &= (one.spare >= -1e-9) | ~one.judged
    hangs = np.full(len(heights), array.profile.flush) | (heights <= high - HANG_M + 1e-9)
    return np.asarray(holds.reshape(len(heights), -1).all(axis=1) & hangs, np.bool_)


def through_the_structure(room: Room) -> bool:
    """Whether a device whose depth the file gives reaches into what is solid above: the room fails at every height."""
    solid = room.ceiling if room.structure is None and room.kind == "open" else room.structure
    if solid is None:
        return False
    goes_up = ("beam", "bulkhead")
    devices = [d for d in room.overhead if d.kind not in goes_up and d.depth is not None]
    return any(d.low + d.depth > solid + 1e-6 for d in devices if d.depth is not None)


def scan(judged: Judged, array: Array, heights: Floats) -> Scan:
    """What `check` would say with the array at each of these heights."""
    limits = array.limits
    places = at_heights(array, heights)
    rows = Listeners.of(judged.heads, 41)
    slack = rows.slack(limits, places)
    lines = Lines(judged.room, array)
    seen = np.column_stack([lines.see_all(places, mouths_asked(head)[::3]) for head in judged.heads])
    allowed = (slack.min(axis=1) >= 0) & seen.all(axis=1) & (not through_the_structure(judged.room))
    for demand in Sheet(judged.room, array).demands():
        if demand.fails and not demand.off:
            one = demand.measure(places)
            allowed &= (one.spare >= -1e-9) | ~one.judged
    margin = slack - rows.sway
    owner = np.array(rows.owner)
    counted = [(margin[:, owner == head.id] >= 0).all(axis=1) for head in judged.heads]
    return Scan(heights, allowed, np.sum(counted, axis=0).astype(float), margin.min(axis=1))


def allowed_differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of allowed_m and best_allowed_m in `heights --json` is not so."""
    judged = Judged(read(path))
    assert not judged.room.guesses, "what a default decides the oracle cannot know"
    [array] = judged.room.arrays
    low, high = span(judged.room, array)
    heights = np.unique(np.append(np.arange(low, high, STEP_M), high))
    found = []
    for band in told["arrays"][0]["bands"]:
        hung = replace(array, band=band["name"])
        found += [f"{band['name']}: {wrong}" for wrong in _band(judged, hung, band, heights)]
    return found


def _band(judged: Judged, array: Array, band: Mapping[str, Any], heights: Floats) -> Iterator[str]:
    scanned = scan(judged, array, heights)
    for height, allowed in zip(scanned.heights, scanned.allowed, strict=True):
        within = any(a - 1e-9 <= height <= b + 1e-9 for a, b in band["allowed_m"])
        at_end = any(abs(height - end) < EDGE_M for pair in band["allowed_m"] for end in pair)
        if within != allowed and not at_end:
            yield f"at {height:.4f} oracle says {'allowed' if allowed else 'fails'}, allowed_m {band['allowed_m']}"
            return
    yield from _best(judged, array, band, scanned)


def _best(judged: Judged, array: Array, band: Mapping[str, Any], scanned: Scan) -> Iterator[str]:
    best, at = scanned.best, band["best_allowed_m"]
    if at is None:
        if best is not None and any(b - a > EDGE_M for a, b in band["allowed_m"]):
            yield f"no best allowed height, oracle {best}"
        return
    there = scan(judged, array, np.array([at]))
    if not there.allowed[0] and not any(abs(at - end) < EDGE_M for pair in band["allowed_m"] for end in pair):
        yield f"best allowed height {at} fails"
    if abs(there.margin[0] - band["best_allowed_margin_m"]) > MARGIN_M:
        yield f"best_allowed_margin_m {band['best_allowed_margin_m']}, oracle {there.margin[0]:.5f}"
    if best is not None and (best[0] > there.covered[0] or best[1] > there.margin[0] + MARGIN_M):
        yield f"best allowed {there.covered[0]:.0f} covered with {there.margin[0]:.4f}, oracle {best}"
    yield from _unkept(judged, array, band["best_on_offer_m"], band["unkept"])


def _unkept(judged: Judged, array: Array, at: float, told: Mapping[str, Any] | None) -> Iterator[str]:
    """What of the wishes for a best height, and of the height that keeps them, is not so."""
    [kept] = keeps(judged, array, np.array([at]))
    if told is None:
        if not kept:
            yield f"nothing said to be tight at {at}, where a rule is lost within {SPARE_M}"
        return
    instead = told["instead_m"]
    if instead is None:
        return
    here, there = scan(judged, array, np.array([at, instead])).covered
    if there < here or not keeps(judged, array, np.array([instead]))[0]:
        yield f"{instead} instead of {at} keeps no more or covers fewer"
