"""Pictures by what they must show: states at mouths, outlines where the geometry projects, words that fit."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from geometry.band import footprint
from tests.viz.rooms import BOTH, staged
from viz import drawing, lettering, palette, stills, views
from viz.shown import shown
from viz.stills import Style, draw_still, draw_stills
from viz.words import cautions, pictures, verdict
from viz.words.locale import Locale
from viz.words.things import kind_name

SIZE = (480, 320)
STYLE = Style(size=SIZE)
PICTURES = Path(__file__).with_name("pictures")


@lru_cache(maxsize=64)
def drawn(room: str, name: str, style: Style = STYLE):
    still = draw_still(staged(room), name, style)
    return still, np.asarray(Image.open(io.BytesIO(still.png)).convert("RGBA")).astype(int)


def colour(text: str):
    return np.round(255 * np.array(palette.rgb(text)))


def near(pixels, x, y, wanted, within=1, far=40):
    """Whether a pixel at most `within` away from a place has a colour, give or take `far` in all channels."""
    x, y = round(x), round(y)
    patch = pixels[max(y - within, 0) : y + within + 1, max(x - within, 0) : x + within + 1, :3]
    return bool((np.abs(patch - colour(wanted)).max(axis=-1) <= far).any())


NAMES = [(room, name) for room in sorted(BOTH) for name in views.usual(staged(room))]


@pytest.mark.parametrize(("room", "name"), NAMES)
def test_every_view_shows_something_and_its_labels_do_not_overlap(room, name):
    still, pixels = drawn(room, name)
    assert pixels.shape == (SIZE[1], SIZE[0], 4)
    picture = pixels[: still.picture_size[1]]
    assert picture[..., :3].std() > 8
    assert len(np.unique(picture.reshape(-1, 4), axis=0)) > 200
    for one, other in combinations(still.labels, 2):
        assert not lettering.meet(one.box, other.box), (one.wish.text, other.wish.text)
    for label in still.labels:
        left, top, right, bottom = label.box
        assert left >= 0
        assert top >= 0
        assert right <= still.picture_size[0]
        assert bottom <= still.picture_size[1]


@pytest.mark.parametrize("room", sorted(BOTH))
@pytest.mark.parametrize("name", ["corner", "plan", "array"])
def test_the_pixel_at_a_projected_mouth_has_the_states_colour(room, name):
    still, pixels = drawn(room, name, Style(size=(960, 640)))
    made = staged(room)
    signs = [prop for prop in made.layer("people") if prop.kind == "mark"]
    places = {
        prop.about: still.view.project(stills.sign_place(prop, still.view), *still.picture_size)[0]
        for prop in signs
    }
    radius = 3.6 * Style(size=(960, 640)).dots_per_inch / 72
    checked = set()
    for judged in made.review.heads:
        x, y, depth = places[judged.id]
        others = [p for id, p in places.items() if id != judged.id]
        if depth < 0.05 or any(math.dist(p[:2], (x, y)) < 3 * radius for p in others):
            continue
        if not (0 <= x < still.picture_size[0] and 0 <= y < still.picture_size[1]):
            continue
        # a ring is open in the middle, others have a tick or a cross there: colour is three quarters of the way up
        assert near(pixels, x, y - 0.75 * radius, palette.STATE_COLOURS[judged.state]), judged.id
        checked.add(judged.state)
    assert len(checked) >= (1 if name == "array" or (room, name) == ("nasty", "plan") else 2)


def test_the_section_draws_the_bands_outline_where_the_geometry_projects():
    style = Style(size=(960, 640), words=False)
    still, pixels = drawn("quiet", "long", style)
    array = staged("quiet").scene.array("A1")
    band, centre = array.band, np.array(array.centre_m)
    places = []
    for side in (-1, 1):
        for angle in (band.low_deg, band.high_deg):
            for r in np.linspace(band.near_m + 0.1, 2.0, 9):
                a = math.radians(angle)
                places.append((centre[0] + side * r * math.cos(a), centre[1], centre[2] - r * math.sin(a)))
        for angle in np.linspace(band.low_deg + 2, band.high_deg - 2, 9):
            a = math.radians(angle)
            r = band.near_m
            places.append((centre[0] + side * r * math.cos(a), centre[1], centre[2] - r * math.sin(a)))
    for x, y, _ in still.view.project(places, *still.picture_size):
        assert near(pixels, x, y, palette.BAND_EDGE, far=60), (x, y)


def test_the_plan_draws_the_footprint_where_the_closed_formula_says():
    style = Style(size=(960, 640), off=("people", "tables", "sectors"), words=False)
    still, pixels = drawn("quiet", "plan", style)
    array = staged("quiet").scene.array("A1")
    x, y, z = array.centre_m
    for radius in footprint(array.band, z - 1.2):
        for angle in np.radians(np.arange(5, 360, 20)):
            at = (x + radius * math.cos(angle), y + radius * math.sin(angle), 1.2)
            across, down, _ = still.view.project(at, *still.picture_size)[0]
            assert near(pixels, across, down, palette.BAND_EDGE, far=90), (radius, angle)


def test_the_scale_is_true_and_written_into_the_file():
    style = Style(size=(960, 640), dpi=150, words=False)
    still, pixels = drawn("quiet", "plan", style)
    picture = Image.open(io.BytesIO(still.png))
    assert picture.info["dpi"] == pytest.approx((150, 150), abs=0.02)  # stored as whole pixels per metre
    ratio = float(picture.text["Pixels per metre"])
    assert ratio == pytest.approx(still.pixels_per_metre, abs=1e-3)
    # the inner faces of the walls, found in the pixels, are 8 m apart
    row = pixels[round(still.picture_size[1] * 0.47), :, :3]
    dark = np.flatnonzero(np.abs(row - colour(palette.CUT)).max(axis=1) < 12)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    left, right = runs[0], runs[-1]  # the two walls' cut faces
    assert len(left) == len(right) == pytest.approx(0.12 * ratio, abs=1.5)
    assert (right[0] - left[-1] - 1) / ratio == pytest.approx(8.0, abs=2 / ratio)
    scale = float(picture.text["Scale"].split()[0].removeprefix("1:"))
    assert scale == pytest.approx(150 / 0.0254 / ratio, abs=0.01)
    assert "Scale" not in Image.open(io.BytesIO(drawn("quiet", "corner")[0].png)).text


def test_the_ceiling_reads_in_the_plans_direction_and_is_not_mirrored():
    made = staged("quiet")
    style = Style(size=(960, 640), words=False)
    ceiling, pixels = drawn("quiet", "ceiling", style)
    plan, _ = drawn("quiet", "plan", style)
    for still in (ceiling, plan):
        left, right, up = still.view.project([(1, 4, 2), (7, 4, 2), (4, 7, 2)], *still.picture_size)
        assert left[0] < right[0]
        assert up[1] < left[1]
    # the one light of the room glows at its place, and nowhere at the mirrored one
    light = next(device for device in made.scene.overhead if device.id == "L1")
    for x, there in ((light.at_m[0], True), (8 - light.at_m[0], False)):
        at = (x + 0.3, light.at_m[1] + 0.02, light.low_m)
        across, down, _ = ceiling.view.project(at, *ceiling.picture_size)[0]
        assert near(pixels, across, down, palette.LUMINOUS, far=25) == there


def test_nothing_flickers_where_the_band_meets_the_floor():
    """Each face of the band's cut on the floor shows, though it lies only a hair above it."""
    made = staged("quiet")
    floor, cut = made.prop("shell", "floor"), made.prop("band", "A1/cut")
    view = views.view(made, "corner", 1.5)
    bare = stills.render([floor], view, (900, 600)).astype(int)
    laid = stills.render([floor, replace(cut, opacity=0.5)], view, (900, 600)).astype(int)
    middles = cut.points[cut.faces].mean(axis=1)
    corners = cut.points[cut.faces]
    areas = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    places = view.project(middles[areas > np.median(areas)], 900, 600)
    assert len(places) > 20
    for x, y, _ in places:
        assert np.abs(bare[round(y), round(x)] - laid[round(y), round(x)]).max() > 10


def test_of_two_states_in_one_place_the_worse_one_shows():
    style = Style(size=(960, 640))
    still, pixels = drawn("nasty", "plan", style)
    made = staged("nasty")
    assert made.review.head("T2-2").state == "marginal"
    assert made.review.head("T2-2-up").state == "covered"
    x, y, _ = still.view.project(made.scene.head("T2-2").middle_m, *still.picture_size)[0]
    assert near(pixels, x - 0.8 * 3.6 * style.dots_per_inch / 72, y, palette.STATE_COLOURS["marginal"])


def test_walls_stand_open_towards_the_viewer():
    made = staged("quiet")
    view = views.view(made, "corner", 1.5)
    ids = {prop.id for prop in shown(made, view)}
    outward = {f"wall/{i}": np.array(made.prop("shell", f"wall/{i}").outward) for i in range(4)}
    look = view.basis[2]
    for id, out in outward.items():
        assert (id in ids) == (out @ look > 0)
    assert "ceiling" not in ids
    inside = {prop.id for prop in shown(made, views.view(made, "camera", 1.5))}
    assert {"wall/0", "wall/1", "wall/2", "wall/3", "ceiling"} <= inside


@pytest.mark.parametrize("room", sorted(BOTH))
def test_the_corner_view_holds_everybody_and_their_zone_and_wastes_nothing(room):
    made = staged(room)
    view = views.view(made, "corner", 1.6)
    everybody = [(*head.middle_m[:2], z) for head in made.scene.heads for z in (0.0, head.middle_m[2] + 0.4)]
    at = view.project(everybody, 1600, 1000)
    assert at[:, 0].min() > 0
    assert at[:, 0].max() < 1600
    assert at[:, 1].min() > 0
    assert at[:, 1].max() < 1000
    held = view.project(views.corner(made.scene).points, 1600, 1000)
    assert held[:, :2].min() > 0
    assert (held[:, :2].max(axis=0) < (1600, 1000)).all()
    margins = (held[:, 0].min(), 1600 - held[:, 0].max(), held[:, 1].min(), 1000 - held[:, 1].max())
    assert min(margins[0] / 1600, margins[2] / 1000) < 0.06


def test_the_same_stage_gives_the_same_pixels():
    one = draw_still(staged("nasty"), "corner", STYLE)
    other = draw_still(staged("nasty"), "corner", STYLE)
    assert one.png == other.png


def test_a_transparent_picture_is_clear_beside_the_room_and_lets_what_is_behind_a_film_through():
    style = Style(size=SIZE, background="transparent", caption=False, legend=False, words=False)
    still, pixels = drawn("quiet", "corner", style)
    assert (pixels[..., 3] == 0).mean() > 0.005
    x, y, _ = still.view.project((4.0, 4.0, 0.74), *still.picture_size)[0]
    assert pixels[round(y), round(x), 3] == 255
    # laid over white it is the white picture
    _, white = drawn("quiet", "corner", replace(style, background="white"))
    alpha = pixels[..., 3:] / 255
    laid = pixels[..., :3] * alpha + 255 * (1 - alpha)
    # but for the smoothed edges of films in front of a window
    off = np.abs(laid - white[..., :3]).max(axis=2)
    assert (off > 3).mean() < 0.01
    assert off.max() < 48


def test_layers_are_switched_and_the_legend_tells_only_what_is_shown():
    made = staged("quiet")
    bare = replace(STYLE, layers=("shell", "tables"))
    still, _ = drawn("quiet", "corner", bare)
    assert not still.labels
    assert stills.legend(made, shown(made, still.view)) == []
    whole, _ = drawn("quiet", "corner")
    texts = [entry.text for entry in stills.legend(made, shown(made, whole.view))]
    assert texts == ["6 covered", "1 not covered", "elevation band"]
    assert replace(STYLE, off=("band",)).layers_of("corner") == tuple(
        name for name in STYLE.layers_of("corner") if name != "band"
    )


def test_the_ceilings_legend_has_each_kind_of_device_once_with_its_symbol():
    made = staged("nasty")
    still, _ = drawn("nasty", "ceiling")
    entries = stills.legend(made, shown(made, still.view))
    kinds = {entry.text for entry in entries if entry.sample == "symbol"}
    locale = Locale("m")
    assert kinds == {kind_name(device.kind, locale) for device in made.scene.overhead}
    assert len([e for e in entries if e.sample == "symbol"]) == len(kinds)
    assert all(entry.strokes for entry in entries if entry.sample == "symbol")


def test_a_beams_label_is_beside_it_and_every_devices_label_is_off_its_symbol():
    made = staged("nasty")
    still, _ = drawn("nasty", "ceiling", Style(size=(1600, 1000)))
    labels = {label.wish.text: label.box for label in still.labels}
    assert {device.id for device in made.scene.overhead} <= set(labels)
    for device in made.scene.overhead:
        body = made.prop("overhead", f"{device.id}/symbol")
        at = still.view.project(body.points, *still.picture_size)[:, :2]
        (left, top), (right, bottom) = at.min(axis=0), at.max(axis=0)
        if device.id == "B1":
            assert top < labels["B1"][1]
            assert labels["B1"][3] < bottom
        assert not lettering.meet(labels[device.id], (left, top, right, bottom)), device.id


def test_views_and_styles_that_do_not_exist_are_told_with_what_there_is():
    with pytest.raises(
        views.NoSuchView, match=r"there is no view 'attic'\. Choose from: corner, plan, ceiling, long, cross"
    ):
        draw_stills(staged("quiet"), ["corner", "attic"], STYLE)
    with pytest.raises(views.NoSuchView, match="seat:T1-1"):
        views.view(staged("quiet"), "seat:X9", 1.5)
    with pytest.raises(views.NoSuchView):
        views.view(staged("nasty"), "camera", 1.5)
    for wrong, said in (
        ({"size": (10, 10)}, "64 to 16000"),
        ({"dpi": 3.0}, "20 to 2400"),
        ({"on": ("roof",)}, r"there is no layer 'roof'\. Choose from: shell"),
        ({"background": "pink"}, "white, soft or transparent"),
    ):
        with pytest.raises(ValueError, match=said):
            Style(**wrong)


def test_labels_find_places_in_a_crowd_with_leaders_for_those_pushed_out():
    wishes = [
        lettering.Wish(f"w{i}", f"T1-{i}", (200 + i % 3, 150), "#000000", 4, 8.0, clear_px=(4, 4))
        for i in range(40)
    ]
    placed = lettering.place(wishes, (400, 300), 110, [])
    assert len(placed) == 40
    assert any(label.leader for label in placed)
    for one, other in combinations(placed, 2):
        assert not lettering.meet(one.box, other.box)


# ---------------------------------------------------------------- caption, legend, signs


SENTENCES = {room: " ".join(verdict.whole(staged(room).review)) for room in BOTH}
SIZES = [
    ((2400, 1500), None),
    ((3000, 1875), None),
    ((480, 320), None),
    ((1200, 750), 300.0),
    ((600, 2000), 300.0),
]


@pytest.mark.parametrize("room", sorted(BOTH))
@pytest.mark.parametrize(("size", "dpi"), SIZES)
def test_the_caption_tells_the_whole_verdict_at_every_size(room, size, dpi):
    style = Style(size=size, dpi=dpi)
    made = lettering.caption(staged(room).review, "Plan", size, style.dots_per_inch)
    told = " ".join(line[2] for line in made.lines)
    assert SENTENCES[room] in told
    review = staged(room).review
    assert cautions.coordination(Locale.of(review.scene)) in told
    assert (cautions.hold(review) or "") in told
    assert "…" not in told
    boxes = []
    for x, y, text, pt, strong, _ in made.lines:
        wide = lettering.font(round(pt * made.point_px), strong).getlength(text) / made.point_px
        boxes.append((x, y - 0.5 * pt, x + wide, y + 0.4 * pt))
        assert x + wide <= size[0] / made.point_px - 10, text
        assert 0 < y < made.height_pt, text
    for one, other in combinations(boxes, 2):
        assert not lettering.meet(one, other)
    still = draw_still(staged(room), "plan", style) if size[0] < 1000 else None
    assert still is None or still.picture_size[1] > 0.3 * size[1]


def signs_of(room, name, monkeypatch):
    """The signs drawn in the picture (not in legend and caption), the still, and a sign's radius."""
    drawn = []
    real = lettering.mark

    def noted(image, kind, at, colour, radius):
        drawn.append((kind, at, radius))
        real(image, kind, at, colour, radius)

    monkeypatch.setattr(lettering, "mark", noted)
    style = Style(size=(960, 640), legend=False, caption=False)
    still = draw_still(staged(room), name, style)
    monkeypatch.undo()
    return drawn, still


@pytest.mark.parametrize(
    ("room", "name"), [*NAMES, ("file", "cross:A2"), ("file", "plan"), ("file", "corner")]
)
def test_no_sign_hides_another_or_lies_under_a_label_and_the_legend_counts_what_is_seen(
    room, name, monkeypatch
):
    drawn, still = signs_of(room, name, monkeypatch)
    made = staged(room)
    for (_, one, radius), (_, other, _) in combinations(drawn, 2):
        assert math.dist(one, other) > 2.2 * radius
    for _, (x, y), radius in drawn:
        box = (x - radius, y - radius, x + radius, y + radius)
        assert not any(lettering.meet(box, label.box) for label in still.labels)
    props = shown(made, still.view)
    entries = {e.sample: e.text for e in stills.legend(made, props, still.view, still.picture_size)}
    # nobody is blocked in these rooms: a diamond is what blocks a line
    assert not made.review.counts.blocked
    for state, sign in palette.STATE_MARKS.items():
        if state == "blocked":
            continue
        seen = sum(kind == sign for kind, _, _ in drawn)
        everybody = sum(head.standing == state for head in made.review.heads)
        talkers = getattr(made.review.counts, state)
        assert (sign in entries) == (seen > 0)
        if seen:
            assert entries[sign] == pictures.signs(state, seen, everybody, talkers, Locale.of(made.scene))
    assert ("diamond" in entries) == any(kind == "diamond" for kind, _, _ in drawn)


def test_legends_count_talkers_and_their_signs():
    metric = Locale("m")
    assert pictures.signs("covered", 8, 8, 8, metric) == "8 covered"
    assert pictures.signs("covered", 5, 8, 8, metric) == "5 of 8 covered shown"
    assert pictures.signs("missed", 7, 7, 4, metric) == "not covered: 4 talkers (7 positions)"
    assert pictures.signs("missed", 3, 7, 4, metric) == "not covered: 3 of 7 positions shown"
    assert pictures.signs("covered", 12, 12, 4, metric) == "covered: 4 talkers (12 positions)"
    assert pictures.signs("covered", 4, 4, 0, metric) == "covered: nobody throughout (4 positions)"


def test_heads_one_behind_the_other_all_show_with_a_line_to_where_they_are():
    places = lettering.apart([(50, 50), (51, 50), (50.5, 50), (200, 50)], 10)
    assert places[0] == (50, 50)
    assert places[3] == (200, 50)
    assert places[1][1] < 50  # upwards first
    for one, other in combinations(places, 2):
        assert math.dist(one, other) > 9.9
    # in the section along the row each has its sign and its name
    still = draw_still(staged("file"), "cross:A2", Style(size=(960, 640)))
    names = {label.wish.text for label in still.labels}
    assert {"B1", "B2", "B3"} <= names


def test_what_blocks_a_sightline_has_the_sign_of_blocked_talkers_and_of_no_others(monkeypatch):
    made = staged("file")
    stops = [p for p in made.layer("sightlines") if p.kind == "mark"]
    assert stops
    assert {p.text for p in stops} == {palette.BLOCKED_MARK}
    assert [state for state, mark in palette.STATE_MARKS.items() if mark == palette.BLOCKED_MARK] == [
        "blocked"
    ]
    assert not any(head.standing == "blocked" for head in made.review.heads)
    drawn, _ = signs_of("file", "plan", monkeypatch)
    assert 1 <= sum(kind == palette.BLOCKED_MARK for kind, _, _ in drawn) <= len(stops)
    texts = {e.text for e in stills.legend(made, shown(made, views.view(made, "plan", 1.5)))}
    assert {"blocked sight", "what blocks it"} <= texts


@pytest.mark.parametrize("room", sorted(BOTH))
@pytest.mark.parametrize("name", ["plan", "long", "cross"])
def test_upright_dimensions_are_written_along_their_lines(room, name):
    still, _ = drawn(room, name, Style(size=(960, 640)))
    made = staged(room)
    upright = 0
    for label in still.labels:
        if not label.wish.id.startswith("dimensions/"):
            continue
        line = made.prop("dimensions", label.wish.id.removeprefix("dimensions/").removesuffix("/label"))
        (x0, y0, _), (x1, y1, _) = still.view.project(line.points[:2], *still.picture_size)
        left, top, right, bottom = label.box
        assert label.wish.turned == (abs(y1 - y0) > abs(x1 - x0))
        assert (bottom - top > right - left) == label.wish.turned
        upright += label.wish.turned
        if label.wish.centred and not label.leader:
            assert min(x0, x1) - 30 <= left
            assert right <= max(x0, x1) + 30
    assert upright >= 2


def test_soft_pictures_are_of_one_piece_and_transparent_ones_have_words_on_paper():
    _, soft = drawn("quiet", "plan", replace(STYLE, background="soft"))
    grounds = {tuple(soft[y, x]) for y, x in ((2, 2), (2, -3), (-3, 2), (-3, -3))}
    assert grounds == {(*colour(palette.BACKDROP).astype(int), 255)}
    still, clear = drawn("quiet", "plan", replace(STYLE, background="transparent"))
    assert clear[2, 2, 3] == 0
    strip = clear[still.picture_size[1] :]
    assert (strip[..., 3] == 255).all()
    assert tuple(strip[-1, 0, :3]) == (255, 255, 255)
    # laid on a dark slide, a dimension's line has a light rim: it can be told from the slide
    line = staged("quiet").prop("dimensions", "room/width")
    (x0, y0, _), (x1, _, _) = still.view.project(line.points[:2], *still.picture_size)
    column = clear[round(y0) - 4 : round(y0) + 5, round(x0 + 0.2 * (x1 - x0))]
    alpha = column[:, 3:] / 255
    laid = column[:, :3] * alpha + 15 * (1 - alpha)
    assert laid.max() > 200


# ---------------------------------------------------------------- what views hold


@pytest.mark.parametrize("room", [*sorted(BOTH), "file"])
def test_looking_down_holds_everybody_an_array_serves_and_stretches_nobody(room):
    made = staged(room)
    for array in made.scene.arrays:
        view = views.view(made, f"array:{array.id}", 1.9)
        assert view.eye[:2] == array.centre_m[:2]  # azimuths are the array's
        assert view.eye[2] >= array.centre_m[2] + 0.5
        served = [h for h in made.review.heads if h.array == array.id]
        crowns = [(*h.mouth_m[:2], h.mouth_m[2] + 0.16) for h in served]
        across, down, away = view.project([*crowns, array.centre_m], 1900, 1000).T
        assert across.min() > 20
        assert across.max() < 1880
        assert down.min() > 20
        assert down.max() < 980
        # how slantingly anybody is seen: metres aside for each metre down
        slopes = np.hypot(*(np.array([*crowns, array.centre_m])[:, :2] - view.eye[:2]).T) / away
        assert slopes.max() < 1.15
        said = stills.described(view, made.scene)
        assert said.startswith(f"From above the array · {array.id}, from ")
        assert said.endswith(" above floor")


def test_what_a_shifted_lens_projects_is_where_it_is_drawn():
    """The eye stays on the array's axis though its talkers are all to one side."""
    made = staged("file")
    view = views.view(made, "array:A2", 1.6)
    assert abs(view.shift[0]) + abs(view.shift[1]) > 0.1
    style = Style(size=(960, 640), words=False, caption=False, legend=False)
    still = draw_still(made, "array:A2", style)
    pixels = np.asarray(Image.open(io.BytesIO(still.png)).convert("RGB")).astype(int)
    for name in ("seated", "standing"):
        edge = made.prop("footprint", f"A2/{name}/edge")
        at = edge.points[edge.segments].mean(axis=1)
        seen = 0
        for x, y, _ in still.view.project(at, *still.picture_size):
            if 5 < x < 950 and 5 < y < still.picture_size[1] - 5:
                seen += near(pixels, x, y, palette.BAND_EDGE, far=90)
        assert seen > 30, name


def test_a_caption_says_which_array_it_is_of_where_there_are_several():
    one, two = staged("quiet"), staged("nasty")
    for kind, said in (("long", "Long section"), ("cross", "Cross section")):
        assert stills.described(views.view(one, kind, 1.5), one.scene) == said
        assert stills.described(views.view(two, kind, 1.5), two.scene) == f"{said} · A1"
        assert stills.described(views.view(two, f"{kind}:A2", 1.5), two.scene) == f"{said} · A2"


@pytest.mark.parametrize("aspect", [1.9, 1.3])
def test_a_seat_sees_its_array_the_zone_and_who_sits_across(aspect):
    made = staged("quiet")
    straight = 0
    for head in made.scene.heads:
        view = views.view(made, f"seat:{head.id}", aspect)
        look = view.basis[2]
        turn = (math.degrees(math.atan2(look[1], look[0])) - head.facing_deg + 180) % 360 - 180
        straight += abs(turn) < 0.01
        assert abs(turn) <= 34.01
        assert {"arrays", "band"} <= set(view.layers)
        body = made.prop("arrays", "A1/body")
        across, down, away = view.project(body.points, round(1000 * aspect), 1000).T
        assert away.min() > 0
        assert across.min() > 0
        assert across.max() < 1000 * aspect
        assert down.min() > 0
        # eye level, where the others are, is in the picture too
        x, y, z = view.eye
        [_, level, _] = view.project([x + 1000 * look[0], y + 1000 * look[1], z], 1000, 1000)[0]
        assert 500 <= level < 800
    assert straight >= 1


def test_a_table_that_is_cut_off_its_middle_keeps_its_legs():
    made = staged("file")
    view = views.view(made, "long", 1.6)
    at, direction = (np.array(v) for v in view.cut)
    whole = made.prop("tables", "T1/legs")
    assert ((whole.points - at) @ direction).max() < 0  # all of them before the plane
    legs = next(p for p in shown(made, view) if p.id == "T1/legs")
    assert ((legs.points - at) @ direction).min() > 0
    moved = view.project(legs.points, 1600, 1000)[:, :2] - view.project(whole.points, 1600, 1000)[:, :2]
    assert np.abs(moved).max() < 1e-6


def test_a_section_tells_of_the_arrays_near_its_plane_only():
    made = staged("file")
    long, cross = (
        {(p.layer, p.about) for p in shown(made, views.view(made, f"{kind}:A1", 1.6))}
        for kind in ("long", "cross")
    )
    for layer in ("arrays", "band", "dimensions", "labels"):
        assert (layer, "A1") in long & cross
        assert (layer, "A2") in long, layer  # 0.2 m before the plane
    assert ("band", "A2") not in cross


def test_an_array_on_a_grid_tee_is_ringed_on_the_ceiling_plan():
    made = staged("file")
    (ring,) = [p for p in made.layer("clearances") if p.legend == "on a ceiling-grid tee"]
    assert ring.about == "A1"
    entries = stills.legend(made, shown(made, views.view(made, "ceiling", 1.6)))
    assert ("dashes", "on a ceiling-grid tee") in {(e.sample, e.text) for e in entries}


def test_a_machine_that_cannot_draw_is_told_what_to_install_and_what_works_without(monkeypatch):
    monkeypatch.delenv(drawing.WINDOW_VARIABLE, raising=False)
    tried = []
    monkeypatch.setattr(drawing, "probe", lambda way: tried.append(way) or "no driver")
    drawing.ready.cache_clear()
    try:
        with pytest.raises(drawing.GraphicsMissing) as told:
            drawing.ready()
    finally:
        drawing.ready.cache_clear()
    assert sorted(tried) == sorted(drawing.WAYS)
    assert told.value.exit_status == 3
    assert "apt install libegl1 libgl1-mesa-dri" in str(told.value)
    assert "check, place" in str(told.value)


def test_the_probe_survives_a_driver_that_ends_the_process(monkeypatch):
    monkeypatch.setattr(drawing, "_PROBE", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)")
    assert drawing.probe("") == "no driver"
    monkeypatch.setattr(drawing, "_PROBE", "print('drew [0, 0, 0]')")
    assert drawing.probe("") == "drew nothing"


STORED = [("quiet", "corner"), ("quiet", "long"), ("nasty", "corner"), ("nasty", "ceiling")]


@pytest.mark.parametrize(("room", "name"), STORED)
def test_it_looks_as_it_did(room, name, tmp_path):
    """A stored picture, give or take another driver's rounding. On a difference look at both, then decide."""
    style = Style(size=(420, 262))
    still, pixels = drawn(room, name, style)
    stored = PICTURES / f"{room}-{name}.png"
    expected = np.asarray(Image.open(stored).convert("RGBA")).astype(int)
    apart = np.abs(pixels - expected)[..., :3]
    seen = tmp_path / stored.name
    seen.write_bytes(still.png)
    assert apart.mean() < 2.0, f"compare {seen} with {stored}"
    assert (apart.max(axis=-1) > 60).mean() < 0.01, f"compare {seen} with {stored}"


def test_a_long_room_name_is_told_whole_over_two_lines_and_one_long_word_is_cut_within_its_width():
    made = staged("quiet").review
    long = "Large assembly room of the northern wing with the bay window over the river and the old stair"
    named = replace(made, scene=replace(made.scene, name=long))
    told = lettering.caption(named, "Plan", (2400, 1500), 220)
    strong = [line for line in told.lines if line[3] == 12]
    assert len(strong) > 1
    assert " ".join(text for _, _, text, *_ in strong) == long
    ys = [y for _, y, *_ in strong]
    (seen,) = [y for _, y, text, *_ in told.lines if text == "Plan"]
    assert min(np.diff([*ys, seen])) >= 12
    one = replace(made, scene=replace(made.scene, name="Grossraumbesprechungszimmer" * 5))
    told = lettering.caption(one, "Plan", (2400, 1500), 220)
    (x, _, text, size, *_) = told.lines[0]
    (array,) = {round(line[0]) for line in told.lines if line[2].startswith("A1  ")}
    assert text.endswith("…")
    assert x + lettering.font(round(size * 220 / 72), True).getlength(text) * 72 / 220 < array
