"""Convex pieces of plan polygons: a table's top, and what lies between a room and its convex hull.

What stands in a line must be convex (`geometry.sight`). Pieces that only touch would let a line through
that runs exactly along their seam, so every seam has a piece of its own over it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.polygons import Corners, area

Floats = NDArray[np.float64]
Point = tuple[float, float]
Ring = tuple[Point, ...]
"""Corners of a plan outline, metres, anticlockwise, not closed."""

FLAT_M = 1e-6
"""A bay no deeper than this is a straight wall but for rounding."""
COVER_M = 0.1
"""How far the cover over a bay's mouth reaches out of the hull, where nobody is."""
HALVINGS = 40
"""How often the cover of a seam is made slimmer until it is convex."""


def is_convex(ring: Sequence[Point]) -> bool:
    """Whether no corner of an anticlockwise outline turns clockwise."""
    return all(_turn(ring[k - 1], ring[k], ring[(k + 1) % len(ring)]) >= 0 for k in range(len(ring)))


def hull(points: Iterable[Point]) -> Ring:
    """The corners of the convex hull, anticlockwise from the lowest x, without those on its edges."""
    order = sorted(set(points))
    halves: list[list[Point]] = []
    for run in (order, order[::-1]):
        half: list[Point] = []
        for point in run:
            while len(half) > 1 and _turn(half[-2], half[-1], point) <= 0:
                half.pop()
            half.append(point)
        halves.append(half[:-1])
    return (*halves[0], *halves[1])


def anticlockwise(corners: Corners) -> Ring:
    """An outline, either way round, anticlockwise."""
    return tuple(corners) if area(corners) > 0 else tuple(corners)[::-1]


def bays(corners: Corners) -> tuple[Ring, ...]:
    """The areas between an outline, either way round, and its convex hull; none if it is convex.

    Each begins with the edge of the hull that closes it.
    """
    outline = anticlockwise(corners)
    corners_of_hull = set(hull(outline))
    at = [k for k, point in enumerate(outline) if point in corners_of_hull]
    found = []
    for first, last in zip(at, (*at[1:], at[0] + len(outline)), strict=True):
        chain = [outline[k % len(outline)] for k in range(first, last + 1)]
        on_edge = np.flatnonzero(_off_m(chain) <= FLAT_M).tolist()
        for start, end in itertools.pairwise(on_edge):
            if end > start + 1:
                # along the hull's edge forwards, and back along the outline
                found.append((chain[start], *chain[end:start:-1]))
    return tuple(found)


def outside_pieces(corners: Corners) -> tuple[Ring, ...]:
    """Convex pieces, overlapping, of what lies outside an outline but within its hull.

    A straight line between two places in the outline is within it exactly if it meets none of them.
    """
    found: list[Ring] = []
    for bay in bays(corners):
        pieces = convex_pieces(bay)
        found += pieces
        # who looks along the edge of the hull, from one end of the bay's mouth to the other, looks out
        a, b = bay[0], bay[1]
        behind = next(piece for piece in pieces if (a, b) in _edges(piece))
        out = np.array([b[1] - a[1], a[0] - b[0]]) / np.hypot(b[0] - a[0], b[1] - a[1])
        beyond = (np.array(a) + b) / 2 + COVER_M * out
        found.append(_over_seam(a, b, np.mean(behind, axis=0), beyond))
    return tuple(found)


def convex_pieces(corners: Corners) -> tuple[Ring, ...]:
    """Convex pieces of an outline, either way round, that overlap: together they are the area, without a seam."""
    ring = anticlockwise(corners)
    if is_convex(ring):
        return (ring,)
    pieces = _merged(_triangles(ring))
    owner = {edge: piece for piece in pieces for edge in _edges(piece)}
    seams = [(edge, piece) for edge, piece in owner.items() if edge[::-1] in owner and edge < edge[::-1]]
    covers = [
        _over_seam(a, b, np.mean(piece, axis=0), np.mean(owner[b, a], axis=0)) for (a, b), piece in seams
    ]
    return (*pieces, *covers)


def pieces_round_holes(rings: Sequence[Corners]) -> tuple[Ring, ...]:
    """Convex pieces of an area with holes, its outline first, that only touch: as few as merging triangles gives."""
    return tuple(_merged(_triangles(rings[0], rings[1:])))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _off_m(chain: Sequence[Point]) -> Floats:
    """(k,) how far each corner of a chain is from the straight line between its ends; 0 at both."""
    a, b = np.array(chain[0]), np.array(chain[-1])
    away = np.array(chain) - a
    off = np.abs(away[:, 0] * (b - a)[1] - away[:, 1] * (b - a)[0]) / np.hypot(*(b - a))
    off[[0, -1]] = 0.0
    return np.asarray(off)


def _edges(ring: Ring) -> list[tuple[Point, Point]]:
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def _triangles(ring: Corners, holes: Sequence[Corners] = ()) -> list[Ring]:
    import shapely  # most rooms and tables need no cutting

    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(ring, holes)))
    found: list[Ring] = []
    for part in parts:
        a, b, c = ((float(x), float(y)) for x, y in shapely.get_coordinates(part)[:3])
        turn = _turn(a, b, c)
        if turn:
            found.append((a, b, c) if turn > 0 else (a, c, b))
    return found


def _merged(pieces: list[Ring]) -> list[Ring]:
    """Neighbours made one wherever that is convex, across the longest edges first."""
    standing = dict(enumerate(pieces))
    owner = {edge: k for k, piece in standing.items() for edge in _edges(piece)}
    inner = [edge for edge in owner if edge[::-1] in owner and edge < edge[::-1]]
    for a, b in sorted(inner, key=lambda edge: -np.hypot(edge[1][0] - edge[0][0], edge[1][1] - edge[0][1])):
        one, other = owner[a, b], owner[b, a]
        mine, theirs = standing[one], standing[other]
        at, to = mine.index(b), theirs.index(a)
        joined = (*mine[at:], *mine[:at], *theirs[to + 1 :], *theirs[:to])
        joined = joined[:-1] if joined[-1] == joined[0] else joined
        if one != other and is_convex(joined):
            standing[one] = joined
            del standing[other]
            owner.update(dict.fromkeys(_edges(joined), one))
    return list(standing.values())


def _over_seam(a: Point, b: Point, one: object, other: object) -> Ring:
    """A convex area over the seam from a to b, within the triangles that it makes with a place on each side.

    `one` is to the left of the way from a to b, `other` to the right of it.
    """
    middle = (np.array(a) + b) / 2
    left, right = np.asarray(one, float) - middle, np.asarray(other, float) - middle
    for halved in range(HALVINGS):
        share = 0.5**halved
        p, q = middle + share * left, middle + share * right
        cover = (a, (float(q[0]), float(q[1])), b, (float(p[0]), float(p[1])))
        if is_convex(cover):
            break
    return cover
