"""The typeface of the sheets: found, measured and checked before a single letter is drawn.

Without its font a drawing library draws a sheet without text and says nothing. Here the two font files
that come with the package are the only ones used; if one is missing the sheet fails and says so. A letter
that they have no shape for is drawn as `MARK`, and `unset` tells which.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping
from configparser import ConfigParser
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from geometry.records import record
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.room.scene import Scene

Weight = Literal["regular", "semibold"]

FONTS: Final = Path(__file__).resolve().parent.parent / "fonts"
FILES: Final[dict[Weight, str]] = {
    "regular": "SourceSansPro-Regular.ttf",
    "semibold": "SourceSansPro-Semibold.ttf",
}
FAMILY: Final = "Source Sans Pro"
MARK: Final = "◌"
"""Stands for a letter that the typeface has no shape for."""
MOST_CODES: Final = 6
"""So many letters that cannot be drawn are named."""


class FontMissing(RuntimeError):
    """A font that the sheets need and this installation does not have."""

    exit_status = 3

    def __init__(self, what: str, **values: str) -> None:
        super().__init__(Locale("m").say(what, None, **values))


@contextmanager
def _nothing_of_this_machine() -> Iterator[None]:
    """While it lasts, ezdxf looks for cache and settings in the package's own folder, and reads no settings at all."""
    homes, read = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME"), ConfigParser.read
    before = {name: os.environ.get(name) for name in homes}
    os.environ.update(dict.fromkeys(homes, str(FONTS)))
    ConfigParser.read = lambda *_, **__: []  # type: ignore[method-assign]
    try:
        yield
    finally:
        ConfigParser.read = read  # type: ignore[method-assign]
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def ezdxf_module() -> Any:
    """The ezdxf package, imported without its habits of scanning this machine's fonts into a cache file and of
    reading settings out of the home and the current folder.

    The package is given a cache that holds no fonts at all (`fonts/ezdxf`) and no settings, so that a sheet looks
    the same on every machine, nothing is written outside the output asked for, and a home that cannot be entered
    stops nothing.
    """
    with _nothing_of_this_machine():
        import ezdxf
        import ezdxf.fonts.fonts as fonts
    manager = fonts.font_manager
    for name in FILES.values():
        if not (FONTS / name).is_file():
            raise FontMissing("typeface.missing", file=name, folder=FONTS.name)
        if not manager.has_font(name):
            manager.build([str(FONTS)], support_dirs=False)
    return ezdxf


@record(frozen=True, slots=True)
class Glyph:
    """One letter in font units: its outline as SVG path data (y up), its advance, its bounds or None if empty."""

    path: str
    advance: float
    bounds: tuple[float, float, float, float] | None


@cache
def _font(weight: Weight) -> Any:
    from fontTools.ttLib import TTFont, TTLibError

    path = FONTS / FILES[weight]
    try:
        return TTFont(path)
    except (OSError, TTLibError) as problem:
        raise FontMissing("typeface.unreadable", file=path.name, why=str(problem)) from problem


@cache
def glyph(letter: str, weight: Weight) -> Glyph:
    """The shape of a letter, or of the mark where the font has none."""
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.pens.svgPathPen import SVGPathPen

    shapes = _font(weight).getGlyphSet()
    name = _face(weight)[0][ord(settable(letter, weight))]
    outline, bounds = SVGPathPen(shapes), BoundsPen(shapes)
    shapes[name].draw(outline)
    shapes[name].draw(bounds)
    return Glyph(outline.getCommands(), float(shapes[name].width), bounds.bounds)


@cache
def _face(weight: Weight) -> tuple[dict[int, str], dict[str, float], float, float]:
    """Character map, advance widths, cap height and units of one weight."""
    font = _font(weight)
    glyphs = font.getGlyphSet()
    widths = {name: float(glyphs[name].width) for name in glyphs.keys()}  # noqa: SIM118 it is no dict
    pen_height = float(font["OS/2"].sCapHeight)
    return font.getBestCmap(), widths, pen_height, float(font["head"].unitsPerEm)


def check() -> None:
    """Raises FontMissing if a font of the package cannot be read."""
    for weight in FILES:
        _face(weight)


def settable(text: str, weight: Weight = "regular") -> str:
    """`text` as it can be drawn: the mark for every letter that the font has no shape for."""
    if text.isascii():  # nearly every text, and all that this program says itself
        return text
    shapes = _face(weight)[0]
    return "".join(c if ord(c) in shapes or not c.isprintable() else MARK for c in text)


def unset(scene: Scene, mark: str = MARK) -> str | None:
    """One sentence on the letters in a room's names and notes that drawings cannot set; None if they can set all.

    `mark` is what stands for each: pictures draw the typeface's own empty box.
    """
    letters = {c for text in _texts(scene) if not text.isascii() for c in plain(text)}
    wanting = sorted(c for c in letters if settable(c) != c)
    if not wanting:
        return None
    codes = [f"U+{ord(c):04X}" for c in wanting]
    locale = Locale.of(scene)
    few = ", ".join(codes[:MOST_CODES])
    if len(codes) > MOST_CODES:
        few = locale.say("list.more", first=few, more=len(codes) - MOST_CODES)
    return locale.say("typeface.unset", codes=few, mark=mark)


def _texts(told: Any) -> Iterator[str]:
    """Every text in a frozen thing, its parts and their parts."""
    if isinstance(told, str):
        yield told
    elif is_dataclass(told):
        for field in fields(told):
            yield from _texts(getattr(told, field.name))
    elif isinstance(told, Mapping):
        for key, value in told.items():
            yield from (*_texts(key), *_texts(value))
    elif isinstance(told, tuple):
        for part in told:
            yield from _texts(part)


def width(text: str, height: float, weight: Weight = "regular") -> float:
    """The drawn length of `text` for capitals of that height, in the unit of `height`.

    Advance widths without kerning: how DXF readers and our own renderings set it.
    """
    shapes, widths, capital, _ = _face(weight)
    mark = shapes[ord(MARK)]
    return sum(widths[shapes.get(ord(letter), mark)] for letter in text) * height / capital


def em_per_capital(weight: Weight = "regular") -> float:
    """Font size divided by the height of its capitals."""
    _, _, capital, em = _face(weight)
    return em / capital


def wrap(text: str, height: float, room: float, weight: Weight = "regular") -> list[str]:
    """The lines of `text` when no line may be longer than `room`; a longer word is broken where it must be."""
    lines: list[str] = []
    line = ""
    for word in _words(text):
        while width(word, height, weight) > room and len(word) > 1:
            cut = next(
                n for n in range(len(word), 0, -1) if n == 1 or width(word[:n], height, weight) <= room
            )
            if line:
                lines.append(line)
                line = ""
            lines.append(word[:cut])
            word = word[cut:]
        longer = f"{line} {word}" if line else word
        if line and width(longer, height, weight) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


FIGURE: Final = re.compile(r"(?<=\d) (?=\d+/\d|(?:mm|cm|m|kg|lb)\b)")
"""Where a space stands inside a figure: before its fraction or its unit."""


def _words(text: str) -> list[str]:
    """The words of a text; a figure with its fraction or its unit is one, which no line ends in."""
    return [
        word.replace("\u00a0", " ")
        for word in FIGURE.sub("\u00a0", " ".join(text.split())).split(" ")
        if word
    ]


def shorten(text: str, height: float, room: float, weight: Weight = "regular") -> str:
    """`text`, or as much of it as fits into `room` with an ellipsis."""
    if width(text, height, weight) <= room:
        return text
    cut = next(n for n in range(len(text), -1, -1) if width(text[:n].rstrip() + "…", height, weight) <= room)
    return text[:cut].rstrip() + "…"


def plain(text: str) -> str:
    """`text` on one line, without characters that no font draws."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
