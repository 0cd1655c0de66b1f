"""The zone cut open towards the viewer: what is taken away, what stands, how it fades, what it tints on tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.band import slack
from tests.viz.rooms import BOTH, staged
from viz import palette, views
from viz.shown import shown
from viz.stage.band import table_m
from viz.stage.opened import FADES_M, OPEN_DEG, opened

EYE = np.array([-3.0, -4.0, 4.5])


def zone(room: str, part: str = ""):
    scene = staged(room).scene
    return [prop for prop in opened(scene, scene.arrays[0], EYE) if part in prop.id]


def off_axis_deg(points, centre):
    """How far aside of the way to the eye points lie on plan, seen from the array."""
    away, eye = points[:, :2] - centre[:2], EYE[:2] - centre[:2]
    turn = np.arctan2(away[:, 1], away[:, 0]) - math.atan2(eye[1], eye[0])
    return np.abs((np.degrees(turn) + 180) % 360 - 180)


@pytest.mark.parametrize("room", sorted(BOTH))
def test_the_half_towards_the_viewer_is_taken_away(room):
    array = staged(room).scene.arrays[0]
    films = [prop for prop in zone(room) if prop.fade is not None]
    assert {"outer", "face"} <= {prop.id.rsplit("/", 1)[1] for prop in films}
    for prop in films:
        assert off_axis_deg(prop.points, np.array(array.centre_m)).min() > OPEN_DEG - 0.01, prop.id
    (rear,) = [prop for prop in films if prop.id.endswith("/outer")]
    assert off_axis_deg(rear.points, np.array(array.centre_m)).max() > 170


@pytest.mark.parametrize("room", sorted(BOTH))
def test_films_lie_on_the_surface_of_the_band_and_are_gone_below_the_tables(room):
    scene = staged(room).scene
    array, low = scene.arrays[0], table_m(scene) - FADES_M
    for prop in zone(room):
        if prop.fade is None:
            continue
        away = prop.points - np.array(array.centre_m)
        off = slack(array.band, np.hypot(away[:, 0], away[:, 1]), -away[:, 2])
        assert np.all(off > -0.006) if prop.id.endswith("/face") else np.all(np.abs(off) < 0.006), prop.id
        assert np.all(prop.fade[prop.points[:, 2] <= low] == 0)
        assert prop.fade.max() <= 0.56


def test_a_table_is_tinted_where_it_lies_in_the_zone_and_not_in_its_hollow():
    scene = staged("quiet").scene
    (array,), table = scene.arrays, scene.tables[0]
    tinted = [prop for prop in zone("quiet") if prop.colour == palette.TABLE_TINTED]
    corners = [prop.points[prop.faces][:, :, :2] for prop in tinted]
    area = sum(shapely.area(shapely.polygons(at)).sum() for at in corners)
    # a fine grid of places on the table, each asked the band itself
    x0, y0, x1, y1 = shapely.Polygon(table.outline_m).bounds
    x, y = np.meshgrid(np.arange(x0, x1, 0.01) + 0.005, np.arange(y0, y1, 0.01) + 0.005)
    inside = shapely.contains_xy(shapely.Polygon(table.outline_m), x, y)
    cx, cy, cz = array.centre_m
    heard = slack(array.band, np.hypot(x - cx, y - cy), np.full(x.shape, cz - table.height_m)) > 0
    assert area == pytest.approx((inside & heard).sum() * 1e-4, rel=0.01)
    assert (inside & ~heard).sum() * 1e-4 > 0.1


def test_only_the_corner_picture_has_the_zone_open():
    made = staged("quiet")
    for name, expected in (("corner", True), ("long", False), ("seat:S1", False)):
        if name not in views.names(made):
            name = next(one for one in views.names(made) if one.startswith("seat:"))
        ids = {prop.id for prop in shown(made, views.view(made, name, 1.6)) if prop.layer == "band"}
        assert any("/opened/" in id for id in ids) == expected, name
        assert ids


def test_people_are_tinted_by_how_they_stand_and_nobody_is_seen_through():
    made = staged("nasty")
    standing = {head.id: head.standing for head in made.review.heads}
    tops = {prop.about: prop for prop in made.layer("people") if prop.id.endswith("/top")}
    assert {standing[id] for id in tops} >= {"missed", "marginal"}
    for id, prop in tops.items():
        assert prop.colour == palette.clay("top", standing[id])
    assert palette.clay("top", "missed") != palette.clay("top", "covered") != palette.clay("top", None)
    people = [prop for prop in made.layer("people") if prop.kind == "mesh" and prop.fade is None]
    assert all(prop.opacity == 1 for prop in people)
