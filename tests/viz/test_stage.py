"""The stage as data: layers, places, closed surfaces, colours by state."""

from __future__ import annotations

import math
import subprocess
import sys
from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest

from geometry.band import edges
from geometry.solids import Mesh, band_volume_m3, shape_mesh, volume_m3
from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.viz.rooms import BOTH, demo_scene, scene_of, staged
from viz import figures, palette, stills, views
from viz.forms import Form, join
from viz.shown import shown
from viz.stage import LAYERS, Prop, stage
from viz.stage.band import band_form, band_patches
from viz.stage.props import HAIR_M, with_layers

ROOMS = sorted(BOTH)


@pytest.fixture(params=ROOMS)
def made(request):
    return staged(request.param)


def closed_surfaces(props):
    groups = defaultdict(list)
    for prop in props:
        if len(prop.faces) and prop.solid:
            groups[prop.layer, prop.solid].append(prop)
    return groups


def edge_balance(points, faces):
    """Whether every directed edge has its opposite, once: closed, and wound one way."""
    _, same = np.unique(np.round(points, 9), axis=0, return_inverse=True)
    faces = same.ravel()[faces]
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    count = points.shape[0]
    there = np.sort(sides[:, 0] * count + sides[:, 1])
    back = np.sort(sides[:, 1] * count + sides[:, 0])
    return np.array_equal(there, back)


def test_every_closed_thing_is_watertight_and_not_inside_out(made):
    surfaces = closed_surfaces(made.props)
    assert len(surfaces) > 60
    for key, several in surfaces.items():
        starts = np.cumsum([0] + [len(p.points) for p in several])
        points = np.concatenate([p.points for p in several])
        faces = np.concatenate([p.faces + s for p, s in zip(several, starts, strict=False)])
        assert edge_balance(points, faces), key
        assert volume_m3(Mesh(points, faces)) > 0, key


def test_a_room_has_every_layer_it_should(made):
    present = {prop.layer for prop in made}
    assert present >= set(LAYERS) - {"region", "clearances", "areas", "margins"}
    assert {prop.layer for prop in with_layers(made, ["band", "people"])} == {"band", "people"}
    with pytest.raises(ValueError, match="peoples are not known; allowed are shell, tables"):
        with_layers(made, ["peoples"])


def test_ids_are_unique_within_their_layer(made):
    names = [(prop.layer, prop.id) for prop in made]
    assert len(names) == len(set(names))


def test_all_colours_are_of_the_one_palette(made):
    known = set()
    for value in vars(palette).values():
        for entry in (
            value if isinstance(value, tuple) else value.values() if isinstance(value, dict) else [value]
        ):
            if isinstance(entry, str) and entry.startswith("#"):
                known.add(entry)
    known |= {palette.clay(part, state) for part in palette.CLAY for state in (None, *palette.TINTS)}
    known |= {palette.elsewhere(state) for state in (None, *palette.TINTS)}
    assert {prop.colour for prop in made} <= known


def test_every_mark_stands_at_its_mouth_with_the_sign_and_colour_of_the_state(made):
    marks = {prop.about: prop for prop in made if prop.kind == "mark" and prop.layer == "people"}
    assert len({judged.state for judged in made.review.heads}) > 1
    for head, judged in zip(made.scene.heads, made.review.heads, strict=True):
        mark = marks[head.id]
        assert mark.anchor == head.middle_m
        assert mark.state == judged.state
        assert mark.colour == palette.STATE_COLOURS[judged.state]
        assert mark.text == palette.STATE_MARKS[judged.state]
        assert np.allclose((mark.points.min(axis=0) + mark.points.max(axis=0)) / 2, head.middle_m, atol=1e-3)


def test_figures_have_their_mouths_at_the_mouth_and_face_the_table(made):
    for head in made.scene.heads:
        mine = [p for p in made.layer("people") if p.about == head.id and p.kind == "mesh"]
        points = np.concatenate([p.points for p in mine])
        x, y, z = head.middle_m
        assert z + 0.15 < points[:, 2].max() < z + 0.26  # the crown above the mouth
        assert -1e-9 < points[:, 2].min() < 0.02  # feet on the floor
        turn = math.radians(head.facing_deg)
        head_points = points[points[:, 2] > z - 0.04]
        ahead = (head_points - (x, y, z)) @ (math.cos(turn), math.sin(turn), 0)
        # the face is at the mouth, the rest of the head behind it
        assert -0.02 < ahead.max() < 0.03
        assert -0.25 < ahead.min() < -0.15
        aside = (head_points - (x, y, z)) @ (-math.sin(turn), math.cos(turn), 0)
        assert abs(aside.min() + aside.max()) < 0.01


def test_the_same_person_twice_is_one_body_and_ghosts():
    made = staged("nasty")
    ghosts = {prop.about for prop in made.layer("people") if prop.id.endswith("/ghost")}
    ups = {head.id for head in made.scene.heads if head.id.endswith("-up")}
    walk = [head.id for head in made.scene.heads if head.group == "W"]
    assert len(ups) == 4
    assert len(walk) > 2
    assert ghosts == ups | set(walk[1:])


def test_in_a_crowd_figures_have_fewer_triangles_and_stay_closed_and_in_place():
    scene = scene_of("quiet")
    first = scene.heads[0]
    crowd = tuple(
        replace(first, id=f"C-{i}", at_m=(0.5 + 0.7 * (i % 10), 0.5 + 0.7 * (i // 10)), table=None)
        for i in range(100)
    )
    scene = replace(scene, heads=crowd)
    made = stage(scene, review(scene))
    mine = [p for p in made.layer("people") if p.about == "C-7" and p.kind == "mesh"]
    usual = [p for p in staged("quiet").layer("people") if p.about == "T1-1" and p.kind == "mesh"]
    assert sum(len(p.faces) for p in mine) < 0.4 * sum(len(p.faces) for p in usual)
    for one, other in zip(mine, usual, strict=True):
        assert edge_balance(one.points, one.faces), one.id
        moved = one.points - (*crowd[7].at_m, 0)
        if one.id.endswith("hair"):  # the same whether there is a table or not
            assert np.allclose(moved.max(axis=0), (other.points - (*first.at_m, 0)).max(axis=0), atol=0.02)


def test_tables_stand_as_high_and_as_large_as_the_scene_says(made):
    for table in made.scene.tables:
        top = made.prop("tables", f"{table.id}/top").points
        assert top[:, 2].max() == pytest.approx(table.height_m)
        assert np.allclose(top[:, :2].min(axis=0), np.min(table.outline_m, axis=0))
        assert np.allclose(top[:, :2].max(axis=0), np.max(table.outline_m, axis=0))
        legs = made.prop("tables", f"{table.id}/legs").points
        assert legs[:, 2].min() == pytest.approx(0)
        assert legs[:, 2].max() < table.height_m


def test_arrays_hang_where_they_hang(made):
    for array in made.scene.arrays:
        parts = [made.prop("arrays", f"{array.id}/{part}") for part in ("body", "grille")]
        points = np.concatenate([part.points for part in parts])
        assert points[:, 2].min() == pytest.approx(array.underside_m)
        assert points[:, 2].max() == pytest.approx(array.top_m)
        across = np.hypot(*(points[:, :2] - array.at_m).T).max()
        assert across == pytest.approx(array.profile.plan_radius_m, abs=1e-6)
        cable = [prop for prop in made.layer("arrays") if prop.id == f"{array.id}/cable"]
        assert bool(cable) == (array.profile.mount == "pendant")
        for prop in cable:
            assert prop.points[:, 2].min() == pytest.approx(array.top_m)
            assert prop.points[:, 2].max() == pytest.approx(made.scene.room.ceiling_m)


def test_devices_keep_to_their_size_and_their_lowest_point(made):
    for device in made.scene.overhead:
        mine = [p for p in made.layer("overhead") if p.about == device.id and p.kind == "mesh"]
        points = np.concatenate([p.points for p in mine])
        assert points[:, 2].min() == pytest.approx(device.low_m, abs=0.0025), device.id
        body = points[points[:, 2] < device.low_m + device.depth_m - 0.01]
        away = np.hypot(*(body[:, :2] - device.at_m).T).max()
        corner = device.size_m[0] / 2 if device.round else math.hypot(*device.size_m) / 2
        assert away < corner + 0.012, device.id


@pytest.mark.parametrize("name", ROOMS)
def test_the_band_lies_on_its_four_surfaces_and_inside_the_room(name):
    scene = scene_of(name)
    for array in scene.arrays:
        form = band_form(scene, array)
        patches = band_patches(form, array.band, np.asarray(array.centre_m))
        away = form.points - array.centre_m
        near, far, low, high = edges(array.band, np.hypot(away[:, 0], away[:, 1]), -away[:, 2])
        for number, distance in enumerate((low, high, near, far)):
            corners = np.unique(form.faces[patches == number])
            # chords are inside the curve by less than the sagitta of their facet
            assert np.all(np.abs(distance[corners]) < 0.005)
        height = form.points[:, 2]
        assert height.min() >= HAIR_M - 1e-9
        assert height.max() <= scene.room.ceiling_m - HAIR_M + 1e-9


def test_a_band_that_no_wall_cuts_has_the_volume_of_the_formula_down_to_the_floor():
    made = staged("quiet")
    array = made.scene.array("A1")
    form = band_form(made.scene, array)
    # what the floor cuts off: the far sphere's cap between the cones, by slices
    heights = np.linspace(array.centre_m[2] - HAIR_M, array.band.far_m, 20001)
    sines = array.band.edge_sines
    outer = np.minimum(
        heights * sines[0] / sines[1], np.sqrt(np.maximum(array.band.far_m**2 - heights**2, 0))
    )
    inner = heights * sines[3] / sines[2]
    lost = np.trapezoid(math.pi * np.maximum(outer**2 - inner**2, 0), heights)
    assert volume_m3(Mesh(*form)) == pytest.approx(band_volume_m3(array.band) - lost, rel=0.004)


def test_band_normals_are_exact_and_look_outwards(made):
    for prop in made.layer("band"):
        if prop.kind != "mesh" or prop.normals is None:
            continue
        assert np.allclose(np.linalg.norm(prop.normals, axis=1), 1)
        corners = prop.points[prop.faces]
        flat = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        kept = np.linalg.norm(flat, axis=1) > 1e-9
        assert np.all(np.einsum("ij,ij->i", flat, prop.normals[prop.faces].mean(axis=1))[kept] > 0)


def test_walls_are_the_same_whichever_way_round_the_outline_was_written():
    scene = scene_of("quiet")
    count = len(scene.room.outline_m)
    turned_openings = tuple(
        replace(
            opening,
            wall=(count - 2 - opening.wall) % count,
            offset_m=math.dist(*scene.room.wall(opening.wall)) - opening.offset_m - opening.width_m,
        )
        for opening in scene.room.openings
    )
    turned = replace(
        scene, room=replace(scene.room, outline_m=scene.room.outline_m[::-1], openings=turned_openings)
    )
    one, other = (stage(s, review(s)) for s in (scene, turned))

    def things(made):
        return sorted(
            tuple(np.round(np.concatenate([p.points.min(axis=0), p.points.max(axis=0)]), 6))
            for p in made.layer("shell")
            if p.kind == "mesh" and p.id.startswith(("wall/", "opening/")) and not p.id.endswith("handle")
        )

    assert things(one) == things(other)


def test_openings_are_cut_through_the_wall():
    parts = [prop for prop in staged("quiet").layer("shell") if prop.solid == "wall/2"]
    assert {prop.id for prop in parts} == {"wall/2", "wall/2/cut"}
    wall = join(*(Form(prop.points, prop.faces) for prop in parts))
    # the wall's face less the window's, times the thickness, less nothing at the mitred ends but their share
    solid = (8.0 + 8.24) / 2 * (2.8 + HAIR_M) * 0.12
    assert volume_m3(Mesh(wall.points, wall.faces)) == pytest.approx(solid - 4.0 * 1.4 * 0.12, rel=1e-6)


def test_a_stage_like_another_takes_over_what_did_not_move_and_equals_a_fresh_one():
    before = staged("quiet")
    scene = before.scene.with_array("A1", height_m=2.1, band_name="flat")
    judged = review(scene)
    fresh, quick = stage(scene, judged), stage(scene, judged, like=before)
    both = [{(p.layer, p.id): p for p in made} for made in (fresh, quick)]
    assert both[0].keys() == both[1].keys()
    for key, prop in both[0].items():
        other = both[1][key]
        assert np.array_equal(prop.points, other.points), key
        assert (prop.colour, prop.state, prop.text) == (other.colour, other.state, other.text), key
    assert quick.prop("tables", "T1/top") is before.prop("tables", "T1/top")


@pytest.mark.parametrize("state", ["advised", "short"])
def test_what_is_too_close_is_hatched_and_told_and_its_device_marked(state):
    made = staged("nasty")
    assert [(one.against, one.state) for one in made.review.advised] == [("SD2", "advised")]
    near = tuple(
        replace(one, state=state) if one.state == "advised" else one for one in made.review.clearances
    )
    made = stage(made.scene, replace(made.review, clearances=near))
    hatched = {prop.about for prop in made.layer("clearances") if prop.id.endswith("/hatch")}
    assert hatched == {"SD2"}
    assert all(prop.colour == palette.CLASH for prop in made.layer("clearances") if prop.state == state)
    assert made.prop("overhead", "SD2/symbol").state == "short"


def test_an_array_without_a_place_is_refused():
    made = staged("quiet")
    scene = made.scene.with_array("A1", height_m=None)
    with pytest.raises(ValueError, match="arrays A1 have no place yet; run `overtable place`"):
        stage(scene, made.review)


def test_a_prop_of_an_unknown_layer_or_with_a_face_too_many_is_refused():
    with pytest.raises(ValueError, match="allowed are shell"):
        Prop("x", "roof", "mesh", "#000000")
    with pytest.raises(ValueError, match="beyond its 3 points"):
        Prop("x", "shell", "mesh", "#000000", np.zeros((3, 3)), np.array([[0, 1, 3]]))


def test_the_stage_needs_no_graphics_library():
    names = "any(m.startswith(('vtk', 'pyvista')) for m in sys.modules)"
    code = f"import sys, viz.stage, viz.views, viz.exports; sys.exit({names})"
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0


def test_a_cut_fills_what_it_cuts_and_keeps_only_what_is_behind(made):
    view = views.view(made, "long", 1.6)
    at, direction = (np.asarray(v) for v in view.cut)
    props_shown = shown(made, view)
    for prop in props_shown:
        if (
            prop.layer in ("shell", "tables", "band")
            and len(prop.faces)
            and not prop.id.startswith(("display", "camera"))
        ):
            assert ((prop.points[prop.faces] - at) @ direction).min() > -0.0021, prop.id
    caps = {prop.id for prop in props_shown if prop.id.endswith("/cut face")}
    assert {"floor/cut face", "A1/band/cut face"} <= caps


def test_the_cut_face_of_the_band_is_the_profile_twice():
    made = staged("quiet")
    cap = next(p for p in shown(made, views.view(made, "long", 1.6)) if p.id == "A1/band/cut face")
    corners = cap.points[cap.faces]
    area = (
        np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum()
        / 2
    )
    # closed formula: two ring sectors, less what the floor cuts off, by thin level strips
    array = made.scene.array("A1")
    band = array.band
    whole = math.radians(band.high_deg - band.low_deg) * (band.far_m**2 - band.near_m**2)
    drops = np.linspace(array.centre_m[2] - HAIR_M, band.far_m, 20001)
    outer = np.minimum(
        drops / math.tan(math.radians(band.low_deg)), np.sqrt(np.maximum(band.far_m**2 - drops**2, 0))
    )
    lost = np.trapezoid(2 * np.maximum(outer - drops / math.tan(math.radians(band.high_deg)), 0), drops)
    assert area == pytest.approx(whole - lost, rel=0.003)


def test_shading_gives_back_the_same_surface(made):
    for prop in made.layer("tables", "arrays"):
        if not len(prop.faces):
            continue
        points, normals, faces = prop.shaded()
        assert np.allclose(points[faces], prop.points[prop.faces])
        assert np.allclose(np.linalg.norm(normals, axis=1), 1)
        assert isinstance(Form(points, faces), Form)


def test_a_column_is_drawn_as_the_shape_that_is_judged():
    made = staged("nasty")
    (obstacle,) = made.scene.obstacles
    drawn, judged = made.prop("shell", f"obstacle/{obstacle.id}"), shape_mesh(obstacle.solid)
    assert np.array_equal(drawn.points, judged.points)
    assert np.array_equal(drawn.faces, judged.faces)


def test_a_short_clearances_label_does_not_read_as_enough_and_tells_advice_from_requirement():
    made = staged("nasty")
    (advised,) = made.review.advised
    hair = replace(advised, actual_m=0.4568, required_m=0.4572)
    for clearance, called, said in (
        (hair, "clearance below advice", "1'-5 15/16\", 1'-6\" advised"),
        (replace(hair, state="short"), "too close", "1'-5 15/16\", 1'-6\" required"),
    ):
        told = stage(made.scene, replace(made.review, clearances=(clearance,)))
        (label,) = [p.text for p in told.layer("clearances") if p.kind == "label"]
        (legend,) = [p.legend for p in told.layer("clearances") if p.id.endswith("/hatch")]
        assert legend == called
        assert label == said


CHAMBER = """
overtable: 1
name: Chamber
units: m
room: {size: [30, 6], ceiling: 3.2}
seats: [{id: S, at: [4, 2]}]
profiles:
  reed: {mount: pendant, body: {diameter: 0.24, height: 0.07}, bands: {main: [24, 69]}, reach: [0.8, 3.2]}
arrays:
  - {id: A1, profile: reed, at: [5, 3], height: 2.2, band: main}
  - {id: A2, profile: reed, at: [15, 3], height: 2.2, band: main}
  - {id: A3, profile: reed, at: [25, 3], height: 2.2, band: main}
"""


def chamber(text: str = CHAMBER):
    scene = build(read_spec_text(text, "chamber.yaml"))
    return stage(scene, review(scene))


def said_in(made, view):
    return sorted(p.text for p in made.layer("dimensions") if p.kind == "label" and view in p.only)


def test_arrays_in_line_share_a_dimension_which_says_whose_it_is():
    made = chamber()
    assert said_in(made, "plan") == [
        "30.00 m",
        "6.00 m",
        "A1 5.00 m",
        "A2 15.00 m",
        "A3 25.00 m",
        "all 3 arrays 3.00 m",
    ]
    assert said_in(made, "long") == ["1.00 m", "2.20 m", "3.20 m"]
    apart = chamber(CHAMBER.replace("[15, 3], height: 2.2", "[15, 2], height: 2.5"))
    assert {"A1, A3 3.00 m", "A2 2.00 m"} <= set(said_in(apart, "plan"))
    assert {"A1, A3 2.20 m", "A1, A3 1.00 m", "A2 2.50 m", "A2 0.70 m"} <= set(said_in(apart, "long"))
    # every array still has its own line to the column
    assert {f"A{n}/leader/long" for n in (1, 2, 3)} <= {p.id for p in apart.layer("dimensions")}


@pytest.mark.parametrize("name", ["plan", "long"])
def test_words_of_neighbouring_dimensions_stand_on_their_own_lines_in_a_room_of_thirty_metres(name):
    text = CHAMBER.replace("[15, 3], height: 2.2", "[15, 3.2], height: 2.5")
    made = chamber(text.replace("[25, 3], height: 2.2", "[25, 3.4], height: 2.4"))
    still = stills.draw_still(made, name, stills.Style(size=(2400, 1500)))
    upright = [label for label in still.labels if label.wish.turned]
    assert len(upright) >= 4
    for label in upright:
        line = made.prop("dimensions", label.wish.id.removeprefix("dimensions/").removesuffix("/label"))
        x = still.view.project(line.points[:1], *still.picture_size)[0, 0]
        assert label.box[0] < x < label.box[2], label.wish.text


@pytest.mark.parametrize("sits", [True, False])
def test_a_shirts_hem_is_level_all_round(sits):
    made = figures.seated(1.2, 0.74, 0.2) if sits else figures.standing(1.55)

    def lowest_ring(part):
        # the loft of the trunk, and of the upper trousers, is the first form joined into its part
        points = made[part].points
        points = points[np.isclose(points[:, 2], points[0, 2]) & (np.arange(len(points)) < 20)][:, :2]
        away = points - (points.min(axis=0) + points.max(axis=0)) / 2
        return away / np.abs(away).max(axis=0)

    # corners in the same directions: where the two meet neither comes through the other between them
    top, legs = lowest_ring("top"), lowest_ring("legs")
    assert top.shape == legs.shape
    assert np.allclose(top, legs)


def test_an_array_stands_out_from_the_ceiling_it_is_seen_against():
    body, ceiling = (np.array(palette.rgb(c)) for c in (palette.ARRAY_BODY, palette.CEILING))
    assert np.all(ceiling - body > 0.08)


def test_shadows_go_with_what_throws_them():
    made = staged("quiet")
    for layer, there in (
        ("people", [head.at_m for head in made.scene.heads]),
        ("tables", [np.mean(t.outline_m, axis=0) for t in made.scene.tables]),
    ):
        sheet = made.prop(layer, "shadow")
        for place in there:
            near = np.argmin(np.linalg.norm(sheet.points[:, :2] - place, axis=1))
            assert sheet.fade[near] > 0.1
    walls = made.prop("shell", "shadow")
    middle = np.mean(made.scene.tables[0].outline_m, axis=0)
    near = np.linalg.norm(walls.points[:, :2] - middle, axis=1) < 0.2
    assert not near.any() or walls.fade[near].max() < 0.02


def test_an_array_has_its_orientation_mark_and_sectors_only_where_asked_for() -> None:
    made = staged("quiet")
    array = replace(made.scene.arrays[0], turn_deg=30.0)
    scene = made.scene.with_arrays((array,))
    turned = stage(scene, review(scene))
    [mark] = [prop for prop in turned.props if prop.id == "A1/mark"]
    assert (mark.layer, mark.only) == ("arrays", ("plan", "ceiling", "array"))
    tip = max(mark.points[:, :2] - array.centre_m[:2], key=lambda at: float(np.hypot(*at)))
    assert math.degrees(math.atan2(tip[1], tip[0])) == pytest.approx(30.0)
    assert not any("sectors" in layers for layers in views.LAYERS_OF.values())
    numbers = [prop for prop in turned.props if prop.layer == "sectors" and prop.kind == "label"]
    assert [prop.text for prop in numbers] == ["1", "2", "3", "4", "5", "6"]
    # the first of six begins at the mark: its middle is 30° further on
    x, y, _ = np.subtract(numbers[0].anchor, array.centre_m)
    assert math.degrees(math.atan2(y, x)) == pytest.approx(60.0)


def test_a_box_in_a_void_too_low_for_it_is_drawn_all_the_same() -> None:
    """Its stub of cable had no length, and the page could not be packed."""
    room = demo_scene("heron")
    low = replace(room, room=replace(room.room, structure_m=room.room.ceiling_m + 0.03))
    for prop in stage(low, review(low)).layer("arrays"):
        assert np.isfinite(prop.points).all(), prop.id
