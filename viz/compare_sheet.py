"""Two rooms, or two placements of one, on one sheet of PDF: both pictures, a table in two columns, what differs.

Set by typst from `compare_sheet.typ`, PDF/A-2b and PDF/UA-1. Everything it says is made of words here; the template
only lays it out.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from scenes.findings.comparison import Comparison
from viz.sheets import PAPERS
from viz.sheets.drawing import document_date
from viz.typeset import picture_svg, set_document
from viz.words import cautions, comparison
from viz.words.page import made_by


def compare_pdf(
    found: Comparison, pictures: Sequence[bytes] = (), *, paper: str = "A4", date: str | None = None
) -> bytes:
    """The sheet as PDF. `pictures`: a PNG of each, or none. The same input gives the same bytes.

    `date` (YYYY-MM-DD) stands where the second spec gives none. Raises FontMissing, ValueError for another paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPERS)}")
    return set_document(
        Path(__file__), _told(found, pictures, paper, date), keep=("title", "about", "author")
    )


def _told(found: Comparison, pictures: Sequence[bytes], paper: str, date: str | None) -> dict[str, Any]:
    """All that the sheet says, as the template takes it."""
    locale, titles = comparison.locale_of(found), comparison.titles(found)
    scene = found.second.scene
    told_date = scene.document.date or date
    width, height = PAPERS[paper]
    shown = [
        picture_svg(png, locale.say("compare.still", side=title))
        for png, title in zip(pictures, titles, strict=False)
    ]
    return {
        "title": comparison.heading(found),
        "about": locale.say("compare.pdf.about"),
        "author": scene.document.drawn_by or "",
        "date": document_date(scene, date),
        "dated": told_date or locale.say("report.undated"),
        "page": {"width": width, "height": height},
        "letters": list(titles),
        "sides": [
            {"title": title, "hold": cautions.hold(review), "picture": shown[k] if k < len(shown) else None}
            for k, (title, review) in enumerate(zip(titles, found.reviews, strict=True))
        ],
        "figures": [list(row) for row in comparison.table(found)],
        "differences": list(comparison.sentences(found)),
        "bold": locale.say("compare.bold"),
        "headings": {
            "figures": locale.say("compare.figures"),
            "differences": locale.say("compare.differences"),
        },
        "made": [
            f"{letter}: {made_by(review.scene, told_date)}"
            for letter, review in zip(comparison.LETTERS.values(), found.reviews, strict=True)
        ],
        "cautions": [
            *dict.fromkeys(cautions.topics(review.scene) for review in found.reviews),
            cautions.advice(locale),
        ],
    }
