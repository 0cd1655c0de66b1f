"""A placement told in words: what is proven, rounded to the safe side, and what is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry.placement import Effort
from scenes.place.search import place_scene
from scenes.room.provenance import Given
from scenes.room.scene import Limits
from tests.viz.rooms import scene_of
from viz.terminal.placement import lattice_name, placement_sentence, without_rules_sentence
from viz.words.locale import Locale

METRIC = Locale("m")


def test_a_search_that_ran_out_says_so_and_what_is_certain_even_so():
    # the standing talker is left out, so that everybody can be covered
    scene = scene_of("quiet")
    few = replace(scene, heads=scene.heads[:3])
    told = place_scene(few, effort=Effort(evaluations=60), advise=False)
    assert told.outcome == "unresolved"
    said = placement_sentence(told, METRIC)
    assert "Proven:" not in said
    assert "Not proven to be the best: the search ran out of its allowance. Certain is: " in said
    most = float(said.split("at most ")[1].split(" cm")[0]) / 100
    assert told.bound_m <= most <= told.bound_m + 0.001


def test_what_falls_short_is_told_no_larger_than_it_is_proven():
    told = place_scene(scene_of("quiet"), advise=False)
    assert told.bound_m < 0
    said = placement_sentence(told, METRIC)
    short = said.split("falls short by ")[1].split(" or more")[0]
    number, unit = short.split()
    metres = float(number) / {"m": 1, "cm": 100, "mm": 1000}[unit]
    assert -told.bound_m - 0.001 <= metres <= -told.bound_m


def test_no_position_at_all_is_told_as_proven():
    scene = scene_of("quiet")
    crowded = replace(scene, limits=Limits(headroom=Given(2.79), free_over_table=Given(2.0)))
    told = place_scene(crowded, advise=False)
    assert told.outcome == "none allowed"
    assert "Proven: no position is allowed by the walls, the ceiling and the rules." in placement_sentence(
        told, METRIC
    )
    free = place_scene(scene, aim="margin", advise=False)
    said = without_rules_sentence(told, free, METRIC)
    assert said.startswith("Without the ceiling's rules the best would be A1 at ")
    assert said.endswith("pushed it away. With them no position is allowed.")


@pytest.mark.parametrize(
    ("pitch_m", "units", "name"),
    [(None, "m", "tile centres"), (0.05, "m", "50 mm lattice"), (0.0508, "ft", '2" lattice')],
)
def test_a_lattice_has_the_name_it_was_asked_by(pitch_m, units, name):
    assert lattice_name(pitch_m, Locale(units)) == name


def test_room_to_move_is_rounded_down_so_that_what_is_told_may_be_done():
    import io
    import re

    from rich.console import Console

    from viz.terminal.placement import print_placement

    scene = scene_of("quiet")
    told = place_scene(replace(scene, heads=scene.heads[:3]), advise=False)
    out = io.StringIO()
    print_placement(Console(file=out, width=120), told, None)
    rows = re.findall(
        r" A1 +(\S+) +(\d+ [cm]m|\d\.\d\d m|–) +\S.*? +(\d+ [cm]m|\d\.\d\d m|–) +\S", out.getvalue()
    )
    rooms = {room.direction: room for room in told.arrays[0].rooms}
    assert {way for way, _, _ in rows} == set(rooms)

    def metres(text):
        number, unit = text.split()
        return float(number) / {"m": 1, "cm": 100, "mm": 1000}[unit]

    for way, by, clear in rows:
        for said, is_m in ((by, rooms[way].distance_m), (clear, rooms[way].clear_distance_m)):
            if said != "–":
                assert is_m - 0.01 - 1e-9 <= metres(said) <= is_m + 1e-9
