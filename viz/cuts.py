"""A stage cut by a plane, with cut faces filled: what plans and sections show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.records import record
from viz import palette as ink
from viz.forms import Form
from viz.stage import Prop
from viz.stage.props import NO_FACES
from viz.views import View

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

CAP_COLOURS = {"shell": ink.CUT, "tables": ink.TABLE_LINE, "band": ink.BAND}
NEAR_CUT_M = 0.35
"""Arrays this near to a section's plane are drawn with it, bands and dimensions included."""
BEHIND_M = -0.08
"""A thing whose middle is this far in front of the plane is still drawn whole."""


@record(frozen=True, eq=False)
class Plane:
    """A plane through `at`; what lies in `direction` of it is kept. `level`: it cuts a plan, not a section."""

    at: Floats
    direction: Floats
    level: bool

    def behind(self, points: Floats) -> Floats:
        """How far points (…, 3) lie behind it, metres: what is in front of it is negative."""
        return np.asarray((points - self.at) @ self.direction)


def cut(props: Sequence[Prop], view: View) -> Iterator[Prop]:
    """The props cut by the view's plane, with cut faces filled.

    Walls, floors, ceilings, tables and the band are cut; people, devices and arrays stay whole, or are
    left out if they are in front of the plane: that is how sections are drawn.
    """
    assert view.cut is not None
    at, direction = (np.asarray(v, float) for v in view.cut)
    plane = Plane(at, direction, view.kind in ("plan", "ceiling"))
    groups: dict[tuple[str, str], list[Prop]] = {}
    middles = _middles(props)
    legs = {} if plane.level else _legs_behind(props, plane)
    off = set() if plane.level else _arrays_off(props, middles, plane)
    for prop in props:
        if prop.id in legs:
            yield legs[prop.id]
        elif prop.about in off and _goes_with_its_array(prop, plane, middles):
            continue
        elif (prop.about not in off and _whole_array(prop, plane)) or _uncut(prop, plane):
            yield prop
        elif _capped(prop):
            groups.setdefault((prop.layer, prop.solid), []).append(prop)
        else:
            yield from _kept(prop, plane, middles)
    for (layer, solid), several in groups.items():
        yield from _cut_solid(layer, solid, several, plane)


def _goes_with_its_array(prop: Prop, plane: Plane, middles: Mapping[str, Floats]) -> bool:
    """Whether a prop of an array far from the plane is left out: its band, and all of one in front of the plane."""
    in_front = plane.behind(middles[prop.about]) < 0
    return prop.layer == "band" or bool(in_front and prop.layer in ("arrays", "dimensions", "labels"))


def _whole_array(prop: Prop, plane: Plane) -> bool:
    return not plane.level and (prop.layer == "arrays" or prop.id == f"array/{prop.about}")


def _uncut(prop: Prop, plane: Plane) -> bool:
    """Whether a prop is no matter of the plane: on a plan only what stands is cut."""
    if prop.layer in ("areas", "margins", "footprint", "sectors", "sightlines", "region", "dimensions"):
        return True
    return plane.level and not (prop.layer == "shell" and _stands(prop))


def _capped(prop: Prop) -> bool:
    """Whether a prop is part of a solid that is cut, and its cut face filled."""
    solid = prop.kind == "mesh" and prop.layer in CAP_COLOURS and bool(prop.solid)
    return solid and not prop.id.startswith(("display/", "camera/"))


def _kept(prop: Prop, plane: Plane, middles: Mapping[str, Floats]) -> Iterator[Prop]:
    """What is left of a prop that is no solid: words and things whole or not at all, strokes as far as they reach."""
    if prop.kind in ("label", "mark"):
        if plane.behind(np.asarray(middles.get(prop.about, prop.anchor))) > BEHIND_M:
            yield prop
    elif prop.kind == "line":
        clipped = prop if prop.layer == "overhead" else _cut_strokes(prop, plane)
        if clipped is not None and prop.layer != "band":
            yield clipped
    elif prop.fade is not None:
        if not plane.level:
            yield replace(prop, faces=prop.faces[plane.behind(prop.points[prop.faces]).min(axis=1) > -1e-9])
        elif prop.id == "shadow":
            yield prop
    elif plane.behind(middles[prop.about]) > BEHIND_M:
        yield prop


def _arrays_off(props: Iterable[Prop], middles: dict[str, Floats], plane: Plane) -> set[str]:
    """The arrays that hang farther from a section's plane: it cuts no band of theirs, or an unreadable piece."""
    ids = {prop.about for prop in props if prop.layer == "arrays" and prop.about in middles}
    return {id for id in ids if abs(plane.behind(middles[id])) > NEAR_CUT_M}


def _legs_behind(props: Iterable[Prop], plane: Plane) -> dict[str, Prop]:
    """The legs of tables whose top is cut, uncut and just behind the plane.

    Cut away, they would leave the top floating; along an orthographic view they may be moved without changing
    their place in the picture.
    """
    moved = {}
    for top in (p for p in props if p.layer == "tables" and p.id.endswith("/top")):
        side = plane.behind(top.points)
        for prop in (
            p for p in props if p.layer == "tables" and p.about == top.about and p.id.endswith("/legs")
        ):
            nearest = float(plane.behind(prop.points).min())
            if side.max() > 0 and nearest < 0.003:
                moved[prop.id] = replace(
                    prop, points=prop.points + (0.003 - nearest) * plane.direction, solid=""
                )
    return moved


def _stands(prop: Prop) -> bool:
    return prop.id.startswith(("wall/", "opening/", "obstacle/", "plenum"))


def _middles(props: Iterable[Prop]) -> dict[str, Floats]:
    """The middle of all of a thing, so that a person is shown or left out as a whole."""
    lows: dict[str, Floats] = {}
    highs: dict[str, Floats] = {}
    for prop in props:
        if len(prop.faces) and prop.layer in ("people", "overhead", "arrays", "shell"):
            low, high = prop.points.min(axis=0), prop.points.max(axis=0)
            lows[prop.about] = np.minimum(lows.get(prop.about, low), low)
            highs[prop.about] = np.maximum(highs.get(prop.about, high), high)
    return {about: (lows[about] + highs[about]) / 2 for about in lows if about}


def _cut_strokes(prop: Prop, plane: Plane) -> Prop | None:
    start, end = prop.points[prop.segments[:, 0]], prop.points[prop.segments[:, 1]]
    a, b = plane.behind(start), plane.behind(end)
    keep = (a >= 0) | (b >= 0)
    start, end, a, b = start[keep], end[keep], a[keep][:, None], b[keep][:, None]
    if not len(start):
        return None
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = start + (end - start) * (a / (a - b))
    points = np.concatenate([np.where(a < 0, crossing, start), np.where(b < 0, crossing, end)])
    here = np.arange(len(start))
    return replace(prop, points=points, segments=np.column_stack([here, here + len(start)]))


def _cut_solid(layer: str, solid: str, several: Sequence[Prop], plane: Plane) -> Iterator[Prop]:
    """A closed solid cut by the plane: what is behind it, and its cut face; of a band the cut face only."""
    points, faces = _joined(several)
    side = points @ plane.direction - float(plane.at @ plane.direction)
    if side.min() >= -1e-9:
        yield from several if layer != "band" else ()
        return
    if side.max() <= 1e-9:
        return
    points, faces, on_plane = _trimmed(points, faces, plane, mended=len(several) > 1)
    if not len(faces):
        return
    prop = several[0]
    if layer != "band":
        yield replace(prop, points=points, faces=faces[~on_plane], normals=None, solid="")
    # a hair towards the viewer, so that what ends in the plane does not show through
    used, cap = np.unique(faces[on_plane], return_inverse=True)
    if not len(used):
        return
    form = Form(points[used] - 0.001 * plane.direction, cap.reshape(-1, 3).astype(np.int64))
    if layer == "band":
        # of a band's surfaces the outer one carries the legend
        legend = next((one.legend for one in several if one.legend), "")
        yield from _band_face(replace(prop, legend=legend), solid, form, plane.direction)
    else:
        yield replace(
            prop,
            id=f"{prop.id}/cut face",
            points=form.points,
            faces=form.faces,
            normals=None,
            crease_deg=0.0,
            solid="",
            colour=ink.GLASS if prop.translucent else CAP_COLOURS[layer],
            opacity=1.0,
            shine=0.0,
            flat=True,
        )


def _joined(several: Sequence[Prop]) -> tuple[Floats, Integers]:
    """Points and faces of several props as one mesh."""
    starts = np.cumsum([0] + [len(prop.points) for prop in several])
    points = np.concatenate([prop.points for prop in several])
    return points, np.concatenate([p.faces + start for p, start in zip(several, starts, strict=False)])


def _trimmed(
    points: Floats, faces: Integers, plane: Plane, *, mended: bool
) -> tuple[Floats, Integers, NDArray[np.bool_]]:
    """A closed mesh behind the plane, and which of its faces lie in it; `mended`: points in one place are one."""
    import manifold3d

    offset = float(plane.at @ plane.direction)
    if mended:
        _, first, index = np.unique(np.round(points, 9), axis=0, return_index=True, return_inverse=True)
        points, faces = points[first], index.ravel()[faces]
    mesh = manifold3d.Mesh64(np.ascontiguousarray(points), np.ascontiguousarray(faces, np.uint64))
    x, y, z = plane.direction.tolist()
    kept = manifold3d.Manifold(mesh).trim_by_plane((x, y, z), offset).to_mesh64()
    points = np.asarray(kept.vert_properties, float)[:, :3].copy()
    faces = np.asarray(kept.tri_verts, np.int64).reshape(-1, 3)
    on_plane = np.all(np.abs((points @ plane.direction - offset)[faces]) < 1e-7, axis=1)
    return points, faces, on_plane


def _band_face(prop: Prop, solid: str, form: Form, direction: Floats) -> Iterator[Prop]:
    """A band's cut face and its edge."""
    yield replace(
        prop,
        id=f"{solid}/cut face",
        points=form.points,
        faces=form.faces,
        opacity=0.30,
        colour=ink.BAND,
        normals=np.tile(-direction, (len(form.points), 1)),
        solid="",
    )
    yield Prop(
        f"{solid}/cut edge",
        "band",
        "line",
        ink.BAND_EDGE,
        form.points - 0.001 * direction,
        NO_FACES,
        _rim(form.faces),
        width_pt=1.3,
        about=prop.about,
    )


def _rim(faces: NDArray[np.int64]) -> NDArray[np.int64]:
    """(s, 2) the edges that only one triangle has."""
    sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    edges, counts = np.unique(sides, axis=0, return_counts=True)
    return np.asarray(edges[counts == 1], np.int64)
