"""`check` before every array has a place: as far as it goes, without a verdict, exit 0, and what to type next."""

from __future__ import annotations

import json
import re

import pytest

from scenes.findings.review import HeadReview


@pytest.fixture
def waiting(rooms):
    """heron before its array is placed."""
    spec = rooms / "heron.yaml"
    text = spec.read_text("utf-8")
    spec.write_text(re.sub(r"(id: A1, profile: wreath).*}", r"\1}", text), "utf-8")
    return spec


def test_there_is_no_verdict_and_the_next_step_is_named(waiting, run, monkeypatch):
    monkeypatch.chdir(waiting.parent)
    code, out, err = run("check", waiting.name)
    words = " ".join(out.split())
    assert (code, err) == (0, "")
    assert (
        "No verdict yet. A1 has no place yet. 8 talkers to cover. Next: overtable place heron.yaml --write"
        in words
    )
    assert "never approval" in words


def test_what_is_not_known_is_null(waiting, run):
    code, out, _ = run("check", waiting, "--json")
    told = json.loads(out)
    assert code == 0
    assert (told["format"], told["verdict"], told["tolerance_m"]) == ("overtable/review/1", None, None)
    assert told["counts"] == {
        "talkers": 8,
        "covered": None,
        "marginal": None,
        "missed": None,
        "blocked": None,
    }
    [array] = told["arrays"]
    assert [array[key] for key in ("id", "at_m", "height_m", "drop_m", "band")] == [
        "A1",
        None,
        None,
        None,
        None,
    ]
    assert len(told["heads"]) == 8
    for head in told["heads"]:
        # who is in the way and what share of people a place covers are facts of their own beside a head's
        assert {*HeadReview.__slots__, "covered_share", "neighbour"} == set(head)
        unknown = ("array", "depression_deg", "slant_m", "off_centre_deg", "slack_m", "margin_m", "state")
        assert {head[key] for key in unknown} == {None}
        assert head["mouth_m"][2] == pytest.approx(sum(head["mouth_range_m"]) / 2)
    assert told["clearances"] == []


def test_an_array_that_has_a_place_keeps_its_clearances(waiting, run):
    text = waiting.read_text("utf-8")
    # 8 cm beside SP2, hung as high as its deflector
    near = "  - {id: A2, profile: wreath, at: [3.3, 2.54], height: 2.6, band: main}"
    waiting.write_text(re.sub(r"(  - \{id: A1.*\n)", rf"\1{near}\n", text), "utf-8")
    told = json.loads(run("check", waiting, "--json")[1])
    assert told["verdict"] is None
    assert {row["array"] for row in told["clearances"]} == {"A2"}
    assert "short" in {row["state"] for row in told["clearances"]}
    assert told["arrays"][1]["drop_m"] == pytest.approx(0.15)
    assert "A2 is closer to sprinkler SP2 than NFPA 13 allows: 80 mm" in told["open"]


def test_devices_among_themselves_are_told_where_they_are_asked_for(waiting, run):
    text = waiting.read_text("utf-8")
    detector = (
        "  - {id: SD9, kind: smoke detector, at: [0.9, 2.25], below: 0.05}"  # in the supply diffuser DF1
    )
    waiting.write_text(re.sub(r"(overhead:\n)", rf"\1{detector}\n", text), "utf-8")
    assert json.loads(run("check", waiting, "--json")[1])["clearances"] == []
    told = json.loads(run("check", waiting, "--ceiling", "--json")[1])
    assert told["verdict"] is None
    assert ("SD9", "DF1", "advised") in {(c["device"], c["against"], c["state"]) for c in told["clearances"]}
    assert "SD9 is closer to supply diffuser DF1 than advised" in " ".join(
        run("check", waiting, "--ceiling")[1].split()
    )


def test_after_place_the_same_room_has_its_verdict_and_one_room_does_not_stop_another(waiting, rooms, run):
    code, out, _ = run("check", waiting, rooms / "loft.yaml", "--json")
    assert code == 0
    assert [one["verdict"] for one in json.loads(out)] == [None, "caution"]
    assert run("place", waiting, "--write")[0] == 0
    assert json.loads(run("check", waiting, "--json")[1])["verdict"] == "pass"


@pytest.fixture
def empty(waiting):
    """heron without any array; its library has three profiles."""
    text = waiting.read_text("utf-8")
    waiting.write_text(re.sub(r"arrays:\n  - \{id: A1.*\n", "", text), "utf-8")
    return waiting


def test_of_a_room_without_an_array_one_of_its_profile_is_placed(empty, run):
    before = empty.read_text("utf-8")
    code, out, _ = run("check", empty)
    words = " ".join(out.split())
    assert code == 0
    assert "The room has no array. 8 talkers to cover. Next: overtable place" in words
    assert "--profile NAME --write" in words
    code, _, err = run("place", empty)
    assert (code, "several profiles" in err, "wreath" in err) == (2, True, True)
    code, _, err = run("place", empty, "--profile", "halo")
    assert (code, "--profile halo is not in the spec" in err) == (2, True)
    assert run("place", empty, "--profile", "wreath", "--write")[0] == 0
    after = empty.read_text("utf-8")
    assert after.startswith(before)
    assert re.fullmatch(
        r"arrays:\n  - \{id: A1, profile: wreath, at: \[.*\], height: .*, band: main\}\n",
        after[len(before) :],
    )
    assert json.loads(run("check", empty, "--json")[1])["verdict"] == "pass"
    code, _, err = run("place", empty, "--profile", "wreath")
    assert (code, "spec without arrays" in err) == (2, True)


def test_without_profiles_it_says_what_to_add(empty, run):
    text = empty.read_text("utf-8")
    empty.write_text(text.replace("profiles: devices.yaml\n", ""), "utf-8")
    assert "Next: add an array with a profile" in " ".join(run("check", empty)[1].split())
    code, _, err = run("place", empty)
    assert (code, "Add an array with a profile" in err) == (2, True)
