"""Tables and people as props, and the mark at each mouth."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from scenes.room.scene import Head, Scene
from viz import figures, furniture
from viz import palette as ink
from viz.forms import Form, join, moved, torus, tube
from viz.stage.props import Prop, at_height, closed, mesh_prop, stroke_prop

MARK_M = 0.05
"""Radius of a head's mark."""
CROWN_M, STEM_M = 0.18, 0.16
"""From a mouth to the crown of a figure's head, and the stem over it on which its sign stands; for looking only."""
CROWDS = ((24, 0.0), (80, 0.008), (300, 0.015))
"""Up to how many heads figures are drawn how roughly, metres; COARSEST_M beyond."""
COARSEST_M = 0.03


def tables(scene: Scene) -> list[Prop]:
    colours = {"top": ink.TABLE_TOP, "edge": ink.TABLE_EDGE, "legs": ink.TABLE_LEG}
    props = []
    for table in scene.tables:
        for part, form in furniture.table(table).items():
            props.append(mesh_prop(f"{table.id}/{part}", "tables", form, colours[part], about=table.id))
        ring = at_height(closed(table.outline_m), table.height_m + 0.001)
        props.append(
            stroke_prop(f"{table.id}/outline", "tables", [ring], ink.TABLE_LINE, width_pt=0.6, about=table.id)
        )
    return props


def people(scene: Scene, standings: Mapping[str, str]) -> list[Prop]:
    """Everybody as a figure, tinted by how they stand (`standings` by head; plain where it says nothing)."""
    import shapely

    tables = {table.id: (shapely.Polygon(table.outline_m), table.height_m) for table in scene.tables}
    props = []
    drawn: set[object] = set()
    # in a crowd each figure is small: fewer triangles keep pages and models handy
    tolerance = next((rough for most, rough in CROWDS if len(scene.heads) <= most), COARSEST_M)
    for head in scene.heads:
        # one body for a person: where else they walk or how else they stand is drawn faintly
        person: object = head.group if len(head.path_m) > 1 else head.at_m
        ghost = person in drawn
        drawn.add(person)
        parts = _figure(head, tables, tolerance)
        state = standings.get(head.id)
        colours = {part: ink.clay(part, state) for part in ink.CLAY}
        colours |= {"chair": ink.CHAIR, "base": ink.CHAIR_BASE}
        placed = {part: moved(form, (*head.at_m, 0), head.facing_deg) for part, form in parts.items()}
        if ghost:
            form = _united(placed.values())
            props.append(
                mesh_prop(
                    f"{head.id}/ghost",
                    "people",
                    form,
                    ink.elsewhere(state),
                    about=head.id,
                    crease_deg=50.0,
                )
            )
        else:
            for part, form in placed.items():
                props.append(
                    mesh_prop(
                        f"{head.id}/{part}", "people", form, colours[part], about=head.id, crease_deg=50.0
                    )
                )
        if len(head.path_m) > 1:
            path = at_height(head.path_m, 0.006)
            props.append(
                stroke_prop(f"{head.id}/path", "people", [path], ink.INK_SOFT, width_pt=1.0, about=head.id)
            )
    return props


def tinted(prop: Prop, standings: Mapping[str, str]) -> Prop:
    """A prop of the people, tinted by how they stand now; itself where that is as it was."""
    part, state = prop.id.removeprefix(f"{prop.about}/"), standings.get(prop.about)
    if part != "ghost" and part not in ink.CLAY:
        return prop
    colour = ink.elsewhere(state) if part == "ghost" else ink.clay(part, state)
    return prop if colour == prop.colour else replace(prop, colour=colour)


def _united(forms: Iterable[Form]) -> Form:
    """The outer skin of closed forms that run through each other, so that nothing inside shows through."""
    import manifold3d

    solids = []
    for form in forms:
        mesh = manifold3d.Mesh64(
            np.ascontiguousarray(form.points), np.ascontiguousarray(form.faces, np.uint64)
        )
        solids += manifold3d.Manifold(mesh).decompose()
    whole = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add).to_mesh64()
    return Form(
        np.asarray(whole.vert_properties, float)[:, :3].copy(),
        np.asarray(whole.tri_verts, np.int64).reshape(-1, 3),
    )


def _figure(head: Head, tables: dict[str, tuple[object, float]], tolerance_m: float) -> figures.Parts:
    """The figure of a head; hands on the table where there is one within reach."""
    mouth = round(head.middle_m[2], 3)
    if head.posture == "standing":
        return figures.person(mouth, None, 0.0, on_chair=False, tolerance_m=tolerance_m)
    table_m, reach = None, 0.2
    if head.table in tables:
        import shapely

        shape, height = tables[head.table]
        turn = math.radians(head.facing_deg)
        ahead = np.arange(0.10, 0.40, 0.02)
        points = shapely.points(head.at_m[0] + ahead * math.cos(turn), head.at_m[1] + ahead * math.sin(turn))
        over = ahead[shapely.contains(shape, points)]
        if len(over) and height < mouth - 0.2:
            table_m, reach = round(height, 3), round(float(np.clip(over[0] - 0.02, 0.14, 0.34)), 2)
    return figures.person(mouth, table_m, reach, on_chair=True, tolerance_m=tolerance_m)


def head_mark(head: Head, state: str) -> Prop:
    """A head's state at its mouth: a dot, a ring, a diamond or a cross, upright and facing where the head faces."""
    r = MARK_M
    turned = moved(mark_form(ink.STATE_MARKS[state], r), head.middle_m, head.facing_deg)
    return Prop(
        f"{head.id}/mark",
        "people",
        "mark",
        ink.STATE_COLOURS[state],
        turned.points,
        turned.faces,
        anchor=head.middle_m,
        state=state,
        about=head.id,
        solid=f"{head.id}/mark",
        text=ink.STATE_MARKS[state],
        legend=state,
    )


def mark_form(mark: str, r: float) -> Form:
    from viz.forms import ellipsoid

    if mark == "dot":
        return ellipsoid((0, 0, 0), (0.8 * r, 0.8 * r, 0.8 * r), 14, 8)
    if mark == "ring":
        level = torus((0, 0, 0), 0.85 * r, 0.28 * r, 24, 8)
        return Form(level.points[:, [2, 0, 1]], level.faces)
    if mark == "diamond":
        return ellipsoid((0, 0, 0), (1.1 * r, 1.1 * r, 1.1 * r), 4, 2)
    d = 0.9 * r
    return join(tube([(0, -d, -d), (0, d, d)], 0.26 * r, 8), tube([(0, -d, d), (0, d, -d)], 0.26 * r, 8))
