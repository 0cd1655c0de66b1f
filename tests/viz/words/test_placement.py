"""A placement in words: what is proven, rounded to the safe side, what is not, and each remark there can be."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from geometry.aims import AimName
from geometry.arrangement import CountProof
from geometry.branching import Progress
from geometry.kind import Position
from geometry.placement import Effort
from geometry.snap import Cost, Lattice, LeftOut, Snapped
from geometry.tolerance import RoomToMove
from scenes.findings.placement import Far, Note, NoteName
from scenes.place.placement import AimRow, Placement
from scenes.place.refusals import PLACE_REFUSALS, PlaceRefused
from scenes.place.search import place_scene
from scenes.room.provenance import Given
from scenes.room.scene import Limits
from scenes.rules.constraints import Pressing
from tests.never import found
from tests.viz.rooms import demo_scene, scene_of
from viz.words import aims, ways
from viz.words import placement as words
from viz.words.locale import Locale

METRIC, FEET = Locale("m"), Locale("ft")


@pytest.fixture(scope="module")
def covered() -> Placement:
    """The small room without the standing talker, whom one array cannot cover with the others."""
    scene = scene_of("quiet")
    return place_scene(replace(scene, heads=scene.heads[:3]), advise=False)


# ---- how far a search has come


@pytest.mark.parametrize(
    ("far", "locale", "text"),
    [
        (
            Progress("near", 1200, 1.5, None),
            METRIC,
            "Closest position: 1,200 positions tried, none allowed yet",
        ),
        (
            Progress("near", 1200, 1.5, 2.0),
            METRIC,
            "Closest position: 1,200 positions tried, best 2.00 m, limit 1.50 m",
        ),
        (
            Progress("margin", 50, 0.3048, 0.0254),
            FEET,
            'Largest margin: 50 positions tried, best 1", limit 1\'-0"',
        ),
        (
            Progress("tolerance", 50, float("inf"), 0.05),
            METRIC,
            "Largest tolerance: 50 positions tried, best 0.05 m",
        ),
        (
            Progress("most", 90, 6.0, 4.0),
            METRIC,
            "Most talkers covered: 90 positions tried, 4 covered, limit 6",
        ),
        (Progress("centre", 7, 0.0, None), METRIC, "Nearest the band centre: 7 positions tried"),
        (Progress("centre", 7, 0.0, 3.25), METRIC, "Nearest the band centre: 7 positions tried, best 3.2°"),
    ],
)
def test_how_far_one_search_has_come(far: Progress, locale: Locale, text: str) -> None:
    assert words.progress(Far("search", progress=far), locale) == text


@pytest.mark.parametrize(
    ("far", "text"),
    [
        (Far("count", round=2), "How many arrays are needed: round 2"),
        (Far("margin", round=1), "Largest margin of all arrays: round 1"),
        (Far("tolerance", round=1), "Largest tolerance of all arrays: round 1"),
        (Far("most", round=3), "Most talkers these arrays can cover: round 3"),
        (Far("near"), "Bringing the arrays closer to the talkers"),
        (Far("centre"), "Bringing the talkers closer to the band centre"),
        (Far("conflict"), "No position covers everyone. Looking for the cause and for what helps"),
        (Far("one more"), "Not everyone can be covered. Trying one more array"),
    ],
)
def test_how_far_a_proof_has_come(far: Far, text: str) -> None:
    assert words.progress(far, METRIC) == text


# ---- remarks

REMARKS = [
    (Note("over limit"), "More arrays are needed than the search goes to."),
    (
        Note("unreached", heads=("S1", "S2")),
        "No array can serve S1 and S2 from anywhere in this room.",
    ),
    (Note("nothing allowed"), "No position is allowed."),
    (Note("nothing found"), "The search reached its limit without finding an allowed position."),
    (
        Note("too little margin", instead=True, enough_m=0.1, best_m=0.0641),
        "No position leaves everyone a 10 cm margin; the best leaves 6.4 cm. "
        "Proposed instead: the position that covers the most talkers.",
    ),
    (
        Note("too little margin", instead=True, hung=2, enough_m=0.1, best_m=-0.44),
        "No position leaves everyone a 10 cm margin. "
        "Proposed instead: the arrangement that covers the most talkers.",
    ),
    (
        Note("too little margin", enough_m=0.1, best_m=0.0004),
        "No position leaves everyone a 10 cm margin; the best leaves next to nothing.",
    ),
    (
        Note("less as written", enough_m=0.1, best_m=0.0953),
        "Where it can be set out, the smallest margin is +9 cm: less than 10 cm. --snap none keeps it.",
    ),
    (
        Note("unseen", instead=True),
        "No position has a clear line to everyone. "
        "Proposed instead: the position that covers the most talkers.",
    ),
    (Note("not covered"), "No position covers everyone."),
    (
        Note("not apart", tried=4),
        "With up to 4 arrays, none were found that cover everyone and keep clear of each other.",
    ),
    (
        Note("left out", arrays=("B",)),
        "B is left out: no allowed position remains beside the other arrays.",
    ),
    (
        Note("left out", arrays=("B", "C")),
        "B and C are left out: no allowed position remains beside the other arrays.",
    ),
    (
        Note("some left out", missing=1, wanted=3),
        "1 of 3 arrays is left out: no allowed position remains beside the others.",
    ),
    (
        Note("held too near", pairs=(("A1", "B"), ("B", "C"))),
        "Held where they are, A1 and B, B and C are too close to each other.",
    ),
    (
        Note("too near", pairs=(("A1", "B"),)),
        "No positions were found that keep A1 and B clear of each other.",
    ),
    (
        Note("outside the bound"),
        "The rules between arrays are kept, but the proof does not count them.",
    ),
    (
        Note("hung as given", parts=("BH1",), ceiling="suspended"),
        "Searched beside ceiling part BH1 only: `suspension: {ceiling: suspended}` does not fit it. To use it, leave "
        "`ceiling` out there.",
    ),
    (
        Note("in one part", arrays=("A1",)),
        "A1 is flush, and was searched for only in the ceiling part over its position in the file. For another part, "
        "give a position there and place again.",
    ),
    (
        Note("in part", lie_in=(("A1", "BH1"), ("A2", None))),
        "Every level part of the ceiling was searched. Best: A1 in ceiling part BH1, A2 in the main ceiling.",
    ),
    (
        Note("not in slopes", parts=("R1",)),
        "Ceiling part R1 slopes and was not searched: a flush array needs a level ceiling. For a position there, use a "
        "hanging array.",
    ),
    (
        Note("more on the lattice", wanted=2, hung=3, best_m=0.01),
        "Anywhere, 2 would do; with --snap that leaves a margin of +1 cm, so 3 arrays are proposed.",
    ),
    (
        Note("too few on the lattice", wanted=2, tried=4, best_m=-0.13),
        "Anywhere, 2 would do; with --snap that leaves a margin of −13 cm. Up to 4 arrays were tried, and none reach "
        "the margin asked for there.",
    ),
]


@pytest.mark.parametrize(("note", "text"), REMARKS)
def test_each_remark_reads_well(note: Note, text: str) -> None:
    assert words.remark(note, METRIC) == text


def test_every_remark_there_is_has_its_case() -> None:
    assert {note.name for note, _ in REMARKS} == set(get_args(NoteName))


def test_a_margin_too_small_to_show_is_not_shown_as_nothing() -> None:
    note = Note("too little margin", enough_m=0.1, best_m=0.001)
    assert "the best leaves 1 mm" in words.remark(note, METRIC)
    assert "next to nothing" in words.remark(note, FEET)


@pytest.mark.parametrize(
    ("count", "text"),
    [
        (None, None),
        (CountProof(2, 2, True, None), "2, proven"),
        (CountProof(3, 2, False, None), "3, at least 2"),
        (CountProof(2, 2, False, 4), "at least 2, none up to 4 found"),
    ],
)
def test_how_many_arrays_are_needed(count: CountProof | None, text: str | None) -> None:
    assert words.needed(count, METRIC) == text


def test_the_margin_that_is_counted_with_is_said_where_there_is_one(covered: Placement) -> None:
    counted = replace(covered, count=CountProof(2, 2, True, None, 0.1))
    assert "That is with a margin of 10 cm for everyone (--enough)." in words.findings(counted, METRIC)
    none = replace(covered, count=CountProof(2, 2, True, None))
    assert not any("--enough" in sentence for sentence in words.findings(none, METRIC))


def test_the_count_of_those_who_can_be_reached_says_so(covered: Placement) -> None:
    counted = replace(covered, count=CountProof(1, 1, True, None))
    assert "Arrays needed: 1, proven." in words.findings(counted, METRIC)
    some = replace(counted, unreached=("S9",))
    assert "Arrays needed for everyone else: 1, proven." in words.findings(some, METRIC)


# ---- what was proven


def row_of(aim: AimName, bound: float, *, groups: bool = False) -> AimRow:
    place = ("A1", (1.0, 1.0, 2.0), "mid")
    return AimRow(
        aim, "certified", (place, place) if groups else (place,), 0.1, 1.8, 0.0, 1.0, 3, bound, bound, 0.0, "m", groups
    )  # fmt: skip


@pytest.mark.parametrize(
    ("aim", "bound", "held", "text"),
    [
        (
            "near",
            1.8514,
            (),
            "Proven best: with a 10 cm margin for everyone, the farthest talker cannot be closer than 1.85 m. "
            "No position has a margin above 10.3 cm.",
        ),
        (
            "near",
            1.8514,
            ("at", "band"),
            "Proven best: with a 10 cm margin for everyone with plan position and band held, the farthest talker "
            "cannot be closer than 1.85 m. No position with plan position and band held has a margin above 10.3 cm.",
        ),
        (
            "tolerance",
            0.0503,
            (),
            "Proven best: no position allows more than 5.1 cm of movement every way. "
            "That leaves out the ceiling grid and hanging out of level, which the installation tolerance counts. "
            "No position has a margin above 10.3 cm.",
        ),
        (
            "centre",
            7.218,
            (),
            "Proven best: with everyone covered, the RMS angle from band centre cannot be below 7.21°. "
            "No position has a margin above 10.3 cm.",
        ),
        (
            "most",
            2.0,
            (),
            "Proven best: no position covers more than 2 talkers with any margin. "
            "No position has a margin above 10.3 cm.",
        ),
        ("most", 3.0, (), "Proven best: no position has a margin above 10.3 cm."),
        (
            "margin",
            0.103,
            ("height",),
            "Proven best: no position with height held has a margin above 10.3 cm.",
        ),
    ],
)
def test_what_each_aim_proves(
    covered: Placement, aim: AimName, bound: float, held: tuple[str, ...], text: str
) -> None:
    rows = (row_of(aim, bound),)
    proven = replace(
        covered,
        outcome="certified",
        aim=aim,
        aims=rows,
        held=held,
        bound_m=0.1027,
        enough_m=0.1,
        searched=None,
    )
    assert " ".join(words.proof(proven, METRIC)) == text
    open_ = replace(proven, outcome="unresolved")
    start = "Not proven best: the search reached its limit. Certain: "
    assert " ".join(words.proof(open_, METRIC)) == text.replace("Proven best: ", start)


def test_what_holds_for_groups_of_talkers_only_says_so(covered: Placement) -> None:
    rows = (row_of("near", 1.85, groups=True),)
    two = replace(
        covered,
        outcome="certified",
        aim="near",
        aims=rows,
        bound_m=0.1,
        arrays=covered.arrays * 2,
        searched=None,
    )
    first, also = words.proof(two, METRIC)
    assert first.startswith("Proven best while each array keeps its talkers: with a ")
    assert also == "No arrangement of 2 arrays has a margin above 10 cm."
    (line,) = [line for line in aims.key(two, METRIC) if line.startswith("*")]
    assert line == "*: while each array keeps its talkers; sharing them otherwise may be better"
    assert aims.aims_note(two, METRIC).endswith(f"{line}.")
    assert aims.aims(two, METRIC)[0].proof == "proven*"
    assert words.proof(replace(two, outcome="unresolved"), METRIC)[0].startswith("Not proven best. Certain: ")


@pytest.mark.parametrize(
    ("bound", "count", "text"),
    [
        # the best found has -0.4413: one figure, that of the largest margin, up like every shortfall
        (-0.4409, 1, "Proven: one array cannot cover everyone here. The best position falls 45 cm short."),
        (-0.0004, 1, "Proven: one array cannot cover everyone here. The best position falls just short."),
        (-0.4409, 2, "Proven: 2 arrays cannot cover everyone here. The best arrangement falls 45 cm short."),
        (-0.0004, 2, "Proven: 2 arrays cannot cover everyone here. The best arrangement falls just short."),
        (None, 1, "Not proven: the search reached its limit before anything was certain."),
    ],
)
def test_what_falls_short(covered: Placement, bound: float | None, count: int, text: str) -> None:
    found = None if bound is None else bound - 0.0004
    short = replace(
        covered, bound_m=bound, largest_margin_m=found, arrays=covered.arrays * count, searched=None
    )
    assert words.proof(short, METRIC) == (text,)
    if found is not None and found < -0.1:
        assert text.endswith(f"falls {METRIC.margin(found).removeprefix('−')} short.")
        (open_end,) = words.proof(replace(short, margin_outcome="unresolved"), METRIC)
        assert open_end.endswith("falls at least 44 cm short.")


def test_an_aim_that_cannot_be_had_is_not_told_as_if_nothing_could_hang(covered: Placement) -> None:
    none = replace(covered, outcome="none allowed", enough_m=0.10, searched=None, bound_m=-0.05)
    falls = words.proof(replace(none, largest_margin_m=-0.05, margin_outcome="certified"), METRIC)
    assert falls == ("Proven: one array cannot cover everyone here. The best position falls 5 cm short.",)
    assert words.proof(replace(none, bound_m=0.0437), METRIC) == (
        "Proven: no allowed position leaves everyone a margin of 10 cm. The largest margin is at most 4.4 cm.",
    )
    for bound_m in (None, 0.20):  # lines of sight may leave nothing of what the margin's search found
        (nothing,) = words.proof(replace(none, bound_m=bound_m), METRIC)
        assert nothing == "Proven: walls, ceiling and rules leave no allowed position."


def test_a_search_that_ran_out_says_so_and_what_is_certain_even_so() -> None:
    scene = scene_of("quiet")
    few = replace(scene, heads=scene.heads[:3])
    found = place_scene(few, effort=Effort(evaluations=60), advise=False)
    assert found.outcome == "unresolved"
    text = " ".join(words.findings(found, METRIC))
    assert "Proven" not in text
    assert "Not proven best: the search reached its limit. Certain: " in text
    most = float(text.split("margin above ")[1].split(" cm")[0]) / 100
    assert found.bound_m is not None
    assert found.bound_m <= most <= found.bound_m + 0.001


def test_what_falls_short_is_the_largest_margin_found_rounded_up_and_proven_to_a_millimetre() -> None:
    # with a reach of 2.3 m the standing talker, 4.6 m from the farthest seat, and that seat cannot both be heard
    scene = scene_of("quiet")
    short = replace(scene.arrays[0], profile=replace(scene.arrays[0].profile, reach_m=(0.7, 2.3)))
    found = place_scene(scene.with_arrays((short,)), advise=False)
    assert found.bound_m is not None
    assert found.bound_m < 0
    text = " ".join(words.findings(found, METRIC))
    number, unit = text.split("falls ")[-1].split(" short")[0].split()
    metres = float(number) / {"m": 1, "cm": 100, "mm": 1000}[unit]
    assert found.largest_margin_m is not None
    assert 0 <= found.bound_m - found.largest_margin_m <= 0.001
    assert metres - 0.01 < -found.largest_margin_m <= metres


def test_no_position_at_all_is_proven_once_and_so_is_what_it_costs() -> None:
    scene = scene_of("quiet")
    crowded = replace(scene, limits=Limits(headroom=Given(2.79), free_over_table=Given(2.0)))
    found = place_scene(crowded, advise=False)
    assert found.outcome == "none allowed"
    assert words.findings(found, METRIC) == ("Proven: walls, ceiling and rules leave no allowed position.",)
    free = place_scene(scene, aim="margin", advise=False)
    text = words.ignoring_the_ceiling(found, free, METRIC)
    assert text.startswith("Ignoring the ceiling, the best would be A1 at ")
    assert text.endswith("leaves no allowed position.")
    assert (
        words.ignoring_the_ceiling(found, found, METRIC) == "Ignoring the ceiling leaves no position either."
    )


# ---- what stands in the way


@pytest.mark.parametrize(
    ("against", "rule", "text"),
    [
        ("SP2", "sprinkler-spray", "sprinkler SP2"),
        ("walls", "wall", "the walls"),
        ("A1", "other-array", "array A1"),
    ],
)
def test_a_thing_is_named_by_its_kind_and_no_rule_by_its_id(against: str, rule: str, text: str) -> None:
    one = Pressing(rule, "body", against, "", 0.0)
    assert words.thing(one, demo_scene("heron"), METRIC) == text
    assert words.things((one, one), demo_scene("heron"), METRIC) == text


def test_what_limits_the_array_and_what_clearing_it_costs() -> None:
    heron = demo_scene("heron")
    kept = place_scene(heron, aim="margin", hold=("at",), advise=False)
    free = place_scene(heron, aim="margin", hold=("at",), clearances=False, advise=False)
    assert words.limits(kept, METRIC) == ("Limited by sprinkler SP2.",)
    assert kept.largest_margin_m is not None
    assert free.bound_m is not None
    cost = METRIC.at_most(free.bound_m - kept.largest_margin_m)
    said = f"Clearing sprinkler SP2 costs up to {cost} of margin."
    assert words.clearing(kept, free, METRIC) == said
    ignoring = words.ignoring_the_ceiling(kept, free, METRIC)
    assert ignoring.startswith("Ignoring the ceiling, the best would be A1 at ")
    assert ignoring.endswith(said)
    # where what is free presses on nothing, nothing is cleared
    assert words.clearing(kept, kept, METRIC) == ""
    assert words.ignoring_the_ceiling(kept, kept, METRIC).endswith("Nothing there is in the way.")
    # another aim was taken without the ceiling
    other = words.clearing(replace(kept, aim="most"), replace(free, aim="near"), METRIC)
    assert other == f"Clearing sprinkler SP2 costs up to {cost} of margin, and the aim near is out of reach."
    for aim, by, figure in (
        ("near", "2 cm of distance", "farthest talker 1."),
        ("centre", "0.02° of RMS angle from centre", "RMS from centre "),
    ):
        row = row_of(aim, 1.0)  # type: ignore[arg-type]
        here = replace(kept, aim=aim, aims=(replace(row, value=1.02),))  # type: ignore[arg-type]
        there = replace(free, aim=aim, aims=(row,))  # type: ignore[arg-type]
        text = words.ignoring_the_ceiling(here, there, METRIC)
        assert re.search(rf"costs up to {by[:2]}\S* ?\S* of .* and {re.escape(cost)} of margin", text)
        assert figure in text


def test_several_arrays_are_limited_each_by_its_own_and_held_ones_are_too_close() -> None:
    heron = demo_scene("heron")
    kept = place_scene(heron, aim="margin", hold=("at",), advise=False)
    two = replace(kept, arrays=kept.arrays * 2)
    assert words.limits(two, METRIC) == ("A1 is limited by sprinkler SP2.",)
    sprinkler = next(one for one in heron.overhead if one.id == "SP2")
    below = replace(heron.arrays[0], at_m=sprinkler.at_m, height_m=2.5)
    held = replace(kept, scene=heron.with_arrays((below,)), arrays=(), held=("at", "height"))
    (text,) = words.limits(held, METRIC)
    assert text.startswith("A1 is held too close to sprinkler SP2")
    assert words.limits(replace(held, held=("at",)), METRIC) == ()


# ---- on a lattice


@pytest.mark.parametrize(
    ("pitch_m", "locale", "name"),
    [(None, METRIC, "tile centres"), (0.05, METRIC, "50 mm grid"), (0.0508, FEET, '2" grid')],
)
def test_a_lattice_has_the_name_it_was_asked_by(pitch_m: float | None, locale: Locale, name: str) -> None:
    assert words.lattice_name(pitch_m, locale) == name


def on_lattice(covered: Placement, found: Snapped) -> Placement:
    """The placement as if its array had been put on a lattice."""
    return replace(covered, searched=covered, snapped={covered.arrays[0].id: found})


LATTICE = Lattice(0.05, ((0, 0), (4, 0), (4, 4)))
SOMEWHERE = Position((1.0, 1.0, 2.0), 0)


@pytest.mark.parametrize(
    ("cost", "text"),
    [
        (Cost(0.021, 0.02, 0.0, 0.0), "Snapping moves it by 2.1 cm and costs 2 cm of margin."),
        (
            Cost(0.021, 0.02, -0.03, 0.0),
            "Snapping moves it by 2.1 cm and costs 2 cm of margin and gains 3 cm of distance.",
        ),
        (Cost(0.021, 0.0, 0.0004, 0.0), "Snapping moves it by 2.1 cm and costs nothing."),
        (None, None),
    ],
)
def test_what_the_lattice_costs(covered: Placement, cost: Cost | None, text: str | None) -> None:
    found = Snapped(LATTICE, covered.aim, SOMEWHERE, None, 12, {}, cost)
    best, beside, *more = words.lattice(on_lattice(covered, found), METRIC)
    id = covered.arrays[0].id
    assert best == f"{id} is on the best of 12 positions on the 50 mm grid."
    assert beside.startswith("Without snapping it would be at ")
    assert more == ([] if text is None else [text])


def test_what_was_left_out_of_a_lattice_and_what_is_less_than_asked(covered: Placement) -> None:
    id = covered.arrays[0].id
    found = Snapped(LATTICE, "most", SOMEWHERE, None, 12, {"outside": 3, "tee": 2}, None)
    near = replace(covered, aim="near", enough_m=0.1)
    best, _, less = words.lattice(on_lattice(near, found), METRIC)
    left = "3 outside the room, 2 too near a grid tee"
    assert best == f"{id} is on the best of 12 positions on the 50 mm grid (left out: {left})."
    assert (
        less
        == f"No position on the 50 mm grid leaves everyone a 10 cm margin; {id} is where the margin is largest."
    )
    centre = replace(covered, aim="centre")
    less = words.lattice(on_lattice(centre, found), METRIC)[-1]
    assert less == f"No position on the 50 mm grid covers everyone; {id} is where the margin is largest."
    rows = aims.aims(on_lattice(centre, found), METRIC)
    assert [(row.aim, row.proof) for row in rows if row.chosen] == [("proposed", "exact")]
    assert aims.key(on_lattice(centre, found), METRIC)[0].startswith("proposed: ")


@pytest.mark.parametrize(
    ("left_out", "held", "why"),
    [
        ({"device": 4}, (), "4 in a tile that holds a device"),
        ({}, ("at",), "its held position is not on it"),
        ({}, (), "none lie in the room"),
    ],
)
def test_why_no_place_on_a_lattice_is_allowed(
    covered: Placement, left_out: dict[LeftOut, int], held: tuple[str, ...], why: str
) -> None:
    found = Snapped(LATTICE, covered.aim, None, None, 0, left_out, None)
    (text,) = words.lattice(on_lattice(replace(covered, held=held), found), METRIC)
    id = covered.arrays[0].id
    assert (
        text == f"No position on the 50 mm grid is allowed for {id} ({why}). The free position is proposed."
    )


# ---- the aims beside each other, and how far an array may move


def test_the_aims_stand_beside_each_other_with_the_one_taken_marked(covered: Placement) -> None:
    rows = aims.aims(covered, METRIC)
    assert {row.aim for row in rows} == set(get_args(AimName))
    assert [row.aim for row in rows if row.chosen] == [covered.aim]
    assert [row.marked(METRIC)[0] for row in rows] == ["»" if row.chosen else " " for row in rows]
    assert len(aims.key(covered, METRIC)) == 5
    assert {row.proof for row in rows} <= {"proven", "none", "not proven"}


@pytest.mark.parametrize(
    ("room", "first_out", "all_out", "cells"),
    [
        (
            RoomToMove("+x", 0.2399, 1, 1.599, ("light",)),
            "S2",
            False,
            ("+x", "239 mm", "S2", "1599 mm", "Clear of a light fitting"),
        ),
        (
            RoomToMove("up", float("inf"), None, 0.02, ("ceiling",)),
            None,
            False,
            ("up", "–", "nobody", "20 mm", "the ceiling"),
        ),
        (
            RoomToMove("-y", 0.0, None, float("inf"), None),
            None,
            True,
            ("−y", "0 mm", "nobody is covered", "–", "–"),
        ),
    ],
)
def test_how_far_an_array_may_move(
    room: RoomToMove, first_out: str | None, all_out: bool, cells: tuple[str, ...]
) -> None:
    assert tuple(ways.way(room, first_out, METRIC, all_out=all_out)) == cells


def test_what_is_below_the_ways(covered: Placement) -> None:
    (array,) = covered.arrays
    level = covered.scene.arrays[0].profile.level_deg
    assert level > 0
    left = replace(covered, arrays=(replace(array, margin_left_m=0.031),))
    differ = METRIC.say("ways.differ")
    assert ways.below_the_ways(left, METRIC) == (
        f"Hung {METRIC.edge(level)} out of level, {array.id} keeps 3 cm of its margin.",
        differ,
    )
    none = replace(covered, arrays=(replace(array, margin_left_m=-0.01),))
    assert ways.below_the_ways(none, METRIC) == (
        f"Hung {METRIC.edge(level)} out of level, {array.id} may have no margin left.",
        differ,
    )
    missed = replace(covered, arrays=(replace(array, margin_m=-0.1, not_covered=array.heads[:1]),))
    assert ways.below_the_ways(missed, METRIC) == (
        f"{array.id} does not cover 1 of its 3 talkers here. The table is about the others.",
        differ,
    )
    assert ways.below_the_ways(replace(left, arrays=(replace(left.arrays[0], rooms=()),)), METRIC)[1:] == ()


def test_who_is_covered_twice(covered: Placement) -> None:
    assert words.served_twice(covered, METRIC) == ()
    twice = replace(covered, served_twice={"S1": ("A1", "A2"), "S2": ("A1", "A2")})
    assert words.served_twice(twice, METRIC) == (
        "Covered by more than one array: S1 (A1 and A2) and S2 (A1 and A2).",
    )


# ---- beside the file's own position, and in the report


def test_the_current_position_stands_beside_the_proposed_one(covered: Placement) -> None:
    judged = covered.judged
    assert judged is not None
    assert judged.margin_m is not None
    shown = f"3 of 3, margin {METRIC.spare(judged.margin_m)}, {judged.verdict}"
    assert words.standing(judged, judged) == f"Current: {shown}. Proposed: {shown}."
    assert words.standing(None, judged) == f"Current: no position yet. Proposed: {shown}."


def test_the_report_says_where_each_array_hangs_and_what_was_found(covered: Placement) -> None:
    assert covered.judged is not None
    hangs, found = words.report_paragraphs(covered, covered.judged)
    assert "above the finished floor" in hangs
    assert "It covers all of its 3 talkers, with a margin of " in hangs
    missing = replace(
        covered.judged,
        heads=(replace(covered.judged.heads[0], state="missed"), *covered.judged.heads[1:]),
        arrays=tuple(replace(one, margin_m=-0.1) for one in covered.judged.arrays),
    )
    assert words.report_paragraphs(covered, missing)[0].endswith("Of its talkers it covers 2 of 3.")
    assert found == " ".join(
        (
            "Every allowed position, height and band was searched, with a proof.",
            *words.findings(covered, METRIC),
        )
    )
    drawn = aims.drawn(covered.judged, METRIC)
    assert (drawn.aim, drawn.proof) == ("current", "")


def test_no_message_of_placements_has_a_word_that_people_do_not_read() -> None:
    from viz.words.english_placement import PLACEMENT

    texts = [text for one in PLACEMENT.values() for text in ((one,) if isinstance(one, str) else one)]
    assert len(texts) > 100
    assert [text for text in texts if found(text)] == []


@pytest.mark.parametrize(
    ("wrong", "text"),
    [
        (PlaceRefused("no such hold", hold=("turn",)), "hold is turn; allowed are at, height, band"),
        (
            PlaceRefused("hold for others", hold=("at",), asked=3, there=1),
            "at cannot be held for 3 arrays: the spec has 1; leave out --hold or --arrays",
        ),
        (
            PlaceRefused("nothing to hold", hold=("height",), array="A1"),
            "array A1 has no height in the spec to hold; give it, or hold less",
        ),
        (
            PlaceRefused("no grid"),
            "--snap tile needs the lay-in grid of the ceiling: give room.grid in the spec",
        ),
    ],
)
def test_what_cannot_be_searched_for_says_what_to_type_instead(wrong: PlaceRefused, text: str) -> None:
    assert words.refused(wrong, METRIC) == text


def test_each_refusal_of_a_search_has_its_message() -> None:
    assert all(words.refused(PlaceRefused(name), METRIC) for name in PLACE_REFUSALS)
