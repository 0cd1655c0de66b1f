"""What a ceiling plan says of clearances: whose edge is kept out of where, what is asked of each device, keyed notes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Any, Final, Literal

import numpy as np
import shapely

from geometry.clearance import Hanging
from geometry.records import record
from scenes.findings.clearance import Clearance, Part
from scenes.findings.review import Review
from scenes.room.ceiling import scene_under
from scenes.rules.keep_outs import HAIR_M, KeepOut
from scenes.rules.surroundings import Site
from viz.sheets.clouds import scalloped
from viz.sheets.draft import View
from viz.sheets.plan_room import rings_of
from viz.words import clearances
from viz.words.locale import Locale

Edge = Literal["body", "cable"]
"""Whose edge may not enter an area: the body's, or that of the cable and what holds it above."""

SPACING_MM: Final[Mapping[Edge, float]] = {"body": 1.5, "cable": 3.2}
"""How far apart the lines of a hatch are: told apart without colour."""
NEAR_M: Final = 0.6
"""Of a neighbour that has so much more than is asked both figures stand at it, and a line between the two edges."""
ALONG: Final = 0.1
"""A line on plan shows what there is in space where its length is off by no more than that share: else it goes down."""
SHORTEST_MM: Final = 3.0
CLOUD_MM: Final = 0.8
BULGE_MM: Final = 0.9
"""From a thing to the cloud round it, and how far its arcs bulge."""

Edges = dict[Edge, Any]


def edges(review: Review, keep_outs: Mapping[str, Sequence[KeepOut]]) -> Edges:
    """What each edge is kept out of, as shapes: keep-outs are of the acoustic centre, so they are drawn in by the part.

    What arrays keep from each other is left out: each would stand in the hatching of the other; and what nobody
    judged, which a note says: a search keeps off it, but no hatch may look like an answer.
    """
    scene = review.scene
    found: dict[Edge, list[Any]] = {"body": [], "cable": []}
    unjudged = {(row.array, row.against, row.rule) for row in review.unjudged}
    for array in scene.arrays:
        hanging = Site(scene_under(scene, array.at_m), array).hanging if array.id in keep_outs else {}
        pieces: dict[tuple[str, str, Part | None], list[Any]] = {}
        for one in keep_outs.get(array.id, ()):
            if one.kind != "array" and (array.id, one.against, one.rule) not in unjudged:
                pieces.setdefault((one.against, one.rule, one.part), []).append(
                    shapely.Polygon(one.outline_m)
                )
        for (_, _, of), some in pieces.items():
            part: Edge = "body" if of in (None, "body", "void") else "cable"
            # as one: what a ceiling's step or a hole cuts in two has no edge there to be drawn in from
            found[part].append(drawn_in(_joined(some), hanging.get(of or "body")))
    room = shapely.Polygon(scene.room.outline_m)
    return {part: shapely.union_all(some).intersection(room) for part, some in found.items() if some}


def _joined(pieces: Sequence[Any]) -> Any:
    """Pieces of one area that touch, but for rounding, as one."""
    grown = shapely.union_all([piece.buffer(HAIR_M, join_style="mitre") for piece in pieces])
    return grown.buffer(-HAIR_M, join_style="mitre") if len(pieces) > 1 else pieces[0]


def drawn_in(area: Any, hanging: Hanging | None) -> Any:
    """An area that a middle may not enter, as one that the edge of what hangs there may not; all if nothing is left."""
    if hanging is None:
        return area
    left = area
    if max(hanging.size_m) > 0:
        turn = math.radians(hanging.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        for sx, sy in itertools.product((-0.5, 0.5), repeat=2):
            u, v = sx * hanging.size_m[0], sy * hanging.size_m[1]
            left = left.intersection(shapely.affinity.translate(area, c * u - s * v, s * u + c * v))
    left = left.buffer(-hanging.radius_m) if hanging.radius_m > 0 else left
    return area if left.is_empty else left


def draw_edges(view: View, found: Edges) -> None:
    """The areas hatched, those of the body closer; where both are it is the body's that is said."""
    body = found.get("body")
    for part, area in found.items():
        shown = area.difference(body) if part == "cable" and body is not None else area
        for rings in rings_of(shown):
            view.hatch("keep-out hatch", rings, spacing_mm=SPACING_MM[part], angle_deg=-45)
            for ring in rings:
                view.polyline("keep-out", ring, closed=True)


@record(frozen=True, slots=True)
class Asked:
    """The clearance that stands at a device: the one with the least to spare; `near`: its figures are both told."""

    row: Clearance
    near: bool

    def text(self, locale: Locale) -> str:
        return (clearances.drawn_both if self.near else clearances.drawn_required)(self.row, locale)


def asked_of(review: Review, keep_outs: Mapping[str, Sequence[KeepOut]]) -> dict[str, Asked]:
    """By device what stands at it: actual and required where it is a neighbour, what is required where it keeps out."""
    kept = {(id, one.against, one.rule) for id, some in keep_outs.items() for one in some}
    found: dict[str, Asked] = {}
    for row in sorted(review.clearances, key=lambda row: row.spare_m):
        if row.array is None or row.required_m is None or row.actual_m is None or row.against in found:
            continue
        if row.state != "off" and row.spare_m < NEAR_M and row.part != "void":
            found[row.against] = Asked(row, near=True)
    for row in review.clearances:
        if row.required_m and row.against not in found and (row.array, row.against, row.rule) in kept:
            found[row.against] = Asked(row, near=False)
    return found


def draw_lines(view: View, asked: Mapping[str, Asked]) -> None:
    """A line from edge to edge to each neighbour beside an array, as long as the figure that stands there."""
    for one in asked.values():
        line = None if one.row.shown is None else one.row.shown.line_m
        if not one.near or line is None or one.row.actual_m is None:
            continue
        (start, end), dot = (np.array(point[:2]) for point in line), view.to_m(0.45)
        long = float(np.hypot(*(end - start)))
        if abs(long - one.row.actual_m) > ALONG * one.row.actual_m or view.to_mm((long, 0))[0] < SHORTEST_MM:
            continue
        view.line("clearance", tuple(start), tuple(end))
        for at in (start, end):
            view.fill("clearance", [[(at[0] + dot * c, at[1] + dot * s) for c, s in _ROUND]])


_ROUND: Final = [(math.cos(math.radians(turn)), math.sin(math.radians(turn))) for turn in range(0, 360, 30)]


def keyed(review: Review) -> list[tuple[str, tuple[str, ...]]]:
    """What is too close, below advice or not judged: a note each, and the things it is about. Numbers are its places."""
    locale = Locale.of(review.scene)
    groups: dict[tuple[object, ...], list[Clearance]] = {}
    for row in (*review.short, *review.advised, *review.unjudged):
        if row.array is not None:
            # what nobody can judge is asked of somebody else, once for all arrays
            of = (clearances.note(row, locale),) if row.state == "unjudged" else (row.array, row.against)
            groups.setdefault((row.state, row.rule, *of), []).append(row)
    return [
        (
            " ".join(clearances.of_rows(rows, locale, judged=False)),
            tuple(dict.fromkeys(row.against for row in rows)),
        )
        for rows in groups.values()
    ]


def keys(review: Review) -> dict[str, str]:
    """By thing the numbers of its notes as they stand at it: `note 1, 3`."""
    numbers: dict[str, list[str]] = {}
    for number, (_, things) in enumerate(keyed(review), 1):
        for thing in things:
            numbers.setdefault(thing, []).append(f"{number}")
    say = Locale.of(review.scene).say
    return {thing: say("sheet.key", numbers=", ".join(some)) for thing, some in numbers.items()}


def draw_clouds(view: View, review: Review) -> None:
    """A cloud round each thing that a note is about."""
    for thing in keys(review):
        shape = view.things.get(f"device {thing}")
        if shape is not None:
            around = shape.envelope.buffer(CLOUD_MM)
            view.cloud("clash", scalloped(shapely.transform(around, lambda mm: mm * view.to_m(1.0)), view))
            # its name stands beside the cloud, not in it
            view.keep(around.buffer(BULGE_MM).bounds)
