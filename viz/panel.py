"""The window's panel: what can be switched, where it is drawn, and what a click on it means.

Everything on the window that is not the room is drawn here with the stills' typeface, as one picture
laid over the render, so that window and stills look alike. Places are pixels from the top left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from PIL import Image, ImageDraw

from geometry.records import record
from scenes.findings.review import HeadReview, Review
from scenes.review.allowed import Stretch, allowed_on_offer
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from viz import palette as ink
from viz.lettering import Rectangle, font, mark, shortened, wrapped
from viz.stage import LAYERS
from viz.words import arrays as array_words
from viz.words import cautions, coverage, verdict
from viz.words.locale import Locale

WIDTH = 300
MOST_LINES = 9
"""Of the verdict in the panel; the switches below need their place."""
LEAST_LINES = 3
LINE_PX = 16
"""From line to line of the verdict's sentences and of the keys."""
FINE_PX = 13
"""From line to line of the cautions."""
SLIDER_END_PX = 8
"""From the end of the slider's place to that of its line."""
LAYER_PX = 18
"""From one row of layers to the next."""
LAYER_KEYS = dict(zip(LAYERS, "xtamejcsfokirdn", strict=True))
"""The key that switches each layer."""
LAYER_WORDS = {"shell": "room", "band": "listening zone", "sightlines": "sight"}
VIEW_KEYS = {
    "1": "corner", "2": "plan", "3": "ceiling", "4": "long", "5": "cross", "6": "array", "7": "camera", "8": "seat",
}  # fmt: skip


@record(frozen=True)
class Spot:
    """A place that can be clicked: what for (view, layer, band, array, height), and which."""

    box: Rectangle
    what: str
    which: str


@record(frozen=True)
class Shown:
    """What the panel tells: the review, the array in hand, the view, layers, height span, head and message.

    No array is in hand before every array has a place.
    """

    review: Review
    array: Array | None
    span_m: tuple[float, float]
    allowed_m: Sequence[tuple[float, float]]
    view_kind: str
    layers: frozenset[str]
    picked: HeadReview | None
    message: str
    asking: bool
    changed: bool
    has_cameras: bool

    @property
    def hanging(self) -> bool:
        """Whether the array in hand has heights to choose from."""
        return self.span_m[1] > self.span_m[0]


class Allowed:
    """The allowed heights of an array, worked out once for all heights to which it is moved."""

    def __init__(self) -> None:
        self._of: tuple[str, Scene] | None = None
        self._stretches: tuple[Stretch, ...] = ()

    def of(self, scene: Scene, array: str) -> tuple[Stretch, ...]:
        """The stretches of this array of a scene, rising."""
        asked = (array, scene.with_array(array, height_m=None))
        if self._of != asked:
            self._of, self._stretches = asked, allowed_on_offer(scene, scene.array(array))
        return self._stretches


def hit(spots: Sequence[Spot], x: float, y: float) -> Spot | None:
    """The spot under a place, if any."""
    for spot in spots:
        left, top, right, bottom = spot.box
        if left <= x <= right and top <= y <= bottom:
            return spot
    return None


def height_at(spot: Spot, span_m: tuple[float, float], x: float) -> float:
    """The height that a place on the slider means, to the centimetre, within the span."""
    left, _, right, _ = spot.box
    share = min(max((x - left - SLIDER_END_PX) / max(right - left - 2 * SLIDER_END_PX, 1), 0.0), 1.0)
    return min(max(round(span_m[0] + share * (span_m[1] - span_m[0]), 2), span_m[0]), span_m[1])


def draw(image: Image.Image, shown: Shown) -> list[Spot]:
    """Draw panel and message onto the window's overlay; the places that can be clicked.

    Where all of it does not fit the verdict is told in fewer lines: the keys are not left out for it.
    """
    spots, lines, over = _panel(image, shown, MOST_LINES)
    if over > 0:
        spots, _, _ = _panel(image, shown, max(lines - math.ceil(over / LINE_PX), LEAST_LINES))
    if shown.message:
        _message(image, shown.message, image.width - WIDTH, shown.asking)
    return spots


def _panel(image: Image.Image, shown: Shown, most_lines: int) -> tuple[list[Spot], int, float]:
    """Draw the panel; what can be clicked, the verdict's lines, and by how many pixels it is too long."""
    column = _Column(image)
    lines = _verdict(column, shown.review, most_lines)
    if shown.array is not None:
        _array(column, shown, shown.array)
        _bands(column, shown, shown.array)
    _views(column, shown)
    _layers(column, shown.layers, Locale.of(shown.review.scene))
    if shown.picked is not None:
        _head(column, shown.picked, shown.review.scene)
    over = _foot(column, shown)
    return column.spots, lines, over


class _Column:
    """The panel's paper down the right of an image, filled from the top: `y` is where the next thing goes."""

    def __init__(self, image: Image.Image) -> None:
        self.image = image
        self.pen = ImageDraw.Draw(image)
        self.spots: list[Spot] = []
        left = image.width - WIDTH
        self.x: float = left + 18
        self.right: float = image.width - 18
        self.y: float = 20
        self.pen.rectangle((left, 0, image.width, image.height), fill=ink.PAPER)
        self.pen.line([(left, 0), (left, image.height)], fill=ink.HAIRLINE)

    @property
    def wide(self) -> float:
        return self.right - self.x

    def heading(self, text: str) -> None:
        self.pen.line([(self.x, self.y), (self.right, self.y)], fill=ink.HAIRLINE)
        self.y += 9
        self.pen.text((self.x, self.y), text, font=font(12, True), fill=ink.INK_SOFT, anchor="lt")
        self.y += 20

    def signed(self, sign: str, colour: str, text: str, size: int) -> None:
        """A mark with bold words beside it; the column stays where it is."""
        mark(self.image, sign, (self.x + 6, self.y + 7), colour, 6)
        self.pen.text((self.x + 20, self.y), text, font=font(size, True), fill=ink.INK, anchor="lt")

    def lines(self, lines: Sequence[str], colour: str) -> None:
        for line in lines:
            self.pen.text((self.x, self.y), line, font=font(12), fill=colour, anchor="lt")
            self.y += LINE_PX

    def choice(self, texts: Sequence[tuple[str, str, bool]], what: str, across: int) -> None:
        """Buttons side by side, `across` in a row: words, which, chosen."""
        wide = (self.wide - 6 * (across - 1)) / across
        for number, (words, which, chosen) in enumerate(texts):
            place = number % across
            left = self.x + place * (wide + 6)
            self._button((left, self.y, left + wide, self.y + 24), words, chosen)
            self.spots.append(Spot((left, self.y, left + wide, self.y + 24), what, which))
            if place == across - 1 or number == len(texts) - 1:
                self.y += 30
        self.y += 2

    def _button(self, box: Rectangle, words: str, chosen: bool) -> None:
        face = font(12)
        self.pen.rounded_rectangle(
            box,
            5,
            fill=ink.BAND_EDGE if chosen else ink.SOFT,
            outline=ink.BAND_EDGE if chosen else ink.HAIRLINE,
        )
        self.pen.text(
            ((box[0] + box[2]) / 2, box[1] + 12),
            shortened(words, face, box[2] - box[0] - 6),
            font=face,
            fill="#FFFFFF" if chosen else ink.INK,
            anchor="mm",
        )


VERDICT_MARKS = {"pass": "dot", "caution": "ring", "fail": "cross"}
VERDICT_STATES = {"pass": "covered", "caution": "marginal", "fail": "missed"}
"""The state whose colour a verdict has."""


def _verdict(column: _Column, review: Review, most_lines: int) -> int:
    """The room's name, its verdict, and the verdict's sentences in at most so many lines: how many they are."""
    locale, strong = Locale.of(review.scene), font(17, True)
    name = shortened(review.scene.name, strong, column.wide)
    column.pen.text((column.x, column.y), name, font=strong, fill=ink.INK, anchor="lt")
    column.y += 28
    word = verdict.word(review.verdict, locale)
    if review.verdict is None:
        column.pen.text((column.x, column.y), word, font=font(15, True), fill=ink.INK, anchor="lt")
    else:
        colour = ink.STATE_COLOURS[VERDICT_STATES[review.verdict]]
        column.signed(VERDICT_MARKS[review.verdict], colour, word, 15)
    column.y += 24
    lines = wrapped(" ".join(verdict.whole(review)), font(12), column.wide)
    if len(lines) > most_lines:
        lines = [*lines[: most_lines - 1], locale.say("panel.more")]
    column.lines(lines, ink.INK)
    column.y += 10
    return len(lines)


def _array(column: _Column, shown: Shown, array: Array) -> None:
    """Which array is in hand, how it hangs, and the slider of its height where it can move."""
    scene, locale = shown.review.scene, Locale.of(shown.review.scene)
    column.heading(locale.say("panel.array" if len(scene.arrays) == 1 else "panel.array, several"))
    if len(scene.arrays) > 1:
        column.choice([(a.id, a.id, a.id == array.id) for a in scene.arrays], "array", 4)
    hangs = locale.say("array.flush")
    if shown.hanging:
        height = array.centre_m[2]
        drop = ceiling_over_m(scene.room, array.at_m) - height
        hangs = locale.say("array.hangs", height=locale.length(height), drop=locale.length(drop))
    column.pen.text((column.x, column.y), hangs, font=font(14), fill=ink.INK, anchor="lt")
    column.y += 22
    if shown.hanging:
        _slider(column, shown, array)
        keys = locale.say("window.step keys", step=locale.spare(0.01), more=locale.spare(0.1))
        column.pen.text((column.x, column.y), keys, font=font(12), fill=ink.INK_SOFT, anchor="lt")
        column.y += 20


def _slider(column: _Column, shown: Shown, array: Array) -> None:
    """The array's span of heights, the allowed heights, and where it hangs."""
    low, high = shown.span_m
    start, end, middle = column.x + SLIDER_END_PX, column.right - SLIDER_END_PX, column.y + 11

    def along(height_m: float) -> float:
        return start + (end - start) * min(max((height_m - low) / (high - low), 0.0), 1.0)

    column.pen.rounded_rectangle((start, middle - 2, end, middle + 2), 2, fill=ink.HAIRLINE)
    for low_m, high_m in shown.allowed_m:
        ends = (along(low_m), middle - 3, max(along(high_m), along(low_m) + 2), middle + 3)
        column.pen.rounded_rectangle(ends, 3, fill=ink.STATE_COLOURS["covered"])
    at = along(array.centre_m[2])
    column.pen.ellipse(
        (at - 8, middle - 8, at + 8, middle + 8), fill="#FFFFFF", outline=ink.BAND_EDGE, width=3
    )
    column.spots.append(Spot((column.x, column.y, column.right, column.y + 22), "height", array.id))
    column.y += 26


def _bands(column: _Column, shown: Shown, array: Array) -> None:
    """The bands that the array in hand can be set to, and the key that goes through them."""
    locale, bands = Locale.of(shown.review.scene), array.profile.bands
    if len(bands) > 1:
        # beside the slider's keys, or alone where there is no slider
        y = column.y - 20 if shown.hanging else column.y
        key = locale.say("panel.next band")
        column.pen.text((column.right, y), key, font=font(12), fill=ink.INK_SOFT, anchor="rt")
        column.y = y + 20
    named = [(name, array_words.band(name, edges, locale)) for name, edges in bands.items()]
    column.choice([(words, name, name == array.band_name) for name, words in named], "band", 2)


def _views(column: _Column, shown: Shown) -> None:
    """The views there are, with their keys."""
    several = len(shown.review.scene.cameras) > 1
    column.heading(Locale.of(shown.review.scene).say("panel.view, cameras" if several else "panel.view"))
    there = [(key, kind) for key, kind in VIEW_KEYS.items() if kind != "camera" or shown.has_cameras]
    column.choice([(f"{key}  {kind}", kind, kind == shown.view_kind) for key, kind in there], "view", 3)


def _layers(column: _Column, on: frozenset[str], locale: Locale) -> None:
    """The layers in two columns, each with its box to tick and its key."""
    column.heading(locale.say("panel.layers"))
    half = column.wide / 2
    for number, layer in enumerate(LAYERS):
        x, y = column.x + half * (number % 2), column.y + LAYER_PX * (number // 2)
        _tick_box(column.pen, (x, y + 1), layer in on)
        words = f"{LAYER_WORDS.get(layer, layer)}  {LAYER_KEYS[layer].upper()}"
        column.pen.text((x + 20, y + 8), words, font=font(12), fill=ink.INK, anchor="lm")
        column.spots.append(Spot((x, y - 1, x + half - 4, y + LAYER_PX - 1), "layer", layer))
    column.y += LAYER_PX * ((len(LAYERS) + 1) // 2) + 8


def _tick_box(pen: ImageDraw.ImageDraw, at: tuple[float, float], ticked: bool) -> None:
    x, y = at
    fill = ink.BAND_EDGE if ticked else ink.PAPER
    pen.rounded_rectangle((x, y, x + 14, y + 14), 3, fill=fill, outline=ink.INK_SOFT)
    if ticked:
        pen.line([(x + 3, y + 7), (x + 6, y + 10), (x + 11, y + 3)], fill="#FFFFFF", width=2)


def _foot(column: _Column, shown: Shown) -> float:
    """What is open and the keys of the window, up from the image's foot: how many pixels they lack above it.

    The keys are left out where they would lie on what stands above.
    """
    locale = Locale.of(shown.review.scene)
    write = "panel.write, changed" if shown.changed else "panel.write"
    keys = [locale.say(name) for name in ("panel.picture", write, "panel.back", "panel.close")]
    top = column.image.height - LINE_PX * len(keys) - 12
    over = column.y - top
    fine = cautions_lines(shown.review, column.wide, math.floor((top - column.y - 10) / FINE_PX))
    for number, line in enumerate(fine):
        y = top - FINE_PX * (len(fine) - number) - 6
        column.pen.text((column.x, y), line, font=font(10), fill=ink.INK_SOFT, anchor="lt")
    if over < 0:
        column.y = top
        column.lines(keys, ink.INK_SOFT)
    return over


def cautions_lines(review: Review, wide: float, most: int) -> list[str]:
    """What is open in at most so many lines; where it does not fit, what a check is not; or nothing."""
    for text in (cautions.line(review), cautions.advice(Locale.of(review.scene))):
        lines = wrapped(text, font(10), wide)
        if len(lines) <= most:
            return lines
    return []


def _head(column: _Column, head: HeadReview, scene: Scene) -> None:
    """The talker that was clicked: state, array, angles, distance, margin, and why where not covered."""
    locale = Locale.of(scene)
    column.heading(locale.say("panel.talker"))
    talker = coverage.talker(head, scene)
    colour = ink.STATE_COLOURS[head.standing]
    column.signed(ink.STATE_MARKS[head.standing], colour, f"{talker.id}  {talker.state}", 14)
    column.y += 22
    rows = [
        ("array", talker.served),
        ("angle", talker.angle),
        ("from centre", talker.from_centre),
        ("distance", talker.distance),
        ("margin", talker.margin),
        *([("why", talker.why)] if talker.why else []),
    ]
    for name, value in rows:
        words = locale.say(f"column.{name}")
        column.pen.text((column.x, column.y), words, font=font(12), fill=ink.INK_SOFT, anchor="lt")
        column.pen.text((column.right, column.y), value, font=font(12), fill=ink.INK, anchor="rt")
        column.y += 17
    column.y += 6


def _message(image: Image.Image, message: str, right: float, asking: bool) -> None:
    pen = ImageDraw.Draw(image)
    face = font(14)
    lines = [part for line in message.splitlines()[:8] for part in wrapped(line, face, right - 72)[:3]]
    wide = max(face.getlength(line) for line in lines) + 28
    high = 20 * len(lines) + 16
    top = image.height - high - 16
    box = (16, top, 16 + wide, top + high)
    pen.rounded_rectangle(box, 7, fill="#FFFFFF", outline=ink.BAND_EDGE if asking else ink.INK_SOFT, width=2)
    for number, line in enumerate(lines):
        pen.text((30, top + 9 + 20 * number), line, font=face, fill=ink.INK, anchor="lt")
