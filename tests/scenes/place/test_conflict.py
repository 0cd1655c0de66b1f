"""What is said where nothing works: every head of a conflict is told of, and what is held is let go as a trial."""

import pytest

from scenes.place.search import place_scene
from scenes.room.build import build
from scenes.spec.reading import read_spec_text

ROOM = """\
overtable: 1
name: Conflicts
units: m
room: {size: [7, 5], ceiling: 2.7}
people: {seated: {mouth: 1.2, sway: 0.0}}
seats: SEATS
profiles:
  p:
    mount: pendant
    body: {diameter: 0.2, height: 0.06}
    bands: {only: [25, 60]}
    reach: [0.8, REACH]
arrays: [{id: A1, profile: p, at: [3.5, 2.5], height: HEIGHT, band: only}]
"""


def placed(seats, reach=2.2, height=2.4, more="", hold=()):
    rows = ", ".join(f"{{id: S{i + 1}, at: [{x}, {y}]}}" for i, (x, y) in enumerate(seats))
    text = ROOM.replace("SEATS", f"[{rows}]").replace("REACH", str(reach)).replace("HEIGHT", str(height))
    return place_scene(build(read_spec_text(text + more, "room.yaml")), hold=hold)


WALKER = """\
overtable: 1
name: Three at odds
units: m
room: {size: [6.559, 6.337], ceiling: 2.4}
tables: [{id: T1, shape: rectangle, size: [3.118, 1.056], at: [2.952, 3.168], height: 0.74}]
seats:
  - {id: S4, at: [4.711, 3.086], mouth: [1.115, 1.195], sway: 0}
  - {id: S5, at: [2.456, 2.44], mouth: [1.162, 1.408], sway: 0}
standing: [{id: W, along: [[5.311, 1.955], [5.311, 4.382]], step: 0.8, mouth: [1.45, 1.7], sway: 0}]
profiles:
  p: {mount: pendant, body: {diameter: 0.22, height: 0.06}, bands: {only: [23, 68]}, reach: [0.8, 3.0]}
arrays: [{id: A1, profile: p}]
overhead:
  - {id: O1, kind: light, at: [5.798, 3.251], below: 0.0, size: [0.6, 0.3]}
  - {id: O2, kind: supply diffuser, at: [3.941, 4.589], below: 0.0, size: [0.6, 0.3]}
  - {id: O3, kind: sprinkler, at: [3.885, 5.312], below: 0.05, spray: standard}
  - {id: O4, kind: return grille, at: [3.062, 0.92], below: 0.0, size: [0.6, 0.3]}
  - {id: O5, kind: smoke detector, at: [4.037, 4.98], below: 0.05}
  - {id: O6, kind: light, at: [1.994, 4.914], below: 0.0, size: [0.6, 0.3]}
  - {id: O7, kind: loudspeaker, at: [3.33, 3.224], below: 0.0}
"""


def test_every_head_of_a_conflict_is_told_of():
    # at the best place for all three one of them may well be served: then it is said that elsewhere it is not
    conflict = place_scene(build(read_spec_text(WALKER, "room.yaml"))).conflict
    assert conflict is not None
    assert len(conflict.heads) == 3
    assert {miss.head for miss in conflict.because.misses} | set(conflict.because.served) == set(
        conflict.heads
    )
    assert conflict.because.misses


def test_what_is_hardly_too_far_is_told_by_how_much():
    # half way between them and 25° up it is 3.993 / 2 / cos 25° = 2.203 m to either: 3 mm more than the reach
    conflict = placed([(1.0, 2.5), (4.993, 2.5)], reach=2.2).conflict
    assert conflict is not None
    far = [miss for miss in conflict.because.misses if miss.reason == "too far"]
    assert far
    assert conflict.because.reach_m == 2.2
    for miss in far:
        assert not miss.swaying
        # the way back into the band is no shorter than what is too far, and little longer
        assert miss.slant_m - 2.2 <= miss.short_m + 1e-9
        assert miss.short_m == pytest.approx(miss.slant_m - 2.2, abs=1e-3)


def test_where_a_held_place_is_not_allowed_letting_go_is_tried():
    light = "overhead: [{id: L1, kind: light, at: [3.5, 2.5], size: [0.6, 0.6], below: 0.35}]\n"
    found = placed([(2.5, 2.5), (4.5, 2.5)], more=light, hold=("at", "height"))
    assert found.outcome == "none allowed"
    assert found.conflict is not None
    tried = {(one.change, one.value): one for one in found.conflict.tried}
    freed = tried["hold", "at"]
    assert freed.works
    again = placed([(2.5, 2.5), (4.5, 2.5)], more=light, hold=("height",))
    assert freed.margin_m == pytest.approx(again.largest_margin_m, abs=0.002)
