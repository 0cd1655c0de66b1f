"""The clouded sheet of changes: a cloud at every change, numbers that lead to the list, nothing else."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import cache
from importlib.resources import files

import ezdxf
import pytest

from scenes.building import read_scene
from scenes.changes import changes
from scenes.dossier import Dossier
from viz.sheets import changes_sheet, sheets
from viz.sheets.clouds import MOST_LINES, NEAR_M, numbered
from viz.sheets.draft import overlap


@cache
def revisions():
    scene = read_scene(str(files("scenes.rooms") / "heron.yaml"))
    overhead = [
        replace(device, at_m=(4.0, 3.0)) if device.id == "SP2" else device
        for device in scene.overhead
        if device.id != "L4"
    ]
    after = replace(
        scene,
        overhead=tuple(overhead),
        document=replace(scene.document, revision="B"),
        arrays=(replace(scene.arrays[0], at_m=(3.7, 2.75), height_m=2.6),),
        heads=scene.heads[:-1],
    )
    return Dossier(scene), Dossier(after)


@cache
def clouded(paper="A4"):
    return changes_sheet(*revisions(), paper=paper)


def test_every_change_with_a_place_is_inside_a_cloud_of_its_number():
    old, new = revisions()
    told = changes(old.review, new.review)
    doc = ezdxf.read(io.StringIO(clouded().dxf))
    rings = [
        [(x / 1000, y / 1000) for x, y, *_ in line.get_points()]
        for line in doc.modelspace().query('LWPOLYLINE[layer=="A-ANNO-REVC"]')
    ]
    middles = [(sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring)) for ring in rings]
    placed = [change for change in told if change.at_m is not None]
    assert placed
    for change in placed:
        assert any(math.dist(change.at_m, middle) < NEAR_M for middle in middles), change
    assert len(rings) == len(numbered(told)[0])


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter", "Tabloid"])
def test_the_list_tells_before_and_after_and_letters_collide_with_nothing(paper):
    (sheet,) = clouded(paper).sheets
    words = [item.text for item in sheet.drawn.letters]
    said = " ".join(words)
    assert "Changes from revision A to B" in said
    assert "A1: height, 2.20 m → 2.60 m" in said
    assert "verdict, pass → fail" in said
    assert "L4 removed" in words
    assert "T1-8 removed" in words
    for i, item in enumerate(sheet.drawn.letters):
        assert not any(overlap(item.box, other.box) for other in sheet.drawn.letters[:i]), item.text
    assert not ezdxf.read(io.StringIO(clouded(paper).dxf)).audit().errors


def test_without_changes_there_are_no_clouds_and_it_says_so():
    old, _ = revisions()
    made = changes_sheet(old, old)
    assert not ezdxf.read(io.StringIO(made.dxf)).modelspace().query('LWPOLYLINE[layer=="A-ANNO-REVC"]')
    assert "Nothing changed." in {item.text for item in made.sheets[0].drawn.letters}


def test_a_list_too_long_says_how_much_is_left_out():
    old, _ = revisions()
    scene = old.scene
    moved = replace(
        scene, heads=tuple(replace(h, at_m=(h.at_m[0] + 0.05, h.at_m[1])) for h in scene.heads), tables=()
    )
    told = changes(old.review, Dossier(replace(moved, overhead=())).review)
    assert len(told) > MOST_LINES
    _, lines = numbered(told)
    assert len(lines) == MOST_LINES + 1
    assert f"and {len(told) - MOST_LINES + 1} more" in lines[-2]


def test_the_ceiling_plan_hatches_what_an_array_is_too_near_to():
    _, new = revisions()
    assert {c.against for c in new.review.short} == {"SP2"}
    made = sheets(new)
    doc = ezdxf.read(io.StringIO(made.dxf))
    rings = doc.modelspace().query('LWPOLYLINE[layer=="T-MICR-CLSH"]')
    assert len(rings) == 1
    xs, ys = zip(*[(x / 1000, y / 1000) for x, y, *_ in rings[0].get_points()], strict=True)
    assert ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2) == pytest.approx((4.0, 3.0), abs=0.01)
    words = [item.text for item in made.sheets[1].drawn.letters]
    assert any(word.startswith("short: ") for word in words)
    assert "clearance short" in words
    assert (
        not ezdxf.read(io.StringIO(sheets(revisions()[0]).dxf))
        .modelspace()
        .query('LWPOLYLINE[layer=="T-MICR-CLSH"]')
    )


def test_two_cuts_side_by_side_have_marks_apart_and_many_arrays_collide_with_nothing():
    scene = revisions()[0].scene
    first = scene.arrays[0]
    arrays = (
        first,
        replace(first, id="A2", at_m=(3.42, 2.4), turn_deg=30.0),
        replace(first, id="A3", at_m=(1.5, 2.4)),
    )
    made = sheets(Dossier(scene.with_arrays(arrays)))
    assert len({sheet.title for sheet in made.sheets}) == len(made.sheets)
    for sheet in made.sheets:
        for i, item in enumerate(sheet.drawn.letters):
            assert not any(overlap(item.box, other.box) for other in sheet.drawn.letters[:i]), (
                sheet.title,
                item.text,
            )
    doc = ezdxf.read(io.StringIO(made.dxf))
    marks = [
        m.dxf.insert
        for m in doc.modelspace().query('INSERT[name=="SECTION-MARK"]')
        if m.dxf.layer == "A-ANNO-SYMB"
    ]
    # 4.6 mm across at 1:50
    assert min(math.dist((a.x, a.y), (b.x, b.y)) for i, a in enumerate(marks) for b in marks[:i]) > 4.6 * 50
