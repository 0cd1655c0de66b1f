"""Lengths as people write them: read into metres, and written for people again."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final, Literal

Unit = Literal["m", "cm", "mm", "ft", "in"]

# Metres in one unit, exact: the foot is 0.3048 m and the inch 25.4 mm by the international yard and pound
# agreement of 1959.
METRES_IN: Final[dict[str, Fraction]] = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
    "ft": Fraction(3048, 10000),
    "in": Fraction(254, 10000),
}
UNITS: Final[tuple[str, ...]] = tuple(METRES_IN)

# A kilometre is no meeting room. The usual cause is a file in millimetres that says `units: m`.
LONGEST_M: Final = 1000.0

FORMS: Final = 'such as 2.4, "2.4 m", "240 cm", "7 ft 10 in" or 7\'-10 1/2"'
# What the numbers of a spec look like. One leading zero only: 010 is eight to some readers and ten to others.
NUMBER: Final = re.compile(r"[-+]?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][-+]?\d{1,3})?", re.ASCII)
NUMBER_FORMS: Final = (
    "a number is written in plain digits, such as 12, 0.5, -1.25 or 1.5e3: one leading zero at most, "
    "digits on both sides of the point, nothing without end"
)

_DECIMAL = r"(?:0|[1-9]\d*)(?:\.\d+)?"
_FRACTION = r"[1-9]\d*/[1-9]\d*"
_QUANTITY = rf"(?:(?:0|[1-9]\d*)[ -]{_FRACTION}|{_FRACTION}|{_DECIMAL})"
_METRIC = re.compile(rf"({_DECIMAL}(?:[eE][-+]?\d{{1,2}})?) ?(mm|cm|m)", re.ASCII)
_IMPERIAL = re.compile(
    rf"(?:({_QUANTITY}) ?(?:ft|feet|foot|'))?(?: ?-? ?({_QUANTITY}) ?(?:in|inch|inches|\"|''))?", re.ASCII
)
_BARE_IMPERIAL = re.compile(_QUANTITY, re.ASCII)

# Typographic primes, quotes, minus and fraction signs become the plain ones, so that one grammar reads both.
_PLAIN = str.maketrans(
    {
        "′": "'",
        "’": "'",
        "‘": "'",
        "″": '"',
        "”": '"',
        "“": '"',
        "−": "-",
        "–": "-",
        "⁄": "/",
        "\u00a0": " ",
        "\u202f": " ",
        "¼": " 1/4",
        "½": " 1/2",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
    }
)

# The strings `parse_length` reads, for a JSON schema. A little wider than the reader, which decides.
LENGTH_PATTERN: Final = (
    r"^\s*[-+−–]?\s*(\d+(\.\d+)?([eE][-+]?\d+)?\s*(m|cm|mm)?"
    r"|[\d][\d ./⁄¼½¾⅛⅜⅝⅞-]*\s*(ft|feet|foot|['′’])?([\s-]*[\d ./⁄¼½¾⅛⅜⅝⅞-]+\s*(in|inch|inches|[\"″”]|''))?"
    r"|[\d ./⁄¼½¾⅛⅜⅝⅞]+\s*(in|inch|inches|[\"″”]|''))\s*$"
)


class LengthMistake(ValueError):
    """A length that cannot be read. `found` is what was written, `allowed` what may be written instead."""

    def __init__(self, found: object, allowed: str) -> None:
        super().__init__(f"{found!r} is not a length: allowed is {allowed}")
        self.found = found
        self.allowed = allowed


def parse_length(value: object, unit: str) -> float:
    """Metres, of either sign, from a number or a text in one of the forms people write.

    A bare number, quoted or not, is in `unit` (m, cm, mm, ft or in). A text may carry its own unit: `2.4 m`,
    `240 cm`, `2400 mm`, `7 ft 10 in`, `7'-10 1/2"`, `90"`, `1/2 in`, with plain or typographic primes. A
    leading minus is for all of it. The decimal text is converted exactly and rounded once: `240 cm` is 2.4.

    Raises `LengthMistake` for anything else: true and false, nan and infinity, 010, 1_000, a decimal comma,
    feet with a fraction followed by inches, 12 inches or more after feet, more than 1 000 m.
    """
    if unit not in METRES_IN:
        raise ValueError(f"unit {unit!r}: allowed is one of {', '.join(UNITS)}")
    if isinstance(value, str):
        metres = _from_text(value, unit)
    elif isinstance(value, bool) or not isinstance(value, (int, float)):
        raise LengthMistake(value, f"a length {FORMS}")
    elif not -1e12 < value < 1e12:  # also nan
        raise LengthMistake(value, f"a finite length {FORMS}")
    else:
        # The shortest decimal text of a float is what was typed: 7.2 ft is 2.19456 m, not its binary
        # neighbour.
        metres = Fraction(repr(value)) * METRES_IN[unit]
    if abs(metres) > LONGEST_M:
        raise LengthMistake(
            value, f"at most {LONGEST_M:.0f} m (this is {float(metres):.6g} m; are the units right?)"
        )
    return float(metres)


def _from_text(text: str, unit: str) -> Fraction:
    if len(text) > 60:
        raise LengthMistake(text[:20] + "…", f"a length {FORMS}")
    plain = " ".join(text.translate(_PLAIN).split())
    sign = -1 if plain.startswith("-") else 1
    body = plain[1:].lstrip() if plain[:1] in ("-", "+") else plain
    if NUMBER.fullmatch(body):
        return sign * _decimal(text, body) * METRES_IN[unit]
    if match := _METRIC.fullmatch(body):
        return sign * _decimal(text, match[1]) * METRES_IN[match[2]]
    if unit in ("ft", "in") and _BARE_IMPERIAL.fullmatch(body):
        return sign * _quantity(body) * METRES_IN[unit]
    match = _IMPERIAL.fullmatch(body)
    if not body or match is None:
        if re.fullmatch(rf"[\d.]+,\d+ ?(?:{'|'.join(UNITS)})?", body):
            raise LengthMistake(text, f"a length with a decimal point, {FORMS}")
        raise LengthMistake(text, f"a length {FORMS}")
    feet = _quantity(match[1]) if match[1] else None
    inches = _quantity(match[2]) if match[2] else Fraction(0)
    if feet is None:
        return sign * inches * METRES_IN["in"]
    if match[2] and feet.denominator != 1:
        raise LengthMistake(text, f"whole feet before inches, {FORMS}")
    if inches >= 12:
        raise LengthMistake(text, f"less than 12 inches after feet, {FORMS}")
    return sign * (feet * METRES_IN["ft"] + inches * METRES_IN["in"])


def _decimal(text: str, number: str) -> Fraction:
    value = float(number)
    if not math.isfinite(value) or abs(value) > 1e12:
        raise LengthMistake(text, f"a finite length {FORMS}")
    return Fraction(number) if abs(value) > 1e-12 else Fraction(0)


def _quantity(text: str) -> Fraction:
    return sum((Fraction(part) for part in re.split(r"[ -]", text)), Fraction(0))


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
