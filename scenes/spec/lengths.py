"""Lengths and masses as people write them, read into metres and kilograms."""

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

# What the numbers of a spec look like. One leading zero only: 010 is eight to some readers and ten to others.
NUMBER: Final = re.compile(r"[-+]?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][-+]?\d{1,3})?", re.ASCII)

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


LengthCode = Literal[
    "length", "length-endless", "length-comma", "length-feet", "length-inches", "length-too-long"
]


class LengthMistake(ValueError):
    """A length that cannot be read. `found` is what was written, `code` what is wrong with it.

    `metres` is what it would be where only its size is wrong.
    """

    def __init__(self, found: object, code: LengthCode, metres: float | None = None) -> None:
        super().__init__(f"{found!r}: {code}")
        self.found = found
        self.code = code
        self.metres = metres


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
        raise LengthMistake(value, "length")
    elif not -1e12 < value < 1e12:  # also nan
        raise LengthMistake(value, "length-endless")
    else:
        # The shortest decimal text of a float is what was typed: 7.2 ft is 2.19456 m, not its binary
        # neighbour.
        metres = Fraction(repr(value)) * METRES_IN[unit]
    if abs(metres) > LONGEST_M:
        raise LengthMistake(value, "length-too-long", float(metres))
    return float(metres)


def _from_text(text: str, unit: str) -> Fraction:
    if len(text) > 60:
        raise LengthMistake(text[:20] + "…", "length")
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
            raise LengthMistake(text, "length-comma")
        raise LengthMistake(text, "length")
    feet = _quantity(match[1]) if match[1] else None
    inches = _quantity(match[2]) if match[2] else Fraction(0)
    if feet is None:
        return sign * inches * METRES_IN["in"]
    if match[2] and feet.denominator != 1:
        raise LengthMistake(text, "length-feet")
    if inches >= 12:
        raise LengthMistake(text, "length-inches")
    return sign * (feet * METRES_IN["ft"] + inches * METRES_IN["in"])


def _decimal(text: str, number: str) -> Fraction:
    value = float(number)
    if not math.isfinite(value) or abs(value) > 1e12:
        raise LengthMistake(text, "length-endless")
    return Fraction(number) if abs(value) > 1e-12 else Fraction(0)


def _quantity(text: str) -> Fraction:
    return sum((Fraction(part) for part in re.split(r"[ -]", text)), Fraction(0))


# Kilograms in one unit, exact: the pound is 0.45359237 kg by the international yard and pound agreement of 1959.
KILOGRAMS_IN: Final[dict[str, Fraction]] = {
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
    "lb": Fraction(45359237, 100000000),
    "oz": Fraction(45359237, 1600000000),
}
MOST_KG: Final = 500.0
MASS_PATTERN: Final = r"^\s*\d+(\.\d+)?\s*(kg|g|lbs?|oz)?\s*$"
_MASS = re.compile(rf"({_DECIMAL}) ?(kg|g|lbs?|oz)", re.ASCII)


class MassMistake(ValueError):
    """A mass that cannot be read, or is none that hangs from a ceiling."""


def parse_mass(value: object) -> float:
    """Kilograms from a number, which is in kilograms, or a text with its unit: `2.4 kg`, `900 g`, `5 lb`, `12 oz`.

    Raises `MassMistake` for anything else, for 0 and less, and above MOST_KG.
    """
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise MassMistake
    if isinstance(value, str):
        plain = " ".join(value.translate(_PLAIN).split())
        match = _MASS.fullmatch(plain)
        if match is None and NUMBER.fullmatch(plain) is None:
            raise MassMistake
        kilograms = (
            float(plain) if match is None else float(Fraction(match[1]) * KILOGRAMS_IN[match[2].rstrip("s")])
        )
    else:
        kilograms = float(value)
    if not 0 < kilograms <= MOST_KG:  # also nan
        raise MassMistake
    return kilograms


def is_bare(value: object) -> bool:
    """Whether it is a number without a unit, quoted or not."""
    if isinstance(value, str):
        return NUMBER.fullmatch(value.strip()) is not None
    return isinstance(value, (int, float)) and not isinstance(value, bool)
