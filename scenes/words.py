"""Lengths for modules of this floor that still make text; viz/words has the rest.

A function leaves with its last user here, and this module with its last function.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from scenes.spec.lengths import METRES_IN, UNITS


def format_length(metres: float, units: str, *, inch_fraction: int = 16) -> str:
    """A length for people: `2.20 m`, `220 cm`, `2200 mm`; in ft `7'-2 5/8"` and in inches `86 5/8"`.

    Metres are rounded to 1 cm, cm and mm to whole ones, feet and inches to the nearest 1/`inch_fraction` inch
    (1, 2, 4, 8, 16, 32 or 64), halves away from zero. What rounds to nothing has no sign. Raises `ValueError`
    for another unit or fraction and for a length that is not finite.
    """
    if units not in METRES_IN:
        raise ValueError(f"units {units!r}: allowed is one of {', '.join(UNITS)}")
    if not math.isfinite(metres):
        raise ValueError(f"metres {metres!r}: allowed is a finite length")
    if inch_fraction not in (1, 2, 4, 8, 16, 32, 64):
        raise ValueError(f"inch_fraction {inch_fraction!r}: allowed is 1, 2, 4, 8, 16, 32 or 64")
    # The shortest decimal text again, so that 2.675 m rounds as it reads.
    length = Fraction(repr(abs(float(metres))))
    step = {"m": METRES_IN["cm"], "cm": METRES_IN["cm"], "mm": METRES_IN["mm"]}.get(
        units, METRES_IN["in"] / inch_fraction
    )
    steps = math.floor(length / step + Fraction(1, 2))
    sign = "-" if metres < 0 and steps else ""
    if units == "m":
        return f"{sign}{steps // 100}.{steps % 100:02d} m"
    if units in ("cm", "mm"):
        return f"{sign}{steps} {units}"
    whole, parts = divmod(steps, inch_fraction)
    rest = Fraction(parts, inch_fraction)
    fraction = f" {rest.numerator}/{rest.denominator}" if rest else ""
    if units == "in":
        return f'{sign}{whole}{fraction}"' if whole or not rest else f'{sign}{fraction.strip()}"'
    return f"{sign}{whole // 12}'-{whole % 12}{fraction}\""


SHORTEST_IN_FEET_IN: Final = 36
"""Inches from which lengths are told in feet and inches: what is of a room's size, not of a hand's."""


def readable_length(metres: float, units: str, *, inch_fraction: int = 8) -> str:
    """A length in the one style of all outputs: `2.20 m` in metric rooms, else `7'-2 5/8"`, or `28 1/2"` under 3 feet.

    Rounded as `format_length` does, whose errors it raises.
    """
    if units not in ("ft", "in"):
        return format_length(metres, "m")
    # what rounds to 3 feet is told as 3 feet
    limit_m = (SHORTEST_IN_FEET_IN - 0.5 / inch_fraction) * float(METRES_IN["in"])
    return format_length(metres, "in" if abs(metres) < limit_m - 1e-9 else "ft", inch_fraction=inch_fraction)


def length(metres: float, units: str) -> str:
    """A length as the room's designer writes it: centimetres in metric rooms, eighths of an inch otherwise."""
    return readable_length(metres, units)


def area(square_metres: float, units: str) -> str:
    """An area in the room's own units: `29.7 m²`, `384 ft²`."""
    if units in ("ft", "in"):
        return f"{square_metres / 0.3048**2:.0f} ft²"
    return f"{square_metres:.1f} m²"
