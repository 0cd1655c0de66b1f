"""Tables as CSV: heads, clearances, the installer's schedule and the cautions, in metres and degrees.

Every row of a room that fails says in `hold` why it is not for installation; else that column is empty. The
cautions are a table of their own beside the others: repeated in the rows they would be in the way of whoever
sorts, sums or reads those with another program.

Comma, full stop, UTF-8, CRLF line ends (RFC 4180); numbers as in the JSON. A text that a spreadsheet
would take for a formula gets an apostrophe in front, a figure with a plus a space.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from scenes.findings.clearance import Clearance
from scenes.findings.installation import ScheduleRow
from scenes.findings.review import AreaReview, HeadReview, Review, Tolerance
from scenes.numbers import rounded
from scenes.review.materials import materials as pieces_of
from scenes.review.people import people_in
from scenes.room.scene import Scene
from scenes.room.walls import wall_name
from scenes.spec.measured import COLUMNS, TableRow
from scenes.spec.mistakes import Mistake, mistake_at
from viz.words import areas, cautions, clearances, coverage, installation, materials, tolerance
from viz.words.areas import AreaText
from viz.words.clearances import ClearanceText
from viz.words.coverage import TalkerText
from viz.words.locale import DASH, Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier

HEAD_COLUMNS = (
    "id",
    "posture",
    "plan_x_m",
    "plan_y_m",
    "mouth_m",
    "mouth_low_m",
    "mouth_high_m",
    "lean_m",
    "array",
    "state",
    "reason",
    "angle_down_deg",
    "distance_m",
    "from_centre_deg",
    "sector",
    "upright_margin_m",
    "margin_m",
    "sight",
    "blocked_by",
    "covered_share",
    "level_dBA",
    "to_noise_dB",
    "to_reverberant_dB",
    "index",
    "margin",
    "hold",
)
"""Numbers as in the JSON, by the names people read; words and the last two as every other output shows them. Of sound
it is the weaker way of somebody who turns.

`plan_x_m` and `plan_y_m` are in the file's own frame, here and in the schedule.
"""

AREA_COLUMNS = (
    "id",
    "posture",
    "mouth_low_m",
    "mouth_high_m",
    "lean_m",
    "state",
    "covered_share",
    "upright_margin_m",
    "margin_m",
    "worst_x_m",
    "worst_y_m",
    "worst_mouth_m",
    "arrays",
    "margin",
    "hold",
)
"""Of an area, in which anybody may be anywhere; the worst place is in the file's own frame."""

CLEARANCE_COLUMNS = (
    "array",
    "device",
    "against",
    "kind",
    "part",
    "number",
    "rule",
    "required_m",
    "actual_m",
    "required",
    "actual",
    "state",
    "note",
    "source",
    "hold",
)

OPEN_COLUMNS = ("room", "room_number", "storey", *CLEARANCE_COLUMNS[:-1])
"""The columns of the clearances of several rooms that are not clear."""

MATERIAL_COLUMNS = ("item", "kind", "length_m", "length", "pieces", "rooms", "arrays")
"""The columns of what is ordered and cut for several rooms; a length not known is empty, and a dash in `length`."""

CAUTION_COLUMNS = ("id", "topic", "text", "defers_to", "checked")


def heads_csv(review: Review) -> str:
    """One row per head."""
    texts = coverage.talkers_of(review)
    held = cautions.hold(review)
    people = people_in(review)
    shares = {} if people is None else people.covered_share
    sound = {
        line.head: [line.level_dBA, line.to_noise_dB, line.to_reverberant_dB, line.index]
        for line in review.speech or ()
        if line.counts
    }
    return _csv(
        HEAD_COLUMNS,
        (
            [*_head(head, said), shares[head.id], *sound.get(head.id, [None] * 4), said.margin, held]
            for head, said in zip(review.heads, texts, strict=True)
        ),
    )


def areas_csv(review: Review) -> str:
    """One row per area."""
    locale, held = Locale.of(review.scene), cautions.hold(review)
    return _csv(AREA_COLUMNS, ([*_area(one, areas.area(one, locale)), held] for one in review.areas))


def _area(one: AreaReview, text: AreaText) -> list[object]:
    return [
        one.id,
        one.posture,
        *one.mouth_range_m,
        one.sway_m,
        text.state,
        one.covered_share,
        one.slack_m,
        one.margin_m,
        *one.worst_at_m,
        text.arrays,
        text.margin,
    ]


def clearances_csv(review: Review) -> str:
    """One row per clearance, in the review's order: numbers in metres, states and the rest as people read them."""
    locale, held = Locale.of(review.scene), cautions.hold(review)
    rows = ([*_clearance(one, clearances.row(one, locale)), held] for one in review.clearances)
    return _csv(CLEARANCE_COLUMNS, rows)


def _clearance(one: Clearance, text: ClearanceText) -> list[object]:
    return [
        one.array,
        one.device,
        text.against,
        text.kind,
        None if one.part is None else text.part,
        text.number,
        text.title,
        one.required_m,
        one.actual_m,
        text.required,
        text.actual,
        text.state,
        text.note,
        text.source,
    ]


def open_rows(review: Review) -> list[list[object]]:
    """The clearances of a room that are open, in the order of `OPEN_COLUMNS`."""
    scene, locale = review.scene, Locale.of(review.scene)
    return [
        [scene.name, scene.number, scene.storey, *_clearance(one, clearances.row(one, locale))]
        for one in review.open_clearances
    ]


def open_csv(rows: Iterable[Sequence[object]]) -> str:
    """The open clearances of several rooms in one table, from `open_rows` of each."""
    return _csv(OPEN_COLUMNS, rows)


def material_rows(dossier: Dossier) -> list[list[object]]:
    """What is ordered and cut for a room, a row a piece of each array: item, kind, length, in words, how many, where."""
    locale, number = Locale.of(dossier.scene), dossier.scene.number or dossier.scene.name
    return [
        [
            *(piece.item, materials.kind(piece, locale), rounded(piece.length_m)),
            *(materials.length(piece, locale), piece.count, number, piece.array),
        ]
        for piece in pieces_of(dossier.schedule)
    ]


def materials_csv(rows: Iterable[Sequence[object]]) -> str:
    """What is ordered and cut for several rooms, alike pieces in one row, from `material_rows` of each."""
    alike: dict[tuple[Any, ...], list[Sequence[Any]]] = {}
    for row in rows:
        alike.setdefault(tuple(row[:4]), []).append(row)
    locale = Locale("m")
    order = sorted(alike, key=lambda key: (materials.ITEMS.index(key[0]), key[1], key[2] or 0, key[3]))
    return _csv(
        MATERIAL_COLUMNS,
        (
            [
                *(materials.item(key[0], locale), *key[1:], sum(row[4] for row in alike[key])),
                len(dict.fromkeys(row[5] for row in alike[key])),
                "; ".join(f"{row[5]} {row[6]}" for row in alike[key]),
            ]
            for key in order
        ),
    )


SCHEDULE_COLUMNS = (
    *("room", "room_number", "storey", "project", "number", "revision", "date", "verdict", "hold", "open"),
    *(
        "array",
        "profile",
        "mount",
        "plan_x_m",
        "plan_y_m",
        "x_off_wall_m",
        "x_wall",
        "x_wall_in_file",
        "x_wall_line",
        "y_off_wall_m",
        "y_wall",
        "y_wall_in_file",
        "y_wall_line",
        "tile",
        "tile_note",
    ),
    *("ceiling_m", "ceiling_kind", "ceiling_part", "underside_m", "centre_m", "drop_m", "turn_deg"),
    *("band", "low_deg", "high_deg"),
    *("cable_m", "spare_m", "mass_kg"),
    *("hangs_by", "pieces", "piece_m", "not_known_without", "array_line_m", "box_line_m"),
    *("holes", "hole_x_m", "hole_y_m", "holes_at"),
    *("tolerance_sideways_m", "tolerance_up_m", "tolerance_down_m", "level_deg"),
    *("sideways_limited_by", "up_limited_by", "down_limited_by"),
    *("box", "fixing", "box_secondary_support", "array_secondary_support", "strain_relief", "suspension"),
    *("cut_to_length", "secondary_support_length", "opening"),
    *("hang_point", "x", "y", "underside", "drop", "cable", "level", "mass"),
    *("supplied_by", "order_number"),
    *COLUMNS,
)
"""The schedule's columns: the room and how it is judged, what is set out, how it is held, and the figures in words.

`plan_x_m` and `plan_y_m` are in the file's own frame; what is set out is square off two walls, each by its name on the
plan, by its number in the file and by its line on plan. The last ones are empty: who supplies it and what is measured
when it hangs is written there, in the unit that stands in `measured_unit`. `level_deg` is what may be out of level.
"""

DESIGNED = (
    *("plan_x_m", "plan_y_m", "x_off_wall_m", "x_wall", "y_off_wall_m", "y_wall", "tile", "ceiling_m"),
    *("underside_m", "centre_m", "drop_m", "turn_deg", "band", "low_deg", "high_deg", "level_deg"),
    *("hang_point", "x", "y", "underside", "drop", "level"),
)
"""The schedule's columns that somebody might write what was measured into, and that are the design's."""


def schedule_csv(dossier: Dossier) -> str:
    """The installer's schedule, one row per array, each with its room's verdict and what holds it."""
    return _csv(SCHEDULE_COLUMNS, schedule_rows(dossier))


def schedules_csv(rows: Iterable[Sequence[object]]) -> str:
    """The schedules of several rooms in one table, from `schedule_rows` of each."""
    return _csv(SCHEDULE_COLUMNS, rows)


def schedule_rows(dossier: Dossier) -> list[list[object]]:
    """The cells of a room's schedule, in the order of `SCHEDULE_COLUMNS`."""
    scene, review = dossier.scene, dossier.review
    document, locale = scene.document, Locale.of(scene)
    lines = installation.walls(scene, dossier.schedule, locale)
    about: list[object] = [scene.name, scene.number, scene.storey, scene.project]
    about += [document.number, document.revision, document.date]
    about += [review.verdict, cautions.hold(review), cautions.still_open(review)]
    rows: list[list[object]] = []
    for row in dossier.schedule:
        text = installation.schedule(row, review)
        x_from, y_from = wall_name(row.x_wall), wall_name(row.y_wall)
        rows.append(
            [
                *about,
                *(row.array, row.profile, row.mount),
                *review.array(row.array).at_m,
                *(row.x_m, x_from, row.x_wall, lines[x_from]),
                *(row.y_m, y_from, row.y_wall, lines[y_from]),
                *(row.tile, text.tile),
                *(row.ceiling_m, row.ceiling, row.part),
                *(row.underside_m, row.centre_m, row.drop_m, row.turn_deg),
                *(row.band, row.low_deg, row.high_deg),
                *(row.cable_m, row.spare_m, row.mass_kg),
                *_hang(row),
                *_may_be_off(row.tolerance, review),
                *tolerance.limits(row.tolerance, review),
                *(text.box, text.fixing, text.box_support, text.array_support, text.relief, text.suspension),
                *(text.cut, text.second, text.holes),
                *(text.hang, text.x, text.y, text.underside, text.drop, text.cable, text.level, text.mass),
                *(None, None),
                *(
                    ("in" if locale.imperial else "mm") if name == "measured_unit" else None
                    for name in COLUMNS
                ),
            ]
        )
    return rows


def written_over(dossier: Dossier, rows: Iterable[TableRow]) -> list[Mistake]:
    """The cells of a table that say something else of the design than it does: written over, or of an earlier issue."""
    designed = {
        str(cells["array"]): cells
        for cells in (
            {name: _cell(value) for name, value in zip(SCHEDULE_COLUMNS, row, strict=True)}
            for row in schedule_rows(dossier)
        )
    }
    return [
        mistake_at(row.line, 1, name, "measured-design", found or DASH, designed=str(cell) or DASH)
        for row in rows
        for cells in [designed.get(row.cells["array"]) or designed.get(f"'{row.cells['array']}") or {}]
        for name in DESIGNED
        if name in cells
        and (found := row.cells.get(name)) is not None
        and not _alike(found, cell := cells[name])
    ]


def _alike(found: str, designed: object) -> bool:
    """Whether a cell still says what it did: a spreadsheet may write a number in another way."""
    with suppress(ValueError):
        return abs(float(found) - float(str(designed))) < ROUNDED
    return found.strip() == str(designed).strip()


ROUNDED = 5e-4
"""A spreadsheet that shows few digits may save no more."""


def _hang(row: ScheduleRow) -> tuple[object, ...]:
    """What is cut and drilled for an array, ten cells: a hole's size, and where the holes are, x and y of each."""
    hang = row.hang
    across, deep = hang.cutout_m or (None, None)
    places = "; ".join(f"{rounded(x)} {rounded(y)}" for x, y in row.holes_m)
    return (
        *(hang.by, hang.pieces, hang.piece_m, hang.lacks, hang.second_m, hang.box_line_m),
        *(hang.holes, across, deep, places),
    )


def _may_be_off(tolerance: Tolerance, review: Review) -> tuple[float | None, ...]:
    """How far an array may be off, four cells: empty in a room that fails, where nothing is to be hung."""
    if review.held:
        return (None, None, None, None)
    return (tolerance.sideways_m, tolerance.up_m, tolerance.down_m, tolerance.level_deg)


def cautions_csv(scene: Scene) -> str:
    """The room's cautions, one row each, and in the last row who decides."""
    rows: list[list[object]] = [
        [one.name, one.title, one.text, one.code, one.checked] for one in cautions.full(scene)
    ]
    advice = cautions.advice(Locale.of(scene))
    return _csv(CAUTION_COLUMNS, [*rows, ["advice", "Advice", advice, "", ""]])


def _head(head: HeadReview, text: TalkerText) -> list[object]:
    return [
        head.id,
        head.posture,
        *head.mouth_m,
        *head.mouth_range_m,
        head.sway_m,
        head.array,
        text.state,
        head.reason,
        head.depression_deg,
        head.slant_m,
        head.off_centre_deg,
        head.sector,
        head.slack_m,
        head.margin_m,
        head.sight,
        text.blocked_by,
    ]


def _csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return text.getvalue()


FIGURE = re.compile(r"""\+[\d ./'"-]+( mm| cm| m| in)?""")
"""A length with its plus, as a text: `+13 cm`, `+28 1/4"`."""


def _cell(value: object) -> object:
    """A cell that no spreadsheet runs: a figure with a plus after a space, any other text that could be a formula
    behind an apostrophe."""
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f" {value}" if FIGURE.fullmatch(value) else f"'{value}"
    return "" if value is None else rounded(value)
