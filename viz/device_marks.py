"""What tells the kinds of overhead devices apart on plan, one set of marks for pictures, page and sheets."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np

from geometry.band import Floats

RUNGS: Final = 1.5
"""The rungs of a cable tray are so many of its widths apart."""
BLADES: Final = 4


def marks(kind: str, a: float, b: float) -> list[Floats]:
    """Strokes (k, 2) within the half sizes a × b about 0,0, without the outline; none where a kind has no mark."""
    drawn = MARKS.get(kind)
    return [] if drawn is None else [np.array(stroke, float) for stroke in drawn(a, b)]


Strokes = list[list[tuple[float, float]]]


def _exit_sign(a: float, b: float) -> Strokes:
    """The arrow of a sign, along it."""
    back, wide = 0.45 * a, min(0.8 * b, 0.35 * a)
    return [[(-0.8 * a, 0), (0.8 * a, 0)], [(back, wide), (0.8 * a, 0), (back, -wide)]]


def _emergency_light(a: float, b: float) -> Strokes:
    """A cross upright, and a small square in it."""
    c = 0.4 * min(a, b)
    return [[(-a, 0), (a, 0)], [(0, -b), (0, b)], [(-c, -c), (c, -c), (c, c), (-c, c), (-c, -c)]]


def _strobe(a: float, b: float) -> Strokes:
    """A flash."""
    return [[(0.25 * a, 0.85 * b), (-0.35 * a, 0.05 * b), (0.3 * a, -0.05 * b), (-0.25 * a, -0.85 * b)]]


def _sensor(a: float, b: float) -> Strokes:
    """A ring within the ring, and what it looks at to two sides."""
    return [_arc(0.4 * a, 0.4 * b, 0, 360), [(0.4 * a, 0), (a, 0)], [(-a, 0), (-0.4 * a, 0)]]


def _access_point(a: float, b: float) -> Strokes:
    """Waves that go out to one side."""
    return [_arc(part * a, part * b, 45, 135) for part in (0.3, 0.6, 0.9)]


def _access_panel(a: float, b: float) -> Strokes:
    """The door's swing: lines from its hinges to the middle of its edge."""
    return [[(-a, -b), (a, 0), (-a, b)]]


def _screen(a: float, b: float) -> Strokes:
    """The cloth on its roller, along the case."""
    end = 0.92 * a
    return [[(-end, 0), (end, 0)], [(-end, -0.5 * b), (-end, 0.5 * b)], [(end, -0.5 * b), (end, 0.5 * b)]]


def _track(a: float, b: float) -> Strokes:
    """A runner at each third."""
    return [[(x * a, -b), (x * a, b)] for x in (-2 / 3, 0.0, 2 / 3)]


def _fan(a: float, b: float) -> Strokes:
    """Blades about a hub."""
    ways = [2 * math.pi * i / BLADES + math.pi / BLADES for i in range(BLADES)]
    hub = _arc(0.15 * a, 0.15 * b, 0, 360)
    return [
        hub,
        *(
            [(0.15 * a * math.cos(w), 0.15 * b * math.sin(w)), (a * math.cos(w), b * math.sin(w))]
            for w in ways
        ),
    ]


def _duct(a: float, b: float) -> Strokes:
    """Its lining along both sides."""
    return [[(-a, side * b), (a, side * b)] for side in (-0.7, 0.7)]


def _other(a: float, b: float) -> Strokes:
    """Both diagonals."""
    return [[(-a, -b), (a, b)], [(-a, b), (a, -b)]]


def _pipe(a: float, b: float) -> Strokes:
    """Its middle line."""
    return [[(-a, 0), (a, 0)]]


def _cable_tray(a: float, b: float) -> Strokes:
    """Rungs across."""
    count = max(1, min(40, round(a / (RUNGS * b))))
    return [[(x, -b), (x, b)] for x in np.linspace(-a, a, count + 2)[1:-1].tolist()]


def _arc(a: float, b: float, start_deg: float, end_deg: float) -> list[tuple[float, float]]:
    ways = np.radians(np.linspace(start_deg, end_deg, 25))
    return list(zip((a * np.cos(ways)).tolist(), (b * np.sin(ways)).tolist(), strict=True))


MARKS: Final[dict[str, Callable[[float, float], Strokes]]] = {
    "exit sign": _exit_sign,
    "emergency light": _emergency_light,
    "strobe": _strobe,
    "sensor": _sensor,
    "access point": _access_point,
    "access panel": _access_panel,
    "screen": _screen,
    "track": _track,
    "fan": _fan,
    "duct": _duct,
    "pipe": _pipe,
    "cable tray": _cable_tray,
    "other": _other,
}
