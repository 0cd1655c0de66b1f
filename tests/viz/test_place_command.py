"""The place command: what it tells, what it writes, and what it refuses."""

from __future__ import annotations

import json

import pytest

from scenes.spec import read_spec


def test_place_json_has_every_key_of_the_contract(rooms, run):
    code, out, _ = run("place", rooms / "heron.yaml", "--json")
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
    }
    assert (told["format"], told["outcome"], told["certified"], told["aim"]) == (
        "overtable/placement/1",
        "certified",
        True,
        "near",
    )
    assert set(told["arrays"][0]) >= {"id", "at_m", "height_m", "drop_m", "band", "reach_m", "margin_m"}
    assert told["margin_m"] >= 0.1
    assert told["bound_m"] >= told["margin_m"]
    assert told["worst_slant_m"] - told["worst_slant_bound_m"] <= 0.001


def test_write_changes_only_the_place_and_check_then_agrees(rooms, run):
    spec = rooms / "heron.yaml"
    before = spec.read_text()
    code, out, _ = run("place", spec, "--aim", "tolerance", "--write")
    assert code == 0
    after = spec.read_text()
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert "id: A1" in changed[0][1]
    assert f"+{changed[0][1]}" in out.replace("\n", "") or changed[0][1].strip()[:30] in out
    told = json.loads(run("place", spec, "--aim", "tolerance", "--json")[1])
    checked = json.loads(run("check", spec, "--json")[1])
    assert checked["arrays"][0]["margin_m"] == pytest.approx(told["margin_m"], abs=0.0011)
    assert checked["arrays"][0]["margin_m"] <= told["bound_m"]


def test_open_places_are_filled(rooms, run):
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text().replace(", at: [3.3, 2.25], height: 2.2, band: mid", ""))
    assert run("place", spec, "--write")[0] == 0
    array = read_spec(spec).arrays[0]
    assert array.at is not None
    assert array.height is not None
    assert array.band == "mid"
    assert run("check", spec)[0] == 0


def test_a_room_nobody_can_cover_says_who_why_and_what_would_help(rooms, run):
    code, out, _ = run("place", rooms / "weir.yaml")
    assert code == 1
    assert "no allowed place covers everybody" in " ".join(out.split())
    assert "cannot be served together" in " ".join(out.split())
    assert "would help: 2 arrays" in out
    code, out, _ = run("place", rooms / "weir.yaml", "--json")
    told = json.loads(out)
    assert code == 1
    assert told["bound_m"] < 0
    assert told["conflict"]["heads"]
    assert told["conflict"]["try"]


def test_snapping_tells_the_tile_and_its_cost(rooms, run):
    code, out, _ = run("place", rooms / "heron.yaml", "--snap", "tile", "--json")
    snapped = json.loads(out)["snapped"][0]
    assert code == 0
    x, y = snapped["at_m"]
    # the grid of this room has a pitch of 0.6 m and a crossing at 0.3, 0.15
    assert (x - 0.3) / 0.6 % 1 == pytest.approx(0.5, abs=1e-6)
    assert (y - 0.15) / 0.6 % 1 == pytest.approx(0.5, abs=1e-6)
    assert snapped["moved_m"] > 0
    assert snapped["left_out"]


def test_holding_keeps_what_the_designer_decided(rooms, run):
    told = json.loads(run("place", rooms / "heron.yaml", "--hold", "at", "--hold", "band", "--json")[1])
    assert told["arrays"][0]["at_m"] == [3.3, 2.25]
    assert told["arrays"][0]["band"]["name"] == "mid"


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--snap", "5 parsec"), "--snap"),
        (("--snap", "0"), "--snap"),
        (("--enough", "much"), "--enough"),
        (("--arrays", "0"), "--arrays"),
        (("--arrays", "many"), "--arrays"),
        (("--arrays", "2", "--hold", "at"), "--hold"),
        (("--arrays", "2", "--write"), "--write"),
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
    assert told["searches"]["tolerance"]["leaves"]


def test_what_pushed_the_array_away_and_what_that_costs_is_told(rooms, run):
    options = (rooms / "heron.yaml", "--aim", "tolerance", "--ignore-clearances")
    told = json.loads(run("place", *options, "--json")[1])
    free, kept = told["without_clearances"], told
    assert free["margin_m"] > kept["margin_m"] + 0.01
    assert free["bound_m"] >= kept["bound_m"]
    assert any("SP2" in thing for thing in told["pushed_by"]["A1"])
    assert any("SP2" in thing for thing in told["up_against"]["A1"])
    words = " ".join(run("place", *options)[1].split())
    assert "SP2 (sprinkler-spray)" in words
    assert "pushed it away. Keeping clear costs at most" in words
