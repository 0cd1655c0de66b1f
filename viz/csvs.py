"""Tables as CSV: heads, clearances, the installer's schedule and the cautions, in metres and degrees.

The cautions are a table of their own beside the others: a note in the rows, or a column that repeats it,
would be in the way of whoever sorts, sums or reads them with another program.

Comma, full stop, UTF-8, CRLF line ends (RFC 4180); numbers as in the JSON. A text that a spreadsheet
would take for a formula gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from scenes.findings.clearance import Clearance
from scenes.findings.review import HeadReview, Review
from scenes.numbers import rounded
from scenes.review.cautions import ADVICE, cautions
from scenes.review.schedule import COLUMNS, ScheduleRow
from scenes.room.scene import Scene
from viz.words import clearances, coverage
from viz.words.clearances import ClearanceText
from viz.words.locale import Locale

HEAD_COLUMNS = (
    "id",
    "posture",
    "x_m",
    "y_m",
    "mouth_m",
    "mouth_low_m",
    "mouth_high_m",
    "sway_m",
    "array",
    "state",
    "reason",
    "depression_deg",
    "slant_m",
    "off_centre_deg",
    "sector",
    "slack_m",
    "margin_m",
    "sight",
    "blocked_by",
    "margin",
)
"""Numbers as in the JSON, names as they are there; the last as every other output shows it."""

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
    "state",
    "note",
    "source",
)

CAUTION_COLUMNS = ("id", "topic", "text", "defers_to", "sureness")


def heads_csv(review: Review) -> str:
    """One row per head."""
    texts = coverage.talkers_of(review)
    return _csv(
        HEAD_COLUMNS,
        ([*_head(head), said.margin] for head, said in zip(review.heads, texts, strict=True)),
    )


def clearances_csv(review: Review) -> str:
    """One row per clearance, in the review's order: numbers in metres, states and the rest as people read them."""
    locale = Locale.of(review.scene)
    return _csv(CLEARANCE_COLUMNS, (_clearance(c, clearances.row(c, locale)) for c in review.clearances))


def _clearance(one: Clearance, text: ClearanceText) -> list[object]:
    return [
        one.array,
        one.device,
        text.against,
        one.kind,
        None if one.part is None else text.part,
        text.number,
        text.title,
        one.required_m,
        one.actual_m,
        text.state,
        text.note,
        text.source,
    ]


def schedule_csv(rows: Sequence[ScheduleRow], locale: Locale) -> str:
    """The installer's schedule, one row per array."""
    columns = [name for name in COLUMNS if name != "tile_offset_m"]
    notes = ["" if row.tee is None else clearances.note(row.tee, locale) for row in rows]
    values = ([getattr(row, name) for name in columns] for row in rows)
    return _csv([*columns, "tile_note"], ([*own, note] for own, note in zip(values, notes, strict=True)))


def cautions_csv(scene: Scene) -> str:
    """The room's cautions, one row each, and in the last row who decides."""
    rows = [list(caution.as_json().values()) for caution in cautions(scene)]
    return _csv(CAUTION_COLUMNS, [*rows, ["advice", "Advice", ADVICE, "", ""]])


def _head(head: HeadReview) -> list[object]:
    return [
        head.id,
        head.posture,
        *head.mouth_m,
        *head.mouth_range_m,
        head.sway_m,
        head.array,
        head.standing,
        head.reason,
        head.depression_deg,
        head.slant_m,
        head.off_centre_deg,
        head.sector,
        head.slack_m,
        head.margin_m,
        head.sight,
        head.blocked_by,
    ]


def _csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return text.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{value}"
    return "" if value is None else rounded(value)
