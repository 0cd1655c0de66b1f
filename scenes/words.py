"""Lengths and a sentence for modules of this floor that still make text; viz/words has the rest.

A function leaves with its last user here, and this module with its last function.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
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


def whole_down(metres: float, units: str) -> str:
    """A tolerance, rounded down so that what is told always holds: whole centimetres, or quarter inches.

    Under a centimetre whole millimetres (a quarter inch: sixteenths), from a metre on metres (3 feet: feet).
    """
    if units in ("ft", "in"):
        part = 4 if metres >= 0.00635 - 1e-9 else 16
        return _inches(math.floor(metres / (0.0254 / part) + 1e-9) * 0.0254 / part, part)
    if 0 < metres < 0.01 - 1e-9:
        return f"{math.floor(metres * 1000 + 1e-9)} mm"
    return _centimetres(math.floor(metres * 100 + 1e-9))


def shortfall(metres: float, units: str) -> str:
    """How much is missing, rounded up: whole centimetres, or eighths of an inch; from 1 m or 3 ft on in those."""
    if units in ("ft", "in"):
        return _inches(math.ceil(metres / 0.003175 - 1e-9) * 0.003175, 8)
    return _centimetres(math.ceil(metres * 100 - 1e-9))


def at_most(metres: float, units: str) -> str:
    """A proven upper bound, rounded up to the millimetre (sixteenth of an inch) that proofs are good for."""
    return _fine(metres, units, math.ceil)


def at_least(metres: float, units: str) -> str:
    """A proven lower bound, rounded down to the millimetre (sixteenth of an inch) that proofs are good for."""
    return _fine(metres, units, math.floor)


def _fine(metres: float, units: str, rounded: Callable[[float], int]) -> str:
    # a bound is never rounded to the unsafe side, but what is a whole millimetre but for the last bit stays one
    nudge = 1e-7 if rounded is math.floor else -1e-7
    if units in ("ft", "in"):
        return _inches(rounded(metres / 0.0015875 + nudge) * 0.0015875, 16)
    millimetres = rounded(metres * 1000 + nudge)
    if abs(millimetres) >= 1000:
        return f"{millimetres / 1000:.3f} m"
    return f"{millimetres} mm" if abs(millimetres) < 10 else f"{millimetres / 10:g} cm"


def _inches(metres: float, part: int) -> str:
    # the nearest part is the part it is: rounding was done before
    return readable_length(metres, "ft", inch_fraction=part)


def _centimetres(count: int) -> str:
    return f"{count} cm" if abs(count) < 100 else f"{count / 100:.2f} m"


LEAST_TOLD_M = 0.0016
"""Less than this, a sixteenth of an inch, would be told as nothing at all in some unit."""


def not_enough(enough_m: float, best_m: float, units: str, where: str = "place") -> str:
    """That no place (or whatever `where` says) has the margin asked for, and what the best has."""
    best = (
        f"the best leaves {at_least(best_m, units) if best_m >= LEAST_TOLD_M else 'next to nothing'}"
        if best_m >= 0
        else f"the best falls short of covering everybody by {at_most(-best_m, units)}"
    )
    return f"no {where} leaves everybody a margin of {at_most(enough_m, units)} ({best})"


def signed_deg(degrees: float) -> str:
    """`+3.2°`, `-0.4°`, and `0.0°` for what rounds to nothing."""
    text = f"{degrees:+.1f}°"
    return "0.0°" if text in ("+0.0°", "-0.0°") else text


def listed(things: Sequence[str], most: int = 4) -> str:
    """`T1-1`, `T1-1 and T1-2`, `T1-1, T1-2 and T1-3`, or the first few `and 9 more`."""
    if len(things) > most:
        return f"{', '.join(things[: most - 1])} and {len(things) - most + 1} more"
    if len(things) < 2:
        return "".join(things)
    return f"{', '.join(things[:-1])} and {things[-1]}"
