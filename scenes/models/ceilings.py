"""What a room's ceiling is: coverings over it, else the slab, else the space's own top; and the structure above.

All in the room's frame. The lowest face over each place decides, by true shapes; what differs from the
largest level becomes a part, flat or sloped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from geometry.envelope import Patch, Plane, joined, lowest
from geometry.outlines import corners_of, pieces, straightened, together, without_holes, without_slivers
from geometry.records import record
from scenes.findings.model import (
    CeilingKind,
    CeilingPart,
    CeilingSource,
    Doubt,
    ModelCeiling,
    Slope,
)
from scenes.models.spaces import LEVEL_M, STRAIGHTENED_WITHIN_M, Space

Floats = NDArray[np.float64]

LOWEST_CEILING_M: Final = 0.3
"""What is lower is a step of the floor, not a ceiling; a roof may come down nearly to it at the eaves."""
OVER_TOP_M: Final = 0.5
"""How far above a space's own top a ceiling or slab may be and still be that room's."""
NARROWEST_PART_M: Final = 0.05
"""A strip of ceiling narrower than this is a joint or a wall's edge."""
SMALLEST_PART_M2: Final = 0.02
SMALLEST_SHARE: Final = 0.005
MOST_PARTS: Final = 24
"""More planes than this over one room are a curve: they are told as flattened."""
MANY_FACES: Final = 60
"""Of a thing with more faces than this over one room only the lowest height is taken."""
VOID_M: Final = 0.05
"""A ceiling with at least this between it and the structure hangs from it."""
HALF: Final = 0.5


@record(frozen=True, slots=True)
class Over:
    """What is over a room: who it is, what its name says of the ceiling's kind, whether a curve was made level."""

    guid: str
    says: CeilingKind | None = None
    curved: bool = False


@record(frozen=True)
class Overhead:
    """What is over a room, in its frame: undersides of ceilings and of slabs and roofs, lowest faces only.

    `slab` is what the next slab or roof is over each place, `ceiling` what the ceiling is; marks are
    (source, Over).
    """

    slab: tuple[Patch, ...]
    ceiling: tuple[Patch, ...]
    curved: bool

    def slab_at(self, x: float, y: float) -> float | None:
        """The next slab or roof over a place of the plan; None where there is none."""
        return _at(self.slab, x, y)

    def ceiling_at(self, x: float, y: float) -> float | None:
        """The ceiling over a place of the plan, the nearest one's if the place is in a joint."""
        return _at(self.ceiling, x, y, anywhere=True)


def overhead(space: Space, coverings: Sequence[Patch], slabs: Sequence[Patch]) -> Overhead:
    """What is over the room, from undersides in its frame marked with `Over`."""
    room = space.outline
    slab = lowest([one for one in slabs if one.span_m[1] > LOWEST_CEILING_M], room)
    slab = [one for one in slab if one.span_m[0] > LOWEST_CEILING_M]
    under = lowest([one for one in coverings if one.span_m[0] > LOWEST_CEILING_M], room)
    own = [_marked(one, "covering") for one in under if _hangs_under(one, slab, space.top_m)]
    rest = _rest(room, own)
    if pieces(rest, SMALLEST_PART_M2):
        own += _fallback(space, slab, rest)
    own = _kept(own, room)
    curved = len(own) > MOST_PARTS or any(one.mark[1].curved for one in own)
    return Overhead(tuple(slab), tuple(_flattened(own) if len(own) > MOST_PARTS else own), curved)


def underside(faces: Sequence[Patch], room: Any) -> list[Patch]:
    """What is lowest of a thing's faces over a room; of a curve in very many faces one level at its lowest."""
    here = [one for one in faces if one.area.intersects(room)]
    if len(here) <= MANY_FACES:
        return lowest(here, room)
    inside = [replace(one, area=one.area.intersection(room)) for one in here]
    inside = [one for one in inside if one.area.area > SMALLEST_PART_M2 / 10]
    low = min((low for one in inside if (low := one.span_m[0]) > LOWEST_CEILING_M), default=0.0)
    area = together(one.area for one in inside)
    return [Patch(area, Plane(0.0, 0.0, low), replace(here[0].mark, curved=True))]


def ceiling_of(space: Space, over: Overhead) -> tuple[ModelCeiling, list[Doubt]]:
    """The room's ceiling with its parts, and what of it is not sure."""
    faces, doubts = over.ceiling, []
    described = [_part(space.outline, over, face) for face in faces]
    level = [i for i, part in enumerate(described) if part.height_m is not None]
    main = described[level[0]] if level else None
    parts = [
        piece
        for part, face in zip(described, faces, strict=True)
        if part is not main
        for piece in _pieces_of(space.outline, part, face)
    ]
    sources = {part.source for part in described}
    if "space" in sources:
        doubts.append(Doubt("room.ceiling", "ceiling-of-space", "guessed"))
    if any(
        part.source != "slab" and face.mark[1].says is None
        for part, face in zip(described, faces, strict=True)
    ):
        doubts.append(Doubt("room.ceiling.kind", "ceiling-kind", "guessed"))
    if over.curved:
        doubts.append(Doubt("room.ceiling", "ceiling-curved", "flattened"))
    if any(_levels(over.slab, face.area) for face in faces if face.mark[0] != "slab"):
        doubts.append(Doubt("room.structure", "structure-levels", "flattened"))
    if main is None:
        # nothing of it is level: the highest is the height, and parts say the rest
        first = described[0]
        top = max(part.slope.high_m for part in described if part.slope is not None)
        ceiling = ModelCeiling(top, first.kind, first.source, None, 0.0, tuple(parts))
        return ceiling, doubts
    assert main.height_m is not None
    return (
        ModelCeiling(
            main.height_m, main.kind, main.source, main.structure_m, main.share, tuple(parts), main.things
        ),
        doubts,
    )


def _at(faces: Sequence[Patch], x: float, y: float, *, anywhere: bool = False) -> float | None:
    point = shapely.Point(x, y)
    for face in faces:
        if face.area.covers(point):
            return float(face.plane.at(np.array([[x, y]]))[0])
    if not anywhere or not faces:
        return None
    near = min(faces, key=lambda face: face.area.distance(point))
    return float(near.plane.at(np.array([[x, y]]))[0])


def _marked(face: Patch, source: CeilingSource) -> Patch:
    return replace(face, mark=(source, face.mark or Over("")))


def _hangs_under(face: Patch, slabs: Sequence[Patch], top_m: float) -> bool:
    """Whether a covering is this storey's: not above the space's top by far, nor above the next slab."""
    if face.span_m[0] > top_m + OVER_TOP_M:
        return False
    points = shapely.get_coordinates(face.area.representative_point())
    above = _at(slabs, *points[0])
    return above is None or float(face.plane.at(points)[0]) <= above + LEVEL_M


def _rest(room: Polygon, faces: Sequence[Patch]) -> Any:
    """What of the room no face is over, joints left aside."""
    return without_slivers(room.difference(together(face.area for face in faces)), NARROWEST_PART_M)


def _fallback(space: Space, slab: Sequence[Patch], rest: Any) -> list[Patch]:
    """The ceiling where no covering is: the slab if it closes the space about where the space ends, else its top.

    A roof far above a space's flat top is no ceiling of it: then the space says where the room ends, and the
    slab only where it is lower still.
    """
    over = lowest(slab, rest)
    near = sum(face.area.area for face in over if _closes(space, face))
    if near >= HALF * rest.area:
        found = [_marked(face, "slab") for face in over]
        left = _rest(rest, found)
        tops = lowest(space.top, left) if pieces(left, SMALLEST_PART_M2) else []
        return found + [_marked(replace(face, mark=None), "space") for face in tops]
    marked = [replace(face, mark=("slab", face.mark)) for face in over]
    tops = [replace(face, mark=("space", Over(""))) for face in space.top]
    return lowest([*marked, *tops], rest)  # at one height the slab has it


def _closes(space: Space, slab: Patch) -> bool:
    """Whether a slab is about where the space ends over it."""
    points = shapely.get_coordinates(slab.area.representative_point())
    top = _at(space.top, *points[0])
    return top is None or float(slab.plane.at(points)[0]) <= top + OVER_TOP_M


def _kept(faces: Sequence[Patch], room: Polygon) -> list[Patch]:
    """The faces without strips; what is left over goes to the neighbour it touches most."""
    kept: list[Patch] = []
    for face in joined(faces):
        area = without_slivers(face.area, NARROWEST_PART_M)
        least = max(SMALLEST_PART_M2, SMALLEST_SHARE * room.area)
        large = together(pieces(area, least))
        if not large.is_empty:
            kept.append(replace(face, area=large))
    if not kept:
        return [max(faces, key=lambda face: face.area.area)] if faces else []
    for strip in pieces(room.difference(together(face.area for face in kept)), 1e-6):
        near = strip.buffer(NARROWEST_PART_M / 10)
        best = max(range(len(kept)), key=lambda i: kept[i].area.intersection(near).area)
        kept[best] = replace(kept[best], area=together([kept[best].area, strip]))
    return sorted(kept, key=lambda face: -face.area.area)


def _flattened(faces: Sequence[Patch]) -> list[Patch]:
    """One level face at the lowest height: a curve in too many planes, told as flattened."""
    low = min(face.span_m[0] for face in faces)
    area = together(face.area for face in faces)
    return [Patch(area, Plane(0.0, 0.0, low), faces[0].mark)]


def _part(room: Polygon, over: Overhead, face: Patch) -> CeilingPart:
    """What a face of the ceiling is, without its outline."""
    source, who = face.mark
    structure, _ = (None, False) if source == "slab" else _structure(over.slab, face)
    kind: CeilingKind
    if source == "slab":
        kind = "open"
    elif who.says is not None:
        kind = who.says
    else:
        gap = _gap(over.slab, face)
        kind = "hard" if gap is not None and gap < VOID_M else "suspended"
    level = face.plane.level
    return CeilingPart(
        outline_m=(),
        height_m=face.plane.c if level else None,
        slope=None if level else _slope(face.plane, shapely.get_coordinates(face.area)),
        kind=kind,
        source=source,
        structure_m=structure,
        share=float(face.area.area / room.area),
        things=(who.guid,) if who.guid else (),
    )


def _pieces_of(room: Polygon, part: CeilingPart, face: Patch) -> list[CeilingPart]:
    """The part once for each piece of its area, none with a hole, inside the room."""
    found = []
    for piece in pieces(face.area, SMALLEST_PART_M2):
        for simple in without_holes(straightened(piece, STRAIGHTENED_WITHIN_M).polygon):
            for inside in pieces(simple.intersection(room), SMALLEST_PART_M2):
                corners = corners_of(inside)
                slope = None if part.slope is None else _slope(face.plane, np.array(corners))
                share = float(inside.area / room.area)
                found.append(replace(part, outline_m=corners, slope=slope, share=share))
    return found


def _slope(plane: Plane, points: Floats) -> Slope:
    heights = plane.at(points)
    towards = math.degrees(math.atan2(plane.b, plane.a)) % 360
    return Slope(float(heights.min()), float(heights.max()), towards)


def _structure(slabs: Sequence[Patch], face: Patch) -> tuple[float | None, bool]:
    """The underside of the structure over a face: that of the largest share, of a sloped one the lowest."""
    here = lowest(slabs, face.area)
    if not here:
        return None, False
    return here[0].span_m[0], len(here) > 1


def _gap(slabs: Sequence[Patch], face: Patch) -> float | None:
    """Metres from a ceiling up to the structure over it, on the average over what is over it."""
    here = lowest(slabs, face.area)
    if not here:
        return None
    whole = sum(one.area.area for one in here)
    heights = [_height_of(one) * one.area.area for one in here]
    return float(sum(heights) / whole - _height_of(face))


def _height_of(face: Patch) -> float:
    """A face's height over the middle of its area: of a plane that is its mean."""
    middle = face.area.centroid
    return float(face.plane.at(np.array([[middle.x, middle.y]]))[0])


def _levels(slabs: Sequence[Patch], area: Any) -> bool:
    """Whether the structure over an area is at several heights, each over a share worth telling."""
    here = [one for one in lowest(slabs, area) if one.area.area > max(SMALLEST_PART_M2, 0.05 * area.area)]
    lows = [one.span_m[0] for one in here]
    highs = [one.span_m[1] for one in here]
    return bool(here) and max(highs) - min(lows) > LEVEL_M
