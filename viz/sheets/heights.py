"""Heights and bands side by side: for each band the heights that would do, drawn to scale.

Each column is the half-plane through the array's axis: a band is the same all round, so every talker
stands at the true horizontal range and every angle is true, whichever way the talker sits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from geometry.records import record
from scenes.findings.heights import ArrayHeights, BandHeights
from scenes.findings.review import Standing
from scenes.room.ceiling import ceiling_over_m, highest_m
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
    return highest_m(scene.room)


MARGINS_MM: Final = (9.0, 5.5, 2.0, 12.0)
"""What the columns need on paper besides their notes: left, below, right, above."""


def notes_mm(scene: Scene, row: ArrayHeights, bands: Sequence[BandHeights], denominator: float) -> float:
    """How tall the longest of the notes below some bands is on paper, as wide as their columns are at a scale."""
    wide_mm = column_mm(scene, row, denominator)
    return max((len(_note_lines(scene, row, band, wide_mm)) for band in bands), default=0) * LINE_MM


def _note_lines(scene: Scene, row: ArrayHeights, band: BandHeights, wide_mm: float) -> list[str]:
    """What stands below a column of that width, line by line."""
    notes = words.notes(row, band, scene, chosen=_in_use(row, band))
    return [line for note in notes for line in lettering.wrap(note, TEXT_MM, wide_mm - 2.5)]


def _in_use(row: ArrayHeights, band: BandHeights) -> bool:
    """Whether the array hangs in this band now."""
    return band.name == row.today_band and row.today_m is not None


def heights_diagram(
    view: View, scene: Scene, states: Mapping[str, Standing], row: ArrayHeights, bands: Sequence[BandHeights]
) -> None:
    """Columns of some bands of one array, left to right. `states`: of the heads as placed; empty if nothing is."""
    array = scene.array(row.id)
    wide = view.to_m(column_mm(scene, row, view.denominator))
    reach = reach_m(scene, row)
    ceiling = highest_m(scene.room)
    _scale(view, scene)
    if bands and scene.limits.headroom_m < ceiling:
        # told once, where the first column's line ends, right of its axis; names of talkers keep off it
        text = view.draft.locale.say("sheet.headroom")
        end = view.to_m(9.0) + max(reach, view.to_m(lettering.width(text, TEXT_MM) + 1.0))
        view.text("note", text, (end, scene.limits.headroom_m + view.to_m(0.9)), align="right")
    for number, band in enumerate(bands):
        x = number * wide + view.to_m(9.0)
        _column(view, _Column(scene, array, row, band, states, x, x + reach))


TITLE_MM: Final = 15.0
"""What a title above the columns needs."""


def title(view: View, scene: Scene, row: ArrayHeights, wide_mm: float) -> None:
    """Above the columns: which array, where and for whom, and what the bars are."""
    locale = view.draft.locale
    x, ceiling = view.to_m(1.0), highest_m(scene.room)
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
        at = (view.to_m(1.0), highest_m(scene.room) + view.to_m(top - number * LINE_MM))
        view.text("status", line, at, weight="semibold")


def _scale(view: View, scene: Scene) -> None:
    locale = view.draft.locale
    step = 1.0 if locale.imperial else 0.5
    ceiling = highest_m(scene.room)
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


@record(frozen=True, slots=True)
class _Column:
    """One band of one array: its axis stands at `x_m`, drawn out to `end_m`. `states`: of the heads as placed."""

    scene: Scene
    array: Array
    row: ArrayHeights
    band: BandHeights
    states: Mapping[str, Standing]
    x_m: float
    end_m: float

    @property
    def chosen(self) -> bool:
        """Whether the array hangs in this band now."""
        return _in_use(self.row, self.band)

    @property
    def height_m(self) -> float | None:
        """At which height the band is drawn: the array's own, else the best that is allowed; None if none is."""
        return self.row.today_m if self.chosen else self.band.told_m

    @property
    def ceiling_m(self) -> float:
        return ceiling_over_m(self.scene.room, self.row.at_m)

    @property
    def ranges(self) -> list[tuple[str, float]]:
        """The heads the array serves, each with how far from the axis it is, metres."""
        x, y = self.row.at_m
        places = ((id, self.scene.head(id).at_m) for id in self.row.heads)
        return [(id, math.hypot(at[0] - x, at[1] - y)) for id, at in places]


def _column(view: View, column: _Column) -> None:
    """Everything of one column: first the band, then the room, who sits in it, the array, and the letters."""
    _wedge(view, column)
    _room(view, column)
    _talkers(view, column)
    _body(view, column)
    _bar(view, column.band, column.x_m)
    _letters(view, column)
    if column.chosen and column.row.today_m is not None:
        _names(view, column)
        at = (column.x_m - view.to_m(2.2), column.row.today_m)
        view.insert(symbols.level_block(view.draft), "array", at, turn_deg=-90, scale=view.paper(1))


def _wedge(view: View, column: _Column) -> None:
    """The band in the plane through the axis, within reach and the room."""
    import shapely

    if column.height_m is None:
        return
    band, axis = column.array.profile.band(column.band.name), (column.x_m, column.height_m)
    air = shapely.box(column.x_m, 0, column.end_m, column.ceiling_m)
    for part in shapely.get_parts(wedge_outline(band, axis, 1, air)):
        if part.geom_type == "Polygon" and part.area > 1e-6:
            ring = list(part.exterior.coords)[:-1]
            view.fill("band hatch", [ring])
            view.polyline("band" if column.chosen else "band standing", ring, closed=True)


def _room(view: View, column: _Column) -> None:
    """Floor and ceiling, the axis, table tops and the headroom."""
    x, end, ceiling = column.x_m, column.end_m, column.ceiling_m
    for z, role in ((0.0, "floor"), (ceiling, "ceiling")):
        view.line(role, (x - view.to_m(8), z), (end, z))
    view.line("chart", (x, 0), (x, ceiling))
    for level in {table.height_m for table in column.scene.tables}:
        view.line("table above", (x, level), (end, level), avoid=False)
    headroom = column.scene.limits.headroom_m
    if headroom < ceiling:
        # an underside lower than this belongs over a table only
        view.line("headroom", (x - view.to_m(8), headroom), (end, headroom), avoid=False)


def _talkers(view: View, column: _Column) -> None:
    """Every mouth at its true distance from the axis, with its range; as it is judged where the array hangs so."""
    for id, out in column.ranges:
        head, x = column.scene.head(id), column.x_m + out
        state = column.states.get(id) if column.chosen else None
        low, high = head.mouth_m
        if high > low:
            view.line(state or "seat", (x, low), (x, high))
        if state is not None:
            view.insert(
                symbols.head_block(view.draft, state), state, (x, head.middle_m[2]), scale=view.paper(1),
                attributes={"TAG": id, "STATE": state},
            )  # fmt: skip
            view.symbol_box((x, head.middle_m[2]), 1.0)


def _body(view: View, column: _Column) -> None:
    """Half of the array's body right of the axis, and what a pendant hangs by."""
    if column.height_m is None:
        return
    x, profile = column.x_m, column.array.profile
    low = column.height_m - profile.centre_m
    right, high = x + profile.size_m[0] / 2, low + profile.size_m[2]
    corners = [(x, low), (right, low), (right, high), (x, high)]
    view.fill("array hatch" if column.chosen else "structure hatch", [corners])
    view.polyline("array", corners, closed=True)
    if profile.mount == "pendant":
        view.line("suspension", (x, high), (x, column.ceiling_m))


def _letters(view: View, column: _Column) -> None:
    """The band above its column, what it allows below."""
    locale, left = view.draft.locale, column.x_m - view.to_m(8)
    name = words.row_text(column.band, locale).band
    over = column.ceiling_m + view.to_m(6.0)
    view.text("note", name, (left, over), weight="semibold", height_mm=3.0)
    if column.chosen:
        after = column.x_m + view.to_m(lettering.width(name, 3.0, "semibold") + 2.5 - 8)
        view.text("note", locale.say("sheet.current"), (after, over))
    y = -view.to_m(5.5)
    wide_mm = column_mm(column.scene, column.row, view.denominator)
    for line in _note_lines(column.scene, column.row, column.band, wide_mm):
        view.text("note", line, (left, y))
        y -= view.to_m(LINE_MM)


def _names(view: View, column: _Column) -> None:
    """One name for each place at which somebody is, the first in the file's order, and how many more are there."""
    low, high = view.to_mm((column.x_m, 0)), view.to_mm((column.end_m, column.ceiling_m))
    within = (low[0], 0.6, high[0] + 4, high[1] - 1)
    here: dict[tuple[int, int], list[tuple[str, float, float]]] = {}
    for id, out in column.ranges:
        z = column.scene.head(id).middle_m[2]
        here.setdefault((round(out * 50), round(z * 50)), []).append((id, column.x_m + out, z))
    for (id, *at), *others in here.values():
        name = f"{id} +{len(others)}" if others else id
        view.label([name], at, gap_mm=1.8, within=within, prefer=(-60, -120, 60, 120, -90, 90))


def _bar(view: View, band: BandHeights, x: float) -> None:
    """Left of the axis: allowed heights, full where all are covered; hatched what is ruled out; a tick at the best."""
    right, left = x - view.to_m(2.6), x - view.to_m(2.6 + BAR_MM)

    def ring(pair: tuple[float, float]) -> list[tuple[float, float]]:
        return [(left, pair[0]), (right, pair[0]), (right, pair[1]), (left, pair[1])]

    for pair in band.ruled_out_m:
        view.hatch("chart ruled out", [ring(pair)], spacing_mm=1.0)
        view.polyline("chart ruled out", ring(pair), closed=True)
    for pair in band.allowed_m:
        view.polyline("chart reach", ring(pair), closed=True)
    for pair in band.allowed_covered_m:
        view.fill("chart best hatch", [ring(pair)])
        view.polyline("chart best", ring(pair), closed=True)
    if band.told_m is not None:
        view.line("chart", (left - view.to_m(1.6), band.told_m), (right, band.told_m))
