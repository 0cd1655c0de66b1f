"""A placement on the terminal: every text that the words give is there, and nothing else is made up."""

from __future__ import annotations

import io
import re
from dataclasses import replace

from rich.console import Console

from scenes.place.search import place_scene
from tests.viz.rooms import demo_scene, scene_of
from viz.terminal.placement import print_placement
from viz.words import aims, ways
from viz.words import placement as words
from viz.words.locale import Locale

METRIC = Locale("m")


def test_all_that_the_words_say_is_printed():
    placement = place_scene(demo_scene("weir"), advise=False)
    out = io.StringIO()
    print_placement(Console(file=out, width=200), placement, None)
    printed = " ".join(out.getvalue().split())
    for sentence in (
        *words.closing(placement, None, None, METRIC),
        *aims.key(placement, METRIC),
        *ways.below_the_ways(placement, METRIC),
    ):
        assert " ".join(sentence.split()) in printed
    for row in aims.aims(placement, METRIC):
        figures = (row.margin, row.distance, row.from_centre, row.spread, row.proof)
        assert f"{row.aim} {row.height} {row.band} {' '.join(figures)}" in printed
    for width, left_out in ((80, 0), (66, 1), (58, 2)):
        narrow = io.StringIO()
        print_placement(Console(file=narrow, width=width), placement, None)
        lines = [" ".join(line.split()) for line in narrow.getvalue().splitlines()]
        for row in aims.aims(placement, METRIC):
            others = (row.from_centre, row.spread)[: 2 - left_out]
            cells = (row.height, row.band, row.margin, row.distance, *others, row.proof)
            assert " ".join((*row.marked(METRIC).split(), *cells)) in lines


def test_room_to_move_is_rounded_down_so_that_what_is_told_may_be_done():
    scene = scene_of("quiet")
    told = place_scene(replace(scene, heads=scene.heads[:3]), advise=False)
    out = io.StringIO()
    print_placement(Console(file=out, width=120), told, None)
    rows = re.findall(
        r" A1 +(\S+) +(\d+ [cm]m|\d\.\d\d m|–) +\S.*? +(\d+ [cm]m|\d\.\d\d m|–) +\S", out.getvalue()
    )
    rooms = {room.direction: room for room in told.arrays[0].rooms}
    assert {way.replace("−", "-") for way, _, _ in rows} == set(rooms)

    def metres(text):
        number, unit = text.split()
        return float(number) / {"m": 1, "cm": 100, "mm": 1000}[unit]

    for way, by, clear in rows:
        room = rooms[way.replace("−", "-")]
        for said, is_m in ((by, room.distance_m), (clear, room.clear_distance_m)):
            if said != "–":
                assert is_m - 0.01 - 1e-9 <= metres(said) <= is_m + 1e-9
