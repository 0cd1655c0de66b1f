"""The place command: what it tells, what it writes, and what it refuses."""

from __future__ import annotations

import io
import json
import re
import time

import pytest
from rich.console import Console

from scenes.spec.reading import read_spec
from viz.terminal.progress import Searching


def test_place_json_has_every_key_of_the_contract(rooms, run):
    asked = ("--enough", "5 cm", "--snap", "none", "--ladder", "1", "--json")
    code, out, _ = run("place", rooms / "heron.yaml", *asked)
    told = json.loads(out)
    assert code == 0
    assert set(told) >= {
        "format",
        "outcome",
        "certified",
        "arrays",
        "margin_m",
        "bound_m",
        "gap_m",
        "tolerance_m",
        "clear_tolerance_m",
        "aim",
        "worst_slant_m",
        "worst_slant_bound_m",
        "mean_off_centre_deg",
        "rms_off_centre_deg",
        "evaluations",
        "seconds",
        "conflict",
        "aim_asked",
        "aim_value",
        "aim_bound",
        "aim_gap",
        "aim_unit",
        "enough_m",
        "searched",
        "lattice",
        "largest_margin_m",
        "free",
        "aims",
        "most",
        "tolerance",
        "ladder",
        "needed",
    }
    assert (told["format"], told["outcome"], told["certified"], told["aim"]) == (
        "overtable/placement/1",
        "certified",
        True,
        "near",
    )
    assert set(told["arrays"][0]) >= {"id", "at_m", "height_m", "drop_m", "band", "reach_m", "margin_m"}
    assert told["margin_m"] >= 0.05
    assert told["bound_m"] >= told["margin_m"]
    assert told["worst_slant_m"] - told["worst_slant_bound_m"] <= 0.001
    # one array anywhere is the search itself, and in the middle is no better
    free, middle = told["ladder"]
    assert (free["arrays"], free["pattern"], free["on_lattice"]) == (1, "free", None)
    assert free["margin_m"] == pytest.approx(told["largest_margin_m"], abs=0.001)
    assert middle["margin_m"] is None or middle["margin_m"] <= free["bound_m"] + 1e-9


def test_write_changes_only_the_place_and_check_then_agrees(rooms, run):
    spec = rooms / "heron.yaml"
    before = spec.read_text()
    code, out, _ = run("place", spec, "--aim", "margin", "--snap", "none", "--write")
    assert code == 0
    after = spec.read_text()
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert "id: A1" in changed[0][1]
    assert f"+{changed[0][1]}" in out.replace("\n", "") or changed[0][1].strip()[:30] in out
    told = json.loads(run("place", spec, "--aim", "margin", "--snap", "none", "--json")[1])
    checked = json.loads(run("check", spec, "--json")[1])
    assert checked["arrays"][0]["margin_m"] == pytest.approx(told["margin_m"], abs=0.0011)
    assert checked["arrays"][0]["margin_m"] <= told["bound_m"]


def test_open_places_are_filled(rooms, run):
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text().replace(", at: [3.3, 2.25], height: 2.18, band: main", ""))
    assert run("place", spec, "--write")[0] == 0
    array = read_spec(spec).arrays[0]
    assert array.at is not None
    assert array.height is not None
    assert array.band == "main"
    assert run("check", spec)[0] == 0


def test_a_room_nobody_can_cover_says_who_why_and_what_would_help(rooms, run):
    code, out, _ = run("place", rooms / "weir.yaml")
    assert code == 1
    assert "Proven: one array cannot cover everyone here. The best position falls " in " ".join(out.split())
    # T1-6 at (0.85, 2.70), P-1 at (6.90, 1.50): hypot(6.05, 1.20) = 6.168; reach 3.1 m to mouths never below the array's
    assert "T1-6 and P-1 are 6.17 m apart on plan: too far for a reach of 3.10 m" in " ".join(out.split())
    assert "Would help: 2 arrays (12 of 12 talkers covered" in " ".join(out.split())
    assert "In the whole room 11 of 12 talkers are covered here" in " ".join(out.split())
    code, out, _ = run("place", rooms / "weir.yaml", "--json")
    told = json.loads(out)
    assert code == 1
    assert told["bound_m"] < 0
    assert told["conflict"]["heads"]
    assert told["conflict"]["try"]


@pytest.fixture
def beside_the_tiles(rooms):
    """The small room with grid and sprinkler shifted: its best place is on a tee, a tile's middle free of spray."""
    spec = rooms / "heron.yaml"
    text = spec.read_text("utf-8")
    for before, after in (
        ("origin: [0.0, 0.15]", "origin: [0.3, 0.15]"),
        ("at: [3.3, 2.85]", "at: [3.6, 2.85]"),
    ):
        assert before in text
        text = text.replace(before, after)
    spec.write_text(text, "utf-8")
    return spec


def test_the_best_place_on_a_tee_is_told(beside_the_tiles, run):
    words = " ".join(run("place", beside_the_tiles, "--snap", "none")[1].split())
    assert re.search("The cable of A1 is on a ceiling-grid tee: move it 3 cm in [+−]x\\.", words)
    assert "With --snap tile arrays hang in the middle of tiles" in words
    snapped = " ".join(run("place", beside_the_tiles, "--snap", "tile")[1].split())
    assert "ceiling-grid tee" not in snapped
    assert "With --snap" not in snapped


def test_snapping_tells_the_tile_and_its_cost(beside_the_tiles, run):
    code, out, _ = run("place", beside_the_tiles, "--snap", "tile", "--json")
    snapped = json.loads(out)["snapped"][0]
    assert code == 0
    x, y = snapped["at_m"]
    # the grid has a pitch of 0.6 m and a crossing at 0.3, 0.15
    assert (x - 0.3) / 0.6 % 1 == pytest.approx(0.5, abs=1e-6)
    assert (y - 0.15) / 0.6 % 1 == pytest.approx(0.5, abs=1e-6)
    assert snapped["moved_m"] > 0
    assert snapped["left_out"]


def test_what_is_told_of_a_snapped_place_is_what_is_written(beside_the_tiles, run):
    spec = beside_the_tiles
    # at the file's height 14 cm are left over the table's middle, and 2 cm 0.3 m beside it, in the middle of a tile
    asked = ("--enough", "7 cm", "--snap", "tile", "--hold", "height")
    told = json.loads(run("place", spec, *asked, "--json")[1])
    code, out, _ = run("place", spec, *asked, "--write", "--even-if-worse")
    words = " ".join(out.split())
    assert code == 0
    checked = json.loads(run("check", spec, "--json")[1])
    # written to a tenth of a millimetre
    assert checked["arrays"][0]["at_m"] == pytest.approx(told["arrays"][0]["at_m"], abs=1e-4)
    assert checked["arrays"][0]["margin_m"] == pytest.approx(told["margin_m"], abs=2e-4)
    assert told["tolerance_m"] == told["margin_m"] < told["searched"][0]["margin_m"]
    assert told["so_placed"]["margin_m"] == told["margin_m"]
    assert f"{told['arrays'][0]['height_m']:.2f}" in words
    assert f"acoustic centre {told['searched'][0]['height_m']:.2f} m, band main" in words
    assert told["snapped"][0]["less_than_asked"]
    assert "No position on the tile centres leaves everyone a 7 cm margin" in words


def test_a_pitch_is_called_a_grid(rooms, run):
    words = " ".join(run("place", rooms / "ferry.yaml", "--snap", "2 in")[1].split())
    assert re.search('A1 is on the best of \\d+ positions on the 2" grid', words)
    # a flush body keeps off the tees: few of them are left
    assert "too near a grid tee" in words


def test_the_closing_says_what_the_aim_proves_rounded_to_the_safe_side(rooms, run):
    for aim, key in (("near", "cannot be closer than "), ("centre", "from band centre cannot be below ")):
        asked = ("--aim", aim, "--enough", "5 cm")
        told = json.loads(run("place", rooms / "heron.yaml", *asked, "--json")[1])
        words = " ".join(run("place", rooms / "heron.yaml", *asked)[1].split())
        said = float(words.split(key)[1].split(" m.")[0].split("°")[0])
        assert told["aim_bound"] - 0.01 <= said <= told["aim_bound"]
        most = float(words.split("No position has a margin above ")[1].split(" cm")[0]) / 100
        assert told["bound_m"] <= most <= told["bound_m"] + 0.001
    words = " ".join(run("place", rooms / "heron.yaml", "--aim", "margin", "--hold", "band")[1].split())
    assert "Proven best: no position with band held has a margin above" in words


def test_what_fails_before_anybody_is_lost_is_told(rooms, run):
    # the best by centre hangs a few millimetres below SP2's spray
    asked = ("--aim", "centre", "--hold", "at", "--free")
    told = json.loads(run("place", rooms / "heron.yaml", *asked, "--json")[1])
    words = " ".join(run("place", rooms / "heron.yaml", *asked)[1].split())
    assert told["clear_tolerance_m"] < 0.01 < told["tolerance_m"]
    assert told["fails_first"] == "SP2 (sprinkler-spray)"
    assert "All 8 talkers are covered. Installation tolerance: " in words
    assert "limited by sprinkler SP2)" in words
    assert "sprinkler-spray" not in words


def test_a_place_worse_than_the_file_s_own_is_not_written_unless_asked_for(rooms, run):
    spec = rooms / "weir.yaml"
    before = spec.read_bytes()
    worse = ("--aim", "margin", "--write")
    code, out, err = run("place", spec, *worse)
    words = " ".join(out.split())
    assert code == 2
    assert "Current: 8 of 12, margin −1." in words
    [fewer] = map(int, re.findall(r" m, fail\. Proposed: (\d+) of 12, margin −", words))
    assert fewer < 8
    assert (
        f"the proposed position covers {fewer} of 12, the current one 8 (--even-if-worse writes it); nothing was"
        in " ".join(err.split())
    )
    assert spec.read_bytes() == before
    # by itself it takes the place that covers the most, and that is better
    code, out, _ = run("place", spec, "--write", "--json")
    told = json.loads(out)
    assert (told["aim"], told["today"]["covered"], told["so_placed"]["covered"]) == ("most", 8, 11)
    assert code == 1
    assert spec.read_bytes() != before


@pytest.mark.thorough
def test_more_arrays_than_the_file_has_are_added_to_it_and_never_taken_out(rooms, run):
    spec = rooms / "weir.yaml"
    text = spec.read_text("utf-8").replace("id: L1, kind", "id: A2, kind")
    text = text.replace("height: 2.2, band: main}", "height: 2.2, band: main, turn: 12.5}")
    spec.write_text(text, "utf-8")
    code, out, _ = run("place", spec, "--arrays", "2", "--write")
    assert code == 0
    before, after = text.splitlines(), spec.read_text("utf-8").splitlines()
    assert len(after) == len(before) + 1
    assert len([line for line in after if line not in before]) == 2
    # an id of its own, and its line is shown whole
    (added,) = [line for line in after if "id: A3" in line]
    assert added.endswith("turn: 12.5}")
    assert f"+{added}" in out.splitlines()
    assert [(array.id, array.profile) for array in read_spec(spec).arrays] == [
        ("A1", "wreath"),
        ("A3", "wreath"),
    ]
    assert run("check", spec)[0] == 0
    written = spec.read_bytes()
    code, _, err = run("place", spec, "--arrays", "1", "--write")
    assert code == 2
    assert "remove A3 from it first" in err
    assert spec.read_bytes() == written


def test_a_flush_array_in_feet_is_told_in_feet_and_nothing_is_cut(rooms, run):
    for options in ((), ("--snap", "tile"), ("--enough", "2 ft"), ("--arrays", "2", "--aim", "margin")):
        out = run("place", rooms / "ferry.yaml", *options)[1]
        assert "…" not in out
        assert "-0.0°" not in out
        assert " m " not in " ".join(out.split())
        assert max(map(len, out.splitlines())) <= 80
        assert not [line for line in out.splitlines() if line.split()[1:2] in (["up"], ["down"])]


def test_holding_keeps_what_the_designer_decided(rooms, run):
    words = " ".join(run("place", rooms / "weir.yaml", "--hold", "at", "--hold", "band")[1].split())
    assert "one array cannot cover everyone here with plan position and band held" in words
    assert "Not enough by itself: not holding the position on plan" in words
    told = json.loads(run("place", rooms / "heron.yaml", "--hold", "at", "--hold", "band", "--json")[1])
    assert told["arrays"][0]["at_m"] == [3.3, 2.25]
    assert told["arrays"][0]["band"]["name"] == "main"


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--snap", "5 parsec"), "--snap"),
        (("--snap", "0"), "--snap"),
        (("--enough", "much"), "--enough"),
        (("--arrays", "0"), "--arrays"),
        (("--arrays", "many"), "--arrays"),
        (("--arrays", "2", "--hold", "at"), "--hold"),
        (("--aim", "best"), "aim"),
    ],
)
def test_options_that_cannot_be_are_told_and_nothing_is_written(rooms, run, options, says):
    before = (rooms / "heron.yaml").read_bytes()
    code, out, err = run("place", rooms / "heron.yaml", *options)
    assert code == 2
    assert says in err
    assert "Traceback" not in out + err
    assert (rooms / "heron.yaml").read_bytes() == before


def test_the_proof_goes_into_a_file(rooms, run):
    proof = rooms / "proof.json"
    assert run("place", rooms / "heron.yaml", "--certificate", proof)[0] == 0
    told = json.loads(proof.read_text())
    assert told["format"] == "overtable/certificates/1"
    assert told["searches"]["margin"]["leaves"]


def test_what_pushed_the_array_away_and_what_that_costs_is_told(rooms, run):
    at = ("--hold", "at")  # beside SP2: the farther talkers would have more from higher up
    options = (rooms / "heron.yaml", "--aim", "margin", *at, "--snap", "none", "--ignore-clearances")
    told = json.loads(run("place", *options, "--json")[1])
    free, kept = told["without_clearances"], told
    assert free["margin_m"] > kept["margin_m"] + 0.01
    assert free["bound_m"] >= kept["bound_m"]
    assert any("SP2" in thing for thing in told["pushed_by"]["A1"])
    assert any("SP2" in thing for thing in told["up_against"]["A1"])
    words = " ".join(run("place", *options)[1].split())
    cost = float(words.split("Clearing sprinkler SP2 costs up to ")[1].split(" cm")[0]) / 100
    assert free["bound_m"] - kept["largest_margin_m"] == pytest.approx(cost, abs=0.001)
    # without the option too, though not where it would hang then
    words = " ".join(run("place", *options[:-1])[1].split())
    assert "Clearing sprinkler SP2 costs up to " in words
    assert "Ignoring the ceiling" not in words
    plain = json.loads(run("place", *options[:-1], "--json")[1])
    assert (plain["pushed_by"], plain["without_clearances"]) == (told["pushed_by"], None)
    assert plain["keeping_clear_costs_m"] == pytest.approx(cost, abs=0.001)
    # under near slant is set against slant: here the sprinkler costs none of it
    words = " ".join(run("place", rooms / "heron.yaml", "--ignore-clearances")[1].split())
    assert "Nothing there is in the way." in words
    pushed = " ".join(run("place", rooms / "ferry.yaml", "--ignore-clearances", "--aim", "centre")[1].split())
    assert ": RMS from centre " in pushed


def test_the_search_tells_a_terminal_how_far_it_is_and_leaves_nothing_behind():
    written = io.StringIO()
    with Searching("Searching", Console(file=written, force_terminal=True, width=100)) as told:
        told("Largest margin: 1,200 positions looked at [so far]")
        time.sleep(0.2)  # a few frames of the status line
    assert "1,200 positions looked at [so far]" in written.getvalue()
    plain = io.StringIO()
    with Searching("Searching", Console(file=plain, force_terminal=False)) as told:
        told("Largest margin")
    assert plain.getvalue() == ""


REPEATED = """\
overtable: 1
name: Repeated
units: m
room: {size: [6, 4], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [2, 1], at: [3, 2], height: 0.74}]
seats: [{id: S1, at: [2, 2]}, {id: S2, at: [4, 2.4]}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.05}, bands: {mid: [20, 50]}, reach: [0.5, 3]}
arrays:
  - {id: A1, profile: p, at: &middle [1.0, 1.0], height: 2.0, band: mid}
overhead:
  - {id: L1, kind: light, at: *middle, below: 0}
"""


def test_a_place_that_another_thing_repeats_is_not_written(run, tmp_path):
    spec = tmp_path / "repeated.yaml"
    spec.write_text(REPEATED)
    status, _, err = run("place", spec, "--write")
    assert status == 2
    assert err.splitlines() == [
        f"overtable: {spec}: another value repeats an array's, and would change with it. Nothing was written; write "
        "that value out, without its alias."
    ]
    assert spec.read_text() == REPEATED


def test_a_read_only_spec_is_not_written(run, tmp_path):
    spec = tmp_path / "own.yaml"
    spec.write_text(REPEATED.replace("*middle", "[1, 1]"))
    spec.chmod(0o444)
    status, _, err = run("place", spec, "--write")
    assert (status, err) == (
        2,
        "overtable: own.yaml is read-only. Nothing was written; make it writable first.\n",
    )
