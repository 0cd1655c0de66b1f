"""Names on the plans of the demo rooms, on the papers that the everyday tests leave out."""

from __future__ import annotations

import pytest

from tests.viz import test_sheets
from tests.viz.test_names_on_plans import EVERY_TIME, ROOMS, plans
from viz.sheets import PAPERS

OTHERS = [(room, paper) for room in ROOMS for paper in sorted(PAPERS) if (room, paper) not in EVERY_TIME]


@pytest.mark.parametrize(("room", "paper"), OTHERS)
def test_no_name_stands_nearer_to_another_thing_without_a_leader_to_its_own(room: str, paper: str) -> None:
    for plan in plans(room, paper):
        assert plan.doubtful() == []


@pytest.mark.parametrize(("room", "paper"), OTHERS)
def test_letters_collide_with_no_others(room: str, paper: str) -> None:
    test_sheets.test_letters_collide_with_no_others_and_stay_inside_frame_and_viewport(room, paper)
