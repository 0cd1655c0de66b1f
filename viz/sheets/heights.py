"""Heights and bands side by side: for each band the heights that would do, drawn to scale.

Each column is the half-plane through the array's axis: a band is the same all round, so every talker
stands at the true horizontal range and every angle is true, whichever way the talker sits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from scenes.findings.heights import ArrayHeights, BandHeights
from scenes.findings.review import Standing
from scenes.room.scene import Array, Scene
from viz.sheets import lettering, symbols
from viz.sheets.draft import LINE_MM, TEXT_MM, View
from viz.sheets.section import wedge_outline
from viz.words import arrays
from viz.words import heights as words

COLUMN_MM: Final = 55.0
"""A column is never narrower on paper: its letters need that."""
BAR_MM: Final = 3.0


def reach_m(scene: Scene, row: ArrayHeights) -> float:
    """How far out a column is drawn, metres: to the farthest talker and a little more."""
    ranges = [
        math.hypot(scene.head(id).at_m[0] - row.at_m[0], scene.head(id).at_m[1] - row.at_m[1])
        for id in row.heads
    ]
    return max([*ranges, 1.0]) + 0.35


def column_mm(scene: Scene, row: ArrayHeights, denominator: float) -> float:
    """Width of a column on paper."""
    return max(COLUMN_MM, reach_m(scene, row) * 1000 / denominator + 18.0)


def tall_m(scene: Scene) -> float:
    """Height drawn, metres."""
    return scene.room.ceiling_m


def margins_mm() -> tuple[float, float, float, float]:
    """What the columns need on paper: left, below, right, above."""
    return 9.0, 7 * LINE_MM + 4, 2.0, 12.0


def heights_diagram(
    view: View, scene: Scene, states: Mapping[str, Standing], row: ArrayHeights, bands: Sequence[BandHeights]
) -> None:
    """Columns of some bands of one array, left to right. `states`: of the heads as placed; empty if nothing is."""
    array = scene.array(row.id)
    wide = view.to_m(column_mm(scene, row, view.denominator))
    reach = reach_m(scene, row)
    ceiling = scene.room.ceiling_m
    _scale(view, scene)
    for number, band in enumerate(bands):
        _column(view, scene, states, row, band, array, number * wide + view.to_m(9.0), reach, ceiling)
    if bands and scene.limits.headroom_m < ceiling:
        # told once, where the first column's line ends, and clear of the talkers' names below it
        at = (view.to_m(9.0) + reach, scene.limits.headroom_m + view.to_m(0.9))
        view.text("note", view.draft.locale.say("sheet.headroom"), at, align="right")


TITLE_MM: Final = 15.0
"""What a title above the columns needs."""


def title(view: View, scene: Scene, row: ArrayHeights, wide_mm: float) -> None:
    """Above the columns: which array, where and for whom, and what the bars are."""
    locale = view.draft.locale
    x, ceiling = view.to_m(1.0), scene.room.ceiling_m
    where = locale.say("sheet.array at", array=row.id, place=arrays.place(row.at_m, locale))
    view.text("note", where, (x, ceiling + view.to_m(21.0)), weight="semibold", height_mm=3.0)
    y = 21.0 - LINE_MM - 0.5
    for line in lettering.wrap(locale.say("sheet.bars"), TEXT_MM, wide_mm):
        view.text("note", line, (x, ceiling + view.to_m(y)))
        y -= LINE_MM


def mark_lines(text: str, columns: int) -> list[str]:
    """What stands over the title, wrapped to as many columns."""
    return lettering.wrap(lettering.plain(text), TEXT_MM, columns * COLUMN_MM, "semibold")


def tall_mark_mm(lines: Sequence[str]) -> float:
    """What those lines need over the title."""
    return len(lines) * LINE_MM


def mark(view: View, scene: Scene, lines: Sequence[str]) -> None:
    """What the room is judged, with what holds it or is open, over the title."""
    top = 21.0 + LINE_MM * (len(lines) + 0.5)
    for number, line in enumerate(lines):
        at = (view.to_m(1.0), scene.room.ceiling_m + view.to_m(top - number * LINE_MM))
        view.text("status", line, at, weight="semibold")


def _scale(view: View, scene: Scene) -> None:
    locale = view.draft.locale
    step = 1.0 if locale.imperial else 0.5
    ceiling = scene.room.ceiling_m
    x = -view.to_m(1.0)
    view.line("chart", (x, 0), (x, ceiling))
    for i in range(math.floor(ceiling / locale.unit_m / step + 1e-9) + 1):
        z = i * step * locale.unit_m
        view.line("chart", (x - view.to_m(1.2), z), (x, z))
        if not locale.imperial or i % 2 == 0:
            view.text(
                "note", locale.tick(i * step), (x - view.to_m(2.0), z - view.to_m(TEXT_MM / 2)), align="right"
            )
    view.text("note", locale.unit, (x, ceiling + view.to_m(1.8)), align="centre")


def _column(
    view: View,
    scene: Scene,
    states: Mapping[str, Standing],
    row: ArrayHeights,
    band: BandHeights,
    array: Array,
    x: float,
    reach: float,
    ceiling: float,
) -> None:
    import shapely

    chosen = band.name == row.today_band and row.today_m is not None
    height = row.today_m if chosen and row.today_m is not None else band.best_allowed_m
    end = x + reach
    if height is not None:
        shape = wedge_outline(array.profile.band(band.name), (x, height), 1, shapely.box(x, 0, end, ceiling))
        for part in getattr(shape, "geoms", [shape]):
            if part.geom_type == "Polygon" and part.area > 1e-6:
                ring = list(part.exterior.coords)[:-1]
                view.fill("band hatch", [ring])
                view.polyline("band" if chosen else "band standing", ring, closed=True)
    for z, role in ((0.0, "floor"), (ceiling, "ceiling")):
        view.line(role, (x - view.to_m(8), z), (end, z))
    view.line("chart", (x, 0), (x, ceiling))
    tables = {table.height_m for table in scene.tables}
    for level in tables:
        view.line("table above", (x, level), (end, level), avoid=False)
    headroom = scene.limits.headroom_m
    if headroom < ceiling:
        # an underside lower than this belongs over a table only
        view.line("headroom", (x - view.to_m(8), headroom), (end, headroom), avoid=False)
    ranges: list[tuple[float, float, str]] = []
    for id in row.heads:
        head = scene.head(id)
        out = math.hypot(head.at_m[0] - row.at_m[0], head.at_m[1] - row.at_m[1])
        low, high = head.mouth_m
        role = states.get(id, "seat") if chosen else "seat"
        if high > low:
            view.line(role, (x + out, low), (x + out, high))
        if chosen and id in states:
            view.insert(
                symbols.head_block(view.draft, states[id]), role, (x + out, head.middle_m[2]), scale=view.paper(1),
                attributes={"TAG": id, "STATE": states[id]},
            )  # fmt: skip
            view.symbol_box((x + out, head.middle_m[2]), 1.0)
        ranges.append((out, head.middle_m[2], id))
    if height is not None:
        profile = array.profile
        half = profile.size_m[0] / 2
        low = height - profile.centre_m
        corners = [
            (x, low),
            (x + half, low),
            (x + half, low + profile.size_m[2]),
            (x, low + profile.size_m[2]),
        ]
        view.fill("array hatch" if chosen else "structure hatch", [corners])
        view.polyline("array", corners, closed=True)
        if profile.mount == "pendant":
            view.line("suspension", (x, low + profile.size_m[2]), (x, ceiling))
    _bar(view, band, x)
    # letters: the band above its column, what it allows below
    locale = view.draft.locale
    name = words.row_text(band, locale).band
    view.text(
        "note", name, (x - view.to_m(8), ceiling + view.to_m(6.0)),
        weight="semibold", height_mm=3.0,
    )  # fmt: skip
    if chosen:
        after = view.to_m(lettering.width(name, 3.0, "semibold") + 2.5 - 8)
        view.text("note", locale.say("sheet.current"), (x + after, ceiling + view.to_m(6.0)))
    y = -view.to_m(5.5)
    for note in words.notes(row, band, locale, chosen=chosen):
        for line in lettering.wrap(note, TEXT_MM, COLUMN_MM - 2.5):
            view.text("note", line, (x - view.to_m(8), y))
            y -= view.to_m(LINE_MM)
    if chosen:
        # one name for each range at which somebody sits, the first in the file's order
        shown: set[tuple[int, int]] = set()
        for out, z, id in ranges:
            key = round(out * 50), round(z * 50)
            if key not in shown:
                shown.add(key)
                count = sum((round(o * 50), round(w * 50)) == key for o, w, _ in ranges)
                name = id if count == 1 else f"{id} +{count - 1}"
                within = (
                    view.to_mm((x, 0))[0],
                    0.6,
                    view.to_mm((end, 0))[0] + 4,
                    view.to_mm((0, ceiling))[1] - 1,
                )
                view.label(
                    [name], (x + out, z), gap_mm=1.8, within=within, prefer=(-60, -120, 60, 120, -90, 90)
                )
    if row.today_m is not None and chosen:
        at = (x - view.to_m(2.2), row.today_m)
        view.insert(symbols.level_block(view.draft), "array", at, turn_deg=-90, scale=view.paper(1))


def _bar(view: View, band: BandHeights, x: float) -> None:
    """Left of the axis: light where everybody is reached upright, full where they are covered, a tick at the best."""
    right, left = x - view.to_m(2.6), x - view.to_m(2.6 + BAR_MM)
    if band.interval_m is not None:
        low, high = band.interval_m
        view.polyline("chart reach", [(left, low), (right, low), (right, high), (left, high)], closed=True)
    if band.covered_interval_m is not None:
        low, high = band.covered_interval_m
        ring = [(left, low), (right, low), (right, high), (left, high)]
        view.fill("chart best hatch", [ring])
        view.polyline("chart best", ring, closed=True)
    if band.best_allowed_m is not None:
        view.line("chart", (left - view.to_m(1.6), band.best_allowed_m), (right, band.best_allowed_m))
