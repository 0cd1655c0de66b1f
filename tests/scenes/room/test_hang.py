"""What is cut, drilled and ordered for one array, by what it hangs by."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from scenes.room.hung import Hang, hang_of
from scenes.room.scene import Suspension
from tests.scenes.ceiling_rooms import CEILING_M, array, profile, scene

TOP_M = 2.2 + 0.03
DROP_M = CEILING_M - TOP_M


def hang(by: str = "cable", points: int = 1, spread_m: float | None = None, **more: Any) -> Hang:
    mount = "flush" if by in ("flush", "recessed") else "pendant"
    turn = more.pop("turn_deg", 0.0)
    cutout = more.pop("cutout_m", None)
    kind = replace(profile(0.4, mount=mount, hangs_by=by, points=points), spread_m=spread_m, cutout_m=cutout)
    return hang_of(
        scene(arrays=(array(profile=kind, turn_deg=turn),), **more), array(profile=kind, turn_deg=turn)
    )


def test_a_cable_is_cut_from_the_box_to_the_centre_with_its_spare() -> None:
    found = hang()
    assert (found.pieces, found.lacks, found.holes, found.holes_m) == (1, None, 1, ((3.0, 2.0),))
    assert found.piece_m == pytest.approx(CEILING_M - 2.2 + 0.3)
    up = hang(suspension=Suspension(box="structure"))
    assert up.piece_m == pytest.approx(3.4 - 2.2 + 0.3)
    assert hang(suspension=Suspension(box="structure"), structure_m=None).lacks == "structure"


def test_wires_spread_to_the_points_of_the_body_and_meet_in_one_hole() -> None:
    found = hang("wires", 3, 0.3)
    assert found.piece_m == pytest.approx(math.hypot(DROP_M, 0.15))
    assert (found.pieces, found.holes, found.lacks) == (3, 1, None)
    unknown = hang("wires", 3)
    assert (unknown.piece_m, unknown.lacks, unknown.holes_m) == (None, "spread", ((3.0, 2.0),))
    assert hang("wires").piece_m == pytest.approx(DROP_M)


@pytest.mark.parametrize("by", ["rod", "pole"])
def test_rods_and_poles_are_cut_to_the_top_of_the_body_and_have_a_hole_each(by: str) -> None:
    found = hang(by, 2, 0.3, turn_deg=90.0)
    assert found.piece_m == pytest.approx(DROP_M)
    assert found.holes == 2
    assert [value for place in found.holes_m for value in place] == pytest.approx([3.0, 2.15, 3.0, 1.85])
    unknown = hang(by, 2)
    assert (unknown.holes, unknown.holes_m, unknown.lacks) == (2, (), "spread")
    assert unknown.piece_m == pytest.approx(DROP_M)
    assert hang(by).holes_m == ((3.0, 2.0),)


def test_a_flush_array_has_a_cut_out_and_a_second_line_and_nothing_to_cut() -> None:
    for by in ("flush", "recessed"):
        found = hang(by, cutout_m=(0.38, 0.38))
        assert (found.pieces, found.piece_m, found.holes, found.cutout_m) == (0, None, 1, (0.38, 0.38))
        assert found.second_m == pytest.approx(3.4 - CEILING_M - 0.06)
        assert found.box_line_m is None


def test_second_lines_go_straight_to_the_structure_where_its_height_is_known() -> None:
    found = hang()
    assert found.second_m == pytest.approx(3.4 - TOP_M)
    assert found.box_line_m == pytest.approx(3.4 - CEILING_M - 0.06)
    assert hang(ceiling_kind="hard").box_line_m == pytest.approx(3.4 - CEILING_M)
    assert (hang(structure_m=None).second_m, hang(structure_m=None).box_line_m) == (None, None)
    under_open = hang(ceiling_kind="open", structure_m=None)
    assert (under_open.second_m, under_open.box_line_m) == (pytest.approx(DROP_M), None)
    assert (under_open.holes, under_open.holes_m) == (0, ())
