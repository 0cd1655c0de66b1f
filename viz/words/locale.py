"""Numbers as text in a room's units, and messages by name: what every output shows comes through here.

Roundings lean to the safe side: a margin, a tolerance and what there is of a clearance down, a shortfall and
what is to be moved up, a proven bound away from what is claimed. A minus is U+2212.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Final, Literal

from geometry.records import record

if TYPE_CHECKING:
    from scenes.room.scene import Scene

Language = Literal["en-GB", "en-US"]
Message = str | tuple[str, str]
"""A template; or one for a count of one, and one for every other count."""

MINUS: Final = "\u2212"
DASH: Final = "–"
"""What stands where there is no value."""

_Way = Literal["nearest", "down", "up"]

_POUND_KG: Final = 0.45359237
"""Exact, by the international yard and pound agreement of 1959."""
_INCH_M: Final = Fraction(254, 10000)
_FOOT_IN: Final = 12
_SAME_STEP: Final = Fraction(1, 10**7)
"""Of a step: a length that misses a whole step by less is that step but for the last bit of its float."""
_ROUGH_STEP: Final = 1e-6
_ROUGH_STEPS: Final = 1e8
"""Farther than this share of a step from where the step changes, a float says it, up to so many steps."""
_SAME_M: Final = 1e-9
"""A margin nearer to nothing than this is nothing, as a review judges it."""
_LITTLE_MM: Final = 10
"""Under so many millimetres a margin is in millimetres."""
_LITTLE_16TH: Final = 4
"""Under so many sixteenths of an inch a margin is in sixteenths."""


@cache
def messages(language: Language) -> Mapping[str, Message]:
    """Every message of a language by its name."""
    if language == "en-US":
        from viz.words.american import SPELT

        return SPELT
    from viz.words.english import MESSAGES

    return MESSAGES


@record(frozen=True, slots=True)
class Locale:
    """How one room's outputs write numbers and which language they speak.

    Every length is metres in and text out: metric for units of m, cm and mm, else feet and inches.
    """

    units: str
    language: Language = "en-GB"

    @classmethod
    def of(cls, scene: Scene) -> Locale:
        """The locale of a room's outputs: the units of its file, the language of its document."""
        return cls(scene.units, scene.document.language)

    @property
    def imperial(self) -> bool:
        """Whether lengths are given in feet and inches."""
        return self.units in ("ft", "in")

    @property
    def unit_m(self) -> float:
        """What scales and axes count in, metres: a metre or a foot."""
        return float(_INCH_M * _FOOT_IN) if self.imperial else 1.0

    @property
    def unit(self) -> str:
        """The name of what scales and axes count in."""
        return "ft" if self.imperial else "m"

    def tick(self, units: float) -> str:
        """A number on an axis that counts in `unit`: `2.5`, `8'`."""
        return f"{plain(units)}'" if self.imperial else f"{units:.1f}"

    def bar(self, units: float) -> str:
        """How long a scale bar is: `2 m`, `5 ft`."""
        return f"{plain(units)} {self.unit}"

    @property
    def least_m(self) -> float:
        """The least that is shown as more than nothing, metres: a millimetre, or a sixteenth of an inch."""
        return float(_INCH_M / 16) if self.imperial else 0.001

    # ---- messages

    def say(self, message: str, count: int | None = None, **values: str | int) -> str:
        """The message of that name with its values set in; `count` chooses its form and is a value too.

        KeyError for a name or a value that is missing, ValueError for a message with forms without a count.
        """
        text = messages(self.language)[message]
        if not isinstance(text, str):
            if count is None:
                raise ValueError(f"message {message!r} has a form for one and for several: give its count")
            text = text[0] if count == 1 else text[1]
        return text.format(**values) if count is None else text.format(count=count, **values)

    def listed(self, things: Sequence[str], most: int = 4) -> str:
        """`T1-1`, `T1-1 and T1-2`, `T1-1, T1-2 and T1-3`, or the first few `and 9 more`."""
        if len(things) > most:
            shown = things[: most - 1]
            return self.say("list.more", first=", ".join(shown), more=len(things) - len(shown))
        if len(things) < 2:
            return "".join(things)
        return self.say("list.and", first=", ".join(things[:-1]), last=things[-1])

    def either(self, things: Sequence[str]) -> str:
        """`lights`, `lights or sensors`, `lights, exit signs or sensors`."""
        if len(things) < 2:
            return "".join(things)
        return self.say("list.or", first=", ".join(things[:-1]), last=things[-1])

    def counted(self, count: int, thing: str) -> str:
        """`1 talker`, `8 talkers`: the thing is the name of a message `count.…`."""
        return self.say(f"count.{thing}", count)

    # ---- lengths: metres in; a value that is not there is a dash

    def length(self, metres: float | None) -> str:
        """A place or a size, nearest: `2.20 m`; `7'-2 5/8"`, or `8 1/2"` under a foot."""
        if metres is None:
            return DASH
        if self.imperial:
            return self._inches(metres, 8, "nearest")
        return self._signed(metres, _steps(metres, _mm(10), "nearest"), _metres_of_cm)

    def height(self, metres: float | None) -> str:
        """A hanging height, nearest: `2.20 m`, `2.235 m` where it is no whole centimetre; to 1/16 inch."""
        if metres is None:
            return DASH
        if self.imperial:
            return self._inches(metres, 16, "nearest")
        millimetres = _steps(metres, _mm(1), "nearest")
        return self.length(metres) if millimetres % 10 == 0 else f"{number(metres, 3)} m"

    def between(self, low_m: float, high_m: float) -> str:
        """From where to where, ends as `length`: `2.09–2.54 m`, `6'-10" – 8'-4"`; one length where both read alike."""
        low, high = self.length(low_m), self.length(high_m)
        if low == high:
            return low
        return f"{low} – {high}" if self.imperial else f"{low.removesuffix(' m')}–{high}"

    def within(self, low_m: float, high_m: float) -> str:
        """From where to where at most, ends rounded inwards: `1.99–2.20 m`; as one height where that leaves but one."""
        for step in self._height_steps:
            low, high = _steps(low_m, step, "up"), _steps(high_m, step, "down")
            if low < high:
                ends = self.height(float(low * step)), self.height(float(high * step))
                return " – ".join(ends) if self.imperial else f"{ends[0].removesuffix(' m')}–{ends[1]}"
        return self.height(self.inwards((low_m + high_m) / 2, low_m, high_m))

    def inwards(self, metres: float, low_m: float, high_m: float) -> float:
        """The height that `height` writes nearest to one and not outside a stretch, metres."""
        step = self._height_steps[-1]
        low, high = _steps(low_m, step, "up"), _steps(high_m, step, "down")
        if low > high:
            return metres
        return float(min(max(_steps(metres, step, "nearest"), low), high) * step)

    @property
    def _height_steps(self) -> tuple[Fraction, Fraction]:
        """Steps in which heights are written: first as most are, then as fine as any."""
        return (_INCH_M / 8, _INCH_M / 16) if self.imperial else (_mm(10), _mm(1))

    def size(self, wide_m: float, deep_m: float) -> str:
        """Two sizes of one thing: `1.20 m × 0.30 m`."""
        return f"{self.length(wide_m)} × {self.length(deep_m)}"

    def as_written(self, metres: float) -> str:
        """A length in the file's own units, for comparing it with what stands there: `2460 mm`, `2.46 m`."""
        if self.imperial:
            return self.length(metres)
        unit = self.units if self.units in ("cm", "mm") else "m"
        return f"{plain(round(metres * {'m': 1, 'cm': 100, 'mm': 1000}[unit], 6))} {unit}"

    def site(self, metres: float | None) -> str:
        """What is set out on site, nearest, to the millimetre where it has any: `2.20 m`, `2.165 m`; to 1/16 inch."""
        if metres is None:
            return DASH
        if self.imperial:
            return self._inches(metres, 16, "nearest")
        return self._signed(metres, _steps(metres, _mm(1), "nearest"), _site_text)

    def apart(self, metres: float) -> str:
        """How far two values are apart that read alike: `3.0 mm`, `0.12"`."""
        return f'{metres / float(_INCH_M):.2f}"' if self.imperial else f"{metres * 1000:.1f} mm"

    def clearance(self, metres: float | None) -> str:
        """What is to be between two things, nearest, to the millimetre or 1/16 inch: `480 mm`, `1250 mm`."""
        return DASH if metres is None else self._fine(metres, 0, "nearest")

    def actual(self, metres: float | None) -> str:
        """What is between two things, always down, in the same steps: `479 mm`; deeper where one is in the other."""
        return DASH if metres is None else self._fine(metres, 0, _lower(metres))

    def needed(self, metres: float) -> str:
        """How far something is to be moved, up, in the same steps."""
        return self._fine(metres, 0, "up")

    def margin(self, metres: float | None) -> str:
        """A margin with its sign, always down: `+22 cm`, `−1.27 m`, `+7 mm`; no sign for what is nothing."""
        if metres is None:
            return DASH
        if abs(metres) < _SAME_M:
            metres = 0.0
        text = self.spare(metres) if metres >= 0 else self.shortfall(-metres)
        sign = "+" if metres >= 0 else MINUS
        return f"{sign}{text}" if metres < 0 or metres >= self.least_m - _SAME_M else text

    def spare(self, metres: float) -> str:
        """What there is of a margin, down and without a sign: `22 cm`, `1.27 m`, `7 mm`; `8 3/4"`."""
        return self._margin(metres, "down")

    def margin_step(self, metres: float) -> str:
        """A contour of a map of margins: `0`, `10 cm`; `4"`."""
        return self._margin(metres, "nearest") if metres > 0 else "0"

    def shortfall(self, metres: float | None) -> str:
        """How much is missing, up and without a sign, in the same steps as `spare`."""
        return DASH if metres is None else self._margin(metres, "up")

    def tolerance(self, metres: float) -> str:
        """How far something may be from where it is drawn, down and without a sign: `25 mm`; to 1/16 inch."""
        if self.imperial:
            return self._inches(metres, 16, "down")
        return _only_mm(_steps(metres, _mm(1), "down"))

    def at_least(self, metres: float) -> str:
        """A proven lower bound, down to the millimetre (1/16 inch) that proofs are good for: `10.3 cm`."""
        return self._bound(metres, "down" if metres >= 0 else "up")

    def at_most(self, metres: float) -> str:
        """A proven upper bound, up to the millimetre (1/16 inch) that proofs are good for: `1.847 m`."""
        return self._bound(metres, "up" if metres >= 0 else "down")

    def pair(self, actual_m: float, required_m: float) -> tuple[str, str]:
        """What there is and what is required: too little never reads as enough, nor enough as too little.

        As `actual` and `clearance`, finer where those would.
        """
        enough, way = actual_m >= required_m - _SAME_M, _lower(actual_m)

        def as_judged(step: Fraction) -> bool:
            there = math.copysign(_steps(actual_m, step, way), actual_m)
            return (there >= math.copysign(_steps(required_m, step, "nearest"), required_m)) == enough

        finest = len(self._clearance_steps) - 1
        digits = next((i for i in range(finest) if as_judged(self._clearance_steps[i])), finest)
        return self._fine(actual_m, digits, way), self._fine(required_m, digits, "nearest")

    @property
    def _clearance_steps(self) -> tuple[Fraction, Fraction, Fraction]:
        """Steps in which clearances are written: first as most are, then finer."""
        if self.imperial:
            return _INCH_M / 16, _INCH_M / 64, _INCH_M / 1000
        return _mm(1), _mm(1) / 10, _mm(1) / 100

    def _fine(self, metres: float, digits: int, way: _Way) -> str:
        """A clearance in one of the steps that clearances are written in."""
        steps = _steps(metres, self._clearance_steps[digits], way)
        if self.imperial:
            per_inch = (16, 64, 1000)[digits]
            if digits == 2:
                return self._signed(metres, steps, lambda count: f'{count / 1000:.3f}"')
            return self._signed(metres, steps, lambda count: _inch_text(Fraction(count, per_inch)))
        if digits:
            return self._signed(metres, steps, lambda count: f"{count / 10**digits:.{digits}f} mm")
        return self._signed(metres, steps, _only_mm)

    def dimension(self, metres: float) -> str:
        """A length as drawings write it, nearest: whole millimetres without a unit; feet and inches to 1/16."""
        return self._drawn(self._drawn_steps(metres))

    def chained(self, metres: Sequence[float]) -> list[str]:
        """The links of a chain of dimensions, so that they add up to what the whole chain reads.

        Each is rounded down, and what the whole is more goes to the largest remainders, of equal ones to the longer
        link, then to the first.
        """
        exact = [Fraction(repr(round(float(length), 9))) / self._drawn_step for length in metres]
        steps = [math.floor(length) for length in exact]
        over = math.floor(sum(exact) + Fraction(1, 2)) - sum(steps)
        for i in sorted(range(len(exact)), key=lambda i: (steps[i] - exact[i], -exact[i], i))[:over]:
            steps[i] += 1
        return [self._drawn(count) for count in steps]

    def risen(self, levels_m: Sequence[float]) -> list[str]:
        """What lies between levels one over the other, so that each reads the same from below as from the floor."""
        steps = [self._drawn_steps(level) for level in levels_m]
        return [self._drawn(above - below) for below, above in itertools.pairwise(steps)]

    def drawn_size(self, wide_m: float, deep_m: float) -> str:
        """Two sizes of one thing as drawings write them: `1200 × 300`."""
        return f"{self.dimension(wide_m)} × {self.dimension(deep_m)}"

    def drawn_between(self, low_m: float, high_m: float) -> str:
        """From which level to which as drawings write them: `1070–1240`; one where both read alike."""
        low, high = self.dimension(low_m), self.dimension(high_m)
        if low == high:
            return low
        return f"{low} – {high}" if self.imperial else f"{low}–{high}"

    @property
    def _drawn_step(self) -> Fraction:
        return _INCH_M / 16 if self.imperial else _mm(1)

    def _drawn_steps(self, metres: float) -> int:
        return int(math.copysign(1, metres)) * _steps(metres, self._drawn_step, "nearest")

    def _drawn(self, steps: int) -> str:
        text = _inch_text(Fraction(abs(steps), 16)) if self.imperial else str(abs(steps))
        return f"{MINUS if steps < 0 else ''}{text}"

    def _margin(self, metres: float, way: _Way) -> str:
        """Whole centimetres, little in millimetres; eighths of an inch, little in sixteenths."""
        if self.imperial:
            little = _steps(metres, _INCH_M / 16, way) < _LITTLE_16TH
            return self._inches(metres, 16 if little else 8, way)
        little = _steps(metres, _mm(1), way) < _LITTLE_MM
        return _mm_text(_steps(metres, _mm(1), way)) if little else _cm_text(_steps(metres, _mm(10), way))

    def _bound(self, metres: float, way: _Way) -> str:
        if self.imperial:
            return self._inches(metres, 16, way)
        return self._signed(metres, _steps(metres, _mm(1), way), _tenths_text)

    def _inches(self, metres: float, per_inch: int, way: _Way) -> str:
        steps = _steps(metres, _INCH_M / per_inch, way)
        return self._signed(metres, steps, lambda count: _inch_text(Fraction(count, per_inch)))

    @staticmethod
    def _signed(metres: float, steps: int, text: Callable[[int], str]) -> str:
        return f"{MINUS if metres < 0 and steps else ''}{text(steps)}"

    # ---- other quantities

    def area(self, square_metres: float) -> str:
        """An area: `29.7 m²`, `384 ft²`."""
        if self.imperial:
            return f"{square_metres / float(_INCH_M * _FOOT_IN) ** 2:.0f} ft²"
        return f"{square_metres:.1f} m²"

    def volume(self, cubic_metres: float) -> str:
        """A volume: `84 m³`, `2967 ft³`."""
        if self.imperial:
            return f"{cubic_metres / float(_INCH_M * _FOOT_IN) ** 3:.0f} ft³"
        return f"{cubic_metres:.0f} m³"

    def share(self, part: float) -> str:
        """A share of a whole, down to whole per cent so that all but all is not all: `98 %`."""
        return f"{math.floor(100 * part + 1e-6)} %"

    def fine_share(self, part: float) -> str:
        """A share of people to a tenth of a per cent: `94.9 %`."""
        return f"{number(100 * part)} %"

    def of_hundred(self, part: float) -> int:
        """How many of a hundred people, nearest: 100 and 0 only of all but a two-thousandth."""
        nearest = round(100 * part)
        return nearest if not 0.0005 < part < 0.9995 else min(max(nearest, 1), 99)

    def average(self, covered: float, most: int) -> str:
        """So many of `most` in the mean, to a tenth; all of them only of all but a two-thousandth."""
        if covered > most * 0.9995:
            return str(most)
        return number(min(round(covered, 1), most - 0.1))

    def level(self, decibels: float | None, *, signed: bool = False) -> str:
        """A level or a ratio in decibels, to a tenth and without its unit: `62.1`, signed `+3.2`."""
        return DASH if decibels is None else number(decibels, signed=signed)

    def mass(self, kilograms: float | None) -> str:
        """A mass, to the gram: `2.4 kg`; in feet and inches pounds first, up: `5.3 lb (2.4 kg)`."""
        if kilograms is None:
            return DASH
        metric = f"{plain(round(kilograms, 3))} kg"
        if not self.imperial:
            return metric
        return f"{plain(math.ceil(kilograms / _POUND_KG * 10 - 1e-6) / 10)} lb ({metric})"

    def angle(self, degrees: float | None) -> str:
        """An angle to a tenth of a degree: `34.4°`."""
        return DASH if degrees is None else f"{number(degrees)}°"

    def angle_at_least(self, degrees: float) -> str:
        """A proven lower bound of an angle, down to a hundredth of a degree."""
        return f"{number(math.floor(degrees * 100) / 100, 2)}°"

    def angle_at_most(self, degrees: float) -> str:
        """A proven upper bound of an angle, up to a hundredth of a degree."""
        return f"{number(math.ceil(degrees * 100) / 100, 2)}°"

    def from_centre(self, degrees: float | None) -> str:
        """An angle from the middle of a band, with its sign: `+3.2°`, `−0.4°`, `0.0°`."""
        return DASH if degrees is None else f"{number(degrees, signed=True)}°"

    def edge(self, degrees: float) -> str:
        """An angle as it was given: `26°`, `7.5°`."""
        return f"{plain(degrees)}°"

    def edges(self, low_deg: float, high_deg: float) -> str:
        """From which angle to which: `24–69°`."""
        return f"{plain(low_deg)}–{plain(high_deg)}°"


def number(value: float, decimals: int = 1, *, signed: bool = False) -> str:
    """A plain number, nearest: `62.1`; signed `+3.2`, `−0.4`. What rounds to nothing has no sign."""
    text = f"{abs(value):.{decimals}f}"
    if not float(text):
        return text
    return f"{MINUS if value < 0 else '+' if signed else ''}{text}"


def plain(value: float) -> str:
    """A number as it was given: `35`, `0.5`."""
    return f"{value:g}".replace("-", MINUS)


def ratio(denominator: float) -> str:
    """A scale as drawings write it: `1:50`."""
    return f"1:{plain(denominator)}"


# ---------------------------------------------------------------- how lengths are rounded and written


def _mm(count: int) -> Fraction:
    return Fraction(count, 1000)


def _steps(metres: float, step_m: Fraction, way: _Way) -> int:
    """How many steps there are in a length without its sign; halves away from zero. ValueError if not finite."""
    if not math.isfinite(metres):
        raise ValueError(f"metres {metres!r}: allowed is a finite length")
    rough = abs(float(metres)) * step_m.denominator / step_m.numerator
    # where the step changes, and how far from there a float is good enough
    off = (rough + (0.5 if way == "nearest" else 0.0)) % 1.0
    if rough < _ROUGH_STEPS and _ROUGH_STEP < off < 1 - _ROUGH_STEP:
        return math.ceil(rough) if way == "up" else math.floor(rough + (0.5 if way == "nearest" else 0.0))
    return _exact_steps(metres, step_m, way)


def _lower(metres: float) -> _Way:
    """Which way down is: `_steps` counts without a sign."""
    return "down" if metres >= 0 else "up"


def _exact_steps(metres: float, step_m: Fraction, way: _Way) -> int:
    """The same for every length, without rounding on the way."""
    # the shortest decimal text of a float is what was meant: 2.675 m rounds as it reads
    steps = Fraction(repr(abs(float(metres)))) / step_m
    if way == "nearest":
        return math.floor(steps + Fraction(1, 2))
    return math.floor(steps + _SAME_STEP) if way == "down" else math.ceil(steps - _SAME_STEP)


def _metres_of_cm(centimetres: int) -> str:
    return f"{centimetres // 100}.{centimetres % 100:02d} m"


def _cm_text(centimetres: int) -> str:
    return f"{centimetres} cm" if centimetres < 100 else _metres_of_cm(centimetres)


def _only_mm(millimetres: int) -> str:
    """Clearances and tolerances, which stand in one column or sentence: never metres beside millimetres."""
    return f"{millimetres} mm"


def _mm_text(millimetres: int) -> str:
    return f"{millimetres} mm" if millimetres < 1000 else f"{millimetres // 1000}.{millimetres % 1000:03d} m"


def _site_text(millimetres: int) -> str:
    if millimetres % 10:
        return f"{millimetres // 1000}.{millimetres % 1000:03d} m"
    return _metres_of_cm(millimetres // 10)


def _tenths_text(millimetres: int) -> str:
    if millimetres < 10 or millimetres >= 1000:
        return _mm_text(millimetres)
    whole, tenths = divmod(millimetres, 10)
    return f"{whole}.{tenths} cm" if tenths else f"{whole} cm"


def _inch_text(inches: Fraction) -> str:
    """Inches under a foot, from there feet and inches, as drawings have them."""
    whole, rest = divmod(inches, 1)
    fraction = f" {rest.numerator}/{rest.denominator}" if rest else ""
    if whole >= _FOOT_IN:
        return f"{whole // _FOOT_IN}'-{whole % _FOOT_IN}{fraction}\""
    return f'{whole}{fraction}"' if whole or not rest else f'{fraction.strip()}"'
