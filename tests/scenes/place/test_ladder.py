"""The ladder: rungs are what `review` finds of them, prices and bounds are of the right sign, tiles are tiles."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scenes.findings.ladder import Ladder, Rung
from scenes.place.ladder import frames, ladder_json, ladder_of, needed_of
from scenes.review.review import review
from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: Long Table
units: m
room: {size: [6.6, 4.2], ceiling: 2.7, grid: {pitch: [0.6, 0.6], origin: [0.1, 0.2]}}
people: {seated: {mouth: 1.2, sway: 0.05}}
tables: [{id: T1, shape: rectangle, size: [3.6, 1.2], at: [3.3, 2.1], turn: TURN, height: 0.74}]
seats: [{around: T1, pitch: 0.9, gap: 0.25}]
profiles:
  p: {mount: flush, body: {size: [0.5, 0.5, 0.06]}, bands: {wide: [35, 80]}, reach: [0.5, 2.4]}
arrays: [{id: A1, profile: p}]
overhead: [{id: L1, kind: light, at: [3.4, 2.3], size: [0.6, 0.6], below: 0}]
"""


def room(turn: float = 0.0, more: str = "") -> Scene:
    return build(read_spec_text(ROOM.replace("TURN", str(turn)) + more, "room.yaml"))


@pytest.fixture(scope="module")
def climbed() -> tuple[Scene, Ladder]:
    scene = room()
    return scene, ladder_of(scene, 3)


def hung(scene: Scene, rung: Rung) -> Scene:
    """The scene with a rung's arrays."""
    first = scene.arrays[0]
    return scene.with_arrays(
        tuple(
            replace(first, id=f"A{k}", at_m=at, height_m=height, band_name=band)
            for k, (at, height, band) in enumerate(rung.places, 1)
        )
    )


def test_every_rung_is_what_a_review_of_it_finds(climbed: tuple[Scene, Ladder]) -> None:
    scene, ladder = climbed
    assert ladder.talkers == len(scene.heads)
    for rung in ladder.rungs:
        if not rung.places:
            assert (rung.margin_m, rung.covered, rung.farthest_m, rung.tolerance_m) == (None,) * 4
            continue
        judged = review(hung(scene, rung))
        assert len(rung.places) <= rung.arrays
        assert judged.counts.covered == rung.covered
        assert judged.margin_m == pytest.approx(rung.margin_m, abs=1e-9)
        assert judged.short == ()
        assert rung.tolerance_m == max(rung.margin_m or 0.0, 0.0)
        farthest = max(one.worst_slant_m for one in judged.arrays if one.worst_slant_m is not None)
        assert farthest == pytest.approx(rung.farthest_m, abs=1e-9)


def test_bounds_hold_prices_are_not_negative_and_more_anywhere_is_never_worse(
    climbed: tuple[Scene, Ladder],
) -> None:
    _, ladder = climbed
    for lattice in (False, True):
        free = ladder.of("free", lattice)
        assert [rung.arrays for rung in free] == [1, 2, 3]
        good = [(rung.covered or 0, rung.margin_m or -9.0) for rung in free]
        assert good == sorted(good)
    for rung in ladder.rungs:
        free_bound = next(one.bound_m for one in ladder.of("free", False) if one.arrays == rung.arrays)
        if rung.margin_m is not None:
            assert rung.bound_m is not None
            assert rung.margin_m <= max(rung.bound_m, 0.0) + 1e-9
            assert free_bound is not None
            assert rung.margin_m <= free_bound + 1e-9
        if rung.costs_m is not None:
            assert rung.costs_m >= 0
            anywhere = next(one for one in ladder.of("free", rung.on_lattice) if one.arrays == rung.arrays)
            assert anywhere.margin_m is not None
            assert rung.margin_m is not None
            assert anywhere.margin_m >= rung.margin_m - (0.001 if rung.on_lattice else 0.0)
            assert rung.pattern != "free"


def test_rows_are_level_equally_spaced_and_along_the_table(climbed: tuple[Scene, Ladder]) -> None:
    _, ladder = climbed
    rows = [rung for rung in ladder.of("row", False) if rung.places]
    assert rows
    for rung in rows:
        at = np.array([place for place, _, _ in rung.places])
        assert len({height for _, height, _ in rung.places}) == 1
        assert len({band for _, _, band in rung.places}) == 1
        np.testing.assert_allclose(at[:, 1], 2.1, atol=1e-6)
        np.testing.assert_allclose(np.diff(at[:, 0]), np.diff(at[:, 0]).mean() if len(at) > 1 else 0)


def test_on_tiles_arrays_are_in_their_middles_and_in_no_other_devices_tile(
    climbed: tuple[Scene, Ladder],
) -> None:
    _, ladder = climbed
    on_tiles = [rung for rung in ladder.rungs if rung.on_lattice and rung.places]
    assert on_tiles
    for rung in on_tiles:
        at = np.array([place for place, _, _ in rung.places])
        np.testing.assert_allclose((at - (0.1, 0.2)) / 0.6 % 1, 0.5, atol=1e-6)
        assert not np.any(np.hypot(*(at - (3.4, 2.3)).T) < 0.3)


def test_how_many_it_takes_is_the_first_rung_with_enough_and_proven_by_the_bounds(
    climbed: tuple[Scene, Ladder],
) -> None:
    _, ladder = climbed
    for enough in (0.0, 0.1, 0.3, 5.0):
        for one in needed_of(ladder.rungs, enough):
            rungs = ladder.of(one.pattern, one.on_lattice)
            does = [r.arrays for r in rungs if r.margin_m is not None and r.margin_m >= enough]
            assert one.arrays == (does[0] if does else None)
            fewer = [r for r in rungs if not does or r.arrays < does[0]]
            assert one.proven == all(
                r.outcome == "none allowed" or (r.bound_m is not None and r.bound_m < enough) for r in fewer
            )
    assert all(one.arrays is None for one in needed_of(ladder.rungs, 5.0))
    assert ladder.needed == needed_of(ladder.rungs, 0.1)


def test_json_has_every_key_and_null_without_a_ladder(climbed: tuple[Scene, Ladder]) -> None:
    found = ladder_json(climbed[1])
    assert {key for rung in found["ladder"] for key in rung} == {  # type: ignore[attr-defined]
        *("arrays", "pattern", "covered", "margin_m", "tolerance_m", "farthest_m", "on_lattice", "outcome"),
        *("bound_m", "costs_m", "idle", "places", "talkers"),
    }
    assert ladder_json(None) == {"ladder": None, "needed": None}


def test_rows_lie_along_tables_however_they_are_turned_and_along_the_block_of_all() -> None:
    turned = frames(room(30))
    assert [round(one.along_deg % 180, 6) for one in turned] == [30]
    u_shape = """\
  - {id: P, at: [0.6, 0.5]}
"""
    rows = "overtable: 1\nname: R\nunits: m\nroom: {size: [8, 6], ceiling: 2.7}\n"
    desks = build(
        read_spec_text(
            rows + "seats: [{id: R, rows: 3, columns: 5, at: [4, 3], pitch: [0.8, 1.2]}]\n", "rows.yaml"
        )
    )
    block = frames(desks)
    assert [one.along_deg % 180 for one in block] == [0, 90]
    assert block[0].middle_m == pytest.approx((4, 3))
    with_presenter = frames(room(0, "standing:\n" + u_shape))
    assert with_presenter[0].middle_m == (3.3, 2.1)
    assert len(with_presenter) == 2


def test_without_a_grid_there_are_no_tiles_and_mistakes_are_told() -> None:
    plain = build(
        read_spec_text(
            ROOM.replace("TURN", "0").replace(", grid: {pitch: [0.6, 0.6], origin: [0.1, 0.2]}", ""), "r.yaml"
        )
    )
    only = ladder_of(plain, 1)
    assert {rung.on_lattice for rung in only.rungs} == {None}
    for most in (0, 13):
        with pytest.raises(ValueError, match="allowed is 1 to 12"):
            ladder_of(plain, most)
    with pytest.raises(ValueError, match="needs an array"):
        ladder_of(plain.with_arrays(()), 1)
