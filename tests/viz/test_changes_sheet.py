"""Clouded plans: a cloud round every place that changed, a row for every change, what is gone where it was."""

from __future__ import annotations

import io
import itertools
import subprocess
from dataclasses import replace
from functools import cache
from importlib.resources import files

import ezdxf
import pypdf
import pytest
import shapely

from scenes.dossier import Dossier
from scenes.review.changes import changes
from scenes.room.build import read_scene
from viz.sheets import NothingDiffers, changes_sheet
from viz.sheets.draft import overlap
from viz.sheets.drawing import above_m
from viz.words.changes import row
from viz.words.locale import Locale

FRAME_MM = 10.0
FEET = 0.3048


def scene_of(room):
    return read_scene(str(files("scenes.rooms") / f"{room}.yaml"))


def moved(things, id, at_m):
    return tuple(replace(thing, at_m=at_m) if thing.id == id else thing for thing in things)


@cache
def heron():
    """The array and two sprinklers moved, one seat and one light gone: SP3 is near RG1, SP1 near nothing."""
    scene = scene_of("heron")
    scene = replace(scene, overhead=moved(scene.overhead, "SP2", (3.6, 2.85)))  # out of the new place's way
    new = replace(
        scene,
        document=replace(scene.document, revision="B", date="2026-12-02"),
        arrays=(replace(scene.arrays[0], at_m=(3.05, 2.25), height_m=2.22),),
        heads=tuple(head for head in scene.heads if head.id != "T1-5"),
        overhead=moved(
            moved([d for d in scene.overhead if d.id != "L4"], "SP1", (1.2, 3.15)), "SP3", (5.95, 2.5)
        ),
    )
    return Dossier(scene), Dossier(new)


@cache
def ferry():
    """A room in feet: table, one seat, the array and a sprinkler moved."""
    scene = scene_of("ferry")
    table, head = scene.tables[0], next(h for h in scene.heads if h.id == "T1-1")
    shift = 0.5 * FEET
    new = replace(
        scene,
        document=replace(scene.document, revision="B"),
        tables=(
            replace(
                table,
                at_m=(table.at_m[0], table.at_m[1] - shift),
                outline_m=tuple((x, y - shift) for x, y in table.outline_m),
            ),
        ),
        heads=moved(scene.heads, "T1-1", (head.at_m[0] + 2 * FEET, head.at_m[1])),
        arrays=(replace(scene.arrays[0], at_m=(10 * FEET, 8 * FEET)),),
        overhead=moved(scene.overhead, "SP1", (6 * FEET, 5 * FEET)),
    )
    return Dossier(scene), Dossier(new)


@cache
def everything():
    """Two rooms that have hardly anything in common, as a revision nobody hopes for."""
    return Dossier(scene_of("weir")), Dossier(scene_of("heron"))


@cache
def small():
    """A room so narrow that the table stands beside its plan; its array rises."""
    scene = scene_of("heron")
    room = replace(scene.room, outline_m=((0.6, 0), (6, 0), (6, 4.5), (0.6, 4.5)), openings=())
    scene = replace(scene, room=room, overhead=(), displays=(), cameras=())
    array = replace(scene.arrays[0], height_m=2.25)
    document = replace(scene.document, revision="B")
    return Dossier(scene), Dossier(replace(scene, arrays=(array,), document=document))


PAIRS = {"heron": heron, "ferry": ferry, "everything": everything}
ALL = {**PAIRS, "small": small}


@cache
def drawn(pair, paper="A4"):
    return changes_sheet(*ALL[pair](), paper=paper)


@cache
def document(pair):
    return ezdxf.read(io.StringIO(drawn(pair).dxf))


def up_m(layer, pair="heron"):
    """How far the ceiling plan lies above the floor plan where a document has both."""
    return above_m(ALL[pair]()[1].scene) if layer.endswith("-RCPL") else 0.0


def rings(doc, layer, pair="heron"):
    """Closed polylines of a layer of the model as polygons in metres, on the plan's own origin."""
    per_m, up = {1: 1 / 0.0254, 4: 1000.0}[doc.header["$INSUNITS"]], up_m(layer, pair)
    return [
        shapely.Polygon([(x / per_m, y / per_m - up) for x, y, *_ in line.get_points()])
        for line in doc.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
        if line.closed
    ]


ON_SHEET = {
    "plan": ("A-ANNO-REVC", ("array", "head", "table", "obstacle", "camera", "display", "opening")),
    "ceiling": ("A-ANNO-REVC-RCPL", ("array", "device", "clearance")),
}


def told_on(pair, kind):
    old, new = PAIRS[pair]()
    return [c for c in changes(old.review, new.review) if c.at_m is not None and c.kind in ON_SHEET[kind][1]]


# ---- clouds ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["plan", "ceiling"])
@pytest.mark.parametrize("pair", PAIRS)
def test_each_change_with_a_place_is_in_exactly_one_cloud_and_each_cloud_holds_one(pair, kind):
    clouds = rings(document(pair), ON_SHEET[kind][0], pair)
    told = told_on(pair, kind)
    assert clouds
    assert told
    for change in told:
        assert sum(cloud.contains(shapely.Point(change.at_m)) for cloud in clouds) == 1, change
    for cloud in clouds:
        assert any(cloud.contains(shapely.Point(change.at_m)) for change in told)


@pytest.mark.parametrize("pair", PAIRS)
def test_clouds_never_overlap_each_other(pair):
    for layer, _ in ON_SHEET.values():
        clouds = rings(document(pair), layer)
        assert all(not a.intersects(b) for i, a in enumerate(clouds) for b in clouds[:i])


def test_every_arc_of_a_cloud_bulges_outwards():
    for line in document("heron").modelspace().query('LWPOLYLINE[layer=="A-ANNO-REVC"]'):
        points = list(line.get_points("xyb"))
        assert len(points) >= 8
        assert all(bulge > 0.4 for _, _, bulge in points)
        # a positive bulge is to the right of its way: outwards where the ring runs anticlockwise
        assert shapely.LinearRing([(x, y) for x, y, _ in points]).is_ccw


def test_places_that_are_near_share_a_cloud_and_far_ones_do_not():
    clouds = rings(document("heron"), "A-ANNO-REVC-RCPL")
    assert len(clouds) == 4  # SP1, SP3, L4 and A1 lie apart
    old, new = heron()
    beside = replace(new.scene, overhead=moved(new.scene.overhead, "SP1", (3.05, 2.8)))
    made = ezdxf.read(io.StringIO(changes_sheet(old, Dossier(beside)).dxf))
    assert len(rings(made, "A-ANNO-REVC-RCPL")) == 3
    near = [ring for ring in rings(made, "A-ANNO-REVC-RCPL") if ring.contains(shapely.Point(3.05, 2.8))]
    assert near[0].contains(shapely.Point(3.05, 2.25))


@pytest.mark.parametrize(("gap_mm", "together"), [(-3, True), (3, True), (9, False)])
def test_clouds_that_nearly_touch_on_paper_are_one(gap_mm, together):
    old, new = heron()
    # a cloud of 0.6 m round the array and one of 0.45 m round the sprinkler, at 1:50
    at = (3.05, 2.25 + 0.6 + 0.45 + gap_mm * 0.05)
    made = changes_sheet(old, Dossier(replace(new.scene, overhead=moved(new.scene.overhead, "SP1", at))))
    assert made.sheets[1].scale == 50
    clouds = rings(ezdxf.read(io.StringIO(made.dxf)), "A-ANNO-REVC-RCPL")
    (round_array,) = [cloud for cloud in clouds if cloud.contains(shapely.Point(3.05, 2.25))]
    assert round_array.contains(shapely.Point(at)) == together


@pytest.mark.parametrize("pair", PAIRS)
def test_each_cloud_has_a_triangle_with_its_number_beside_it(pair):
    doc = document(pair)
    k = 1000.0 if doc.header["$INSUNITS"] == 4 else 1 / 0.0254
    for sheet in drawn(pair).sheets:
        if sheet.scale_text == "not to scale":
            continue
        layer = ON_SHEET[sheet.kind][0]
        clouds, up = rings(doc, layer, pair), up_m(layer, pair)
        deltas = [
            insert
            for insert in doc.modelspace().query(f'INSERT[layer=="{layer}"]')
            if insert.dxf.name == "CHANGE-DELTA"
        ]
        numbers = sorted(int(text.dxf.text) for text in doc.modelspace().query(f'TEXT[layer=="{layer}"]'))
        assert numbers == list(range(1, len(clouds) + 1))
        assert len(deltas) == len(clouds)
        for cloud in clouds:
            away = [
                cloud.distance(shapely.Point(d.dxf.insert.x / k, d.dxf.insert.y / k - up)) for d in deltas
            ]
            assert min(away) * 1000 / sheet.scale < 8  # mm on paper


# ---- what was there before ------------------------------------------------------------------------------


def test_what_is_gone_is_drawn_dashed_where_it_was_and_named():
    doc = document("heron")
    for layer in ("A-ANNO-PREV", "A-ANNO-PREV-RCPL"):
        assert doc.layers.get(layer).dxf.linetype == "DASHED"
        assert doc.layers.get(layer).dxf.lineweight <= 18
    old, _ = heron()
    seat = next(head for head in old.scene.heads if head.id == "T1-5")
    assert any(ring.distance(shapely.Point(seat.at_m)) < 0.01 for ring in rings(doc, "A-ANNO-PREV"))
    light = next(device for device in old.scene.overhead if device.id == "L4")
    (ghost,) = [ring for ring in rings(doc, "A-ANNO-PREV-RCPL") if ring.contains(shapely.Point(light.at_m))]
    assert ghost.area == pytest.approx(light.size_m[0] * light.size_m[1], rel=1e-6)
    words = [[item.text for item in sheet.drawn.letters] for sheet in drawn("heron").sheets]
    assert "T1-5 removed" in words[0]
    assert "L4 removed" in words[1]


def test_what_moved_is_drawn_dashed_where_it_was():
    old, _ = heron()
    sprinkler = next(device for device in old.scene.overhead if device.id == "SP1")
    ghosts = rings(document("heron"), "A-ANNO-PREV-RCPL")
    assert any(ring.contains(shapely.Point(sprinkler.at_m)) for ring in ghosts)
    table = shapely.Polygon(ferry()[0].scene.tables[0].outline_m)
    assert any(ring.equals_exact(table, 1e-6) for ring in rings(document("ferry"), "A-ANNO-PREV"))


# ---- the table ------------------------------------------------------------------------------------------


def page_texts(pair, paper="A4"):
    pages = pypdf.PdfReader(io.BytesIO(drawn(pair, paper).pdf)).pages
    return ["".join(page.extract_text().split()) for page in pages]


def table_columns(sheet):
    """Letters of the table as (number, what, before, now), read off the drawing: columns by their headings."""
    cautions = next(item.y_mm for item in sheet.drawn.letters if item.text == "Cautions")
    items = [item for item in sheet.drawn.letters if "TTLB" in item.layer and item.y_mm > cautions + 0.1]
    rows = []
    for heading in [item for item in items if item.text == "No."]:
        line = [item for item in items if abs(item.y_mm - heading.y_mm) < 0.1 and item.x_mm >= heading.x_mm]
        starts = [item.x_mm for item in sorted(line, key=lambda item: item.x_mm)][:4]
        below = [[i for i in items if i.y_mm < heading.y_mm and abs(i.x_mm - x) < 0.01] for x in starts]
        firsts = sorted((item.y_mm for item in below[0]), reverse=True)
        for first, following in itertools.pairwise([*firsts, 0.0]):
            cells = [[i for i in column if following + 0.1 < i.y_mm < first + 0.1] for column in below]
            rows.append(
                tuple(" ".join(i.text for i in sorted(cell, key=lambda i: -i.y_mm)) for cell in cells)
            )
    return rows


@pytest.mark.parametrize(("pair", "paper"), [("heron", "A4"), ("ferry", "A3")])
def test_the_rows_of_the_tables_are_the_changes(pair, paper):
    old, new = PAIRS[pair]()
    told = changes(old.review, new.review)
    seen = set()
    for sheet in drawn(pair, paper).sheets:
        rows = table_columns(sheet)
        want = [c for c in told if c.at_m is None or c in told_on(pair, sheet.kind)]
        assert len(rows) == len(want)
        found = {row[1:] for row in rows}
        for change in want:
            text = row(change, Locale.of(new.scene))
            assert (text.named, text.before, text.after) in found, change
            seen.add(change)
        numbers = {item.text for item in sheet.drawn.letters if "REVC" in item.layer}
        assert {row[0] for row in rows} - {"–"} == numbers
    assert seen == set(told)


def test_a_row_has_the_number_of_the_cloud_its_change_is_in():
    doc = document("heron")
    (plan, ceiling) = drawn("heron").sheets
    numbers = {row[1]: row[0] for row in table_columns(ceiling)}
    for cloud in rings(doc, "A-ANNO-REVC-RCPL"):
        inside = {
            numbers[row(c, Locale("m")).named] for c in told_on("heron", "ceiling")
            if c.kind != "clearance" and cloud.contains(shapely.Point(c.at_m))
        }  # fmt: skip
        assert len(inside) == 1
    assert table_columns(plan)


def test_a_table_that_leaves_no_room_for_its_plan_has_a_sheet_of_its_own_with_every_row():
    made = drawn("everything")
    titles = [sheet.title for sheet in made.sheets]
    assert titles[:2] == ["Changes, floor plan", "Changes, floor plan: table"]
    pages = zip(titles, page_texts("everything"), strict=True)
    text = "".join(text for title, text in pages if title == "Changes, floor plan: table")
    for change in told_on("everything", "plan"):
        words = row(change, Locale("m"))
        for told in (words.named, words.before, words.after):
            assert "".join(told.split()) in text, change


def test_title_block_and_table_say_both_revisions_and_both_verdicts():
    old, new = heron()
    assert (old.review.verdict, new.review.verdict) == ("pass", "pass")
    for sheet in drawn("heron").sheets:
        words = [item.text for item in sheet.drawn.letters]
        said = " ".join(words)
        assert "What changed from revision A to B" in said
        assert "Verdict before: Pass. Now: Pass." in said
        lines = {}
        for item in sheet.drawn.letters:
            if item.x_mm > sheet.drawn.width_mm - 76:  # the strip on the right
                lines.setdefault(round(item.y_mm, 2), []).append(item.text)
        assert {"A", "2026-11-25", "Before"} in [set(line) for line in lines.values()]
        assert {"B", "2026-12-02", "Now"} in [set(line) for line in lines.values()]
        assert any("Cautions" in w for w in words)
    worse = replace(new.scene, heads=moved(new.scene.heads, "T1-1", (6.3, 4.2)))
    made = changes_sheet(old, Dossier(worse))
    said = " ".join(item.text for sheet in made.sheets for item in sheet.drawn.letters)
    assert "Verdict before: Pass. Now: Fail." in said
    assert any(("–", "Verdict", "pass", "fail") in table_columns(sheet) for sheet in made.sheets)


def test_what_has_no_place_on_plan_has_a_row_and_no_cloud():
    old, _ = heron()
    lower = replace(old.scene, room=replace(old.scene.room, structure_m=3.2))
    (sheet,) = (made := changes_sheet(old, Dossier(lower))).sheets
    assert table_columns(sheet) == [("–", "Room, structure", "3.35 m", "3.20 m")]
    assert not rings(ezdxf.read(io.StringIO(made.dxf)), "A-ANNO-REVC")


def test_the_table_stands_beside_the_plan_where_there_is_room_else_below():
    (plan, _) = drawn("ferry", "A3").sheets
    heading = next(item for item in plan.drawn.letters if item.text == "Before" and "TTLB" in item.layer)
    assert heading.y_mm < plan.view_box[1]
    (sheet,) = drawn("small").sheets
    heading = next(item for item in sheet.drawn.letters if item.text == "No.")
    assert heading.x_mm > sheet.view_box[2]
    # not even the title above the narrowest table runs into the strip on the right
    table = [
        i for i in sheet.drawn.letters if heading.x_mm - 0.1 < i.x_mm < 297 - 76 and i.y_mm > heading.y_mm - 1
    ]
    assert len(table) == 6
    assert "What changed from revision A to B" in {item.text for item in table}
    assert max(item.box[2] for item in table) < 297 - 76


# ---- sheets ---------------------------------------------------------------------------------------------


def test_one_plan_where_only_one_changed():
    old, new = heron()
    only_seats = replace(old.scene, heads=new.scene.heads, document=new.scene.document)
    assert [s.kind for s in changes_sheet(old, Dossier(only_seats)).sheets] == ["plan"]
    only_devices = replace(old.scene, overhead=new.scene.overhead, document=new.scene.document)
    assert [s.kind for s in changes_sheet(old, Dossier(only_devices)).sheets] == ["ceiling"]
    assert [s.kind for s in drawn("heron").sheets] == ["plan", "ceiling"]


ON_PAPER = [*((pair, "A4") for pair in ALL), ("ferry", "A3"), ("everything", "Tabloid"), ("small", "Letter")]


@pytest.mark.parametrize(("pair", "paper"), ON_PAPER)
def test_letters_collide_with_no_others_and_stay_inside_the_frame(pair, paper):
    for sheet in drawn(pair, paper).sheets:
        page = sheet.drawn
        frame = (FRAME_MM, FRAME_MM, page.width_mm - FRAME_MM, page.height_mm - FRAME_MM)
        for i, item in enumerate(page.letters):
            where = f"{sheet.title}: {item.text!r}"
            assert inside(item.box, frame), where
            assert not any(overlap(item.box, other.box) for other in page.letters[:i]), where
            assert item.height_mm >= 2.5 - 1e-6, where
        assert inside(sheet.view_box, frame)
        assert inside(page.extent, (frame[0] - 0.3, frame[1] - 0.3, frame[2] + 0.3, frame[3] + 0.3))


def inside(box, frame):
    return box[0] >= frame[0] and box[1] >= frame[1] and box[2] <= frame[2] and box[3] <= frame[3]


@pytest.mark.parametrize("pair", PAIRS)
def test_the_files_audit_clean_and_each_sheet_alone_too(pair):
    for text in (drawn(pair).dxf, *(sheet.dxf for sheet in drawn(pair).sheets)):
        audit = ezdxf.read(io.StringIO(text)).audit()
        assert not audit.errors
        assert not audit.fixes


def test_a_sheet_alone_shows_its_own_plan_only():
    plan, ceiling = (ezdxf.read(io.StringIO(sheet.dxf)) for sheet in drawn("heron").sheets)
    assert rings(plan, "A-ANNO-REVC")
    assert not rings(plan, "A-ANNO-REVC-RCPL")
    assert rings(ceiling, "A-ANNO-REVC-RCPL")
    assert not rings(ceiling, "A-ANNO-REVC")


def test_the_same_revisions_give_the_same_bytes():
    old, new = heron()
    again = changes_sheet(Dossier(old.scene), Dossier(new.scene))
    assert again.dxf == drawn("heron").dxf
    assert again.pdf == drawn("heron").pdf
    assert [s.svg for s in again.sheets] == [s.svg for s in drawn("heron").sheets]
    assert again.sheets[1].dxf == drawn("heron").sheets[1].dxf


def test_the_pdf_is_at_its_true_size_with_its_letters_as_text():
    for text, sheet in zip(page_texts("ferry"), drawn("ferry").sheets, strict=True):
        for item in sheet.drawn.letters:
            assert "".join(item.text.split()) in text, item.text
    page = pypdf.PdfReader(io.BytesIO(drawn("ferry").pdf)).pages[0]
    assert float(page.mediabox.width) * 25.4 / 72 == pytest.approx(297, abs=0.01)


def test_rooms_in_feet_are_told_in_feet():
    rows = {row[1]: row[2:] for sheet in drawn("ferry").sheets for row in table_columns(sheet)}
    assert rows["A1, position on plan"] == ("12'-0\", 8'-0\"", "10'-0\", 8'-0\"")
    assert rows["SP1, position on plan"] == ("6'-0\", 4'-0\"", "6'-0\", 5'-0\"")
    assert all("= 1'-0\"" in sheet.scale_text for sheet in drawn("ferry").sheets)
    assert document("ferry").header["$INSUNITS"] == 1


def test_own_layers_are_used():
    made = changes_sheet(*heron(), own_layers="change: {layer: X-CLOUD, colour: '#112233', weight: 35}")
    doc = ezdxf.read(io.StringIO(made.dxf))
    assert rings(doc, "X-CLOUD")
    assert "A-ANNO-REVC" not in doc.layers


# ---- refusals and the command ----------------------------------------------------------------------------


def test_where_nothing_differs_no_sheet_is_drawn():
    old, _ = heron()
    with pytest.raises(NothingDiffers, match="No changes between") as told:
        changes_sheet(old, Dossier(old.scene))
    assert told.value.exit_status == 2
    renumbered = replace(old.scene, document=replace(old.scene.document, revision="B"))
    with pytest.raises(NothingDiffers):
        changes_sheet(old, Dossier(renumbered))
    with pytest.raises(ValueError, match="A4, A3, Letter, Tabloid"):
        changes_sheet(*heron(), paper="A5")


def test_the_command_writes_the_changes_and_nothing_else(rooms, run, tmp_path):
    new = rooms / "new.yaml"
    text = (rooms / "heron.yaml").read_text("utf-8")
    new.write_text(text.replace("revision: A", "revision: B").replace("[0.9, 2.85]", "[1.2, 3.15]"), "utf-8")
    status, out, err = run("sheets", new, "--since", rooms / "heron.yaml", "-o", tmp_path / "out")
    assert (status, err) == (0, "")
    names = {
        "changes.pdf", "changes.dxf", "01-changes-ceiling-plan.dxf", "01-changes-ceiling-plan.svg",
    }  # fmt: skip
    assert {path.name for path in (tmp_path / "out").iterdir()} == names
    assert all(name in out for name in names)
    subprocess.run(["qpdf", "--check", tmp_path / "out" / "changes.pdf"], check=True, capture_output=True)


def test_the_command_says_that_nothing_differs_and_writes_nothing(rooms, run, tmp_path):
    status, out, err = run(
        "sheets", rooms / "heron.yaml", "--since", rooms / "heron.yaml", "-o", tmp_path / "o"
    )
    assert (status, out) == (2, "")
    assert "No changes between" in err
    assert not (tmp_path / "o").exists()


def test_the_command_asks_for_a_new_revision(rooms, run, tmp_path):
    new = rooms / "new.yaml"
    new.write_text((rooms / "heron.yaml").read_text("utf-8").replace("[0.9, 2.85]", "[1.2, 3.15]"), "utf-8")
    status, _, err = run("sheets", new, "--since", rooms / "heron.yaml", "-o", tmp_path / "out")
    assert status == 0
    assert "Both files are revision A. Change `document: revision` in the new one." in err
