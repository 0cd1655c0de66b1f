"""The cautions are in one place and reach every output: in full where there is room, in one line elsewhere."""

from __future__ import annotations

import csv
import html
import io
import json
import struct
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from scenes.review.cautions import CLOSING, cautions, cautions_line
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec
from viz.page import fragments
from viz.words import clearances
from viz.words.locale import Locale


def squeezed(text: str) -> str:
    return "".join(text.split())


def lettered(sheet: Path) -> list[str]:
    """What stands under the heading Cautions at the foot of each sheet of a file."""
    told = []
    for layout in ezdxf.readfile(sheet).layouts:
        texts = [(-one.dxf.insert.y, one.dxf.insert.x, one.dxf.text) for one in layout.query("TEXT")]
        for top, left, _ in [line for line in texts if line[2] == "Cautions"]:
            told.append("".join(text for y, x, text in sorted(texts) if y > top and abs(x - left) < 0.01))
    return told


@pytest.fixture(params=["heron", "loft"])
def room(request, rooms):
    """A suspended and an open ceiling: what applies differs."""
    path = rooms / f"{request.param}.yaml"
    return path, build(read_spec(path))


def test_the_line_names_every_topic_of_the_room_and_who_decides(room):
    _, scene = room
    line = cautions_line(scene)
    assert all(caution.short in line for caution in cautions(scene))
    assert "never approval" in line
    assert line.endswith(CLOSING)
    assert ("plenum" in line) == (scene.room.ceiling_kind == "suspended")


@pytest.mark.parametrize("command", [["check"], ["place"], ["heights"], ["check", "--changes"]])
def test_terminal_text_ends_with_the_line_and_json_carries_them_whole(room, run, command):
    path, scene = room
    name, *options = command
    specs = [path, path] if options else [path]
    _, text, _ = run(name, *options, *specs)
    assert squeezed(text).endswith(squeezed(cautions_line(scene)))
    told = json.loads(run(name, *options, *specs, "--json")[1])
    assert told["advice"].endswith("licensed designers decide.")
    assert [(c["topic"], c["text"], c["defers_to"]) for c in told["cautions"]] == [
        (c.title, c.text, c.defers_to) for c in cautions(scene)
    ]


def test_files_carry_them(room, run, tmp_path):
    path, scene = room
    out = tmp_path / "out"
    code, text, _ = run("handover", path, "-o", out, "--no-pictures")
    assert code == 0
    assert cautions_line(scene) in text
    told = cautions(scene)
    for name in ("index.html", "page.html"):
        content = html.unescape((out / name).read_text("utf-8"))
        assert all(c.title in content and c.text in content for c in told), name
        assert all(f"{c.defers_to} ({c.sureness})" in content for c in told), name
        assert CLOSING[1:] in content
    for name in ("review", "heights"):
        assert len(json.loads((out / f"data/{name}.json").read_text("utf-8"))["cautions"]) == len(told)
    rows = list(csv.DictReader(io.StringIO((out / "data/cautions.csv").read_text("utf-8"), newline="")))
    assert [row["text"] for row in rows[:-1]] == [c.text for c in told]
    assert "licensed designers decide" in rows[-1]["text"]
    for sheet in (out / "sheets").glob("*.dxf"):
        feet = lettered(sheet)
        assert feet
        for foot in map(squeezed, feet):
            assert "licenseddesigners" in foot, sheet.name
            assert all(squeezed(c.short) in foot for c in told), sheet.name
    content = (out / "model.glb").read_bytes()
    (length,) = struct.unpack_from("<I", content, 12)
    assert json.loads(content[20 : 20 + length])["asset"]["extras"]["cautions"] == cautions_line(scene)
    run("export", path, tmp_path / "model.obj")
    assert (tmp_path / "model.obj").read_text("utf-8").splitlines()[1] == f"# {cautions_line(scene)}"
    for name in ("heads.csv", "model.stl"):
        _, out, err = run("export", path, tmp_path / name)
        assert out.split() == [str(tmp_path / name)]
        assert " ".join(err.split()) == cautions_line(scene)


def test_the_page_says_how_surely_each_value_is_known(room):
    _, scene = room
    judged = review(scene)
    told = html.unescape(fragments.clearances(scene, judged))
    for clearance in judged.clearances:
        row = clearances.row(clearance, Locale.of(scene))
        assert f"<li>{row.number} {row.title}. {row.source}</li>" in told
        assert ("Not checked against the printed standard" in row.source) == (
            clearance.sureness in ("copy", "mention", "memory")
        )


def test_what_is_short_by_millimetres_does_not_read_as_enough_on_the_page(room):
    _, scene = room
    judged = review(scene)
    short = replace(judged.clearances[0], required_m=0.4572, actual_m=0.4568, state="short")
    told = fragments.clearances(scene, replace(judged, clearances=(short,)))
    required, actual = Locale.of(scene).pair(0.4572, 0.4568)
    assert required != actual
    assert all(f'<td class="number">{html.escape(figure)}</td>' in told for figure in (required, actual))


def test_a_project_of_rooms_tells_each_set_once(rooms, run, tmp_path):
    out = tmp_path / "out"
    run("handover", rooms / "heron.yaml", rooms / "loft.yaml", "-o", out, "--no-pictures")
    content = html.unescape((out / "index.html").read_text("utf-8"))
    for name in ("heron", "loft"):
        assert content.count(cautions_line(build(read_spec(rooms / f"{name}.yaml")))) == 1
    assert all("never approval" in made["cautions"] for made in json.loads((out / "rooms.json").read_text()))
