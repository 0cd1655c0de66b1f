"""The floor plan: room, tables, people, and what each array covers at mouth height."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from geometry.shapes import Box, Cylinder
from scenes.findings.review import HeadReview, Review
from scenes.room.scene import Scene
from viz.sheets import symbols
from viz.sheets.draft import Point, View
from viz.sheets.plan_arrays import insert_array, name_array, orientation_mark
from viz.sheets.plan_band import footprints
from viz.sheets.plan_chains import floor_chains
from viz.sheets.plan_room import Cut, grid_lines, inside_mm, openings, section_marks, wall_names, walls
from viz.words import arrays as array_words
from viz.words import coverage


def floor_plan(view: View, review: Review, cuts: Sequence[Cut], *, bare: bool = False) -> None:
    """Room, tables, people and what each array covers at mouth height.

    `bare`: without dimensions, section marks and grid, for a page that tells them elsewhere.
    """
    scene = review.scene
    if scene.room.grid is not None and not bare:
        grid_lines(view, scene, "grid floor", avoid=False)
    for fill in (True, False):
        for array in scene.arrays:
            footprints(view, scene, array, fill=fill)
    walls(view, scene, scene.room.openings)
    openings(view, scene)
    for table in scene.tables:
        view.polyline("table", table.outline_m, closed=True)
    for obstacle in scene.obstacles:
        _solid_outline(view, "obstacle", obstacle.solid)
        x, y = _solid_middle(obstacle.solid)
        view.label([obstacle.id], (x, y), gap_mm=1.5)
    _people(view, scene)
    marks = [_head(view, head, scene) for head in review.heads]
    for array in scene.arrays:
        insert_array(view, scene, array)
        orientation_mark(view, array)
    _cameras_and_displays(view, scene)
    if not bare:
        section_marks(view, scene, cuts)
        floor_chains(view, scene)
    wall_names(view, scene)
    # letters last, each where the drawing leaves room for it
    _letter_things(view, scene)
    _letter_heads(view, scene, marks)


def _cameras_and_displays(view: View, scene: Scene) -> None:
    for camera in scene.cameras:
        view.insert(
            symbols.camera_block(view.draft),
            "camera",
            camera.at_m[:2],
            turn_deg=_camera_turn(scene, camera),
            scale=view.paper(1),
            attributes={"TAG": camera.id, "HEIGHT": view.draft.locale.length(camera.at_m[2])},
        )
        view.symbol_box(camera.at_m[:2], 1.6)
    for display in scene.displays:
        left, right = display.corners_m[0], display.corners_m[1]
        view.polyline("display", [left[:2], right[:2]], const_width=view.paper(0.8))
        view.symbol_box(display.at_m[:2], 1.0)


def _letter_things(view: View, scene: Scene) -> None:
    inside = inside_mm(view, scene)
    for array in scene.arrays:
        name_array(view, array, array_words.of(array, view.draft.locale), inside)
    for table in scene.tables:
        view.label([table.id], table.at_m, gap_mm=3.0, within=inside, leader=False, prefer=(180, 0, 135, 45))
    for display in scene.displays:
        view.label([display.id], display.at_m[:2], gap_mm=1.5, within=inside)
    for camera in scene.cameras:
        view.label([camera.id], camera.at_m[:2], gap_mm=2.2, within=inside)


def _letter_heads(view: View, scene: Scene, marks: Sequence[tuple[HeadReview, Point]]) -> None:
    inside = inside_mm(view, scene)
    for head, at in marks:
        # behind the chair, where the row of letters follows the row of people
        seated = head.posture == "seated"
        outward = math.radians(_outward_deg(scene, head))
        back = 0.46 if seated else 0.3
        behind = (at[0] + back * math.cos(outward), at[1] + back * math.sin(outward))
        turns = (0, 30, -30, 60, -60, 90, -90)
        view.label(
            [head.id], behind, gap_mm=0.6, within=inside, leader=False,
            prefer=[math.degrees(outward) + turn for turn in turns],
        )  # fmt: skip


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


def _head(view: View, head: HeadReview, scene: Scene) -> tuple[HeadReview, Point]:
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
    return head, at


def _outward_deg(scene: Scene, head: HeadReview) -> float:
    facing = next(h.facing_deg for h in scene.heads if h.id == head.id)
    return facing + 180


def _camera_turn(scene: Scene, camera: Any) -> float:
    if camera.aim_m is not None:
        aim = camera.aim_m
    else:
        aim = np.mean([head.middle_m for head in scene.heads], axis=0)
    return math.degrees(math.atan2(aim[1] - camera.at_m[1], aim[0] - camera.at_m[0]))


def _solid_middle(solid: Any) -> Point:
    middle = solid.middle_m if hasattr(solid, "middle_m") else solid.start_m
    return float(middle[0]), float(middle[1])


def _solid_outline(view: View, role: str, solid: Any) -> None:
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
