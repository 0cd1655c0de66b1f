"""The window's panel: what can be switched, where it is drawn, and what a click on it means.

Everything on the window that is not the room is drawn here with the stills' typeface, as one picture
laid over the render, so that window and stills look alike. Places are pixels from the top left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw

from scenes.findings.review import HeadReview, Review
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
FINE_PX = 13
"""From line to line of the cautions."""
LAYER_KEYS = dict(zip(LAYERS, "xtejcsfokirdn", strict=True))
"""The key that switches each layer."""
LAYER_WORDS = {"shell": "room", "band": "listening zone", "sightlines": "sight"}
VIEW_KEYS = {
    "1": "corner", "2": "plan", "3": "ceiling", "4": "long", "5": "cross", "6": "array", "7": "camera", "8": "seat",
}  # fmt: skip


@dataclass(frozen=True)
class Spot:
    """A place that can be clicked: what for (view, layer, band, array, height), and which."""

    box: Rectangle
    what: str
    which: str


@dataclass(frozen=True)
class Shown:
    """What the panel tells: the review, the array in hand, the view, layers, height span, head and message."""

    review: Review
    array: Array
    span_m: tuple[float, float]
    view_kind: str
    layers: frozenset[str]
    picked: HeadReview | None
    message: str
    asking: bool
    changed: bool
    has_cameras: bool


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
    share = min(max((x - left - 8) / max(right - left - 16, 1), 0.0), 1.0)
    return min(max(round(span_m[0] + share * (span_m[1] - span_m[0]), 2), span_m[0]), span_m[1])


def draw(image: Image.Image, shown: Shown) -> list[Spot]:
    """Draw panel and message onto the window's overlay; the places that can be clicked.

    Where all of it does not fit the verdict is told in fewer lines: the keys are not left out for it.
    """
    spots, lines, over = _panel(image, shown, MOST_LINES)
    if over > 0:
        spots, _, _ = _panel(image, shown, max(lines - math.ceil(over / 16), LEAST_LINES))
    if shown.message:
        _message(image, shown.message, image.width - WIDTH, shown.asking)
    return spots


def _panel(image: Image.Image, shown: Shown, most_lines: int) -> tuple[list[Spot], int, float]:
    """Draw the panel; what can be clicked, the verdict's lines, and by how many pixels it is too long."""
    pen = ImageDraw.Draw(image)
    width, height = image.size
    left = width - WIDTH
    pen.rectangle((left, 0, width, height), fill=ink.PAPER)
    pen.line([(left, 0), (left, height)], fill=ink.HAIRLINE)
    spots: list[Spot] = []
    x: float = left + 18
    y: float = 20
    right = width - 18
    review, scene, locale = shown.review, shown.review.scene, Locale.of(shown.review.scene)

    strong, plain, small = font(17, True), font(14), font(12)
    pen.text((x, y), shortened(scene.name, strong, right - x), font=strong, fill=ink.INK, anchor="lt")
    y += 28
    sign = {"pass": "dot", "caution": "ring", "fail": "cross"}[review.verdict]
    state = {"pass": "covered", "caution": "marginal", "fail": "missed"}[review.verdict]
    mark(image, sign, (x + 6, y + 7), ink.STATE_COLOURS[state], 6)
    pen.text(
        (x + 20, y),
        verdict.word(review.verdict, locale),
        font=font(15, True),
        fill=ink.INK,
        anchor="lt",
    )
    y += 24
    told = wrapped(" ".join(verdict.whole(review)), small, right - x)
    if len(told) > most_lines:
        told = [*told[: most_lines - 1], locale.say("panel.more")]
    for line in told:
        pen.text((x, y), line, font=small, fill=ink.INK, anchor="lt")
        y += 16
    y += 10

    def heading(text: str) -> None:
        nonlocal y
        pen.line([(x, y), (right, y)], fill=ink.HAIRLINE)
        y += 9
        pen.text((x, y), text, font=font(12, True), fill=ink.INK_SOFT, anchor="lt")
        y += 20

    def choice(texts: Sequence[tuple[str, str, bool]], what: str, across: int) -> None:
        """Buttons in columns: words, which, chosen."""
        nonlocal y
        wide = (right - x - 6 * (across - 1)) / across
        for number, (said, which, chosen) in enumerate(texts):
            column = number % across
            box = (x + column * (wide + 6), y, x + column * (wide + 6) + wide, y + 24)
            pen.rounded_rectangle(
                box,
                5,
                fill=ink.BAND_EDGE if chosen else ink.SOFT,
                outline=ink.BAND_EDGE if chosen else ink.HAIRLINE,
            )
            face = small
            pen.text(
                ((box[0] + box[2]) / 2, y + 12),
                shortened(said, face, wide - 6),
                font=face,
                fill="#FFFFFF" if chosen else ink.INK,
                anchor="mm",
            )
            spots.append(Spot(box, what, which))
            if column == across - 1 or number == len(texts) - 1:
                y += 30
        y += 2

    heading(locale.say("panel.array" if len(scene.arrays) == 1 else "panel.array, several"))
    if len(scene.arrays) > 1:
        choice([(a.id, a.id, a.id == shown.array.id) for a in scene.arrays], "array", 4)
    hanging = shown.span_m[1] > shown.span_m[0]
    here = shown.array.centre_m[2]
    drop = scene.room.ceiling_m - here
    said = locale.say("array.hangs", height=locale.length(here), drop=locale.length(drop))
    pen.text((x, y), said if hanging else locale.say("array.flush"), font=plain, fill=ink.INK, anchor="lt")
    y += 22
    if hanging:
        box = (x, y, right, y + 22)
        middle = y + 11
        pen.rounded_rectangle((x + 8, middle - 2, right - 8, middle + 2), 2, fill=ink.HAIRLINE)
        inner = right - x - 16

        def along(height_m: float) -> float:
            share = (height_m - shown.span_m[0]) / (shown.span_m[1] - shown.span_m[0])
            return x + 8 + inner * min(max(share, 0.0), 1.0)

        good = review.array(shown.array.id).covered_interval_m
        if good is not None and not review.counts.missed:
            ends = (along(good[0]), middle - 3, max(along(good[1]), along(good[0]) + 2), middle + 3)
            pen.rounded_rectangle(ends, 3, fill=ink.STATE_COLOURS["covered"])
        at = along(here)
        pen.ellipse((at - 8, middle - 8, at + 8, middle + 8), fill="#FFFFFF", outline=ink.BAND_EDGE, width=3)
        spots.append(Spot(box, "height", shown.array.id))
        y += 26
        keys = locale.say("window.step keys", step=locale.spare(0.01), more=locale.spare(0.1))
        pen.text((x, y), keys, font=small, fill=ink.INK_SOFT, anchor="lt")
        y += 20
    bands = shown.array.profile.bands
    if len(bands) > 1:
        # beside the slider's keys, or alone where there is no slider
        pen.text(
            (right, y - 20 * hanging),
            locale.say("panel.next band"),
            font=small,
            fill=ink.INK_SOFT,
            anchor="rt",
        )
        y += 20 * (not hanging)
    choice(
        [
            (array_words.band(name, edges, locale), name, name == shown.array.band_name)
            for name, edges in bands.items()
        ],
        "band",
        2,
    )
    heading(locale.say("panel.view, cameras" if len(scene.cameras) > 1 else "panel.view"))
    there = [(key, kind) for key, kind in VIEW_KEYS.items() if kind != "camera" or shown.has_cameras]
    choice([(f"{key}  {kind}", kind, kind == shown.view_kind) for key, kind in there], "view", 3)
    heading(locale.say("panel.layers"))
    half = (right - x) / 2
    for number, layer in enumerate(LAYERS):
        at_x, at_y = x + half * (number % 2), y + 21 * (number // 2)
        tick = (at_x, at_y + 1, at_x + 14, at_y + 15)
        on = layer in shown.layers
        pen.rounded_rectangle(tick, 3, fill=ink.BAND_EDGE if on else ink.PAPER, outline=ink.INK_SOFT)
        if on:
            pen.line(
                [(at_x + 3, at_y + 8), (at_x + 6, at_y + 11), (at_x + 11, at_y + 4)], fill="#FFFFFF", width=2
            )
        name = LAYER_WORDS.get(layer, layer)
        pen.text(
            (at_x + 20, at_y + 8),
            f"{name}  {LAYER_KEYS[layer].upper()}",
            font=small,
            fill=ink.INK,
            anchor="lm",
        )
        spots.append(Spot((at_x, at_y - 2, at_x + half - 4, at_y + 18), "layer", layer))
    y += 21 * ((len(LAYERS) + 1) // 2) + 8
    if shown.picked is not None:
        heading(locale.say("panel.talker"))
        y = _head(image, shown.picked, scene, x, y, right)
    hints = [
        locale.say("panel.picture"),
        locale.say("panel.write, changed" if shown.changed else "panel.write"),
    ]
    hints += [locale.say("panel.back"), locale.say("panel.close")]
    top = height - 16 * len(hints) - 12
    over = y - top
    fine = cautions_lines(review, right - x, math.floor((top - y - 10) / FINE_PX))
    for number, line in enumerate(fine):
        pen.text(
            (x, top - FINE_PX * (len(fine) - number) - 6), line, font=font(10), fill=ink.INK_SOFT, anchor="lt"
        )
    if top > y:
        for line in hints:
            pen.text((x, top), line, font=small, fill=ink.INK_SOFT, anchor="lt")
            top += 16
    return spots, len(told), over


def cautions_lines(review: Review, wide: float, most: int) -> list[str]:
    """What is open in at most so many lines; where it does not fit, what a check is not; or nothing."""
    for text in (cautions.line(review), cautions.advice(Locale.of(review.scene))):
        lines = wrapped(text, font(10), wide)
        if len(lines) <= most:
            return lines
    return []


def _head(image: Image.Image, head: HeadReview, scene: Scene, x: float, y: float, right: float) -> float:
    locale = Locale.of(scene)
    said = coverage.talker(head, scene)
    pen = ImageDraw.Draw(image)
    mark(image, ink.STATE_MARKS[head.standing], (x + 6, y + 7), ink.STATE_COLOURS[head.standing], 6)
    pen.text((x + 20, y), f"{said.id}  {said.state}", font=font(14, True), fill=ink.INK, anchor="lt")
    y += 22
    rows = [
        ("array", said.served),
        ("angle", said.angle),
        ("from centre", said.from_centre),
        ("distance", said.distance),
        ("margin", said.margin),
        *([("why", said.why)] if said.why else []),
    ]
    for name, value in rows:
        pen.text((x, y), locale.say(f"column.{name}"), font=font(12), fill=ink.INK_SOFT, anchor="lt")
        pen.text((right, y), value, font=font(12), fill=ink.INK, anchor="rt")
        y += 17
    return y + 6


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
