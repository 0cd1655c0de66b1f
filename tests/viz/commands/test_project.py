"""Commands on a project file: every room told, those that need somebody first, and one mistake stops no other."""

from __future__ import annotations

import json

import pytest

PROJECT = """\
overtable: 1
project: Millrace House
profiles: devices.yaml
templates: {small: heron.yaml}
rooms:
  - {use: small, number: "2.01", name: "Larch [east]", storey: Level 2}
  - {use: small, number: "2.02", name: Yew, change: {room: {celing: 2.9}}}
  - {use: small, number: "2.03", name: Elm, change: {arrays: [{id: A1, profile: wreath}]}}
  - {file: weir.yaml, number: "1.01"}
"""


@pytest.fixture
def project(rooms):
    for name in ("heron", "weir"):
        file = rooms / f"{name}.yaml"
        file.write_text(file.read_text().replace("profiles: devices.yaml\n", ""))
    (rooms / "project.yaml").write_text(PROJECT)
    return rooms / "project.yaml"


def test_a_project_is_a_line_a_room_those_that_need_somebody_first(project, run):
    code, out, err = run("check", project)
    assert code == 2
    assert max(map(len, out.splitlines())) <= 80
    assert out.startswith("Millrace House, 4 rooms: 1 not read, 1 fails, 1 without a verdict, 1 passes\n")
    rows = [line.split() for line in out.splitlines() if line[1:2].isdigit()]
    assert [row[0] for row in rows] == ["2.02", "1.01", "2.03", "2.01"]
    assert "Larch [east]  Pass" in out
    assert "8 of 12" in out
    assert "2 of 12 talkers not covered" in out
    assert " ".join(out.split()).count("never approval") == 1
    assert (
        err
        == f"{project}:7:69  rooms[1].change.room.celing  There is no key celing here. Did you mean ceiling?\n"
    )


def test_a_projects_json_is_an_object_a_room(project, run):
    code, out, err = run("check", project, "--json")
    told = json.loads(out)
    assert (code, err) == (2, "")
    assert [one["format"].split("/")[1] for one in told] == ["review", "mistakes", "review", "review"]
    assert [one["room"]["number"] for one in told if "room" in one] == ["2.01", "2.03", "1.01"]
    assert told[0]["room"]["storey"] == "Level 2"
    assert told[0]["room"]["name"] == "Larch [east]"
    assert [one.get("verdict") for one in told] == ["pass", None, None, "fail"]
    # a project of one room is a list all the same, and beside a room's own file its rooms stand in its place
    project.write_text(PROJECT[: PROJECT.index('  - {use: small, number: "2.02"')])
    assert [one["verdict"] for one in json.loads(run("check", project, "--json")[1])] == ["pass"]
    code, out, _ = run("check", project.parent / "ferry.yaml", project, "--json")
    assert [one["room"]["name"] for one in json.loads(out)] == ["Ferry Room", "Larch [east]"]


def test_what_is_wrong_with_the_project_itself_is_told_beside_its_rooms(project, run):
    project.write_text(PROJECT.replace("templates:", "modles: 3\ntemplates:"))
    code, out, err = run("check", project, "--json")
    assert code == 2
    assert json.loads(out)[0]["verdict"] == "pass"
    assert "modles" in err
    project.write_text("overtable: 1\nrooms: []\n")
    code, out, err = run("check", project)
    assert (code, out) == (2, "")
    assert "project.yaml:2" in err


def test_editors_get_the_schema_of_a_project(run):
    code, out, _ = run("schema", "--project")
    assert code == 0
    assert "rooms" in json.loads(out)["required"]


def test_places_of_a_project_are_written_into_the_rooms_own_files(project, run):
    own = project.parent / "heron.yaml"
    bare = own.read_text().replace(", at: [3.3, 2.25], height: 2.18, band: main", "")
    own.write_text(bare)
    project.write_text(
        PROJECT[: PROJECT.index("rooms:")]
        + 'rooms:\n  - {file: heron.yaml, number: "1", name: Larch}\n  - {use: small, number: "2"}\n'
    )
    code, out, err = run("place", project, "--aim", "margin", "--write")
    assert code == 2
    assert "made of a template" in err
    after = own.read_text()
    # one line of the file is another, and nothing that the project says of the room got into it
    changed = [(a, b) for a, b in zip(bare.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert "band: main" in changed[0][1]
    assert [line.split()[0] for line in out.splitlines() if line[1:2].isdigit()] == ["1", "2"]
    code, out, _ = run("check", project)
    assert code == 0


def test_sheets_and_reports_of_a_project_are_a_folder_and_a_file_a_room(project, run, monkeypatch):
    import viz.commands.report
    import viz.commands.sheets

    made = []

    def one(source, target, *_, **__):
        made.append((source.spec().number, target.name))
        return 1 if "weir" in target.name else 0

    monkeypatch.setattr(viz.commands.sheets, "_draw", one)
    monkeypatch.setattr(viz.commands.report, "_write", one)
    code, _, err = run("sheets", project, "-o", project.parent / "out")
    assert (code, made) == (2, [("2.01", "2-01-larch-east"), ("2.03", "2-03-elm"), ("1.01", "1-01-weir")])
    assert "rooms[1].change.room.celing" in err
    made.clear()
    assert run("report", project, "-o", project.parent / "out")[0] == 2
    assert [name for _, name in made] == ["2-01-larch-east.pdf", "2-03-elm.pdf", "1-01-weir.pdf"]
    assert run("sheets", project, "-o", project.parent / "out", "--since", project)[0] == 2
