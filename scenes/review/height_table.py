"""The table behind the page's height slider: every head's slack over heights and bands, sentences included.

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
from scenes.words import coverage_sentence

STEP_M = 0.01
LOWEST_M = 1.2
"""Below the lowest mouth nobody hangs an array: the slider starts here, or at today's height if lower."""

LETTERS: dict[State, str] = {"covered": "c", "marginal": "m", "missed": "x"}


def explore(scene: Scene, review: Review) -> dict[str, Any]:
    """The slider's table as a JSON-able object; lists over heights run from low to high, 1 cm apart.

    Per array `otherwise` names, head by head, the array that serves it where this one does not (None
    with one array alone). Per band and head: `slack_mm` (towards zero, whole mm, so that a state is never flattered),
    `depression_cdeg` (hundredths of a degree), `slant_mm`, and `states`, a string of c, m, x over
    heights. `sentences` of a band are indices into the object's own list of sentences.
    """
    told: dict[str, int] = {}
    arrays = [_explore_array(scene, review, k, array, told) for k, array in enumerate(scene.arrays)]
    return {
        "arrays": arrays,
        "heads": [head.id for head in scene.heads],
        "sway_mm": [round(head.sway_m * 1000) for head in scene.heads],
        "sentences": list(told),
    }


def _explore_array(
    scene: Scene, review: Review, k: int, array: Array, told: dict[str, int]
) -> dict[str, Any]:
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
                "margin_mm": np.trunc(np.round(merged["margin_m"].T * 1000, 6)).astype(int).tolist(),
                "depression_cdeg": np.round(merged["depression_deg"].T * 100).astype(int).tolist(),
                "slant_mm": np.round(merged["slant_m"].T * 1000).astype(int).tolist(),
                "states": [
                    "".join(LETTERS[_state(merged, h, i)] for h in range(len(heights)))
                    for i in range(len(rows))
                ],
                "served": ["".join("1" if s else "0" for s in served[:, i]) for i in range(len(rows))],
                "sentences": [
                    told.setdefault(_sentence(scene, merged, h), len(told)) for h in range(len(heights))
                ],
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


def _sentence(scene: Scene, merged: dict[str, Any], h: int) -> str:
    count = len(scene.heads)
    reasons: list[Reason | None] = [
        None if merged["reason"][h, i] < 0 else REASONS[int(merged["reason"][h, i])] for i in range(count)
    ]
    return coverage_sentence(
        [head.id for head in scene.heads],
        [_state(merged, h, i) for i in range(count)],
        merged["slack_m"][h].tolist(),
        merged["margin_m"][h].tolist(),
        reasons,
        scene.units,
        [head.person for head in scene.heads],
    )
