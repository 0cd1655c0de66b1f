"""Tables as CSV: heads, clearances and the installer's schedule, in metres and degrees.

Comma, full stop, UTF-8, CRLF line ends (RFC 4180); numbers as in the JSON. A text that a spreadsheet
would take for a formula gets an apostrophe in front.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from scenes.numbers import rounded
from scenes.review import Clearance, HeadReview, Review
from scenes.suspension import COLUMNS, ScheduleRow

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
)


def heads_csv(review: Review) -> str:
    """One row per head."""
    return _csv(HEAD_COLUMNS, (_head(head) for head in review.heads))


def clearances_csv(review: Review) -> str:
    """One row per clearance, in the review's order."""
    columns = list(Clearance.__slots__)
    return _csv(columns, ([getattr(c, name) for name in columns] for c in review.clearances))


def schedule_csv(rows: Sequence[ScheduleRow]) -> str:
    """The installer's schedule, one row per array."""
    columns = [name for name in COLUMNS if name != "tile_offset_m"]
    return _csv(columns, ([getattr(row, name) for name in columns] for row in rows))


def _head(head: HeadReview) -> list[object]:
    return [
        head.id,
        head.posture,
        *head.mouth_m,
        *head.mouth_range_m,
        head.sway_m,
        head.array,
        head.state,
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
