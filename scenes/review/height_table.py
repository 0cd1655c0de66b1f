"""The table behind the page's height slider: every head's slack over heights and bands.

Computed here once; the page looks numbers up and computes no geometry. One array moves, the others
stay where they are, and a head is served by whichever array gives it the largest margin.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from geometry.coverage import REASONS, Coverage, Reason, State, cover
from scenes.findings.review import Review
from scenes.review.heights import hanging_heights
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m

STEP_M = 0.01
LOWEST_M = 1.2
"""Below the lowest mouth nobody hangs an array: the slider starts here, or at today's height if lower."""

MARGIN_STEPS_M = {"ft": 0.0015875, "in": 0.0015875}
"""What a margin is counted in, down: sixteenths of an inch, elsewhere millimetres."""
SAME_STEP = 1e-6
"""A margin that misses a whole step by less of it than this is that step."""

LETTERS: dict[State, str] = {"covered": "c", "marginal": "m", "missed": "x"}


def explore(scene: Scene, review: Review) -> dict[str, Any]:
    """The slider's table as a JSON-able object; lists over heights run from low to high, 1 cm apart.

    Per array `otherwise` names, head by head, the array that serves it where this one does not (None
    with one array alone). Per band and head: `slack_mm` (towards zero, whole mm, so that a state is never flattered),
    `margin_steps` (down, in MARGIN_STEPS_M),
    `depression_cdeg` (hundredths of a degree), `slant_mm`, and `states`, a string of c, m, x over
    heights. `figures` of a band are height by height what its sentence is made of: per head its standing,
    its reason, slack and margin in metres.
    """
    arrays = [_explore_array(scene, review, k, array) for k, array in enumerate(scene.arrays)]
    return {
        "arrays": arrays,
        "heads": [head.id for head in scene.heads],
        "sway_mm": [round(head.sway_m * 1000) for head in scene.heads],
    }


def _explore_array(scene: Scene, review: Review, k: int, array: Array) -> dict[str, Any]:
    low, high = height_span_m(scene, array)
    low = min(max(low, LOWEST_M), array.centre_m[2], high)
    if array.profile.mount == "flush":
        heights = np.array([high])
    else:
        # whole centimetres between the ends, the ends themselves, and today's height
        steps = np.arange(math.ceil(low / STEP_M - 1e-9), math.floor(high / STEP_M + 1e-9) + 1) * STEP_M
        heights = np.unique(np.round(np.concatenate([[low], steps, [high, array.centre_m[2]]]), 9))
    rows = scene.heads_as_rows
    others = [other for j, other in enumerate(scene.arrays) if j != k]
    other_cover = None
    if others:
        other_cover = cover(
            np.array([other.centre_m for other in others]), [other.band for other in others], rows
        )
    closed = {band.name: band for a in hanging_heights(scene, review) if a.id == array.id for band in a.bands}
    otherwise: list[str] | None = None
    if other_cover is not None:
        otherwise = [others[int(j)].id for j in np.argmax(other_cover.margin_m, axis=0)]
    step_m = MARGIN_STEPS_M.get(scene.units, 0.001)
    bands = []
    for name in array.profile.bands:
        band = array.profile.band(name)
        positions = np.column_stack([np.tile(array.centre_m[:2], (len(heights), 1)), heights])
        mine = cover(positions, [band] * len(heights), rows)
        merged, served = _merge(mine, other_cover)
        entry = closed[name]
        bands.append(
            {
                "name": name,
                "low_deg": band.low_deg,
                "high_deg": band.high_deg,
                "interval_m": entry.interval_m,
                "covered_interval_m": entry.covered_interval_m,
                "best_m": entry.best_m,
                "best_margin_m": entry.best_margin_m,
                "slack_mm": np.trunc(np.round(merged["slack_m"].T * 1000, 6)).astype(int).tolist(),
                "margin_steps": np.floor(merged["margin_m"].T / step_m + SAME_STEP).astype(int).tolist(),
                "depression_cdeg": np.round(merged["depression_deg"].T * 100).astype(int).tolist(),
                "slant_mm": np.round(merged["slant_m"].T * 1000).astype(int).tolist(),
                "states": [
                    "".join(LETTERS[_state(merged, h, i)] for h in range(len(heights)))
                    for i in range(len(rows))
                ],
                "served": ["".join("1" if s else "0" for s in served[:, i]) for i in range(len(rows))],
                "figures": [_figures(merged, h) for h in range(len(heights))],
            }
        )
    return {
        "id": array.id,
        "today": {"height_m": array.centre_m[2], "band": array.band_name},
        "heights_m": heights.tolist(),
        "otherwise": otherwise,
        "bands": bands,
    }


def _merge(mine: Coverage, others: Coverage | None) -> tuple[dict[str, Any], Any]:
    names = ("slack_m", "margin_m", "depression_deg", "slant_m", "reason")
    merged = {name: getattr(mine, name) for name in names}
    served = np.ones(mine.slack_m.shape, bool)
    if others is not None:
        best = np.argmax(others.margin_m, axis=0)
        columns = np.arange(len(best))
        served = mine.margin_m >= others.margin_m[best, columns]
        merged = {
            name: np.where(served, merged[name], getattr(others, name)[best, columns]) for name in names
        }
    return merged, served


def _state(merged: dict[str, Any], h: int, i: int) -> State:
    if merged["margin_m"][h, i] >= -1e-9:
        return "covered"
    return "marginal" if merged["slack_m"][h, i] >= -1e-9 else "missed"


def _figures(
    merged: dict[str, Any], h: int
) -> tuple[list[State], list[Reason | None], list[float], list[float]]:
    count = merged["slack_m"].shape[1]
    return (
        [_state(merged, h, i) for i in range(count)],
        [None if reason < 0 else REASONS[int(reason)] for reason in merged["reason"][h]],
        merged["slack_m"][h].tolist(),
        merged["margin_m"][h].tolist(),
    )
