"""What the review found as props: clearances, lines of sight, where arrays may hang."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from geometry.shapes import Cylinder, Disc
from scenes.findings.clearance import Shown
from scenes.findings.review import Review
from scenes.room.ceiling import highest_m
from scenes.room.scene import Scene
from viz import palette as ink
from viz.forms import join
from viz.stage.people import MARK_M, mark_form
from viz.stage.props import (
    Floats,
    Prop,
    at_height,
    closed,
    dashes,
    label_prop,
    level_face,
    mesh_prop,
    outline_of,
    stroke_prop,
)
from viz.words import clearances as clearance_words
from viz.words.locale import Locale

PlanPolygon = tuple[Floats, tuple[Floats, ...]]
CLEARANCE_LOOKS = {"short": "near", "advised": "near", "clear": "clear"}
"""How a clearance looks by its state; others are not drawn."""


def clearances(scene: Scene, review: Review) -> list[Prop]:
    """What the findings show: a line from array to thing, what is too close hatched, a ring round an array on a tee."""
    locale = Locale.of(scene)
    props: list[Prop] = []
    for number, one in enumerate(review.clearances):
        look = CLEARANCE_LOOKS.get(one.state)
        if look is None or one.shown is None:
            continue
        id = f"{number}/{one.array}-{one.against}"
        more: dict[str, object] = {"state": one.state, "about": one.against}
        legend = clearance_words.legend(one, locale)
        if one.shown.ring is not None:
            more |= {"about": one.array or "", "only": ("ceiling",)}
            props += _ringed(id, one.shown.ring, legend, more)
        elif one.shown.line_m is not None:
            props += _measured(id, one.shown, look, legend, more)
        if look == "near" and one.actual_m is not None and one.required_m is not None:
            said, at = clearance_words.label(one, locale), _label_at(one.shown)
            props.append(label_prop(f"{id}/label", "clearances", said, at, colour=ink.CLASH, rank=2, **more))
    return props


def _measured(id: str, shown: Shown, look: str, legend: str, more: Mapping[str, object]) -> list[Prop]:
    """A line to the thing: whole where it is too close, with the thing hatched, dashed where it is clear."""
    line = [shown.line_m] if shown.line_m is not None else []
    if look == "clear":
        strokes = [dash for ends in line for dash in dashes(ends, 0.05, 0.05)]
        dashed = {"width_pt": 0.6, "opacity": 0.7, "legend": legend}
        return [stroke_prop(f"{id}/line", "clearances", strokes, ink.CLEAR, **dashed, **more)]
    props = [stroke_prop(f"{id}/line", "clearances", line, ink.CLASH, width_pt=1.6, legend=legend, **more)]
    if shown.hatch is not None:
        thing = shown.hatch
        across = 2 * thing.radius_m if isinstance(thing, Cylinder) else max(thing.size_m[:2])
        hatch = _hatched_disc(thing.middle_m[:2], max(across, 0.2) / 2 + 0.08, thing.low_m - 0.008)
        props.append(
            stroke_prop(f"{id}/hatch", "clearances", hatch, ink.CLASH, width_pt=1.1, legend=legend, **more)
        )
    return props


def _ringed(id: str, ring: Disc, legend: str, more: Mapping[str, object]) -> list[Prop]:
    """A dashed ring under the ceiling."""
    turn = np.linspace(0, 2 * math.pi, 49)
    circle = np.column_stack([np.cos(turn), np.sin(turn)]) * ring.radius_m + ring.middle_m[:2]
    strokes = dashes(at_height(circle, ring.middle_m[2] - 0.008), 0.05, 0.03)
    return [stroke_prop(f"{id}/ring", "clearances", strokes, ink.CLASH, width_pt=1.4, legend=legend, **more)]


def _label_at(shown: Shown) -> Floats:
    """Where its figures stand: in the middle of the line, or at the near side of the ring."""
    if shown.ring is not None:
        x, y, z = shown.ring.middle_m
        return np.array([x, y - shown.ring.radius_m, z - 0.008])
    return np.asarray(np.mean(np.array(shown.line_m, float), axis=0))


def _hatched_disc(at: tuple[float, float], radius: float, z: float, pitch: float = 0.035) -> list[Floats]:
    turn = np.linspace(0, 2 * math.pi, 49)
    strokes = [
        np.column_stack([at[0] + radius * np.cos(turn), at[1] + radius * np.sin(turn), np.full(49, z)])
    ]
    for offset in np.arange(-radius + pitch / 2, radius, pitch):
        half = math.sqrt(max(radius**2 - offset**2, 0))
        along, across = np.array([1, 1]) / math.sqrt(2), np.array([-1, 1]) / math.sqrt(2)
        middle = np.asarray(at) + offset * across
        strokes.append(at_height([middle - half * along, middle + half * along], z))
    return strokes


def sightlines(review: Review) -> list[Prop]:
    """The lines of sight, by what they are for; the blocked ones with a mark at what is in the way."""
    props, locale = [], Locale.of(review.scene)
    for number, line in enumerate(review.sightlines):
        blocked = line.state == "blocked"
        colour = (
            ink.CLASH
            if blocked
            else {"array": ink.BAND_EDGE, "camera": ink.INK_SOFT, "display": ink.HAIRLINE}[line.kind]
        )
        strokes = dashes([line.start_m, line.end_m], 0.07, 0.05) if blocked else [[line.start_m, line.end_m]]
        id = f"{line.kind}/{number}/{line.start}-{line.end}"
        props.append(
            stroke_prop(
                id,
                "sightlines",
                strokes,
                colour,
                width_pt=1.1 if blocked else 0.6,
                opacity=1.0 if blocked else 0.55,
                state=line.state,
                about=line.end,
                legend=locale.say("stage.blocked" if blocked else f"stage.sight.{line.kind}"),
            )
        )
        if blocked and line.blocked_at_m is not None:
            at = np.asarray(line.blocked_at_m, float)
            form = mark_form(ink.BLOCKED_MARK, MARK_M)
            props.append(
                Prop(
                    f"{id}/stop",
                    "sightlines",
                    "mark",
                    ink.CLASH,
                    form.points + at,
                    form.faces,
                    anchor=line.blocked_at_m,
                    state="blocked",
                    about=line.blocked_by or "",
                    text=ink.BLOCKED_MARK,
                    solid=f"{id}/stop",
                    legend=locale.say("stage.blocker"),
                )
            )
    return props


def region(review: Review, regions: Sequence[object], keep_outs: Sequence[PlanPolygon]) -> list[Prop]:
    """Where an array may hang (filled) and where it may not (hatched), at its height or under the ceiling."""
    scene, props, locale = review.scene, [], Locale.of(review.scene)
    unchecked = clearance_words.unchecked(review)
    legend = (
        locale.say("stage.region, unchecked", things=unchecked) if unchecked else locale.say("stage.region")
    )
    under = highest_m(scene.room) - 0.012
    for number, region in enumerate(regions):
        height = getattr(region, "height_m", None)
        z = under if height is None else min(height, under)
        polygons: Sequence[PlanPolygon] = region.polygons  # type: ignore[attr-defined]
        if not polygons:
            continue
        forms = [level_face([outline, *holes], z) for outline, holes in polygons]
        rings = [at_height(closed(ring), z) for outline, holes in polygons for ring in (outline, *holes)]
        props.append(
            mesh_prop(
                f"allowed/{number}",
                "region",
                join(*forms),
                ink.REGION,
                opacity=0.20,
                crease_deg=0.0,
                solid="",
                legend=legend,
            )
        )
        props.append(stroke_prop(f"allowed/{number}/edge", "region", rings, ink.REGION, width_pt=1.2))
    if keep_outs:
        import shapely

        shape = shapely.union_all([shapely.Polygon(outline, holes) for outline, holes in keep_outs])
        shape = shape.intersection(shapely.Polygon(outline_of(scene)))
        strokes = []
        for piece in getattr(shape, "geoms", [shape]):
            if piece.geom_type == "Polygon" and not piece.is_empty:
                strokes += [
                    at_height(np.asarray(loop.coords), under) for loop in (piece.exterior, *piece.interiors)
                ]
        (x0, y0), (x1, y1) = scene.room.bounds_m
        span = (x1 - x0) + (y1 - y0)
        for offset in np.arange(-span, span, 0.12):
            cut = shapely.LineString([(x0 + offset, y0), (x0 + offset + (y1 - y0), y1)]).intersection(shape)
            for piece in getattr(cut, "geoms", [cut]):
                if piece.geom_type == "LineString" and not piece.is_empty:
                    strokes.append(at_height(np.asarray(piece.coords), under))
        props.append(
            stroke_prop(
                "kept out",
                "region",
                strokes,
                ink.KEEP_OUT,
                width_pt=0.5,
                opacity=0.6,
                legend=locale.say("stage.keep out"),
            )
        )
    return props
