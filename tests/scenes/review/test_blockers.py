from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from geometry.shapes import Box, Cylinder, Prism
from scenes.review.blockers import TOP_THICK_M, WALLS, blockers_of, seen, solids_before
from scenes.room.ceiling import REST, ceiling_over_m
from scenes.room.scene import Display, Obstacle, Scene
from tests.scenes.ceiling_parts import scene_of, ten_small_parts
from tests.scenes.ceiling_rooms import CEILING_M, array, device, head, scene

L_SHAPE = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.5), (2.5, 2.5), (2.5, 6.0), (0.0, 6.0))


def l_shaped(**parts: object) -> Scene:
    room = scene(tables=(), **parts)
    return replace(room, room=replace(room.room, outline_m=L_SHAPE))


def kinds(of: Scene) -> list[tuple[str, str, bool]]:
    return [(one.owner, one.kind, one.cable) for one in blockers_of(of)]


def test_everything_that_stands_or_hangs_may_block_and_says_what_can_be_done_about_it() -> None:
    room = scene(
        overhead=(device("L1", "light", (2, 2), stem_m=0.5, below_m=0.6), device("B1", "beam", (1, 1))),
        obstacles=(
            Obstacle("C1", Cylinder((5, 3, CEILING_M / 2), 0.2, CEILING_M)),
            Obstacle("F1", Box((1, 3, 0.7), (0.4, 0.4, 1.4))),
        ),
        displays=(Display("DS1", (5.95, 2.0, 1.4), 1.4, 0.8, 180.0),),
    )
    assert kinds(room) == [
        ("L1", "device", False),
        ("L1", "device", False),  # its stem
        ("B1", "building", False),
        ("C1", "column", False),
        ("F1", "obstacle", False),
        ("A1", "array", False),
        ("A1", "array", True),
        ("DS1", "display", False),
        ("T1", "table", False),
    ]
    top = blockers_of(room)[-1].solid
    assert (top.low_m, top.high_m) == (pytest.approx(0.74 - TOP_THICK_M), 0.74)


def test_a_table_of_any_outline_and_either_way_round_is_convex_pieces() -> None:
    bent = ((1.0, 1.0), (4.0, 1.0), (4.0, 2.0), (2.0, 2.0), (2.0, 3.0), (1.0, 3.0))
    room = scene()
    for outline in (bent, bent[::-1]):
        tops = [
            one.solid
            for one in blockers_of(replace(room, tables=(replace(room.tables[0], outline_m=outline),)))
            if one.kind == "table"
        ]
        assert len(tops) == 3  # two rectangles, and one over their seam
        assert all(isinstance(top, Prism) for top in tops)


def test_a_search_is_told_of_all_solids_but_the_arrays_own() -> None:
    room = scene(arrays=(array("A1"), array("A2", (4.5, 3.0), 2.2)))
    names = [one.owner for one in blockers_of(room)]
    assert names.count("A1") == 2
    assert len(solids_before(room, room.arrays[0])) == len(names) - 2
    # where it has no place it is in nobody's way, and asks all the same
    away = replace(room.arrays[0], at_m=None)
    assert len(solids_before(room.with_arrays((away, room.arrays[1])), away)) == len(names) - 2


def test_walls_of_a_room_that_is_not_convex_block() -> None:
    """The room of the finding: more than a metre of the line runs through the building."""
    room = l_shaped(arrays=(array(at=(2.0, 5.0)),), heads=(head("S1", (5.0, 2.1)), head("S2", (2.0, 1.0))))
    assert [one.kind for one in blockers_of(room) if one.owner == WALLS] == ["wall", "wall"]
    assert seen(room).tolist() == [[False, True]]
    assert not [one for one in blockers_of(scene()) if one.owner == WALLS]


def test_bodies_and_cables_of_other_arrays_hide_a_head_and_the_own_does_not() -> None:
    near, far = array("A1", (3.0, 2.0), 2.4), array("A2", (2.7, 1.65), 1.8)
    room = scene(arrays=(near, far), heads=(head("S1", (2.4, 1.3)),))
    assert seen(room).tolist() == [[False], [True]]
    # the cable of an array that hangs low before another's line
    behind = scene(
        arrays=(array("A1", (4.0, 2.0), 2.2), array("A2", (3.0, 2.0), 1.4)), heads=(head("S1", (2.0, 2.0)),)
    )
    assert seen(behind)[0].tolist() == [False]
    assert seen(behind.with_array("A2", at_m=(3.0, 2.1)))[0].tolist() == [True]


def test_seen_has_a_row_for_every_array_also_where_nothing_is_in_the_way() -> None:
    assert np.array_equal(seen(scene()), [[True, True]])


def test_of_a_ceiling_with_lower_parts_in_it_few_solids_hide_and_all_that_is_solid_is_in_one() -> None:
    """What is over a lower part is solid too: only the higher parts are left out of the rest, in few pieces."""
    room = scene_of(ten_small_parts()).room
    rest = [one.solid for one in blockers_of(scene_of(ten_small_parts())) if one.owner == REST]
    assert len(rest) <= 8
    at = np.random.default_rng(1).uniform((0.05, 0.05), (7.15, 4.75), (2000, 2))
    over = np.zeros(len(at), np.bool_)
    for solid in rest:
        assert isinstance(solid, Prism)
        assert solid.low_m == pytest.approx(2.8)
        over |= shapely.intersects_xy(shapely.Polygon(solid.outline_m), at[:, 0], at[:, 1])
    heights = np.array([ceiling_over_m(room, (float(x), float(y))) for x, y in at])
    assert over.tolist() == (heights <= 2.8).tolist()
