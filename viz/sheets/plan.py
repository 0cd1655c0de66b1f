"""The floor plan: room, tables, people, and what each array covers at mouth height."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from geometry.shapes import Box, Cylinder
from scenes.findings.review import HeadReview, Review
from scenes.room.scene import Head, Scene
from viz.sheets import symbols
from viz.sheets.draft import Point, View
from viz.sheets.labels import Name, Text, around_mm, disc_mm, place_names, rectangle_mm, room_mm
from viz.sheets.plan_areas import area_names, areas
from viz.sheets.plan_arrays import array_name, insert_array, orientation_mark
from viz.sheets.plan_band import footprints
from viz.sheets.plan_chains import floor_chains
from viz.sheets.plan_room import Cut, grid_lines, opening_names, openings, section_marks, wall_names, walls
from viz.words import arrays as array_words
from viz.words import coverage


def floor_plan(view: View, review: Review, cuts: Sequence[Cut], *, bare: bool = False) -> None:
    """Room, tables, people and what each array covers at mouth height.

    `bare`: without dimensions, section marks and grid, for a page that tells them elsewhere.
    """
    scene = review.scene
    if not bare:
        grid_lines(view, scene, "grid floor", avoid=False)
    for fill in (True, False):
        for array in scene.arrays:
            footprints(view, scene, array, fill=fill)
    areas(view, review)
    walls(view, scene, scene.room.openings)
    openings(view, scene)
    for table in scene.tables:
        view.polyline("table", table.outline_m, closed=True)
    for obstacle in scene.obstacles:
        solid_outline(view, "obstacle", obstacle.solid)
        view.things[f"obstacle {obstacle.id}"] = solid_mm(view, obstacle.solid)
    _people(view, scene)
    for judged in review.heads:
        _head(view, judged, scene)
    for head in scene.heads:
        _keep_free(view, head)
    for array in scene.arrays:
        insert_array(view, review, array)
        orientation_mark(view, array)
    _cameras_and_displays(view, scene)
    if not bare:
        section_marks(view, scene, cuts)
        floor_chains(view, scene)
    wall_names(view, scene)
    # letters last, each where the drawing leaves room for it
    names = [*_names(view, scene), *area_names(view, scene)]
    place_names(view, [*names, *_head_names(view, scene), *opening_names(view, scene)])


def _cameras_and_displays(view: View, scene: Scene) -> None:
    for camera in scene.cameras:
        view.insert(
            symbols.camera_block(view.draft),
            "camera",
            camera.at_m[:2],
            turn_deg=_camera_turn(scene, camera),
            scale=view.paper(1),
            attributes={"TAG": camera.id, "HEIGHT": view.draft.locale.dimension(camera.at_m[2])},
        )
        view.symbol_box(camera.at_m[:2], 1.6)
        size = (view.to_m(3.4), view.to_m(1.9))
        view.things[f"camera {camera.id}"] = rectangle_mm(
            view, camera.at_m[:2], size, _camera_turn(scene, camera)
        )
    for display in scene.displays:
        left, right = display.corners_m[0], display.corners_m[1]
        view.polyline("display", [left[:2], right[:2]], const_width=view.paper(0.8))
        view.symbol_box(display.at_m[:2], 1.0)
        line = shapely.LineString([view.to_mm(left[:2]), view.to_mm(right[:2])])
        view.things[f"display {display.id}"] = line.buffer(0.4)


def _names(view: View, scene: Scene) -> list[Name]:
    """The names of all but people: tables carry theirs on their tops."""
    room, around = room_mm(view, scene.room.outline_m), around_mm(view, scene.room.outline_m)
    names = [array_name(view, scene, one, array_words.of(one, view.draft.locale)) for one in scene.arrays]
    for table in scene.tables:
        top = shapely.Polygon([view.to_mm(point) for point in table.outline_m])
        names.append(Name("", (Text((table.id,), top), Text((table.id,), room)), outward_deg=180.0, on=top))
    others = [
        *((f"display {one.id}", one.id) for one in scene.displays),
        *((f"camera {one.id}", one.id) for one in scene.cameras),
        *((f"obstacle {one.id}", one.id) for one in scene.obstacles),
    ]
    return names + [Name(key, (Text((id,), room), Text((id,), around))) for key, id in others]


def _head_names(view: View, scene: Scene) -> list[Name]:
    """The names of heads, behind them: the row of letters follows the row of people."""
    room, around = room_mm(view, scene.room.outline_m), around_mm(view, scene.room.outline_m)
    return [
        Name(f"head {one.id}", (Text((one.id,), room), Text((one.id,), around)), one.facing_deg + 180)
        for one in scene.heads
    ]


def _people(view: View, scene: Scene) -> None:
    for head in scene.heads:
        if head.path_m:
            view.polyline("seat", head.path_m)
            continue
        if any(other.at_m == head.at_m for other in scene.heads[: scene.heads.index(head)]):
            continue  # the same person standing up
        if head.posture == "seated":
            view.insert(symbols.chair_block(view.draft), "seat", head.at_m, turn_deg=head.facing_deg)
        view.insert(symbols.figure_block(view.draft), "seat", head.at_m, turn_deg=head.facing_deg)
        facing = math.radians(head.facing_deg)
        for back, radius in ((0.1, 0.1), (0.15, 0.2), (0.35, 0.2)):
            x, y = head.at_m[0] - back * math.cos(facing), head.at_m[1] - back * math.sin(facing)
            n = [
                view.to_mm((x + radius * dx, y + radius * dy))
                for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))
            ]
            view.segments.extend((*a, *b) for a, b in itertools.pairwise(n))


def _head(view: View, head: HeadReview, scene: Scene) -> None:
    """A talker's mark with its data; the thing that has a name is the mark with chair and figure."""
    said = coverage.talker(head, scene)
    at = (head.mouth_m[0], head.mouth_m[1])
    view.insert(
        symbols.head_block(view.draft, head.standing),
        head.standing,
        at,
        scale=view.paper(1),
        attributes={
            "TAG": said.id,
            "STATE": said.state,
            "POSTURE": said.posture,
            "MOUTH": said.mouth,
            "MARGIN": said.margin,
            "ARRAY": said.array,
        },
    )
    view.symbol_box(at, 1.0)


def _keep_free(view: View, head: Head) -> None:
    """Where a talker is drawn, for letters to keep off it."""
    at = head.middle_m[:2]
    mark = disc_mm(view, at, 1.0)
    if not head.path_m:
        back, wide = ((-0.19, 0.0), (0.5, 0.5)) if head.posture == "seated" else ((-0.1, 0.0), (0.25, 0.45))
        turn = math.radians(head.facing_deg)
        middle = (at[0] + back[0] * math.cos(turn), at[1] + back[0] * math.sin(turn))
        mark = mark.union(rectangle_mm(view, middle, wide, head.facing_deg))
    view.things[f"head {head.id}"] = mark


def _camera_turn(scene: Scene, camera: Any) -> float:
    if camera.aim_m is not None:
        aim = camera.aim_m
    else:
        aim = np.mean([head.middle_m for head in scene.heads], axis=0)
    return math.degrees(math.atan2(aim[1] - camera.at_m[1], aim[0] - camera.at_m[0]))


def _solid_middle(solid: Any) -> Point:
    middle = solid.middle_m if hasattr(solid, "middle_m") else solid.start_m
    return float(middle[0]), float(middle[1])


def solid_mm(view: View, solid: Any) -> Any:
    """The outline of an obstacle as a shape on paper."""
    at = _solid_middle(solid)
    if isinstance(solid, Cylinder):
        return disc_mm(view, at, view.to_mm((solid.radius_m, 0))[0])
    return rectangle_mm(view, at, solid.size_m[:2], solid.turn_deg)


def solid_outline(view: View, role: str, solid: Any) -> None:
    x, y = _solid_middle(solid)
    if isinstance(solid, Cylinder):
        view.circle(role, (x, y), solid.radius_m)
    elif isinstance(solid, Box):
        turn = math.radians(solid.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        w, d = solid.size_m[0] / 2, solid.size_m[1] / 2
        corners = [(x + u * c - v * s, y + u * s + v * c) for u, v in ((-w, -d), (w, -d), (w, d), (-w, d))]
        view.polyline(role, corners, closed=True)
        view.line(role, corners[0], corners[2])
        view.line(role, corners[1], corners[3])
