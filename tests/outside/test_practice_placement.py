"""Where practice hangs an array over a small table, against where the search hangs it.

Common practice, no source: over a table of 2.4 × 1.2 m with seats every 0.75 m, mouths 0.15 to 0.25 m
outside its edge and 1.2 m up, and an array that reaches 1 to 3 m, the lower of the two usual bands of
`test_common_practice` hangs at 2.2 m give or take 0.1, and the steeper one between 2.2 and 3.2 m.
"""

import pytest

from geometry.aims import Aim, Margin, Near
from geometry.band import Band
from geometry.constraint import SearchBox
from geometry.coverage import Heads
from geometry.kind import ArrayKind
from geometry.placement import Solution, search
from tests.outside.oracle.reading import room_of
from tests.outside.oracle.searching import Place, Search, nearest
from tests.outside.oracle.seating import heads_of
from tests.outside.test_common_practice import LOWER, STEEPER

LENGTH_M, WIDTH_M, PITCH_M, MOUTH_M = 2.4, 1.2, 0.75, 1.2


def seats(gap_m: float, all_round: bool) -> list[tuple[float, float, float]]:
    """Three along each long side, and one at each end if people sit all round."""
    sides = [(k * PITCH_M, way * (WIDTH_M / 2 + gap_m), MOUTH_M) for k in (-1, 0, 1) for way in (-1, 1)]
    ends = [(way * (LENGTH_M / 2 + gap_m), 0.0, MOUTH_M) for way in (-1, 1)]
    return sides + (ends if all_round else [])


def placed(
    gap_m: float, all_round: bool, band: Band, sway_m: float = 0.1, aim: Aim | None = None
) -> Solution:
    """By the default aim, or another; where nearness cannot be had, the largest margin."""
    # the ceiling is left high, so that it is the band that decides and not the room
    heads = Heads.at(seats(gap_m, all_round), sway_m=sway_m)
    kind = ArrayKind((band,), SearchBox((-3, -2, MOUTH_M), (3, 2, 3.5)))
    found = search(heads, kind, aim or Near())
    return found if found.positions else search(heads, kind, Margin())


def nearest_by_the_oracle(gap_m: float) -> Place:
    """The oracle's own nearest place that leaves everybody 0.10 m, in the same box, with no rule to keep."""
    away = {rule: {"use": False, "reason": "no rule here"} for rule in ("wall", "headroom", "touch")}
    profile = {
        "mount": "pendant",
        "body": {"diameter": 0.1, "height": 0.02},
        "bands": {"b": [LOWER.low_deg, LOWER.high_deg]},
        "reach": [1, 3],
    }
    room = {
        "units": "m",
        "room": {"outline": [[-3, -2], [3, -2], [3, 2], [-3, 2]], "ceiling": {"kind": "hard", "height": 3.5}},
        "people": {"seated": {"mouth": MOUTH_M, "sway": 0.1}},
        "seats": [{"id": f"S{n}", "at": [x, y]} for n, (x, y, _) in enumerate(seats(gap_m, False))],
        "profiles": {"p": profile},
        "arrays": [{"id": "A1", "profile": "p"}],
        "rules": away,
    }
    read = room_of(room, room)
    best = Search(read, read.arrays[0], heads_of(read)).best(nearest(0.1))
    assert best is not None
    return best


@pytest.mark.parametrize("gap_m", [0.15, 0.20, 0.25])
def test_the_default_aim_agrees_where_people_sit_all_round(gap_m: float) -> None:
    for band, lowest, highest in ((LOWER, 2.1, 2.3), (STEEPER, 2.2, 3.2)):
        chosen = placed(gap_m, True, band)
        assert chosen.outcome == "certified"
        assert chosen.position is not None
        assert lowest <= chosen.position.at_m[2] <= highest


@pytest.mark.parametrize("all_round", [True, False])
@pytest.mark.parametrize("sway_m", [0.0, 0.1])
@pytest.mark.parametrize("gap_m", [0.15, 0.20, 0.25])
def test_the_most_tolerant_place_always_agrees(gap_m: float, sway_m: float, all_round: bool) -> None:
    for band, lowest, highest in ((LOWER, 2.1, 2.3), (STEEPER, 2.2, 3.2)):
        found = placed(gap_m, all_round, band, sway_m, Margin())
        assert found.position is not None
        assert lowest <= found.position.at_m[2] <= highest


@pytest.mark.parametrize("gap_m", [0.15, 0.20, 0.25])
def test_with_seats_on_two_sides_only_the_default_aim_hangs_a_little_lower(gap_m: float) -> None:
    # closer is better, and with nobody at the ends closer is possible: lower than practice's 2.2 m less 0.05
    chosen = placed(gap_m, False, LOWER)
    assert chosen.position is not None
    own = nearest_by_the_oracle(gap_m)
    assert own.at[2] < 2.15
    # the search stops within a millimetre of the least worst distance, and that is 1.6 mm of height
    assert chosen.position.at_m[2] == pytest.approx(own.at[2], abs=0.005)
    steeper = placed(gap_m, False, STEEPER)
    assert steeper.position is not None
    assert 2.2 <= steeper.position.at_m[2] <= 3.2
