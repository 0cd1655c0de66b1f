"""Lines of sight past solids: where a line enters and leaves each.

Lines are straight pieces between two points, thousands at once against all solids; exact for upright
boxes and cylinders, and for triangle meshes. Only a solid's inside blocks: a line that touches a face,
an edge or a corner is clear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.shapes import Box, Cylinder, Solid

Floats = NDArray[np.float64]

GRAZE_M = 1e-9
"""Solids count as this much smaller all round, so that a line along a turned face only touches it."""


@dataclass(frozen=True, slots=True, eq=False)
class Crossings:
    """Where lines pass through solids: fractions of each line, (k, m); NaN where one passes by.

    `length_m` (k,) are the lines' lengths. `blocked` (k, m) is true where a stretch lies inside.
    """

    enter: Floats
    leave: Floats
    length_m: Floats

    @property
    def blocked(self) -> NDArray[np.bool_]:
        """(k, m): true where a stretch of the line lies inside the solid."""
        return np.asarray((self.leave - self.enter) * self.length_m[:, None] > GRAZE_M)

    def first(self) -> NDArray[np.intp]:
        """(k,) which solid each line meets first; -1 where the line is free."""
        if not self.enter.shape[1]:
            return np.full(len(self.enter), -1, np.intp)
        enter = np.where(self.blocked, self.enter, np.inf)
        nearest = np.argmin(enter, axis=1)
        return np.where(np.isfinite(enter[np.arange(len(enter)), nearest]), nearest, -1)


def crossings(starts: ArrayLike, ends: ArrayLike, solids: Sequence[Solid]) -> Crossings:
    """Where k lines from `starts` to `ends`, both (k, 3), pass through m upright boxes and cylinders.

    A line that begins or ends inside a solid enters at 0 or leaves at 1. Solids without thickness
    have no inside and block nothing.
    """
    start, end = np.atleast_2d(np.asarray(starts, float)), np.atleast_2d(np.asarray(ends, float))
    if start.shape != end.shape or start.shape[-1] != 3:
        raise ValueError(f"starts are {start.shape} and ends {end.shape}; allowed is (k, 3) for both")
    along = end - start
    enter = np.full((len(start), len(solids)), np.nan)
    leave = enter.copy()
    boxes = [(column, solid) for column, solid in enumerate(solids) if isinstance(solid, Box)]
    rounds = [(column, solid) for column, solid in enumerate(solids) if isinstance(solid, Cylinder)]
    with np.errstate(divide="ignore", invalid="ignore"):
        if boxes:
            columns = [column for column, _ in boxes]
            enter[:, columns], leave[:, columns] = _through_boxes(start, along, [box for _, box in boxes])
        if rounds:
            columns = [column for column, _ in rounds]
            enter[:, columns], leave[:, columns] = _through_cylinders(
                start, along, [cylinder for _, cylinder in rounds]
            )
    enter, leave = np.maximum(enter, 0), np.minimum(leave, 1)
    hit = leave > enter
    return Crossings(
        np.where(hit, enter, np.nan), np.where(hit, leave, np.nan), np.linalg.norm(along, axis=1)
    )


def _slab(start: Floats, along: Floats, half: Floats) -> tuple[Floats, Floats]:
    """Where |start + t along| < half: fractions in and out, (inf, -inf) if nowhere."""
    one, other = (-half - start) / along, (half - start) / along
    level = along == 0
    within = np.abs(start) < half
    low = np.where(level, np.where(within, -np.inf, np.inf), np.where(along > 0, one, other))
    high = np.where(level, np.where(within, np.inf, -np.inf), np.where(along > 0, other, one))
    return low, high


def _through_boxes(start: Floats, along: Floats, boxes: Sequence[Box]) -> tuple[Floats, Floats]:
    middle = np.array([box.middle_m for box in boxes])
    half = np.array([box.size_m for box in boxes]) / 2 - GRAZE_M
    turn = np.radians([box.turn_deg for box in boxes])
    c, s = np.cos(turn), np.sin(turn)
    away = start[:, None, :] - middle
    low, high = _slab(away[..., 2], np.broadcast_to(along[:, None, 2], away.shape[:2]), half[:, 2])
    for axis, (p, q) in enumerate(((c, s), (-s, c))):
        here = away[..., 0] * p + away[..., 1] * q
        there = along[:, None, 0] * p + along[:, None, 1] * q
        # a line that runs along a turned face is level with it but for rounding
        there = np.where(np.abs(there) < 1e-15 * np.linalg.norm(along, axis=1)[:, None], 0.0, there)
        into, out = _slab(here, there, half[:, axis])
        low, high = np.maximum(low, into), np.minimum(high, out)
    return low, high


def _through_cylinders(start: Floats, along: Floats, rounds: Sequence[Cylinder]) -> tuple[Floats, Floats]:
    middle = np.array([cylinder.middle_m for cylinder in rounds])
    radius = np.array([cylinder.radius_m for cylinder in rounds]) - GRAZE_M
    half = np.array([cylinder.height_m for cylinder in rounds]) / 2 - GRAZE_M
    away = start[:, None, :] - middle
    low, high = _slab(away[..., 2], np.broadcast_to(along[:, None, 2], away.shape[:2]), half)
    # |away + t along|² = r² on plan, about the foot of the perpendicular: no cancellation far away
    run = np.hypot(along[:, 0], along[:, 1])[:, None]
    foot = -(away[..., 0] * along[:, None, 0] + away[..., 1] * along[:, None, 1]) / run**2
    across = (away[..., 0] * along[:, None, 1] - away[..., 1] * along[:, None, 0]) / run
    half_chord = np.sqrt(np.maximum(radius**2 - across**2, 0)) / run
    meets = np.abs(across) < radius
    # shorter on plan than solids are shrunk by: as good as upright, and its square may be 0
    upright = run < GRAZE_M
    within = np.hypot(away[..., 0], away[..., 1]) < radius
    into = np.where(upright, np.where(within, -np.inf, np.inf), np.where(meets, foot - half_chord, np.inf))
    out = np.where(upright, np.where(within, np.inf, -np.inf), np.where(meets, foot + half_chord, -np.inf))
    return np.maximum(low, into), np.minimum(high, out)


def mesh_crossings(starts: ArrayLike, ends: ArrayLike, vertices: ArrayLike, faces: ArrayLike) -> Crossings:
    """Where k lines first meet and last leave the surface of one triangle mesh: (k, 1).

    `vertices` (v, 3), `faces` (f, 3). For a closed mesh of any shape: a line meets it at `enter` (0 if
    it begins inside) and has left it at `leave` (1 if it ends inside).
    """
    start, end = np.atleast_2d(np.asarray(starts, float)), np.atleast_2d(np.asarray(ends, float))
    corner = np.asarray(vertices, float)[np.asarray(faces, np.intp)]
    origin, one, other = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    along = end - start
    enter, leave = np.full(len(start), np.nan), np.full(len(start), np.nan)
    for k in range(len(start)):
        normal = np.cross(along[k], other)
        lean = np.einsum("ij,ij->i", one, normal)
        away = start[k] - origin
        cross = np.cross(away, one)
        edge = 1e-12
        with np.errstate(divide="ignore", invalid="ignore"):
            u = np.einsum("ij,ij->i", away, normal) / lean
            v = np.einsum("j,ij->i", along[k], cross) / lean
            t = np.einsum("ij,ij->i", other, cross) / lean
            within = (u >= -edge) & (v >= -edge) & (u + v <= 1 + edge) & np.isfinite(t)
        at = t[within]
        ahead = np.unique(np.round(at[at > 0], 12))
        # an odd number of surfaces ahead: the line begins inside
        starts_inside = len(ahead) % 2 == 1
        on_line = ahead[ahead < 1]
        ends_inside = (len(ahead) - len(on_line)) % 2 == 1
        if len(on_line) or starts_inside:
            enter[k] = 0.0 if starts_inside else on_line[0]
            leave[k] = 1.0 if ends_inside or not len(on_line) else on_line[-1]
    return Crossings(enter[:, None], leave[:, None], np.linalg.norm(along, axis=1))
