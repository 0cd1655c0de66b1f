"""Words and signs on a picture: labels that do not overlap, marks, north, scale bar, caption strip.

All of it is drawn on the finished render with one typeface, so it is sharp, never hidden and the same on
every machine. Sizes are in points: at `dpi` a point is dpi/72 pixels.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from PIL import Image, ImageDraw, ImageFont

from geometry.records import record
from scenes.findings.review import Review
from viz import palette as ink
from viz.words import arrays as array_words
from viz.words import cautions
from viz.words import verdict as verdict_words
from viz.words.locale import Locale

FONTS = Path(__file__).with_name("fonts")
Rectangle = tuple[float, float, float, float]
"""Left, top, right, bottom in pixels."""
SMOOTH = 4
"""Signs are drawn this many times as large and made small again, for clean edges."""


@lru_cache(maxsize=64)
def font(size_px: int, strong: bool = False) -> ImageFont.FreeTypeFont:
    """The typeface at a size."""
    name = "SourceSansPro-Semibold.ttf" if strong else "SourceSansPro-Regular.ttf"
    return ImageFont.truetype(str(FONTS / name), max(size_px, 5), layout_engine=ImageFont.Layout.BASIC)


@record(frozen=True)
class Wish:
    """A label to place: its words, where it belongs in pixels, how near its thing it must stay clear of."""

    id: str
    text: str
    at: tuple[float, float]
    colour: str
    rank: int
    size_pt: float
    strong: bool = False
    clear_px: tuple[float, float] = (0.0, 0.0)
    """How far across and down from the anchor the label leaves free (the sign it belongs to)."""
    centred: bool = False
    """On its anchor if there is room, on a ground of its own (dimensions)."""
    first: Literal["above", "right", "left", "below"] = "above"
    """The side that is tried first (an array's cable is above it, a flush one's ceiling too)."""
    walled: bool = False
    """What is on the other side is a wall: the last to be tried."""
    turned: bool = False
    """Written upwards, to be read from the right: along an upright dimension."""


@record(frozen=True)
class Placed:
    """A label that was placed: its box, and where its leader ends if it needs one."""

    wish: Wish
    box: Rectangle
    leader: bool


def meet(a: Rectangle, b: Rectangle) -> bool:
    """Whether two boxes overlap."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def place(
    wishes: Sequence[Wish], size: tuple[int, int], dpi: float, taken: Sequence[Rectangle]
) -> list[Placed]:
    """Every label at a free place near its anchor, none over another, over a taken box, or off the picture.

    The most important first; each tries eight sides of its anchor at growing distances, so a crowded one
    is pushed out and gets a leader. One that finds no room in the whole picture is left out.
    """
    done: list[Placed] = []
    boxes = list(taken)
    point = dpi / 72
    for wish in sorted(wishes, key=lambda w: (w.rank, w.at[1], w.at[0], w.id)):
        face = font(round(wish.size_pt * point), wish.strong)
        left, top, right, bottom = face.getbbox(wish.text)
        pad = 1.5 * point
        width, height = right - left + 2 * pad, bottom - top + 2 * pad
        line = height
        if wish.turned:
            width, height = height, width
        for x, y, far in _candidates(wish, width, height, line, max(size)):
            box = (x, y, x + width, y + height)
            if x < 2 or y < 2 or box[2] > size[0] - 2 or box[3] > size[1] - 2:
                continue
            if any(meet(box, other) for other in boxes):
                continue
            done.append(Placed(wish, box, far > 1.6 * line))
            boxes.append(box)
            break
    return done


def _candidates(
    wish: Wish, width: float, height: float, line: float, reach: float
) -> Iterator[tuple[float, float, float]]:
    x, y = wish.at
    if wish.centred:
        yield x - width / 2, y - height / 2, 0.0
    gap_x, gap_y = wish.clear_px[0] + 1.0, wish.clear_px[1] + 1.0
    # the four sides, then the corners
    above, right, left, below = (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0)
    order = {
        "above": (above, right, left, below),
        "right": (right, left, below, above),
        "left": (left, right, below, above),
        "below": (below, right, left, above),
    }[wish.first]
    corners = ((0.8, -0.8), (-0.8, -0.8), (0.8, 0.8), (-0.8, 0.8))
    sides: tuple[tuple[float, float], ...] = (*order, *corners)

    def beside(side: tuple[float, float], away: float) -> tuple[float, float]:
        return (
            x + side[0] * (width / 2 + gap_x + away) - width / 2,
            y + side[1] * (height / 2 + gap_y + away) - height / 2,
        )

    if wish.walled:
        # away from the wall at any near distance, before anything that lies on it
        inward = order[0][0]
        away = 0.0
        while away < 4 * line:
            for side in (order[0], (inward, 0.8), (inward, -0.8)):
                yield *beside(side, away), away
            away += 0.45 * line
    away = 0.0
    while away < reach:
        for side in sides:
            yield *beside(side, away), away
        away += 0.45 * line


# ---------------------------------------------------------------- signs


def apart(places: Sequence[tuple[float, float]], gap: float) -> list[tuple[float, float]]:
    """Where signs are drawn so that none hides another: the same places, but at least `gap` apart.

    The first of those that would meet keeps its place; a later one goes to the nearest free one round its
    own, upwards first.
    """
    done: list[tuple[float, float]] = []
    for x, y in places:
        free = (
            (x + step * gap * math.sin(turn), y - step * gap * math.cos(turn))
            for step in itertools.count()
            for turn in (
                [0.0]
                if not step
                else [k * math.pi / (3 * step) * s for k in range(3 * step + 1) for s in (1, -1)]
            )
        )
        done.append(next(at for at in free if all(math.dist(at, other) >= 0.999 * gap for other in done)))
    return done


def ties(
    image: Image.Image, moves: Sequence[tuple[tuple[float, float], tuple[float, float]]], point: float
) -> None:
    """Draw a thin line from where a sign belongs to where it is drawn, for those that were moved."""
    pen = ImageDraw.Draw(image)
    for colour, width in (("#FFFFFF", 2.4), (ink.INK, 0.8)):
        for start, end in moves:
            if math.dist(start, end) > 1:
                pen.line([start, end], fill=colour, width=max(1, round(width * point)))


def stems(
    image: Image.Image, ends: Sequence[tuple[tuple[float, float], tuple[float, float], str]], point: float
) -> None:
    """Draw the stems on which signs stand: from where, to where, in which colour."""
    pen = ImageDraw.Draw(image)
    for start, end, colour in ends:
        for fill, width in (("#FFFFFF", 2.2), (colour, 1.1)):
            pen.line([start, end], fill=fill, width=max(1, round(width * point)))


def mark(image: Image.Image, kind: str, at: tuple[float, float], colour: str, radius: float) -> None:
    """Draw a sign: a dot with a tick, a ring, a square with a cross or a diamond, with a white rim so that it reads on
    anything.
    """
    half = math.ceil(radius * 1.5) + 1
    tile = Image.new("RGBA", (2 * half * SMOOTH, 2 * half * SMOOTH), (255, 255, 255, 0))
    pen = ImageDraw.Draw(tile)
    # the tile is whole pixels; the rest of the place goes into the drawing
    left, top = math.floor(at[0]) - half, math.floor(at[1]) - half
    x, y, r = (at[0] - left) * SMOOTH, (at[1] - top) * SMOOTH, radius * SMOOTH
    rim = 0.26 * r

    def disc(size: float, fill: str) -> None:
        pen.ellipse((x - size, y - size, x + size, y + size), fill=fill)

    def strokes(paths: Sequence[Sequence[tuple[float, float]]]) -> None:
        wide = 0.30 * r
        for path in paths:
            at = [(x + u * r, y + v * r) for u, v in path]
            pen.line(at, fill="#FFFFFF", width=round(wide), joint="curve")
            for u, v in at:
                pen.ellipse((u - wide / 2, v - wide / 2, u + wide / 2, v + wide / 2), fill="#FFFFFF")

    if kind == "dot":
        disc(r * 1.05 + rim, "#FFFFFF")
        disc(r * 1.05, colour)
        strokes([[(-0.45, 0.02), (-0.12, 0.38), (0.48, -0.36)]])
    elif kind == "ring":
        disc(r * 1.08 + rim, "#FFFFFF")
        disc(r * 1.08, colour)
        disc(r * 0.50, "#FFFFFF")
    elif kind == "diamond":
        for size, fill in ((1.2 * r + 1.4 * rim, "#FFFFFF"), (1.2 * r, colour), (0.58 * r, "#FFFFFF")):
            pen.polygon([(x, y - size), (x + size, y), (x, y + size), (x - size, y)], fill=fill)
    else:
        for size, fill in ((r + rim, "#FFFFFF"), (r, colour)):
            pen.rounded_rectangle((x - size, y - size, x + size, y + size), 0.25 * size, fill=fill)
        strokes([[(-0.45, -0.45), (0.45, 0.45)], [(0.45, -0.45), (-0.45, 0.45)]])
    small = tile.resize((2 * half, 2 * half), Image.Resampling.BOX)
    image.alpha_composite(small, (max(left, 0), max(top, 0)), (max(-left, 0), max(-top, 0)))


def write(image: Image.Image, placed: Sequence[Placed], dpi: float, ground: str = "#FFFFFF") -> None:
    """Draw placed labels with a white halo, and a leader where one stands away from its anchor."""
    pen = ImageDraw.Draw(image)
    point = dpi / 72
    for label in placed:
        if not label.leader:
            continue
        x = min(max(label.wish.at[0], label.box[0]), label.box[2])
        y = min(max(label.wish.at[1], label.box[1]), label.box[3])
        for colour, width in (("#FFFFFF", 2.2), (label.wish.colour, 0.7)):
            pen.line([label.wish.at, (x, y)], fill=colour, width=max(1, round(width * point)))
    for label in placed:
        wish = label.wish
        face = font(round(wish.size_pt * point), wish.strong)
        left, top, _, _ = face.getbbox(wish.text)
        if wish.centred:
            pen.rectangle(label.box, fill=ground)
        halo = max(1, round(1.2 * point))
        look: dict[str, Any] = {
            "font": face,
            "fill": wish.colour,
            "stroke_width": halo,
            # on its own ground a white halo would show as a patch
            "stroke_fill": ground if wish.centred else "#FFFFFF",
        }
        if not wish.turned:
            at = (label.box[0] + 1.5 * point - left, label.box[1] + 1.5 * point - top)
            pen.text(at, wish.text, **look)
            continue
        wide, high = label.box[3] - label.box[1], label.box[2] - label.box[0]
        tile = Image.new("RGBA", (math.ceil(wide) + 2 * halo, math.ceil(high) + 2 * halo), (255, 255, 255, 0))
        at = (halo + 1.5 * point - left, halo + 1.5 * point - top)
        ImageDraw.Draw(tile).text(at, wish.text, **look)
        turned = tile.transpose(Image.Transpose.ROTATE_90)
        image.alpha_composite(
            turned, (max(0, round(label.box[0]) - halo), max(0, round(label.box[1]) - halo))
        )


# ---------------------------------------------------------------- north, scale, caption


def north_arrow(image: Image.Image, north_deg: float, middle: tuple[float, float], dpi: float) -> Rectangle:
    """Draw an arrow to north, for a plan with x to the right; its box in pixels."""
    point = dpi / 72
    turn = math.radians(north_deg)
    ahead, side = (math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))
    r = 9 * point
    half = round(2.1 * r)
    tile = Image.new("RGBA", (2 * half * SMOOTH, 2 * half * SMOOTH), (255, 255, 255, 0))
    pen = ImageDraw.Draw(tile)

    def at(along: float, across: float) -> tuple[float, float]:
        x = along * ahead[0] + across * side[0]
        y = along * ahead[1] + across * side[1]
        return ((half + x * r) * SMOOTH, (half + y * r) * SMOOTH)

    c, wide = half * SMOOTH, round(0.7 * point * SMOOTH)
    pen.ellipse(
        (c - r * SMOOTH, c - r * SMOOTH, c + r * SMOOTH, c + r * SMOOTH), outline=ink.INK_SOFT, width=wide
    )
    pen.polygon([at(1.0, 0), at(-0.7, 0.5), at(-0.4, 0)], fill=ink.INK)
    pen.polygon([at(1.0, 0), at(-0.7, -0.5), at(-0.4, 0)], fill="#FFFFFF", outline=ink.INK, width=wide)
    pen.text(at(1.55, 0), "N", font=font(round(7 * point) * SMOOTH, True), fill=ink.INK, anchor="mm")
    left, top = round(middle[0]) - half, round(middle[1]) - half
    image.alpha_composite(tile.resize((2 * half, 2 * half), Image.Resampling.BOX), (left, top))
    return (left, top, left + 2 * half, top + 2 * half)


def scale_bar(
    image: Image.Image, pixels_per_metre: float, right: float, bottom: float, dpi: float, locale: Locale
) -> Rectangle:
    """Draw a scale bar whose right lower corner is given; its box in pixels.

    Its length is a round number of metres or feet, near a seventh of the picture's width.
    """
    point = dpi / 72
    unit_px = pixels_per_metre * locale.unit_m
    most = image.width / 6 / unit_px
    length = next((n for n in (50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1) if n <= most), 0.1)
    wide, high = length * unit_px, 3.2 * point
    face = font(round(7 * point))
    left, top = right - wide, bottom - high
    pen = ImageDraw.Draw(image)
    for k in range(2):
        ends = (left + k * wide / 2, top, left + (k + 1) * wide / 2, bottom)
        pen.rectangle(
            ends, fill=ink.INK if k == 0 else "#FFFFFF", outline=ink.INK, width=max(1, round(0.6 * point))
        )
    said = locale.bar(length)
    for x, text in ((left, "0"), (right, said)):
        pen.text(
            (x, top - 2 * point),
            text,
            font=face,
            fill=ink.INK,
            anchor="mb",
            stroke_width=round(point),
            stroke_fill="#FFFFFF",
        )
    spare = face.getlength(said) / 2
    return (left - spare, top - 11 * point, right + spare, bottom)


Line = tuple[float, float, str, float, bool, str]
"""Words of a caption: x and y of the left middle in points, the text, its size in points, strong, colour."""


@record(frozen=True)
class Caption:
    """The strip under a picture, set for a width: its lines and its height in points, and the verdict's sign.

    `point_px` is a point's size in pixels: less than the print's where a small picture has little room.
    """

    lines: tuple[Line, ...]
    verdict: str | None
    verdict_at: tuple[float, float]
    height_pt: float
    point_px: float

    @property
    def height(self) -> int:
        """Pixels it takes."""
        return math.ceil(self.height_pt * self.point_px)


SIDE_PT = 14.0


def caption(review: Review, view_words: str, size: tuple[int, int], dpi: float) -> Caption:
    """The strip: room and view, every array's height, drop and band, what holds the room, the whole verdict.

    Nothing of the verdict is ever cut: it takes the lines it needs, and smaller ones where they would take
    more than 38 % of the picture.
    """
    made = None
    for share in (1.0, 0.85, 0.72, 0.6, 0.5, 0.42):
        made = _caption(review, view_words, size[0], share * dpi / 72)
        if made.height <= 0.38 * size[1]:
            break
    assert made is not None
    return made


def _caption(review: Review, view_words: str, width_px: int, point: float) -> Caption:
    scene, locale = review.scene, Locale.of(review.scene)
    right = width_px / point - SIDE_PT

    def wide(text: str, size: float, strong: bool = False) -> float:
        return font(round(size * point), strong).getlength(text) / point

    def fitted(text: str, size: float, strong: bool, most: int) -> list[str]:
        face, room = font(round(size * point), strong), 0.4 * right * point
        set_ = wrapped(text, face, room)
        kept = [*set_[: most - 1], " ".join(set_[most - 1 :])] if len(set_) > most else set_
        return [shortened(line, face, room) for line in kept]

    name = fitted(scene.name, 12, True, 3)
    seen = fitted(view_words, 8.5, False, 2)
    lines: list[Line] = [(SIDE_PT, 17 + 15 * n, said, 12, True, ink.INK) for n, said in enumerate(name)]
    foot = 18 + 15 * len(name)
    lines += [(SIDE_PT, foot + 12 * n, said, 8.5, False, ink.INK_SOFT) for n, said in enumerate(seen)]
    foot += 12 * len(seen) + 1
    left = SIDE_PT + max(*(wide(said, 12, True) for said in name), *(wide(said, 8.5) for said in seen)) + 22
    verdict = verdict_words.word(review.verdict, locale)
    verdict_x = right - wide(verdict, 10, True)
    lines.append((verdict_x, 17, verdict, 10, True, ink.INK))

    arrays = []
    for array in review.arrays:
        flush = scene.array(array.id).profile.mount == "flush"
        arrays.append(array_words.caption(array, locale, flush=flush))
    between = "   ·   "
    size = 8.5 if len(arrays) == 1 else 7.5
    y, room = 17.0, verdict_x - 26 - left
    if max((wide(said, size) for said in arrays), default=0.0) > room:
        # a narrow picture has no room beside the name: all of it goes below
        left, y, room = SIDE_PT, foot + 4.0, right - SIDE_PT
        arrays = [part for said in arrays for part in wrapped(said, font(round(size * point)), room * point)]
    for said in _joined(arrays, between, lambda text: wide(text, size), room):
        lines.append((left, y, said, size, False, ink.INK))
        y += 12
    y += 4
    held = cautions.hold(review)
    for said in wrapped(held, font(round(9 * point), True), (right - left) * point) if held else ():
        lines.append((left, y, said, 9, True, ink.CLASH))
        y += 13
    # before every array has a place what holds the room says why there is no verdict
    sentences = verdict_words.whole(review)[0 if review.judged else 1 :]
    for said in wrapped(" ".join(sentences), font(round(7.5 * point)), (right - left) * point):
        lines.append((left, y, said, 7.5, False, ink.INK_SOFT))
        y += 11.5
    y = max(y + 1.5, foot)
    for said in wrapped(cautions.coordination(locale), font(round(6 * point)), (right - SIDE_PT) * point):
        lines.append((SIDE_PT, y, said, 6, False, ink.INK_SOFT))
        y += 8.5
    return Caption(tuple(lines), review.verdict, (verdict_x - 9, 17), y + 2, point)


def stamp(image: Image.Image, review: Review, dpi: float) -> None:
    """Draw the word that holds a room that fails into the picture's upper left corner; nothing in any other room."""
    if cautions.hold(review) is None:
        return
    point = dpi / 72
    text, face = Locale.of(review.scene).say("hold, drawing"), font(round(11 * point), True)
    x = y = round(10 * point)
    pad = round(4 * point)
    box = (x, y, x + face.getlength(text) + 2 * pad, y + round(11 * point) + 2 * pad)
    pen = ImageDraw.Draw(image)
    pen.rectangle(box, fill=ink.PAPER, outline=ink.CLASH, width=max(1, round(point)))
    pen.text((x + pad, (box[1] + box[3]) / 2), text, font=face, fill=ink.CLASH, anchor="lm")


def _joined(parts: Sequence[str], between: str, wide: Callable[[str], float], room: float) -> list[str]:
    """The parts in as few lines as hold them, each part whole."""
    lines = list(parts[:1])
    for part in parts[1:]:
        longer = f"{lines[-1]}{between}{part}"
        if wide(longer) <= room:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines


def draw_caption(image: Image.Image, made: Caption, top: int) -> None:
    """Draw a caption's strip from `top` downwards."""
    point = made.point_px
    pen = ImageDraw.Draw(image)
    margin = SIDE_PT * point
    pen.line(
        [(margin, top), (image.width - margin, top)], fill=ink.HAIRLINE, width=max(1, round(0.6 * point))
    )
    for x, y, text, size, strong, colour in made.lines:
        at = (x * point, top + y * point)
        pen.text(at, text, font=font(round(size * point), strong), fill=colour, anchor="lm")
    if made.verdict is None:
        return
    kind, state = {
        "pass": ("dot", ink.STATE_COLOURS["covered"]),
        "caution": ("ring", ink.STATE_COLOURS["marginal"]),
        "fail": ("cross", ink.CLASH),
    }[made.verdict]
    x, y = made.verdict_at
    mark(image, kind, (x * point, top + y * point), state, 4.6 * point)


def wrapped(text: str, face: ImageFont.FreeTypeFont, width: float) -> list[str]:
    """The text in lines no wider than `width` pixels; a single longer word keeps its own line."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if face.getlength(longer) <= width or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def shortened(text: str, face: ImageFont.FreeTypeFont, width: float) -> str:
    """The text, cut with an ellipsis where it is wider than `width` pixels: at a word, a first one at a letter."""
    if face.getlength(text) <= width:
        return text
    whole = text.split(" ")
    while len(whole) > 1 and face.getlength(" ".join(whole) + " …") > width:
        whole.pop()
    if len(whole) > 1 or face.getlength(f"{whole[0]} …") <= width:
        return " ".join(whole) + " …"
    word = whole[0]
    while word and face.getlength(f"{word}…") > width:
        word = word[:-1]
    return f"{word}…"
