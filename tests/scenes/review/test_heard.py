"""What an array hears besides its talkers: places to keep away, noisy things; and a turn that helps."""

from __future__ import annotations

import math

import pytest

from scenes.review.as_json import as_json
from scenes.review.heard import heard
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS
from viz.words.heard import sentences
from viz.words.locale import Locale

# The array in the middle, two talkers east of it and one north; sector 1 of 4 is from 0 to 90°.
ROOM = """\
overtable: 1
name: Teasel Room
units: m
room: {size: [8, 8], ceiling: 3}
seats: [{id: S1, at: [5.8, 4.2]}, {id: S2, at: [5.6, 3.6]}, {id: S3, at: [3.4, 5.8]}]
keep_away: [{id: Q1, outline: [[6.5, 5.5], [7.5, 5.5], [7.5, 6.5], [6.5, 6.5]], reason: printer}]
profiles:
  reed:
    {mount: pendant, body: {diameter: 0.2, height: 0.1}, bands: {low: [10, 70]}, reach: [0.6, 6], sectors: 4}
arrays: [{id: A1, profile: reed, at: [4, 4], height: 2.2, band: low}]
"""
DOOR = "{id: D1, kind: door, wall: 1, offset: 3.6, width: 0.9, height: 2.1}"


def judged(text):
    return review(build(read_spec_text(text)))


def test_a_place_in_a_sector_with_talkers_is_told_with_the_nearest_of_them():
    [row] = heard(judged(ROOM))
    assert (row.array, row.thing, row.kind, row.band, row.sector) == ("A1", "Q1", "keep_away", "low", 1)
    assert (row.nearest_talker, row.reason) == ("S1", "printer")
    # its nearest corner is hypot(2.5, 1.5) m away on plan; mouths of the room are at 1.2 m, 1 m below the array
    nearest, talker = math.hypot(2.5, 1.5, 1.0), math.hypot(1.8, 0.2, 1.0)
    assert row.ratio_dB == pytest.approx(20 * math.log10(nearest / talker), abs=1e-6)


def test_the_turn_told_is_tried_and_has_it_in_a_sector_without_talkers():
    room = judged(ROOM)
    turn = heard(room)[0].turn
    assert turn is not None
    assert (turn.places, turn.devices, turn.covered, turn.verdict) == (0, 0, 0, room.verdict)
    assert turn.margin_m == pytest.approx(0)
    assert heard(judged(ROOM.replace("band: low}]", f"band: low, turn: {turn.to_deg}}}]"))) == ()


def test_without_sectors_a_turn_helps_nothing_and_a_place_out_of_the_band_is_not_heard():
    [row] = heard(judged(ROOM.replace("sectors: 4", "sectors: 1")))
    assert (row.sector, row.turn) == (1, None)
    # 1 m down: at 10° the band's shallow edge is 5.67 m out on the height of mouths
    assert heard(judged(ROOM.replace("low: [10, 70]", "low: [25, 70]"))) == ()
    # under the array, steeper than its band
    close = ROOM.replace("[[6.5, 5.5], [7.5, 5.5], [7.5, 6.5], [6.5, 6.5]]", "[[4, 4], [4.3, 4], [4, 4.2]]")
    assert heard(judged(close)) == ()


def test_doors_displays_and_noisy_devices_are_heard_where_they_are():
    more = (
        "displays: [{id: DS1, at: [7.95, 4.4, 1.4], width: 1.4, height: 0.8, facing: 180}]\n"
        "overhead:\n  - {id: G1, kind: supply diffuser, at: [6, 5], below: 0}\n"
        "  - {id: PJ1, kind: projector, at: [6.4, 4.6], below: 1.4}\n"
        "  - {id: L1, kind: light, at: [6, 6], below: 1.4}\n"
    )
    text = ROOM.replace("ceiling: 3}", f"ceiling: 3, openings: [{DOOR}]}}") + more
    rows = heard(judged(text))
    # the diffuser is above the array, a light makes no noise, the display and the door are seen 11 to 15° down
    assert [(row.thing, row.what) for row in rows] == [
        ("Q1", "keep away"),
        ("PJ1", "projector"),
        ("D1", "door"),
        ("DS1", "display"),
    ]
    door = next(row for row in rows if row.thing == "D1")
    slant = math.dist((8, 4.05, 1.05), (4, 4, 2.2))
    assert door.ratio_dB == pytest.approx(20 * math.log10(slant / math.hypot(1.8, 0.2, 1.0)), abs=1e-6)


def test_a_turned_room_is_told_the_same():
    def turned(x, y):
        return f"[{8 - y:g}, {x:g}]"

    text = ROOM
    for x, y in ((5.8, 4.2), (5.6, 3.6), (3.4, 5.8)):
        text = text.replace(f"at: [{x}, {y}]", f"at: {turned(x, y)}")
    corners = ", ".join(turned(x, y) for x, y in ((6.5, 5.5), (7.5, 5.5), (7.5, 6.5), (6.5, 6.5)))
    text = text.replace("[[6.5, 5.5], [7.5, 5.5], [7.5, 6.5], [6.5, 6.5]]", f"[{corners}]")
    text = text.replace("band: low}]", "band: low, turn: 90}]")
    [here], [there] = heard(judged(ROOM)), heard(judged(text))
    assert (there.sector, there.nearest_talker) == (here.sector, here.nearest_talker)
    assert there.ratio_dB == pytest.approx(here.ratio_dB, abs=1e-6)
    assert there.turn.to_deg == pytest.approx((here.turn.to_deg + 90) % 360)


def test_json_has_ids_and_costs_and_what_people_read_has_both():
    room = judged(ROOM)
    [row] = as_json(room)["heard"]
    assert row["turn"]["costs"] == {"covered": 0, "margin_m": pytest.approx(0), "verdict": room.verdict}
    what, turned = sentences(heard(room), Locale("m"))
    assert what.startswith("A1 also hears, among its talkers: Q1 (printer) in sector 1 with S1 (")
    assert "A1 has none of them among its talkers" in turned


def test_a_screen_of_one_layout_is_not_heard_with_talkers_of_another():
    rows = heard(judged(LAYOUTS))
    assert {row.thing for row in rows} <= {"DS1"}
    told = as_json(judged(LAYOUTS))["heard"]
    assert len(told) == len(rows)
