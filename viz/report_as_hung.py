"""The design document of a room as it hangs: verdict and corrections first, measured beside designed, nothing to set."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from viz.report import report_data, set_report
from viz.words import as_built
from viz.words import as_hung as words
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.as_built import AsBuilt
    from scenes.room.scene import Scene
    from viz.cards import Cards
    from viz.sheets.drawing import Sheets


def report_as_hung(found: AsBuilt, dossier: Dossier, paper: str, drawn: Sheets, hung: Cards) -> bytes:
    """The report of a room as it hangs. `dossier` is of the scene of the papers."""
    told = report_data(dossier, pictures={}, paper=paper, drawn=drawn, hung=hung)
    # the heights are the design's and have no pages here
    listed = told["rests"]["sheets"]
    listed["text"] = Locale.of(dossier.scene).say("as built.sheets")
    listed["rows"] = [
        row for row, sheet in zip(listed["rows"], drawn.sheets, strict=True) if sheet.kind != "heights"
    ]
    return set_report(told | as_hung_data(found, dossier.scene))


def as_hung_data(found: AsBuilt, scene: Scene) -> dict[str, Any]:
    """What the report of a room as it hangs says in another way than a design's. `scene` is that of the papers."""
    locale, hold = Locale.of(scene), words.hold(found)
    state = "fail" if hold else found.review.verdict
    word = locale.say("as built.word.open" if hold else "as built.word.holds")
    sentences = [text for text in as_built.summary(found) if text != hold]
    return {
        "verdict": {"word": word, "state": state},
        "sentences": sentences,
        "about": " ".join(as_built.summary(found)),
        "hold": None if hold is None else locale.say("as built.hold", correction=hold),
        "as_hung": {
            "title": locale.say("as built.heading"),
            "day": words.day(found, scene.document.date, locale),
            "head": [locale.say(f"as built.column.{name}") for name in words.COLUMNS],
            "arrays": [
                {
                    "name": off.array,
                    "line": as_built.array(off, found, locale),
                    "rows": [[*row.cells, row.state] for row in words.rows(off, found, locale)],
                }
                for off in found.arrays
            ],
        },
    }
