"""What the page that `overtable` opens says beside findings: its headings, buttons and remarks."""

from __future__ import annotations

from typing import Final

from scenes.findings.review import Review
from scenes.spec.mistakes import SpecMistakes
from viz.words import verdict
from viz.words.locale import Locale

LABELS: Final = (
    *(
        "rooms",
        "new room",
        "open",
        "open, what",
        "place",
        "documents",
        "back",
        "gone",
        "empty",
        "empty, text",
    ),
    *("command", "mistakes", "plan"),
)
"""The texts that stay as they are while the page is open."""


def labels(locale: Locale) -> dict[str, str]:
    """Every text of the page that no room changes, by name."""
    return {name: locale.say(f"start.label.{name}") for name in LABELS}


def counted(judged: Review, locale: Locale) -> str:
    """How many talkers are covered, or that the arrays have no position yet."""
    if not judged.judged:
        return locale.counted(judged.counts.talkers, "talker")
    return locale.say(
        "start.counts",
        counts=verdict.counts(judged.counts, locale),
        what=verdict.covered(judged.counts, locale),
    )


def broken(error: Exception) -> str:
    """That a file has mistakes, and how many."""
    count = len(error.mistakes) if isinstance(error, SpecMistakes) else 1
    return Locale("m").say("start.broken", count)
