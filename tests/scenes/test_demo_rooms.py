"""The demo rooms: what each is there to show, and a look of their own. Sources: house rules, no publication."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from scenes.findings.review import Review
from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.room.ceiling import part_over
from scenes.room.scene import Profile

ROOMS = Path(__file__).parents[2] / "scenes" / "rooms"
NAMES = ("ferry", "heron", "loft", "weir", "wharf")
INITIALS = re.compile(r"[A-Z]{2,3}")


@cache
def judged(name: str) -> Review:
    """The review of a demo room as it is handed to a newcomer."""
    return review(read_scene(ROOMS / f"{name}.yaml"))


def profiles() -> dict[str, Profile]:
    """The profiles that the demo rooms hang."""
    used = [array.profile for name in NAMES for array in judged(name).scene.arrays]
    return {profile.name: profile for profile in used}


def test_there_are_five() -> None:
    rooms = {path.stem for path in ROOMS.glob("*.yaml")} - {"devices"}
    assert rooms == set(NAMES)


def test_heron_passes_near_a_sprinkler() -> None:
    of = judged("heron")
    assert of.verdict == "pass"
    at_x, at_y = of.scene.arrays[0].at_m or (0.0, 0.0)
    sprinklers = [device.at_m for device in of.scene.overhead if device.kind == "sprinkler"]
    nearest = min((x - at_x) ** 2 + (y - at_y) ** 2 for x, y in sprinklers) ** 0.5
    # nearer on plan than the 24 in that standard spray asks beside one: tests/outside/test_clearance_values.py
    assert nearest < 0.61


def test_weir_needs_more_than_its_array_and_somebody_walks() -> None:
    of = judged("weir")
    assert of.verdict == "fail"
    assert len(of.scene.arrays) == 1
    assert any(head.path_m for head in of.scene.heads)


def test_ferry_is_flush_in_feet_and_inches() -> None:
    of = judged("ferry")
    assert of.verdict == "pass"
    assert of.scene.units == "ft"
    assert {array.profile.mount for array in of.scene.arrays} == {"flush"}


def test_loft_has_an_open_ceiling() -> None:
    of = judged("loft")
    assert of.verdict == "caution"
    assert of.scene.room.ceiling_kind == "open"


def test_wharf_hangs_from_a_bulkhead_beside_a_slope() -> None:
    of = judged("wharf")
    assert of.verdict == "pass"
    under = part_over(of.scene.room, of.scene.arrays[0].centre_m[:2])
    assert under is not None
    assert (under.id, under.kind) == ("BH1", "hard")
    assert [part.id for part in of.scene.room.parts if not part.surface.flat] == ["R1"]


@pytest.mark.parametrize("name", NAMES)
def test_no_array_of_a_demo_hangs_on_a_tee(name: str) -> None:
    scene = judged(name).scene
    if scene.room.grid is None:
        return
    (pitch_x, pitch_y), (from_x, from_y) = scene.room.grid.pitch_m, scene.room.grid.origin_m
    for array in scene.arrays:
        assert array.at_m is not None
        for at, pitch, start in ((array.at_m[0], pitch_x, from_x), (array.at_m[1], pitch_y, from_y)):
            along = (at - start) % pitch
            # half a tee of 24 mm and a hand
            assert min(along, pitch - along) > 0.03


@pytest.mark.parametrize("name", NAMES)
def test_nobody_is_named_and_nothing_is_signed_on_a_demo(name: str) -> None:
    document = judged(name).scene.document
    assert document.drawn_by is not None
    assert INITIALS.fullmatch(document.drawn_by)
    assert not document.checked_by


def test_the_bodies_are_of_different_kinds_and_held_in_different_ways() -> None:
    of = profiles()
    assert {(one.mount, one.round) for one in of.values()} == {
        ("pendant", True),
        ("pendant", False),
        ("flush", True),
    }
    assert len({one.hangs_by for one in of.values()}) == 3
    assert len({one.points for one in of.values()}) == 3


def test_their_bands_are_unequal_and_overlap_unevenly() -> None:
    for one in profiles().values():
        bands = sorted(one.bands.values())
        widths = {high - low for low, high in bands}
        shared = {first[1] - second[0] for first, second in pairwise(bands)}
        assert len(widths) == len(bands)
        assert len(shared) == len(bands) - 1
    assert len({len(one.bands) for one in profiles().values()}) > 1
