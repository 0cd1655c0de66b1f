"""A new room by a form: every answer read as it is typed, and the bytes of `overtable new`."""

from __future__ import annotations

import shlex

import pytest

from tests.viz.browser.rooms import TWELVE_SEATS
from viz.commands.app import run
from viz.live import Refused
from viz.start.form import QUESTIONS, Form

ANSWERS = {
    "name": "Harbour Room",
    "size": "7.2 x 4.8",
    "ceiling": "suspended 2.7, grid 0.6",
    "devices": "lights 0.6 x 0.6 in two rows; 4 sprinklers",
}


def test_defaults_make_a_room_at_once(tmp_path):
    told = Form(tmp_path, {}).message()
    assert [field["name"] for field in told["fields"]] == [*QUESTIONS, "file"]
    assert told["wrong"] == {}
    assert told["values"]["size"] == "6.4 x 4.4"
    assert told["values"]["file"] == "meeting-room.yaml"
    assert "<svg" in told["svg"]
    assert told["about"].endswith("talkers")


def test_a_wrong_answer_is_told_in_its_field_and_kept(tmp_path):
    told = Form(tmp_path, {**ANSWERS, "table": "boat 3.6 x", "ceiling": "2.7 furlongs"}).message()
    assert set(told["wrong"]) == {"table", "ceiling"}
    assert (told["values"]["table"], told["values"]["ceiling"]) == ("boat 3.6 x", "2.7 furlongs")
    assert told["wrong"]["table"].startswith("Use a length, such as")
    assert told["wrong"]["ceiling"].startswith("2.7 furlongs does not fit. Use ")
    assert "<svg" in told["svg"]  # of the answers that are right
    with pytest.raises(Refused, match="marked above"):
        Form(tmp_path, {**ANSWERS, "table": "boat 3.6 x"}).write()
    assert list(tmp_path.iterdir()) == []


def test_answers_that_do_not_fit_each_other_are_told(tmp_path):
    told = Form(tmp_path, {"size": "3 x 3", "table": "2.9 x 2.9"}).message()
    assert list(told["wrong"]) == ["table"]
    assert told["svg"] is None


@pytest.mark.parametrize("units", ["m", "ft"])
def test_what_is_written_is_what_the_command_writes(tmp_path, monkeypatch, units):
    size = {"m": "7.2 x 4.8", "ft": "24' x 16'-6\""}[units]
    ceiling = {"m": "suspended 2.7, grid 0.6", "ft": "suspended 9', grid 2"}[units]
    by_form, by_command = tmp_path / "form", tmp_path / "command"
    by_form.mkdir()
    by_command.mkdir()
    form = Form(by_form, {**ANSWERS, "units": units, "size": size, "ceiling": ceiling, "devices": "none"})
    assert form.write()["file"] == "harbour-room.yaml"
    monkeypatch.chdir(by_command)
    assert run(shlex.split(form.command)[1:]) == 0
    written = {path.name: path.read_bytes() for path in by_form.iterdir()}
    assert written == {path.name: path.read_bytes() for path in by_command.iterdir()}
    assert set(written) == {"harbour-room.yaml", "harbour-room.svg"}


def test_profiles_of_the_folder_are_offered_and_no_others(tmp_path):
    profiles = TWELVE_SEATS[TWELVE_SEATS.index("profiles:") : TWELVE_SEATS.index("arrays:")]
    (tmp_path / "devices.yaml").write_text("overtable: 1\nunits: m\n" + profiles)
    form = Form(tmp_path, {**ANSWERS, "array": "devices.yaml:finch"})
    assert ("devices.yaml:finch", "devices.yaml:finch") in form.message()["choices"]["array"]
    form.write()
    assert "profiles: devices.yaml" in (tmp_path / "harbour-room.yaml").read_text()
    with pytest.raises(Refused, match="not a profile of this folder"):
        Form(tmp_path, {"array": "../elsewhere.yaml:finch"})


@pytest.mark.parametrize("file", ["../up.yaml", "/tmp/up.yaml", "a/../../up.yaml", "nowhere/up.yaml"])
def test_nothing_is_written_outside_the_folder(tmp_path, file):
    form = Form(tmp_path, {**ANSWERS, "file": file})
    assert "is not in this folder" in form.wrong["file"]
    with pytest.raises(Refused):
        form.write()


def test_a_file_that_is_there_is_not_written_over(tmp_path):
    Form(tmp_path, ANSWERS).write()
    assert "already there" in Form(tmp_path, ANSWERS).wrong["file"]


@pytest.mark.parametrize("answers", [None, [], {"size": 7}, {"name": "x" * 5000}])
def test_what_is_no_answer_is_refused(tmp_path, answers):
    with pytest.raises(Refused):
        Form(tmp_path, answers)
