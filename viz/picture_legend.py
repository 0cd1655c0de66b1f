"""The legend under a picture: a sample of everything that is drawn in it, and what it means."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from PIL import Image, ImageDraw

from geometry.records import record
from viz import palette as ink
from viz.lettering import SMOOTH, font, mark


@record(frozen=True)
class Entry:
    """One line of a legend: what its sample looks like, and what it means."""

    sample: str
    colour: str
    text: str
    strokes: tuple[tuple[float, float, float, float], ...] = ()
    """Of a symbol: lines from (x, y) to (x, y), y upwards, in any scale."""


def legend_height(entries: Sequence[Entry], width: int, dpi: float) -> int:
    """Pixels a legend needs at that width; 0 for none."""
    return len(_rows(entries, width, dpi)) * round(15 * dpi / 72) if entries else 0


def _rows(entries: Sequence[Entry], width: int, dpi: float) -> list[list[tuple[Entry, float]]]:
    point = dpi / 72
    face = font(round(7.5 * point))
    rows: list[list[tuple[Entry, float]]] = [[]]
    x = 14 * point
    for entry in entries:
        wide = face.getlength(entry.text) + 34 * point
        if x + wide > width - 10 * point and rows[-1]:
            rows.append([])
            x = 14 * point
        rows[-1].append((entry, x))
        x += wide
    return rows


def draw_legend(image: Image.Image, entries: Sequence[Entry], top: int, dpi: float) -> None:
    """Draw a legend in rows from `top` downwards."""
    point = dpi / 72
    face = font(round(7.5 * point))
    for number, row in enumerate(_rows(entries, image.width, dpi)):
        y = top + (number + 0.5) * 15 * point
        for entry, x in row:
            _sample(image, entry, x + 8 * point, y, point)
            ImageDraw.Draw(image).text((x + 20 * point, y), entry.text, font=face, fill=ink.INK, anchor="lm")


def _sample(image: Image.Image, entry: Entry, x: float, y: float, point: float) -> None:
    """What a legend's entry looks like, about a middle in pixels; a line where it is of no other kind."""
    if entry.sample in ("dot", "ring", "cross", "diamond"):
        mark(image, entry.sample, (x, y), entry.colour, 3.4 * point)
    else:
        SAMPLES.get(entry.sample, _line_sample)(_Sample(image, entry, x, y, point))


@record(frozen=True)
class _Sample:
    """A sample to draw: of what, about which middle in pixels, and how many pixels a point has."""

    image: Image.Image
    entry: Entry
    x: float
    y: float
    point: float

    @property
    def pen(self) -> ImageDraw.ImageDraw:
        return ImageDraw.Draw(self.image)

    @property
    def box(self) -> tuple[int, int, int, int]:
        """The field that a sample fills."""
        wide, high = 8 * self.point, 4 * self.point
        return round(self.x - wide), round(self.y - high), round(self.x + wide), round(self.y + high)

    @property
    def thin(self) -> int:
        return max(1, round(0.8 * self.point))

    @property
    def stout(self) -> int:
        return max(1, round(1.2 * self.point))


def _film_sample(sample: _Sample) -> None:
    box, colour = sample.box, sample.entry.colour
    tile = Image.new("RGBA", (box[2] - box[0], box[3] - box[1]), (*_bytes(colour), 84))
    sample.image.alpha_composite(tile, box[:2])
    if sample.entry.sample != "dashed fill":
        sample.pen.rectangle(box, outline=colour, width=sample.thin)
        return
    for k in (-8.0, -2.5, 3.0):
        start, end = (sample.x + step * sample.point for step in (k, k + 3.5))
        for edge in (box[1], box[3]):
            sample.pen.line([(start, edge), (end, edge)], fill=colour, width=sample.thin)


def _patch_sample(sample: _Sample) -> None:
    sample.pen.rectangle(sample.box, fill=sample.entry.colour, outline=ink.AREA_EDGE, width=sample.thin)
    if sample.entry.sample == "hatched patch":
        _hatched(sample, ink.CLASH)


def _hatch_sample(sample: _Sample) -> None:
    sample.pen.rectangle(sample.box, outline=sample.entry.colour, width=sample.thin)
    _hatched(sample, sample.entry.colour)


def _hatched(sample: _Sample, colour: str) -> None:
    left, top, right, bottom = sample.box
    pen, high = sample.pen, bottom - top
    step = max(3, round(3.4 * sample.point))
    for offset in range(left - high + step, right, step):
        a, b = max(offset, left), min(offset + high, right)
        pen.line([(a, bottom - (a - offset)), (b, bottom - (b - offset))], fill=colour, width=sample.thin)


def _symbol_sample(sample: _Sample) -> None:
    box, point, strokes = sample.box, sample.point, sample.entry.strokes
    xs = [v for ends in strokes for v in ends[::2]]
    ys = [v for ends in strokes for v in ends[1::2]]
    wide, high = (max(max(vs) - min(vs), 1e-6) for vs in (xs, ys))
    fit = min(15 * point / wide, 9.5 * point / high)
    # a beam or a line of light is drawn stouter than it is, or its sample would be a line
    fit_x, fit_y = max(fit, 5 * point / wide), max(fit, 5 * point / high)
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    size = ((box[2] - box[0] + 4) * SMOOTH, (box[3] - box[1] + 6) * SMOOTH)
    tile = Image.new("RGBA", size, (255, 255, 255, 0))
    fine = ImageDraw.Draw(tile)
    for x0, y0, x1, y1 in strokes:
        line = [
            (
                tile.width / 2 + (u - middle[0]) * fit_x * SMOOTH,
                tile.height / 2 - (v - middle[1]) * fit_y * SMOOTH,
            )
            for u, v in ((x0, y0), (x1, y1))
        ]
        fine.line(line, fill=sample.entry.colour, width=max(1, round(0.7 * point * SMOOTH)))
    small = tile.resize((tile.width // SMOOTH, tile.height // SMOOTH), Image.Resampling.BOX)
    sample.image.alpha_composite(small, (box[0] - 2, box[1] - 3))


def _wedge_sample(sample: _Sample) -> None:
    x, y, point = sample.x, sample.y, sample.point
    corners = [(x + 5 * point, y), (x - 4 * point, y - 4 * point), (x - 4 * point, y + 4 * point)]
    sample.pen.polygon(corners, fill=sample.entry.colour)


def _dashes_sample(sample: _Sample) -> None:
    for k in (-8, -2, 4):
        ends = [(sample.x + step * sample.point, sample.y) for step in (k, k + 4)]
        sample.pen.line(ends, fill=sample.entry.colour, width=sample.stout)


def _line_sample(sample: _Sample) -> None:
    left, _, right, _ = sample.box
    sample.pen.line([(left, sample.y), (right, sample.y)], fill=sample.entry.colour, width=sample.stout)


SAMPLES: Final[Mapping[str, Callable[[_Sample], None]]] = {
    "film": _film_sample,
    "fill": _film_sample,
    "dashed fill": _film_sample,
    "patch": _patch_sample,
    "hatched patch": _patch_sample,
    "hatch": _hatch_sample,
    "symbol": _symbol_sample,
    "wedge": _wedge_sample,
    "dashes": _dashes_sample,
}
"""How a sample of each kind is drawn; any other is a line."""


def _bytes(colour: str) -> tuple[int, int, int]:
    r, g, b = (round(255 * v) for v in ink.rgb(colour))
    return (r, g, b)
