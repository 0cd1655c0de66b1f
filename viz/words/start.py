"""What the page that `overtable` opens says beside findings: its headings, buttons and remarks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from scenes.findings.review import Review
from scenes.place.placement import Placement
from scenes.spec.mistakes import SpecMistakes
from viz.words import aims, conflict, verdict
from viz.words import placement as placement_words
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
    *("command", "mistakes", "plan", "new room, text", "create", "plan of answers"),
    *("find", "stop", "stopped", "searching", "aims", "proposed", "current", "write", "written", "lines"),
    *("make", "making", "paper", "choose", "download", "all made"),
    *("undo", "redo", "remedies", "details", "open room", "to documents"),
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


FIELDS: Final = (
    "name",
    "units",
    "size",
    "ceiling",
    "table",
    "seats",
    "array",
    "devices",
    "presenter",
    "file",
)
"""What the form of a new room asks: the questions of `overtable new`, and the file's name."""


def field(name: str, locale: Locale) -> dict[str, str]:
    """A field of the form: its name, its label and what may be typed."""
    return {
        "name": name,
        "label": locale.say(f"start.field.{name}"),
        "hint": locale.say(f"start.hint.{name}"),
    }


def choices(
    units: Sequence[str], profiles: Sequence[str], locale: Locale
) -> dict[str, list[tuple[str, str]]]:
    """What is chosen and not typed: by field the answers, each with how it reads."""
    return {
        "units": [(unit, locale.say(f"start.unit.{unit}")) for unit in units],
        "array": [("example", locale.say("start.example")), *((one, one) for one in profiles)],
        "presenter": [(answer, locale.say(f"start.answer.{answer}")) for answer in ("no", "yes")],
    }


def of_new(look: Review) -> str:
    """What the answers make, in a few words."""
    locale = Locale.of(look.scene)
    talkers = locale.counted(look.counts.talkers, "talker")
    return locale.say("start.of new", area=locale.area(look.scene.room.area_m2), talkers=talkers)


def aim_tabs(locale: Locale) -> list[tuple[str, str, str]]:
    """The aims to choose from: the option's name (empty for what is taken if none is asked for), label and meaning."""
    named = [(aim, locale.say(f"start.aim.{aim}"), locale.say(f"aims.key.{aim}")) for aim in aims.LEGEND]
    return [("", locale.say("start.aim.none"), locale.say("start.aim.none, key")), *named]


def of_search(
    placement: Placement, unconstrained: Placement | None, beside: Placement | None
) -> tuple[str, ...]:
    """What was found, limits and prices; what stands in the way is in `remedies`."""
    locale = Locale.of(placement.scene)
    said = placement_words.closing(placement, unconstrained, beside, locale)
    return said[: len(said) - len(conflict.sentences(placement, locale))]


def remedies(placement: Placement) -> tuple[str, ...]:
    """Why not everyone can be covered, then each change that was tried."""
    return conflict.sentences(placement, Locale.of(placement.scene))


def aims_table(placement: Placement) -> dict[str, object]:
    """The aims beside each other, as `place` prints them."""
    locale = Locale.of(placement.scene)
    names = ("aim", "height", "band", "margin", "distance", "from centre", "proof")
    rows = [
        (row.aim, row.height, row.band, row.margin, row.distance, row.from_centre, row.proof)
        for row in aims.aims(placement, locale)
    ]
    return {"head": [locale.say(f"column.{name}") for name in names], "rows": rows}


def document(kind: str, locale: Locale) -> dict[str, str]:
    """A kind of document: its name, label and what it is."""
    what = locale.say(f"start.document.what.{kind}")
    return {"name": kind, "label": locale.say(f"start.document.{kind}"), "what": what}


def failed(said: Sequence[str]) -> str:
    """What a command said when it failed, without its own name in front."""
    lines = [line.removeprefix("overtable: ") for line in said if line.strip()]
    return "\n".join(lines[-6:]) or Locale("m").say("worker")
