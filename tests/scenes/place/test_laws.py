"""Laws that hold of every room, to the millimetre of the proof, by the bare search. Rooms at random, always the same."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, partial

import numpy as np
import pytest

from scenes.place.placement import Placement
from scenes.place.problem import Kept
from scenes.place.search import place_scene
from scenes.place.snap import larger_on_lattice, snap_placement
from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text

PROVEN_M = 1e-3
ROOM = """\
overtable: 1
name: R
units: m
room: {{size: [6, 4.5], ceiling: 2.8}}
tables: [{{id: T1, shape: rectangle, size: [2.2, 1.0], at: [{x}, {y}]}}]
seats: [{{id: S1, at: [1.2, 2]}}, {{id: S2, at: [{x}, 3.4]}}, {{id: S3, at: [4.6, {y}]}}, {{id: S4, at: [{u}, {v}]}}]
profiles: {{p: {{mount: pendant, body: {{diameter: 0.2, height: 0.06}}, bands: {{one: [20, 70]}}, reach: [0.6, 3.4]}}}}
arrays: [{{id: A1, profile: p}}]
overhead:
  - {{id: L1, kind: light, at: [{u}, 2.2], size: [0.6, 0.6], below: 0.3}}
  - {{id: SP1, kind: sprinkler, at: [{x}, 2.6], below: 0.05, spray: standard}}
"""
search = partial(place_scene, aim="margin", advise=False, rooms=False, tabled=False)


@cache
def room(seed: int) -> Scene:
    """Four talkers, a table, a light and a sprinkler, not always where they were."""
    random = np.random.default_rng(seed)
    x, y, u, v = (round(float(n), 2) for n in random.uniform((2, 1.2, 2.2, 0.8), (4, 3.2, 4.2, 3.8)))
    return build(read_spec_text(ROOM.format(x=x, y=y, u=u, v=v), "room.yaml"))


@cache
def bare(seed: int) -> Placement:
    """The room placed without wishes."""
    return search(room(seed))


@pytest.mark.parametrize("seed", range(2))
def test_a_price_is_never_negative(seed: int) -> None:
    free = bare(seed)
    for kept in (Kept(over=("T1",)), Kept(spare_m=0.05), Kept(over=("T1",), spare_m=0.05)):
        wished = search(room(seed), kept=kept)
        if wished.largest_margin_m is not None:
            assert free.bound_m is not None
            assert wished.largest_margin_m <= free.bound_m + 1e-9
            assert wished.largest_margin_m <= (free.largest_margin_m or 0.0) + PROVEN_M


@pytest.mark.parametrize("seed", range(4))
def test_a_talker_more_never_raises_the_margin(seed: int) -> None:
    scene = room(seed)
    fewer = search(replace(scene, heads=scene.heads[:3]))
    assert bare(seed).largest_margin_m is not None
    assert fewer.bound_m is not None
    assert (bare(seed).largest_margin_m or 0.0) <= fewer.bound_m + 1e-9


@pytest.mark.parametrize("seed", range(2))
def test_the_aim_margin_is_never_written_with_less_than_the_aim_tolerance(seed: int) -> None:
    roomy = search(room(seed), aim="tolerance")
    for step_m in (0.0127, 0.05):
        snap = partial(snap_placement, to=step_m, nearby=True)
        written = larger_on_lattice(snap(bare(seed)), roomy, step_m, nearby=True)
        assert (written.margin_m or 0.0) >= (snap(roomy).margin_m or 0.0) - 1e-9
        assert written.aim == "margin"
        assert written.searched is bare(seed)


def test_a_margin_that_is_lost_to_the_lattice_is_remarked() -> None:
    free = replace(bare(0), enough_m=(bare(0).margin_m or 0.0) - 1e-4)
    for enough_m, remarked in ((free.enough_m, True), (0.0, False)):
        written = snap_placement(replace(free, enough_m=enough_m), 0.3)
        assert ("less as written" in [note.name for note in written.notes]) == remarked
