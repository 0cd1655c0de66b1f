"""Heights and bands side by side, as a picture for a page or a slide: the sheets' diagram without the sheet."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final, Literal

from viz.sheets import render
from viz.sheets.drawing import Figure, heights_figure
from viz.sheets.heights import COLUMN_MM, TITLE_MM
from viz.sheets.lettering import plain
from viz.words import cautions, verdict
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.findings.heights import ArrayHeights
    from scenes.findings.review import Review, Standing
    from scenes.room.scene import Scene

TALL_MM: Final = 160.0
"""Height one array's diagram may take under its title; its width follows from its bands."""
GAP_MM: Final = 6.0
PNG_DPI: Final = 200.0


def heights_picture(
    scene: Scene,
    rows: Sequence[ArrayHeights],
    form: Literal["svg", "png"],
    *,
    review: Review | None = None,
    dpi: float = PNG_DPI,
) -> str | bytes:
    """The heights and bands of all arrays that serve somebody, one below the other: SVG text, or PNG bytes on white.

    `review`: how the room is judged as placed, which the picture then says with what holds it or is open; without it
    (an array without a height, or nobody asked) every band is drawn at its best height. True to scale: in the PNG at
    `dpi`. Raises DoesNotFit, FontMissing.
    """
    rows = [row for row in rows if row.heads] or rows
    states: Mapping[str, Standing] = {} if review is None else {one.id: one.standing for one in review.heads}
    held = None
    if review is not None:
        held = f"{verdict.word(review.verdict, Locale.of(scene))}. {cautions.line(review)}"
    figures = [
        heights_figure(
            scene,
            states,
            row,
            room_mm=(len(row.bands) * (COLUMN_MM + 24.0) + 12.0, TALL_MM + TITLE_MM),
            titled=True,
            held=held,
        )
        for row in rows
    ]
    titles = [
        Locale.of(scene).say("diagram.title", array=plain(row.id), scale=one.scale_text)
        for row, one in zip(rows, figures, strict=True)
    ]
    return _svg(figures, titles) if form == "svg" else _png(figures, titles, dpi)


def _svg(figures: Sequence[Figure], titles: Sequence[str]) -> str:
    if len(figures) == 1:
        return figures[0].drawn.svg(title=titles[0], about=figures[0].about)
    wide = max(one.drawn.width_mm for one in figures)
    tall = sum(one.drawn.height_mm for one in figures) + GAP_MM * (len(figures) - 1)
    parts = [
        "<?xml version='1.0' encoding='utf-8'?>\n"
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{tall:.3f}mm" '
        f'viewBox="0 0 {wide:.3f} {tall:.3f}">\n<rect width="{wide:.3f}" height="{tall:.3f}" fill="#ffffff"/>\n'
    ]
    y = 0.0
    for number, (one, title) in enumerate(zip(figures, titles, strict=True)):
        inner = one.drawn.svg(title=title, about=one.about).split("\n", 1)[1]
        # a picture in a picture: in the outer one's millimetres, with names of its own
        inner = inner.replace(
            f'width="{render.number(one.drawn.width_mm)}mm" height="{render.number(one.drawn.height_mm)}mm"',
            f'y="{y:.3f}" width="{one.drawn.width_mm:.3f}" height="{one.drawn.height_mm:.3f}"',
            1,
        )
        for name in ("t", "d"):
            inner = inner.replace(f'id="{name}"', f'id="{name}{number}"', 1)
        inner = inner.replace('aria-labelledby="t d"', f'aria-labelledby="t{number} d{number}"', 1)
        inner = inner.replace('<path id="', f'<path id="a{number}-').replace('href="#', f'href="#a{number}-')
        parts.append(inner)
        y += one.drawn.height_mm + GAP_MM
    return "".join([*parts, "</svg>\n"])


def _png(figures: Sequence[Figure], titles: Sequence[str], dpi: float) -> bytes:
    pages = [
        render.page_data(one.drawn, title=title, about=one.about)
        for one, title in zip(figures, titles, strict=True)
    ]
    source = (
        render.LETTERS_TYP
        + "#let told = json(bytes(sys.inputs.told))\n"
        + "#set page(width: auto, height: auto, margin: 3mm, fill: white)\n"
        + f"#stack(spacing: {GAP_MM}mm, ..told.map(drawing))\n"
    )
    # a PNG carries no date
    made = render.compiled(source, {"told": json.dumps(pages)}, date="2000-01-01", output="png", ppi=dpi)
    assert isinstance(made, bytes)
    return made
