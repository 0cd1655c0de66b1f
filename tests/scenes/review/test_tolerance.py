"""How far an array may be off: the array is moved and the room judged again as `review` judges it."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.off_by import OffBy, tilt_m
from scenes.findings.review import HeadReview, Limit, Review, Tolerance
from scenes.review.coverage import coverage_of, review_heads
from scenes.review.lines_kept import LinesKept
from scenes.review.review import review
from scenes.review.sight import Sights
from scenes.review.tolerance import least_of, rooms_to_move
from scenes.room.build import read_scene
from scenes.room.scene import Array, Grid, Scene
from scenes.rules.clearances import clearances
from scenes.rules.measures.wall import Walls
from tests.scenes.ceiling_rooms import array, changed, device, head, profile, scene

ROOMS = Path(__file__).parents[3] / "scenes" / "rooms"


def demo(name: str) -> Scene:
    return read_scene(ROOMS / f"{name}.yaml")


def several() -> Scene:
    """Two arrays over one table, one of them near a sprinkler; some talkers are covered by both."""
    weir = demo("weir")
    first = weir.arrays[0]
    x, y = first.centre_m[:2]
    places = ((1, (x - 0.45, y)), (2, (x + 0.9, y - 0.3)))
    two = tuple(replace(first, id=f"A{k}", at_m=at) for k, at in places)
    return weir.with_arrays(two)


def crowded() -> Scene:
    """One array among things: between two lights, beside a sprinkler, over a table, near a wall."""
    return scene(
        arrays=(array(at=(3.0, 1.9), height_m=2.32, profile=profile(size=(0.3, 0.2, 0.08))),),
        overhead=(
            device("L1", "light", (3.7, 2.0), 0.35, size_m=(0.3, 0.3), round=False),
            device("L2", "light", (2.3, 2.2), 0.3, size_m=(0.4, 0.2), round=False, turn_deg=20.0),
            device("SP1", "sprinkler", (3.2, 3.0)),
        ),
    )


ROOMS_TO_MOVE_IN = {
    "heron": lambda: demo("heron"),
    "weir": lambda: demo("weir"),
    "loft": lambda: demo("loft"),
    "ferry": lambda: demo("ferry"),
    "two arrays": several,
    "crowded": crowded,
    "turned": lambda: crowded().with_array("A1", turn_deg=30.0),
}


def judged(of: Scene) -> tuple[tuple[HeadReview, ...], set[tuple[str, str, str]], set[tuple[str, str, str]]]:
    """Heads, clearances that are too close and those that are switched off: what a review asks, tolerances aside."""
    coverage = coverage_of(of)
    rows = clearances(of)
    too_close, off = (
        {(str(row.array), row.against, row.rule) for row in rows if row.state in states}
        for states in (("short", "advised"), ("off",))
    )
    return review_heads(of, coverage, coverage.serving()), too_close, off


def lost(before: Review, id: str, offset: tuple[float, float, float], tilt: bool = True) -> list[object]:
    """What held before and does not with this array off by so much: heads and clearances."""
    array = before.scene.array(id)
    moved = tuple(c + d for c, d in zip(array.centre_m, offset, strict=True))
    heads, too_close, _ = judged(before.scene.with_array(id, at_m=moved[:2], height_m=moved[2]))
    chord = tilt_m(array.band, array.profile.level_deg) if tilt else 0.0
    gone = [
        now.id
        for was, now in zip(before.heads, heads, strict=True)
        if was.standing == "covered"
        and (now.state != "covered" or (now.array == id and now.margin_m < chord - 1e-9))
        and not set(now.also_covered_by) - {id}
    ]
    rows = [row for row in before.clearances if row.state in ("short", "advised", "off")]
    return [*gone, *sorted(too_close - {(row.array, row.against, row.rule) for row in rows})]


def offsets(t: Tolerance, more_m: float = 0.0) -> list[tuple[float, float, float]]:
    """Places of the box, or of one that is larger by `more_m`: corners, edges, faces and some inside."""
    a = (t.sideways_m or 0.0) + more_m
    up, down = (0.0 if m is None else m + more_m for m in (t.up_m, t.down_m))
    steps = (-1.0, 0.0, 1.0)
    return [
        (x * a, y * a, z)
        for x, y in itertools.product(steps, steps)
        for z in (-down, -down / 2, 0, up / 2, up)
    ]


@pytest.mark.parametrize("name", ROOMS_TO_MOVE_IN)
def test_nothing_is_lost_anywhere_in_the_box(name: str) -> None:
    before = review(ROOMS_TO_MOVE_IN[name]())
    for one in before.arrays:
        random = np.random.default_rng(7)
        t = one.tolerance
        a, up, down = t.sideways_m or 0.0, t.up_m or 0.0, t.down_m or 0.0
        if a == 0:
            continue
        inside = random.uniform((-a, -a, -down), (a, a, up), (12, 3)).tolist()
        for offset in [*offsets(t), *map(tuple, inside)]:
            assert not lost(before, one.id, offset), (name, one.id, offset)


@pytest.mark.parametrize("name", ROOMS_TO_MOVE_IN)
def test_a_box_5_mm_larger_loses_something(name: str) -> None:
    before = review(ROOMS_TO_MOVE_IN[name]())
    for one in before.arrays:
        t = one.tolerance
        flush = before.scene.array(one.id).profile.mount == "flush"
        larger = 0.0051
        if t.sideways_m is not None:
            a = t.sideways_m + larger
            down = 0.0 if flush else a
            around = replace(t, sideways_m=a, up_m=0.0, down_m=down)
            assert any(lost(before, one.id, offset) for offset in offsets(around)), (name, one.id)
        # what ends up and down ends them on a face of the box as it is otherwise
        for up, down in ((larger, 0.0), (0.0, larger)):
            if (t.up_m if up else t.down_m) is None:
                continue
            taller = replace(t, up_m=(t.up_m or 0.0) + up, down_m=(t.down_m or 0.0) + down)
            assert any(lost(before, one.id, offset) for offset in offsets(taller)), (name, one.id, up, down)


@pytest.mark.parametrize("name", ROOMS_TO_MOVE_IN)
def test_one_way_alone_is_exact_to_a_millimetre_as_the_review_judges_it(name: str) -> None:
    before = review(ROOMS_TO_MOVE_IN[name]())
    for one in before.arrays:
        alone = one.tolerance.alone
        for length, way in ((alone.up_m, 1.0), (alone.down_m, -1.0)):
            if length is None:
                continue
            assert not lost(before, one.id, (0, 0, way * length), tilt=False)
            assert lost(before, one.id, (0, 0, way * (length + 0.0011)), tilt=False)
        if alone.sideways_m is not None and alone.sideways_m > 0:
            turns = np.linspace(0, 2 * math.pi, 49)
            ring = [(math.cos(t), math.sin(t), 0.0) for t in turns]
            for share in (0.5, 1.0):
                radius = share * alone.sideways_m
                assert not any(
                    lost(before, one.id, (x * radius, y * radius, 0.0), tilt=False) for x, y, _ in ring
                )
            # 2 mm beyond, what is lost may be lost within a few degrees only
            radius, turns = alone.sideways_m + 0.0021, np.linspace(0, 2 * math.pi, 361)
            ring = [(math.cos(t), math.sin(t), 0.0) for t in turns]
            assert any(lost(before, one.id, (x * radius, y * radius, 0.0), tilt=False) for x, y, _ in ring)


def test_heron_is_what_a_hand_calculation_gives() -> None:
    """heron's corner seats in closed form: the band's shallow edge, 24°, at the highest mouth, 1.24 m, leaning 0.1 m.

    Off by (a, a) on plan and d down, hung 1° out of true with a reach of 3.1 m, a corner seat's number is
    t cos 24 - r sin 24 with r = hypot(dx + a, dy + a) and t = 2.18 - 1.24 - d; it needs 0.1 + 2 · 3.1 · sin 0.5°.
    Up ends at the spray of SP2: the body's top (0.02 m above its centre) stays 18 in (NFPA 13) below the deflector
    (2.75 - 0.05 m), or it would have to be far from it on plan; out of true the rim of the 0.46 m body is higher.
    """
    heron = demo("heron")
    [one] = review(heron).arrays
    t = one.tolerance
    x, y = 3.3, 2.25
    corners = [(abs(h.at_m[0] - x), abs(h.at_m[1] - y)) for h in heron.heads]
    low, lean, tilt = math.radians(24), 0.1, 2 * 3.1 * math.sin(math.radians(0.5))

    def left(a: float, d: float, tilt: float = tilt) -> float:
        ranges = (math.hypot(dx + a, dy + a) for dx, dy in corners)
        return min((2.18 - 1.24 - d) * math.cos(low) - r * math.sin(low) for r in ranges) - lean - tilt

    sideways, down = t.sideways_m or 0, t.down_m or 0
    assert left(sideways, sideways) >= 0 > left(sideways + 0.005, sideways + 0.005)
    assert left(sideways, down) >= -1e-9 > left(sideways, down + 0.001)
    up = 2.75 - 0.05 - 18 * 0.0254 - (2.18 + 0.02)
    rim = 0.23 * math.sin(math.radians(1))
    assert rim == pytest.approx(0.004, abs=1e-4)
    assert up - rim - 2e-4 <= (t.up_m or 0) <= up - rim + 1e-5
    assert t.limited_by["up"] == Limit("rule", "SP2", "sprinkler-spray")
    assert t.limited_by["down"] is not None
    assert t.limited_by["down"].kind == "head"
    assert t.level_deg == 1
    assert t.alone.up_m == pytest.approx(up, abs=5e-4)
    # straight down and level: the number falls by cos 24° a metre
    assert t.alone.down_m == pytest.approx(left(0, 0, tilt=0) / math.cos(low), abs=1e-3)
    # coverage alone, level, in whatever direction: never the headline
    assert one.margin_m == pytest.approx(left(0, 0, tilt=0), abs=1e-4)


def test_a_flush_array_has_no_up_and_down_and_is_level() -> None:
    [one] = review(demo("ferry")).arrays
    assert (one.tolerance.up_m, one.tolerance.down_m, one.tolerance.level_deg) == (None, None, 0.0)
    assert one.tolerance.alone.up_m is None
    # feet and inches: in eighths; a body of 0.42 m in the middle of a tile of 2 ft has (0.6096 - 0.42) / 2 to its tees
    eighths = (one.tolerance.sideways_m or 0) / (0.0254 / 8)
    assert eighths == pytest.approx(math.floor((0.6096 - 0.42) / 2 / (0.0254 / 8)))
    assert one.tolerance.limited_by["sideways"] == Limit("rule", "grid", "grid-tee")


def test_nothing_covered_is_no_tolerance() -> None:
    low = demo("heron").with_array("A1", height_m=1.3)
    [one] = review(low).arrays
    assert not any(head.state == "covered" for head in review(low).heads)
    assert (one.tolerance.sideways_m, one.tolerance.up_m, one.tolerance.down_m) == (0, 0, 0)
    narrow = replace(lamp().profile, mount="flush", reach_m=(0.0, 0.5))
    flush = scene(arrays=(array(height_m=2.75, profile=narrow),), tables=(), heads=(head("S1", (1.0, 2.0)),))
    none = review(flush).arrays[0].tolerance
    assert (none.sideways_m, none.up_m, none.down_m, none.alone.up_m) == (0, None, None, None)


def test_only_a_stop_is_no_limit() -> None:
    """A band that reaches everybody from any height: up ends at the ceiling, which costs no tolerance."""
    wide = replace(profile(), bands={"mid": (0.0, 90.0)}, reach_m=(0.0, 9.0))
    of = scene(arrays=(array(at=(3.0, 3.2), profile=wide),))
    [one] = review(of).arrays
    assert one.tolerance.up_m is None
    assert one.tolerance.limited_by["up"] is None
    # down is the headroom's
    assert one.tolerance.limited_by["down"] == Limit("rule", "floor", "headroom")


def test_the_rooms_own_is_the_least_of_each() -> None:
    two = review(several())
    assert two.tolerance is not None
    for name in ("sideways_m", "up_m", "down_m"):
        own = [m for a in two.arrays if (m := getattr(a.tolerance, name)) is not None]
        assert getattr(two.tolerance, name) == (min(own) if own else None)
    assert least_of([]) is None


def lamp(height_m: float = 2.2, at: tuple[float, float] = (3.0, 2.0), id: str = "A1") -> Array:
    wide = replace(profile(), bands={"mid": (0.0, 90.0)}, reach_m=(0.0, 9.0))
    return array(id, at, height_m, profile=wide)


def test_a_line_that_is_clear_ends_what_it_may_be_off() -> None:
    """A screen hangs beside the line from an array to a mouth: a little to that side it is in the way."""
    # from 3.0/2.0 to 1.0/2.0 the line is along y = 2; the screen begins 3 cm beside it, half way
    screen = device("L1", "light", (2.0, 2.13), 1.2, size_m=(0.02, 0.2), round=False, depth_m=1.0)
    of = scene(arrays=(lamp(),), overhead=(screen,), heads=(head("S1", (1.0, 2.0)),), tables=())
    t = review(of).arrays[0].tolerance
    # the line's middle moves half as far as the array; the screen's near face is at 1.01 m of 2
    edge = 0.03 / (0.99 / 2)
    assert t.limited_by["sideways"] == Limit("sight", "L1")
    assert edge - 0.011 < (t.sideways_m or 0) <= edge
    assert t.alone.sideways_m == pytest.approx(edge, abs=1.5e-3)
    for by in (-0.001, 0.002):
        moved = of.with_array("A1", at_m=(3.0, 2.0 + (t.alone.sideways_m or 0) + by))
        assert (review(moved).heads[0].sight == "blocked") == (by > 0)


def test_an_array_must_not_come_into_the_line_of_another() -> None:
    """A2 hangs 10 cm beside the line from A1 to who it serves, and covers nobody itself."""
    none = replace(lamp(id="A2", at=(2.0, 2.15), height_m=1.7), band_name="none")
    none = replace(none, profile=replace(none.profile, bands={"none": (89.0, 90.0)}))
    of = scene(arrays=(lamp(), none), heads=(head("S1", (1.0, 2.0)),), tables=())
    of = replace(of, profiles={"lamp": of.arrays[0].profile, "none": none.profile})
    before = review(of)
    assert [head.array for head in before.heads] == ["A1"]
    t = before.arrays[1].tolerance
    assert t.limited_by["sideways"] == Limit("sight", "A2")
    # its body is 10 cm wide
    assert t.alone.sideways_m == pytest.approx(0.1, abs=1.5e-3)
    assert 0.094 < (t.sideways_m or 0) <= 0.1


def test_out_of_true_a_body_comes_no_nearer_to_a_line_at_the_corner_of_the_box() -> None:
    """A tall body beside a line at 45 degrees on plan, which the corner of the box comes nearest to."""
    radius, tall, level, apart = 0.05, 0.6, 5.0, 0.3
    leaning = profile(2 * radius, tall, level_deg=level)
    off = 2.0 + apart / math.sqrt(2)
    none = array("A2", (off, off), 1.45, profile=replace(leaning, bands={"mid": (89.0, 90.0)}))
    # A1's line from 1.0/3.0 to 3.0/1.0 goes down from 1.7 to 1.2 m, past the body all along
    of = scene(arrays=(lamp(1.7, (1.0, 3.0)), none), heads=(head("S1", (3.0, 1.0)),), tables=())
    of = of.with_arrays((replace(of.arrays[0], band_name="mid"), none))
    kept = LinesKept(of, none, Sights.of(of).served({"S1": "A1"}))
    reached = radius + tall / 2 * math.sin(math.radians(level))
    exact = (apart - reached) / math.sqrt(2)
    # what is round is a prism of 128 sides: less than 0.04 % of its radius
    assert kept.lost_in(OffBy(exact - 1e-4, 0.0, 0.0)) is None
    assert kept.lost_in(OffBy(exact + 1e-4, 0.0, 0.0)) == Limit("sight", "A2")


def test_an_array_that_does_not_see_a_head_does_not_keep_it_covered() -> None:
    second = lamp(id="A2", at=(5.0, 2.0))
    screen = device("L1", "light", (4.0, 2.0), 0.0, size_m=(0.02, 1.5), round=False, depth_m=2.75)
    screen = replace(screen, low_m=0.0)
    of = scene(arrays=(lamp(), second), heads=(head("S1", (1.0, 2.0)),), tables=(), overhead=(screen,))
    narrow = replace(of.arrays[0].profile, reach_m=(0.0, 2.5))
    of = of.with_array("A1", profile=narrow)
    ends = review(of).arrays[0].tolerance.limited_by["down"]
    seen = review(replace(of, overhead=())).arrays[0].tolerance.limited_by
    around = review(of).arrays[0].tolerance.limited_by["sideways"]
    assert around == Limit("head", "S1")
    assert seen["sideways"] != Limit("head", "S1"), ends


def test_a_cable_that_is_too_close_does_not_let_the_body_come_closer() -> None:
    """A projector of 0.5 m beside the cable, far above the body: raised by what is left, the body is too close."""
    projector = device("PJ1", "projector", (3.3, 2.0), 0.1, size_m=(0.1, 0.1), depth_m=0.1)
    of = scene(arrays=(lamp(1.7),), overhead=(projector,))
    assert [row.state for row in clearances(of) if row.rule == "projector"] == ["advised"]
    t = review(of).arrays[0].tolerance
    assert t.limited_by["up"] == Limit("rule", "PJ1", "projector")
    # edges are 0.2 m apart on plan: what is level with 0.5 m leaves the root of 0.25 - 0.04 of height
    top = 1.7 + 0.03
    assert t.alone.up_m == pytest.approx(2.65 - top - math.sqrt(0.21), abs=1e-3)


def test_where_one_rule_takes_over_from_another_nothing_is_lost() -> None:
    """A wide body rises from beside the spray to being fixed at the ceiling, where the table has room enough."""
    wide = replace(profile(0.3), bands={"mid": (0.0, 90.0)}, reach_m=(0.0, 9.0))
    sprinkler = device("SP1", "sprinkler", (3.0, 3.3), below_m=0.05)
    of = scene(
        arrays=(array(profile=wide, height_m=2.4),),
        overhead=(sprinkler,),
        tables=(),
        heads=(head("S1", (1.0, 2.0)),),
    )
    t = review(of).arrays[0].tolerance
    assert (t.up_m, t.limited_by["up"]) == (None, None)
    assert (t.down_m or 0) >= (t.sideways_m or 0) > 0


def test_what_the_cable_touches_at_the_ceiling_costs_nothing() -> None:
    """A diffuser flush in an open ceiling's plane: the cable ends at its face, wherever the body is."""
    wide = replace(lamp(2.2), band_name="mid")
    of = scene(arrays=(wide,), tables=(), heads=(head("S1", (3.0, 3.0)),))
    of = replace(of, room=replace(of.room, ceiling_kind="open"))
    face = device("D1", "supply diffuser", (3.0, 2.0), 0.0, size_m=(0.9, 0.9), round=False, depth_m=0.1)
    face = replace(face, low_m=of.room.ceiling_m)
    among = changed(replace(of, overhead=(face,)), "supply-diffuser")
    under_it, without = review(among).arrays[0].tolerance, review(of).arrays[0].tolerance
    assert (under_it.sideways_m, under_it.down_m) == (without.sideways_m, without.down_m)
    # up it ends where a rim of the body, out of true, comes to the face
    assert under_it.limited_by["up"] == Limit("rule", "D1", "touch")
    assert (under_it.up_m or 0) > 0.5


def test_a_body_in_the_spray_already_cannot_get_into_it() -> None:
    """Hanging free it is beside the sprinkler; up at the ceiling the table would say so: one demand of one spray."""
    wide = replace(profile(0.3), bands={"mid": (0.0, 90.0)}, reach_m=(0.0, 9.0))
    of = scene(
        arrays=(array(profile=wide, height_m=2.4),),
        overhead=(device("SP1", "sprinkler", (3.2, 2.0)),),
        tables=(),
        heads=(head("S1", (1.0, 2.0)),),
    )
    rows = {row.rule: row.state for row in clearances(of) if row.kind == "sprinkler"}
    assert rows == {"sprinkler-spray": "short"}
    at_ceiling = {
        row.rule: row.state
        for row in clearances(of.with_array("A1", height_m=2.71))
        if row.kind == "sprinkler"
    }
    assert at_ceiling == {"sprinkler-table": "short"}
    ends = review(of).arrays[0].tolerance.limited_by["up"]
    assert ends is None or ends.rule == "touch"


def test_a_wall_is_not_asked_height_by_height(monkeypatch: pytest.MonkeyPatch) -> None:
    """An array 2 cm clear of what a wall requires, with much room up and down: bisecting sideways lands on the wall."""
    asked = 0
    signed = Walls.signed

    def counted(self: Walls, positions: np.ndarray) -> np.ndarray:
        nonlocal asked
        asked += len(positions)
        return signed(self, positions)

    monkeypatch.setattr(Walls, "signed", counted)
    near_wall = scene(arrays=(array(at=(0.3713, 2.0), height_m=2.3),), heads=(head("H1", (1.6, 2.0)),))
    [one] = review(near_wall).arrays
    # the body's edge is 0.05 m from its axis, 0.30 m is asked: 21.3 mm are left
    assert one.tolerance.sideways_m is not None
    assert 0.0163 <= one.tolerance.sideways_m <= 0.0213
    assert asked < 1000


def test_how_far_an_array_may_move_ends_at_the_ceiling_grid_as_check_has_it() -> None:
    """Tees every 0.6 m from 0: a cable at 3.25 has 0.35 m to the next on its right, and 0.03 m is asked."""
    of = scene(arrays=(lamp(at=(3.25, 1.5)),))
    of = replace(of, room=replace(of.room, grid=Grid((0.6, 0.6), (0.0, 0.0))))
    rooms = {one.direction: one for one in rooms_to_move(of, review(of))["A1"]}
    assert rooms["+x"].constraint == rooms["-x"].constraint == ("grid-tee",)
    assert rooms["+x"].clear_distance_m == pytest.approx(0.32, abs=1e-5)
    assert rooms["-x"].clear_distance_m == pytest.approx(0.22, abs=1e-5)
