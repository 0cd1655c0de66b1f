"""The cautions are in one place: whole where there is room, and elsewhere one line of what is open in this room."""

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

from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec
from tests.viz.drawn import dossier_of, drawn
from viz.page import fragments
from viz.words import cautions, clearances
from viz.words.locale import Locale


def squeezed(text: str) -> str:
    return "".join(text.split())


def lettered(sheet: Path) -> list[str]:
    """What stands under the heading Cautions at the foot of each sheet of a file, or of the drawing alone."""
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


@pytest.mark.parametrize("command", [["check"], ["heights"], ["check", "--changes"]])
def test_terminal_text_ends_with_what_is_open_and_json_carries_the_cautions_whole(room, run, command):
    path, scene = room
    name, *options = command
    specs = [path, path] if options else [path]
    _, text, _ = run(name, *options, *specs)
    assert squeezed(text).endswith(squeezed(cautions.line(review(scene))))
    # that line is all: the list is for `demo`, `place --write` and `handover`
    assert not [one for one in cautions.full(scene) if squeezed(one.text) in squeezed(text)]
    found = json.loads(run(name, *options, *specs, "--json")[1])
    assert found["advice"].endswith("licensed designers decide.")
    assert [(c["topic"], c["text"], c["defers_to"]) for c in found["cautions"]] == [
        (c.title, c.text, c.code) for c in cautions.full(scene)
    ]


def test_a_written_place_comes_with_the_whole_list_each_once(room, run):
    path, scene = room
    _, text, _ = run("place", path, "--write", "--even-if-worse")
    for one in cautions.full(scene):
        assert squeezed(text).count(squeezed(f"{one.title}. {one.text}")) == 1
    _, quiet, _ = run("place", path)
    assert not [one for one in cautions.full(scene) if squeezed(one.text) in squeezed(quiet)]


def test_files_carry_them(room, run, tmp_path, handed_over):
    path, scene = room
    done = handed_over(path.stem)
    out, text = done.folder, done.out
    assert done.code == 0
    line = cautions.line(review(scene))
    assert line in text
    whole = cautions.full(scene)
    assert all(text.count(f"{one.title}. {one.text}") == 1 for one in whole)
    for name in ("index.html", "page.html"):
        content = html.unescape((out / name).read_text("utf-8"))
        assert all(content.count(one.text) == 1 and one.defers in content for one in whole), name
        assert cautions.advice(Locale.of(scene)) in content
    for name in ("review", "heights"):
        assert len(json.loads((out / f"data/{name}.json").read_text("utf-8"))["cautions"]) == len(whole)
    rows = list(csv.DictReader(io.StringIO((out / "data/cautions.csv").read_text("utf-8"), newline="")))
    assert [row["text"] for row in rows[:-1]] == [one.text for one in whole]
    assert "licensed designers decide" in rows[-1]["text"]
    for sheet in (out / "sheets").glob("*.dxf"):
        feet = lettered(sheet)
        assert feet
        for foot in map(squeezed, feet):
            assert squeezed(cautions.topics(scene)) in foot, sheet.name
            assert "licenseddesigners" in foot, sheet.name
    content = (out / "model.glb").read_bytes()
    (length,) = struct.unpack_from("<I", content, 12)
    assert json.loads(content[20 : 20 + length])["asset"]["extras"]["cautions"] == line
    run("export", path, tmp_path / "model.obj")
    assert (tmp_path / "model.obj").read_text("utf-8").splitlines()[1] == f"# {line}"
    for name in ("heads.csv", "model.stl"):
        _, out, err = run("export", path, tmp_path / name)
        assert out.split() == [str(tmp_path / name)]
        assert " ".join(err.split()) == line


def test_the_report_has_each_once(room):
    from viz.report import report_data

    path, scene = room
    rests = report_data(dossier_of(path.stem), pictures={}, drawn=drawn(path.stem))["rests"]
    assert [(title, text) for title, text, _ in rests["cautions"]] == [
        (one.title, one.text) for one in cautions.full(scene)
    ]


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
    short = replace(judged.clearances[0], required_m=0.4572, actual_m=0.4571, state="short")
    told = fragments.clearances(scene, replace(judged, clearances=(short,)))
    actual, required = Locale.of(scene).pair(0.4571, 0.4572)
    assert required != actual
    assert all(f'<td class="number">{html.escape(figure)}</td>' in told for figure in (required, actual))
