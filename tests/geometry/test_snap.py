"""The best lattice place: never beaten by brute force, and never on a tile that cannot take it."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.aims import Centre, Margin, Most, Near, Tolerance
from geometry.band import Band
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads, cover
from geometry.kind import ArrayKind, Position
from geometry.placement import figures_at
from geometry.shadow import Sight
from geometry.shapes import Box
from geometry.sight import hidden
from geometry.snap import CeilingGrid, Lattice, snap

ROOM = np.array([[0, 0], [4.5, 0], [4.5, 3.3], [0, 3.3]], float)
BANDS = (Band(20, 63, 1, 3), Band(47, 86, 1, 3))
GRID = CeilingGrid((0.6, 0.6), (0.15, 0.0))
BOX = SearchBox((0.3, 0.3, 1.8), (4.2, 3.0, 2.7))


@st.composite
def talkers(draw):
    spots = draw(
        st.lists(
            st.tuples(st.floats(1, 3.5), st.floats(0.8, 2.5), st.floats(1.1, 1.3)), min_size=1, max_size=5
        )
    )
    return Heads.at(spots, sway_m=draw(st.floats(0, 0.1)), half_range_m=draw(st.floats(0, 0.05)))


def pillar(at):
    """Keeps 0.5 m away from a vertical line below 2.4 m: an `or` of signed distances."""
    return np.maximum(np.hypot(at[:, 0] - 2.2, at[:, 1] - 1.6) - 0.5, at[:, 2] - 2.4)


def brute(heads, places, heights, need):
    """Margin, worst slant and RMS off-centre of all places x heights x bands that are allowed."""
    rows = []
    for b, band in enumerate(BANDS):
        at = np.array([(x, y, z) for x, y in places for z in heights])
        seen = cover(at, [band] * len(at), heads)
        margin = seen.margin_m.min(axis=1)
        good = (margin >= need) & (pillar(at) >= 0)
        rms = np.sqrt((seen.off_centre_deg**2).mean(axis=1))
        rows.append(np.column_stack([margin, seen.slant_m.max(axis=1), rms, np.full(len(at), b)])[good])
    return np.concatenate(rows)


BULKHEAD = Box((2.9, 1.2, 2.0), (0.8, 0.2, 0.5), 20.0)
"""Hides some of the people from some places."""


@pytest.mark.thorough
@settings(max_examples=12, deadline=None)
@given(talkers(), st.sampled_from([Near(0.05), Margin(), Tolerance(), Centre(), Most()]))
def test_no_lattice_place_is_better(heads, aim):
    kind = ArrayKind(BANDS, BOX, (Constraint(("pillar",), pillar),), (BULKHEAD,))
    tiles = Lattice(None, ROOM, GRID, passes_m=(0.1, 0.1), off_tees_m=0.03)
    found = snap(heads, kind, tiles, aim)
    places, _ = tiles.places(BOX)
    heights = np.linspace(1.8, 2.7, 91)
    at = np.array([(x, y, z) for x, y in places for z in heights])
    at = at[pillar(at) >= 0]
    seen = ~hidden(at, heads, [BULKHEAD])[:, :, 0]
    lines = Sight(heads, (BULKHEAD,)).least_m(at)
    rivals = []
    for band in BANDS:
        of = cover(at, [band] * len(at), heads)
        least = of.margin_m.min(axis=1)
        good = seen.all(axis=1) & (least >= aim.needs_margin_m)
        scores = {
            "margin": least,
            "tolerance": np.minimum(np.minimum(least, pillar(at)), lines),
            "near": -of.slant_m.max(axis=1),
            "centre": -np.sqrt((of.off_centre_deg**2).mean(axis=1)),
            "most": (of.margin_m >= 0).sum(axis=1) * 1.0,
        }[aim.name]
        if aim.name == "most":
            good, scores = np.ones(len(at), bool), ((of.margin_m >= 0) & seen).sum(axis=1) * 1.0
        rivals.append(scores[good].max(initial=-np.inf))
    if found.position is None:
        assert max(rivals) == -np.inf
        return
    score = found.figures.covered if aim.name == "most" else aim.score(found.figures)
    assert score >= max(rivals) - 0.0011
    # it is on the lattice, allowed, and its figures are its own
    assert np.hypot(*(places - found.position.at_m[:2]).T).min() < 1e-9
    here = np.array([found.position.at_m])
    assert pillar(here)[0] >= -1e-9
    assert aim.name == "most" or not hidden(here, heads, [BULKHEAD]).any()
    assert found.figures.margin_m >= aim.needs_margin_m - 1e-9
    assert found.figures == figures_at(heads, kind, found.position)


def test_where_the_aim_cannot_be_had_another_is_taken_and_it_is_said():
    far_apart = Heads.at([[0.5, 0.5, 1.2], [4, 2.8, 1.2]])
    kind, fine = ArrayKind((Band(40, 60, 1, 2),), BOX), Lattice(0.3, ROOM)
    found = snap(far_apart, kind, fine, Near(), instead=Margin())
    assert found.aim == "margin"
    assert found.figures.margin_m < 0
    assert snap(far_apart, kind, fine, Near()).position is None


def test_nothing_allowed_is_said():
    never = Constraint(("never",), lambda at: np.full(len(at), -5.0))
    kind = ArrayKind(BANDS, BOX, (never,))
    found = snap(Heads.at([[2, 1, 1.2]]), kind, Lattice(0.5, ROOM), Near(), instead=Margin())
    assert found.position is None
    assert found.figures is None
    assert found.judged > 0


def test_a_window_of_heights_away_from_middle_and_ends_is_found():
    # one place, allowed from 2.03 to 2.05 m only, which is neither the middle nor an end of what it could be
    window = Constraint(("window",), lambda at: 0.01 - np.abs(at[:, 2] - 2.04), stop=True)
    heads, one = Heads.at([[2, 0.8, 1.2], [2.5, 2.1, 1.2]]), BOX.holding(x=2.2, y=1.4)
    kind = ArrayKind(BANDS[1:], one, (window,))
    best = max(
        figures_at(heads, kind, Position((2.2, 1.4, z), 0)).margin_m for z in np.linspace(2.03, 2.05, 201)
    )
    assert best > 0
    for aim in (Near(0.0), Margin(), Tolerance(), Centre(), Most()):
        found = snap(heads, kind, Lattice(0.1, ROOM), aim)
        assert found.judged == 1
        assert 2.03 - 1e-9 <= found.position.at_m[2] <= 2.05 + 1e-9
        if aim.name in ("margin", "tolerance", "most"):
            assert found.figures.margin_m == pytest.approx(best, abs=1e-4)


@pytest.mark.parametrize("step", [0.02, None])
def test_where_hardly_anything_is_allowed_little_is_asked(step):
    # a room whose remedies were searched for minutes: every place at every height, once for each band
    asked = []

    def near_a_corner(at):
        asked.append(len(at))
        return 0.04 - np.linalg.norm(at - (4.0, 2.8, 2.0), axis=1)

    kind = ArrayKind(BANDS, BOX, (Constraint(("corner",), near_a_corner, stop=True),))
    far_apart = Heads.at([[0.5, 0.5, 1.2], [4, 2.8, 1.2]])
    found = snap(far_apart, kind, Lattice(0.05, ROOM, height_step_m=step), Most(), instead=Margin())
    assert math.dist(found.position.at_m, (4.0, 2.8, 2.0)) <= 0.04 + 1e-6
    assert found.judged > 4000
    assert sum(asked) < 3 * found.judged


def test_a_flush_array_stays_at_its_height():
    kind = ArrayKind(BANDS, BOX.holding(z=2.6))
    found = snap(Heads.at([[2, 1, 1.2], [2.5, 2, 1.2]]), kind, Lattice(0.1, ROOM), Margin())
    assert found.position.at_m[2] == 2.6


def test_heights_in_steps_make_the_drop_round():
    heads, kind = Heads.at([[1.5, 1, 1.2], [2.5, 2, 1.2]], sway_m=0.05), ArrayKind(BANDS, BOX)
    free = snap(heads, kind, Lattice(0.05, ROOM), Margin()).position
    steps = Lattice(0.05, ROOM, height_step_m=0.05, height_from_m=2.73)
    found = snap(heads, kind, steps, Margin(), free=free)
    x, y, z = found.position.at_m
    assert abs((2.73 - z) / 0.05 - round((2.73 - z) / 0.05)) < 1e-9
    assert np.abs(np.array([x, y]) / 0.05 - np.round(np.array([x, y]) / 0.05)).max() < 1e-9
    # coming off by half a step of height costs at most that
    assert -0.001 <= found.cost.margin_lost_m <= 0.025 + 0.001
    assert found.cost.moved_m == pytest.approx(math.dist(found.position.at_m, free.at_m))


def test_tiles_are_left_out_for_their_reasons_and_the_counts_add_up():
    # tiles from x = 0.15: the column x < 0.15 is cut to a quarter and has no centre in the box
    whole = SearchBox((-1, -1, 2), (6, 5, 2))
    light = np.array(
        [[1.0, 1.0], [1.3, 1.0], [1.3, 1.1], [1.0, 1.1]]
    )  # in one tile: 0.75 to 1.35, 0.6 to 1.2
    sprinkler = np.array([[2.0, 0.3]])  # in the tile 1.95 to 2.55, 0 to 0.6
    places, left_out = Lattice(None, ROOM, GRID, (light, sprinkler), 0.15).places(whole)
    centres_x = 0.15 + 0.3 + 0.6 * np.arange(-3, 11)
    centres_y = 0.3 + 0.6 * np.arange(-3, 10)
    everything = [(x, y) for x in centres_x for y in centres_y if -1 <= x <= 6 and -1 <= y <= 5]
    assert len(places) + sum(left_out.values()) == len(everything)
    # middles of tiles in the room: x 0.45 to 4.05 (7 of them), y 0.3 to 2.7 (5), the row at 3.3 being on
    # the wall itself and cut exactly in half, which is not less than half
    assert set(left_out) == {"outside", "device"}
    assert left_out["device"] == 2
    assert len(places) == 7 * 6 - 2
    assert np.hypot(*(places - (1.05, 0.9)).T).min() > 0.5
    assert np.hypot(*(places - (2.25, 0.3)).T).min() > 0.5


def test_a_tile_cut_to_less_than_half_is_left_out_though_its_middle_is_in_the_room():
    # a wedge: at x = 0.3 the room is narrow, so the tile's middle is inside but most of the tile is not
    wedge = np.array([[0, 0.3], [0.6, 0.25], [3, 0], [3, 0.6], [0.6, 0.35]])
    places, left_out = Lattice(None, wedge, CeilingGrid((0.6, 0.6))).places(SearchBox((0, 0, 2), (3, 0.6, 2)))
    # closed form: at the tiles' middles the wedge is 0.05, 0.1625, 0.2875 and 0.4125 high, of 0.6
    assert left_out == {"cut": 3}
    assert places[:, 0].min() == pytest.approx(2.1)


def test_a_body_too_large_for_the_tile_leaves_no_place():
    places, left_out = Lattice(None, ROOM, GRID, passes_m=(0.2701, 0.2701), off_tees_m=0.03).places(BOX)
    assert len(places) == 0
    assert "tee" in left_out
    # half a pitch is 300 mm: radius 270 mm + 30 mm just fits
    places, left_out = Lattice(None, ROOM, GRID, passes_m=(0.27, 0.27), off_tees_m=0.03).places(BOX)
    assert len(places) > 10
    assert "tee" not in left_out


def test_round_numbers_keep_clear_of_the_tees():
    places, left_out = Lattice(0.05, ROOM, GRID, passes_m=(0.1, 0.1), off_tees_m=0.03).places(BOX)
    share = (places - (0.15, 0.0)) / 0.6 % 1
    assert (np.minimum(share, 1 - share) * 0.6).min() >= 0.13 - 1e-9
    assert left_out["tee"] > 0


def test_mistakes_are_told():
    with pytest.raises(ValueError, match="needs the ceiling's grid"):
        Lattice(None, ROOM)
    with pytest.raises(ValueError, match="more than 0"):
        Lattice(0.0, ROOM)
    with pytest.raises(ValueError, match="both must be above 0"):
        CeilingGrid((0.6, 0.0))


def test_where_no_place_is_near_it_says_which_of_margin_and_spare_is_not_to_be_had():
    """Source: a try-out; "no tile leaves 11 cm" of a tile that had 22: it was a rule that lacked its spare."""
    heads = Heads.at([[1.5, 1.5, 1.2], [3.0, 1.8, 1.2]])
    tight = Constraint(("rule",), lambda at: np.full(len(np.atleast_2d(at)), 0.01))
    kind = ArrayKind(BANDS, BOX, constraints=(tight,))
    lattice = Lattice(None, ROOM, GRID)
    for aim, lacks in (
        (Near(needs_margin_m=0.02, keeps_spare_m=0.02), "spare"),
        (Near(needs_margin_m=2.0, keeps_spare_m=0.0), "margin"),
        (Near(needs_margin_m=0.02, keeps_spare_m=0.005), None),
    ):
        found = snap(heads, kind, lattice, aim, instead=Margin())
        assert found.position is not None
        assert found.lacks == lacks
        assert found.aim == ("near" if lacks is None else "margin")
