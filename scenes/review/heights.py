"""Hanging heights per band: for every array where it is on plan, what each of its bands would allow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from geometry.band import Band, depression_deg
from geometry.coverage import Heads
from geometry.heights import best_height, height_interval
from scenes.findings.heights import ArrayHeights, BandHeights, Unkept
from scenes.findings.review import Review
from scenes.review.allowed import allowed_heights, within, without
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m, interval_of


def hanging_heights(scene: Scene, review: Review | None = None) -> tuple[ArrayHeights, ...]:
    """The heights of every array that has a place on plan, band by band.

    With a review each array answers for the heads it serves now; without one (heights or bands still
    open) each for the heads nearest to it on plan.
    """
    return tuple(
        _array_heights(scene, array, _served(scene, array, review))
        for array in scene.arrays
        if array.at_m is not None
    )


def _served(scene: Scene, array: Array, review: Review | None) -> list[int]:
    if review is not None:
        return [i for i, head in enumerate(review.heads) if head.array == array.id]
    places = [(a.id, a.at_m) for a in scene.arrays if a.at_m is not None]
    nearest = [
        min(places, key=lambda place: float(np.hypot(*np.subtract(place[1], head.at_m))))[0]
        for head in scene.heads
    ]
    return [i for i, id in enumerate(nearest) if id == array.id]


def _array_heights(scene: Scene, array: Array, served: list[int]) -> ArrayHeights:
    assert array.at_m is not None
    heads = scene.heads_as_rows.take(np.array(served, dtype=np.int64))
    ids = tuple(scene.heads[i].id for i in served)
    low_m, high_m = height_span_m(scene, array)
    bands: list[BandHeights] = []
    for name in array.profile.bands:
        band = array.profile.band(name)
        reach = height_interval(array.at_m, band, heads, floor_m=low_m, ceiling_m=high_m)
        covered = height_interval(array.at_m, band, heads, heads.sway_m, floor_m=low_m, ceiling_m=high_m)
        best = best_height(array.at_m, band, heads, floor_m=low_m, ceiling_m=high_m)
        telling = covered if not covered.empty else reach
        mean = None if best is None else _off_centre_deg(array, band, best.height_m, heads)
        bands.append(
            BandHeights(
                name=name,
                low_deg=band.low_deg,
                high_deg=band.high_deg,
                # who serves nobody covers nobody, not everybody
                interval_m=interval_of(reach) if served else None,
                covered_interval_m=interval_of(covered) if served else None,
                best_m=None if best is None else best.height_m,
                best_margin_m=None if best is None else best.margin_m,
                mean_off_centre_deg=mean,
                limited_by=(
                    None if telling.low_head is None else ids[telling.low_head],
                    None if telling.high_head is None else ids[telling.high_head],
                ),
                cause=covered.cause,
                conflict=tuple(ids[i] for i in covered.conflict),
                interval_cause=reach.cause,
                interval_conflict=tuple(ids[i] for i in reach.conflict),
                allowed_m=(),
                allowed_covered_m=(),
                ruled_out_m=(),
                best_allowed_m=None,
                best_allowed_margin_m=None,
                offered_m=None,
                offered_margin_m=None,
                told_off_centre_deg=None,
                unkept=None,
            )
        )
    talkers = len({scene.heads[i].person for i in served})
    return ArrayHeights(
        array.id,
        array.at_m,
        array.height_m,
        array.band_name,
        (low_m, high_m),
        array.profile.mount == "flush",
        ids,
        talkers,
        tuple(_with_allowed(scene, array, served, bands)),
    )


def _with_allowed(
    scene: Scene, array: Array, served: list[int], bands: list[BandHeights]
) -> Iterator[BandHeights]:
    """The bands with what of them is allowed."""
    ends = [end for one in bands for pair in (one.interval_m, one.covered_interval_m) for end in pair or ()]
    ends += [one.best_m for one in bands if one.best_m is not None]
    allowed = allowed_heights(scene, array, served, ends)
    heads = scene.heads_as_rows.take(np.array(served, dtype=np.int64))
    for one in bands:
        here = allowed[one.name]
        found = replace(
            one,
            allowed_m=here.stretches_m,
            allowed_covered_m=within(one.covered_interval_m, here.stretches_m),
            ruled_out_m=without(one.covered_interval_m, here.stretches_m),
            best_allowed_m=here.best_m,
            best_allowed_margin_m=here.margin_m,
            offered_m=here.offered_m,
            offered_margin_m=here.offered_margin_m,
            unkept=here.unkept,
        )
        if found.told_m is not None and served:
            off = _off_centre_deg(array, array.profile.band(one.name), found.told_m, heads)
            found = replace(found, told_off_centre_deg=off)
        yield found


def _off_centre_deg(array: Array, band: Band, height_m: float, heads: Heads) -> float:
    """How far from the middle of the band these heads are on average."""
    assert array.at_m is not None
    return float(np.mean(depression_deg((*array.at_m, height_m), heads.at_m))) - band.middle_deg


def heights_as_json(rows: tuple[ArrayHeights, ...]) -> dict[str, object]:
    """The `overtable/heights/1` object."""
    return {
        "format": "overtable/heights/1",
        "arrays": [
            {
                "id": row.id,
                "at_m": row.at_m,
                "bands": [
                    {
                        "name": band.name,
                        "low_deg": band.low_deg,
                        "high_deg": band.high_deg,
                        "interval_m": band.interval_m,
                        "covered_interval_m": band.covered_interval_m,
                        "best_m": band.best_m,
                        "best_margin_m": band.best_margin_m,
                        "allowed_m": band.allowed_m,
                        "best_allowed_m": band.best_allowed_m,
                        "best_allowed_margin_m": band.best_allowed_margin_m,
                        "best_on_offer_m": band.offered_m,
                        "best_on_offer_margin_m": band.offered_margin_m,
                        "unkept": band.unkept and _unkept(band.unkept),
                        "mean_off_centre_deg": band.mean_off_centre_deg,
                        "limited_by": {"low": band.limited_by[0], "high": band.limited_by[1]},
                        "conflict": list(band.conflict),
                        "cause": band.cause,
                        "interval_conflict": list(band.interval_conflict),
                        "interval_cause": band.interval_cause,
                    }
                    for band in row.bands
                ],
                "heads": list(row.heads),
                "today": {"height_m": row.today_m, "band": row.today_band},
            }
            for row in rows
        ],
    }


def _unkept(unkept: Unkept) -> dict[str, object]:
    return {
        "tight": [{"id": limit.id, "rule": limit.rule} for limit in unkept.tight],
        "hangs_short": unkept.hangs_short,
        "instead_m": unkept.instead_m,
    }
