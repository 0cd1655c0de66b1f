"""Talkers who count for more: in the aim `most` only, and each person once however many heads they have."""

from __future__ import annotations

import pytest

from scenes.place.placement import Placement
from scenes.place.search import place_scene
from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: R
units: m
room: {{size: [9, 3], ceiling: 2.8}}
seats: [{{id: CHAIR, at: [1, 1.5], stands: true{chair}}}, {{id: S1, at: [8, 1.2]}}, {{id: S2, at: [8, 1.9]}}]
profiles: {{p: {{mount: pendant, body: {{diameter: 0.2, height: 0.06}}, bands: {{one: [20, 65]}}, reach: [0.8, 3.2]}}}}
arrays: [{{id: A1, profile: p}}]
"""


def room(chair: str = "") -> Scene:
    """A chair at one end, two observers at the other, too far apart for one array."""
    return build(read_spec_text(ROOM.format(chair=chair), "room.yaml"))


def placed(chair: str, aim: str = "most") -> Placement:
    return place_scene(room(chair), aim=aim, advise=False, rooms=False)  # type: ignore[arg-type]


def covered(placement: Placement) -> tuple[str, ...]:
    """Whom the aim `most` covers."""
    assert placement.most is not None
    return placement.most.heads


def test_a_chair_that_counts_three_times_is_covered_before_two_others() -> None:
    assert covered(placed("")) == ("S1", "S2")
    heavy = placed(", weight: 3")
    assert covered(heavy) == ("CHAIR", "CHAIR-up")
    assert (heavy.aim_value, heavy.value_as_placed) == (3.0, 3.0)
    assert heavy.most is not None
    assert heavy.most.bound == 3.0
    # as much as the others together: then the margin decides, and both are proven
    assert placed(", weight: 2").aim_value == 2.0


def test_a_weight_changes_nothing_but_the_aim_most() -> None:
    assert placed(", weight: 3", "margin").bound_m == placed("", "margin").bound_m


def test_somebody_who_stands_up_too_counts_once() -> None:
    heads = room(", weight: 3").heads_as_rows
    assert heads.weight.tolist() == [3, 3, 1, 1]
    assert heads.persons()[2].tolist() == [3, 1, 1]


@pytest.mark.parametrize("weight", ["0", "-1", "2000", "heavy"])
def test_a_weight_is_a_number_above_none(weight: str) -> None:
    with pytest.raises(SpecMistakes) as wrong:
        room(f", weight: {weight}")
    assert [mistake.path for mistake in wrong.value.mistakes] == ["seats[0].weight"]
