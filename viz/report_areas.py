"""The report's table of areas."""

from __future__ import annotations

from typing import Any

from scenes.findings.review import Review
from viz.words import areas
from viz.words.locale import Locale

COLUMNS = ("area", "posture", "mouth", "covered", "margin", "worst at", "array", "state")


def area_table(review: Review) -> dict[str, Any] | None:
    """How each area stands, as the report's template takes a table; None where there is no area."""
    if not review.areas:
        return None
    locale = Locale.of(review.scene)
    rows = []
    for judged, one in zip(review.areas, areas.areas(review), strict=True):
        state = {"look": judged.state, "word": one.state}
        rows.append([one.id, one.posture, one.mouth, one.covered, one.margin, one.worst, one.arrays, state])
    head = [locale.say(f"column.{name}") for name in COLUMNS]
    return {"text": locale.say("report.areas"), "head": head, "rows": rows}
