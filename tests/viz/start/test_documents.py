"""Documents from the page of a folder: by the commands, told when they are out of date, and nothing else is served."""

from __future__ import annotations

import json
from urllib.request import urlopen

import pytest

from tests.viz.browser.rooms import TWELVE_SEATS
from tests.viz.start.test_server import answered, heard
from tests.viz.test_live import PATIENCE_S, Running
from viz.commands.app import run
from viz.live import Refused
from viz.start.documents import (
    KINDS,
    arguments_for,
    chosen,
    digest_of,
    headers_for,
    made_file,
    overview,
    prepare,
    record,
)
from viz.words.english import MESSAGES


@pytest.fixture
def spec(tmp_path):
    path = tmp_path / "otter.yaml"
    path.write_text(TWELVE_SEATS)
    return path


def state(spec, kind: str) -> str:
    """How a kind of document stands."""
    return next(one["state"] for one in overview(spec.parent, spec, "")["items"] if one["name"] == kind)


def test_each_kind_is_a_command_of_the_room(spec):
    told = overview(spec.parent, spec, "A4")
    assert [item["name"] for item in told["items"]] == [*KINDS]
    commands = {item["name"]: item["command"] for item in told["items"]}
    assert commands["sheets"] == "overtable sheets otter.yaml -o otter-documents/sheets --paper A4"
    assert commands["model"] == "overtable export otter.yaml otter-documents/room.glb"
    assert commands["page"] == "overtable page otter.yaml -o otter-documents/page.html"


def test_documents_are_out_of_date_when_the_room_changed(spec, monkeypatch):
    assert state(spec, "model") == "none"
    prepare(spec.parent, spec)
    monkeypatch.chdir(spec.parent)
    digest = digest_of(spec)
    assert run(arguments_for("model", "otter.yaml", "")) in (0, 1)
    assert state(spec, "model") == "stale"  # nobody knows what it was made from
    record(spec, "model", digest)
    assert state(spec, "model") == "made"
    spec.write_text(TWELVE_SEATS.replace("height: 2.2", "height: 2.25"))
    assert state(spec, "model") == "stale"
    spec.write_text(TWELVE_SEATS)
    assert state(spec, "model") == "made"


def test_only_files_of_documents_are_served(spec):
    folder = spec.parent
    prepare(folder, spec)
    (folder / "otter-documents" / "report.pdf").write_bytes(b"%PDF")
    (folder / "otter-documents" / "away").symlink_to("/etc")
    (folder / "other-documents").mkdir()
    (folder / "other-documents" / "private.txt").write_text("no room of that name")
    assert made_file(folder, "otter-documents/report.pdf").name == "report.pdf"
    for name in (
        *("otter.yaml", "otter-documents", "otter-documents/away/passwd", "otter-documents/../otter.yaml"),
        *("other-documents/private.txt", "otter-documents/gone.pdf", "/etc/passwd"),
    ):
        with pytest.raises(Refused):
            made_file(folder, name)


def test_a_linked_folder_of_documents_is_refused(spec, tmp_path_factory):
    (spec.parent / "otter-documents").symlink_to(tmp_path_factory.mktemp("away"))
    with pytest.raises(Refused):
        prepare(spec.parent, spec)


def test_pages_of_documents_run_apart_from_the_server(tmp_path):
    page, pdf = (
        headers_for(tmp_path / "page.html", download=False),
        headers_for(tmp_path / "a b.pdf", download=True),
    )
    assert page["content-security-policy"].startswith("sandbox ")
    assert "allow-same-origin" not in page["content-security-policy"]
    assert pdf["content-type"] == "application/pdf"
    assert pdf["content-disposition"] == "attachment; filename*=utf-8''a%20b.pdf"


@pytest.mark.parametrize(
    "message", [{}, {"what": "report"}, {"what": []}, {"what": ["undo"]}, {"what": ["report"], "paper": "-x"}]
)
def test_what_cannot_be_made_is_refused(message):
    with pytest.raises(Refused):
        chosen(message)


def test_a_model_is_made_told_and_opened(spec):
    running = Running(spec.parent, "viz.start.server")
    try:
        with running.line(origin=running.origin) as line:
            heard(line, "card")
            assert answered(line, kind="make", room="otter.yaml", what=["model"])["kind"] == "begun"
            assert heard(line, "making")["what"] == "model"
            item = next(one for one in heard(line, "documents")["items"] if one["name"] == "model")
            assert (item["state"], [file["name"] for file in item["files"]]) == ("made", ["room.glb"])
            assert heard(line, "made")["said"] == MESSAGES["start.label.all made"]
            with urlopen(running.address + item["files"][0]["href"], timeout=PATIENCE_S) as answer:
                assert answer.read() == (spec.parent / "otter-documents" / "room.glb").read_bytes()
            # what somebody changed since is not replaced, and why is told
            (spec.parent / "otter-documents" / "room.glb").write_bytes(b"mine")
            answered(line, kind="make", room="otter.yaml", what=["model"])
            made = heard(line, "made")
            assert made["failed"]
            assert "room.glb" in made["said"]
        assert running.status("made/otter.yaml") == 404
        assert running.status("made/otter-documents/../otter.yaml") == 404
        kept = json.loads((spec.parent / "otter-documents" / ".made.json").read_text())
        assert kept == {"model": digest_of(spec)}
    finally:
        assert running.stop() == 0
