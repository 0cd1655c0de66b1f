"""Moves that free lines: each is done, the whole room is judged again, and one step less is judged as well."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.shapes import Box, Cylinder
from scenes.findings.cause import Move
from scenes.findings.clearance import Clearance
from scenes.findings.review import Review
from scenes.findings.sight import Unblock
from scenes.review.review import review
from scenes.review.sight import sightlines
from scenes.room.build import build
from scenes.room.provenance import Given
from scenes.room.scene import Camera, Display, Obstacle, Scene
from scenes.spec.reading import read_spec
from tests.scenes.ceiling_rooms import CEILING_M, array, device, head, profile, scene, table

CASES = Path(__file__).parents[1] / "cases"
STEPS = {
    "+x": (1, 0, 0),
    "-x": (-1, 0, 0),
    "+y": (0, 1, 0),
    "-y": (0, -1, 0),
    "up": (0, 0, 1),
    "down": (0, 0, -1),
}
SCREEN = Display("DS1", (5.95, 2.0, 1.4), 1.4, 0.8, 180.0)
SOUTH = (head("S1", (2.0, 2.0)),)
FROM_EAST = (Camera("CAM1", (5.9, 2.0, 1.2), None, Given(70.0)),)


def case(name: str) -> Scene:
    return build(read_spec(CASES / f"{name}.yaml"))


def done(of: Scene, move: Move, by_m: float) -> Scene:
    """The room with the move done by so much, written out here without the product's code."""
    step = np.multiply(STEPS[move.direction], by_m)
    for key in ("cameras", "displays"):
        things = getattr(of, key)
        if move.thing in [one.id for one in things]:
            there = [
                replace(o, at_m=tuple(np.add(o.at_m, step))) if o.id == move.thing else o for o in things
            ]
            return replace(of, **{key: tuple(there)})
    if move.thing in [one.id for one in of.arrays]:
        x, y, z = np.add(of.array(move.thing).centre_m, step)
        return of.with_array(move.thing, at_m=(x, y), height_m=z)
    obstacles = [
        replace(o, solid=replace(o.solid, middle_m=tuple(np.add(o.solid.middle_m, step))))
        if o.id == move.thing
        else o
        for o in of.obstacles
    ]
    overhead = [
        replace(
            d,
            at_m=tuple(np.add(d.at_m, step[:2])),
            low_m=d.low_m + step[2],
            below_m=d.below_m - step[2],
            stem_m=None if d.stem_m is None else d.stem_m - step[2],
        )
        if d.id == move.thing
        else d
        for d in of.overhead
    ]
    return replace(of, obstacles=tuple(obstacles), overhead=tuple(overhead))


def standing(judged: Review) -> dict[str, int]:
    """0 covered, 1 marginal, 2 blocked, 3 missed."""
    ranks = {"covered": 0, "marginal": 1, "missed": 3}
    return {h.id: max(ranks[h.state], 2 if h.sight == "blocked" else 0) for h in judged.heads}


def badness(row: Clearance) -> int:
    return 0 if row.state in ("clear", "off") else 2 if row.state == "short" else 1


def rules_of(judged: Review) -> dict[tuple[str, str, str], int]:
    return {(row.array, row.against, row.rule): badness(row) for row in judged.clearances}


def in_each_other(of: Scene, thing: str, parties: set[str]) -> bool:
    """Whether a thing is in one of those it is moved for: outlines on plan and heights overlap."""
    solids: dict[str, list[Any]] = {one.id: [one.solid] for one in of.obstacles}
    solids |= {one.id: [one.solid] for one in of.overhead}
    solids |= {one.id: [one.body] for one in of.arrays}

    def plan(solid: Any) -> Any:
        if isinstance(solid, Cylinder):
            return shapely.Point(solid.middle_m[:2]).buffer(solid.radius_m, quad_segs=64)
        return shapely.Polygon(solid.corners_on_plan())

    return any(
        min(mine.high_m, other.high_m) > max(mine.low_m, other.low_m)
        and plan(mine).intersection(plan(other)).area > 1e-9
        for mine in solids.get(thing, ())
        for name in parties - {thing}
        for other in solids.get(name, ())
    )


def works(of: Scene, before: Review, one: Unblock, move: Move, by_m: float) -> bool:
    """Whether the room so changed frees the lines and is as good as before, all of it judged again."""
    changed = done(of, move, by_m)
    after = review(changed)
    lines = {(line.start, line.end): line for line in after.sightlines}
    served = {line.end: line for line in after.sightlines if line.kind == "array"}
    arrays = {array.id for array in of.arrays}
    # the very lines, and those to the same talkers of whichever array serves them by then
    serving = {end: start for start, end in one.lines if start in arrays}
    mine = [line for line in sightlines(changed, serving) if (line.start, line.end) in one.lines]
    mine += [served[end] for end in serving]
    if any(one.blocker in line.blockers for line in mine):
        return False
    clear = {(x.start, x.end) for x in before.sightlines if x.state == "clear" and x.kind != "array"}
    if any(lines[pair].state == "blocked" for pair in clear):
        return False
    was, now = standing(before), standing(after)
    if any(now[id] > was[id] for id in was):
        return False
    parties = {one.blocker, *(start if start in arrays else end for start, end in one.lines)}
    parties |= {start for start, _ in one.lines}
    rules, then = rules_of(before), rules_of(after)
    pressed = any(
        bad == 2 or (bad and rule == "touch")
        for (array_id, against, rule), bad in rules.items()
        if {array_id, against} <= parties
    )
    for key, bad in then.items():
        pair = {key[0], key[1]} <= parties
        if bad > (0 if pair and pressed else rules.get(key, 0)):
            return False
    return not in_each_other(changed, move.thing, parties)


def check_moves(of: Scene, step_m: float = 0.001) -> tuple[Unblock, ...]:
    """Every move of every record works, and one step less does not."""
    judged = review(of)
    for one in judged.unblock:
        for move in one.moves:
            assert works(of, judged, one, move, move.by_m), (one, move)
            assert not works(of, judged, one, move, move.by_m - step_m), (one, move)
            assert 0 < move.by_m <= 1.0
    return judged.unblock


def told(found: tuple[Unblock, ...]) -> list[tuple[str, str]]:
    return [(move.thing, move.direction) for one in found for move in one.moves]


BLOCKED = {
    "column": scene(obstacles=(Obstacle("C1", Cylinder((2.7, 1.65, CEILING_M / 2), 0.1, CEILING_M)),)),
    "low cupboard": scene(heads=SOUTH, cameras=FROM_EAST, obstacles=(
        Obstacle("F1", Box((4.3, 2.1, 0.7), (0.4, 0.6, 1.4))),)),
    "lamp on a stem": scene(overhead=(
        device("L1", "light", (2.7, 1.65), below_m=1.2, size_m=(0.3, 0.3), depth_m=0.1, stem_m=1.1),)),
    "beam": scene(
        overhead=(device("B1", "beam", (2.7, 2.0), 1.1, size_m=(0.2, 4.0), round=False, depth_m=1.1),),
    ),
    "array before a camera": scene(
        arrays=(array(at=(4.0, 2.0), height_m=1.25, profile=profile(0.3, 0.2)),), heads=SOUTH,
        cameras=FROM_EAST,
    ),
    "post before a screen": scene(heads=SOUTH, displays=(SCREEN,), obstacles=(
        Obstacle("P1", Box((5.0, 2.55, 1.0), (0.1, 0.1, 2.0))),)),
    "low screen behind the table": scene(
        heads=(head("S1", (1.8, 2.0)),), displays=(replace(SCREEN, at_m=(5.95, 2.0, 0.6), height_m=0.9),)
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BLOCKED)
def test_every_move_frees_the_lines_and_one_step_less_does_not(name: str) -> None:
    assert check_moves(BLOCKED[name])


@pytest.mark.parametrize("name", ["blk", "cam_plain", "cam_space", "touch", "01c-sight-advice"])
def test_the_moves_of_the_findings_cases_work_and_one_step_less_does_not(name: str) -> None:
    assert told(check_moves(case(name)))


def test_a_room_where_nothing_is_blocked_has_no_advice() -> None:
    assert review(case("01b-same-room-passes-here")).unblock == ()


def test_ids_that_begin_with_the_same_word_keep_both_moves() -> None:
    plain, spaced = (review(case(name)).unblock for name in ("cam_plain", "cam_space"))
    [one], [other] = plain, spaced
    assert [move.thing for move in one.moves] == ["Pendant-one", "CAM-1"]
    assert [move.thing for move in other.moves] == ["Pendant one", "Pendant cam"]
    assert [(m.direction, m.by_m) for m in one.moves] == [(m.direction, m.by_m) for m in other.moves]
    [blk] = review(case("blk")).unblock
    assert {move.thing for move in blk.moves} == {"Pendant one", "A1"}


def test_a_screen_is_moved_along_the_room_for_all_the_lines_it_blocks_at_once() -> None:
    """Was "move SCR 26 cm right" for one line and "left" for the other, which no way along x or y did."""
    [one] = review(case("01c-sight-advice")).unblock
    assert one.blocker == "SCR"
    assert one.lines == (("A1", "T1-5"), ("A1", "T1-6"))
    assert [(m.thing, m.direction) for m in one.moves] == [("SCR", "+y"), ("A1", "-y")]
    assert [m.wall for m in one.moves] == [2, 0]
    # half the way from A1 to the seats at 1.75, 0.75 m aside: 12.2 cm were found by hand along the line's normal
    assert one.moves[0].by_m == pytest.approx(0.122)


def test_an_array_that_hangs_in_a_lamp_is_moved_clear_of_it_and_of_what_its_rule_asks() -> None:
    """Was "move L1 1 cm left", 12 times."""
    room = case("touch")
    [one] = review(room).unblock
    assert len(one.lines) == 6
    apart = 0.15 + 0.12  # half the lamp and half the array
    for move in one.moves:
        there = done(room, move, move.by_m)
        [lamp], [a1] = there.overhead, there.arrays
        assert a1.at_m is not None
        assert abs(lamp.at_m[0] - a1.at_m[0]) > apart
        touching = [row for row in review(there).clearances if row.against == "L1" and badness(row)]
        assert not touching


def test_many_lines_of_one_lamp_are_one_record_and_of_several_viewers_one_each_if_it_must_be() -> None:
    seats = tuple(head(f"S{k}", (1.4 + 0.4 * k, 1.0)) for k in range(5))
    lamp = device("L1", "light", (2.2, 1.7), below_m=1.2, size_m=(2.4, 0.2), round=False, depth_m=0.5)
    [one] = check_moves(scene(heads=seats, overhead=(lamp,), arrays=(array(at=(2.2, 2.2), height_m=2.0),)))
    assert len(one.lines) == 5
    # a beam that stays: every camera has its own way out
    cameras = (
        Camera("C1", (5.8, 1.0, 1.6), None, Given(70.0)),
        Camera("C2", (5.8, 3.0, 1.6), None, Given(70.0)),
    )
    beam = device("B1", "beam", (4.5, 2.0), 1.4, size_m=(0.2, 4.0), round=False, depth_m=1.4)
    found = check_moves(scene(heads=SOUTH, cameras=cameras, overhead=(beam,)))
    assert [(one.blocker, one.else_place) for one in found] == [("B1", ("C1",)), ("B1", ("C2",))]
    assert told(found) == [("C1", "down"), ("C2", "down")]


def test_nobody_is_told_to_cut_a_column_or_raise_a_beam() -> None:
    [column] = review(BLOCKED["column"]).unblock
    assert [(move.thing, move.seldom) for move in column.moves] == [("A1", False), ("C1", True)]
    assert column.else_place == ("A1",)
    [beam] = review(BLOCKED["beam"]).unblock
    assert {move.thing for move in beam.moves} == {"A1"}


def test_a_wall_stays_and_the_array_comes_out_from_behind_it() -> None:
    outline = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.5), (2.5, 2.5), (2.5, 6.0), (0.0, 6.0))
    room = scene(arrays=(array(at=(2.0, 2.9), height_m=2.2),), heads=(head("S1", (3.6, 2.1)),), tables=())
    room = replace(room, room=replace(room.room, outline_m=outline))
    [one] = check_moves(room)
    assert one.blocker == "wall 3"
    # the line from the seat past the corner at 2.5/2.5 is at y = 2.5 + 0.5 * 0.4 / 1.1 = 2.682 where x is 2
    assert [(m.thing, m.direction, m.by_m) for m in one.moves] == [("A1", "-y", pytest.approx(0.219))]


def test_what_is_moved_is_moved_into_nothing() -> None:
    """To the south of the cupboard stands another, to the north a seat: only the camera is left."""
    cupboard = Obstacle("F1", Box((4.3, 2.1, 0.7), (0.4, 0.6, 1.4)))
    hemmed = (
        cupboard,
        Obstacle("F2", Box((4.3, 1.5, 0.7), (0.4, 0.5, 1.4))),
        Obstacle("F3", Box((4.3, 2.85, 0.7), (0.4, 0.6, 1.4))),
    )
    free = review(scene(heads=SOUTH, cameras=FROM_EAST, obstacles=(cupboard,))).unblock
    assert "F1" in {move.thing for one in free for move in one.moves}
    found = check_moves(scene(heads=SOUTH, cameras=FROM_EAST, obstacles=hemmed))
    assert "F1" not in {thing for thing, _ in told(found)}
    # a table under it does not let it through either
    beside = scene(
        heads=SOUTH, cameras=FROM_EAST, obstacles=(cupboard,), tables=(table("T2", (4.0, 0.8), (4.6, 1.7)),)
    )
    ways = [way for thing, way in told(check_moves(beside)) if thing == "F1"]
    assert "-y" not in ways


def test_moves_are_sixteenths_of_an_inch_where_the_file_is_in_feet() -> None:
    room = replace(BLOCKED["lamp on a stem"], units="ft")
    found = check_moves(room, 0.0015875)
    for one in found:
        for move in one.moves:
            assert move.by_m / 0.0015875 == pytest.approx(round(move.by_m / 0.0015875))


def test_an_array_in_the_way_is_moved_only_where_nobody_is_lost() -> None:
    """A2 serves S2 with a hair to spare: whatever is told of it, S2 stays as it is."""
    room = scene(
        arrays=(array("A1", (3.6, 2.4), 2.2), array("A2", (2.94, 1.79), 1.68)),
        heads=(head("S1", (2.4, 1.3)), head("S2", (2.1, 1.79)), head("S3", (4.2, 3.2))),
    )
    check_moves(room)


def random_room(seed: int) -> Scene:
    random = np.random.default_rng(seed)

    def between(low: float, high: float) -> float:
        return round(float(random.uniform(low, high)), 3)

    heads = tuple(
        head(
            f"S{k}", (between(1.2, 4.8), (1.2, 2.8)[k % 2]), (low := between(1.0, 1.2), low + between(0, 0.2))
        )
        for k in range(int(random.integers(2, 7)))
    )
    lamps = tuple(
        device(
            f"L{k}",
            str(random.choice(["light", "loudspeaker", "beam", "projector"])),
            (between(1.0, 5.0), between(0.8, 3.2)),
            (down := between(0.3, 1.2)),
            size_m=(between(0.05, 0.5), between(0.05, 0.5)),
            round=False,
            depth_m=between(0.05, 0.25),
            turn_deg=between(0, 90),
            stem_m=(between(0.05, down - 0.28) if down > 0.4 else None),
        )
        for k in range(int(random.integers(1, 5)))
    )
    things = tuple(
        Obstacle(
            f"F{k}",
            Box(
                (between(0.5, 5.5), between(0.4, 3.6), tall / 2),
                (between(0.05, 0.5), between(0.05, 0.5), tall),
            ),
        )
        for k in range(int(random.integers(0, 3)))
        for tall in (between(0.9, 2.75),)
    )
    arrays = tuple(
        array(
            f"A{k}",
            (between(1.5, 4.5), between(1.2, 2.8)),
            between(1.9, 2.4),
            profile=profile(between(0.1, 0.4), 0.05),
        )
        for k in (1,)
    )
    cameras = (Camera("CAM1", (5.9, between(0.5, 3.5), between(1.1, 2.2)), None, Given(70.0)),)
    return scene(
        arrays=arrays, heads=heads, overhead=lamps, obstacles=things, cameras=cameras, displays=(SCREEN,)
    )


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**31))
def test_whatever_stands_about_every_move_told_works_and_one_step_less_does_not(seed: int) -> None:
    check_moves(random_room(seed))
