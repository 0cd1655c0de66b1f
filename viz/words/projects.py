"""The rooms of a project in words: a line for each, how many there are of each verdict."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, Literal

from geometry.records import record
from scenes.findings.review import Review
from scenes.spec.mistakes import SpecMistakes
from viz.words import cautions, verdict
from viz.words.locale import DASH, Locale

State = Literal["not read", "fail", "none", "caution", "pass"]
STATES: Final[tuple[State, ...]] = ("not read", "fail", "none", "caution", "pass")
"""How a room of a project stands, what needs somebody first in front; `not read`: its file has mistakes."""


@record(frozen=True, slots=True)
class RoomLine:
    """A room in a line of its project's table. `storey` is empty where the project does not say it."""

    state: State
    number: str
    name: str
    storey: str
    verdict: str
    covered: str
    open: str


def line(review: Review) -> RoomLine:
    """A room's line, also before every array has a place."""
    scene, locale = review.scene, Locale.of(review.scene)
    return RoomLine(
        review.verdict or "none",
        scene.number or DASH,
        scene.name,
        scene.storey or "",
        verdict.word(review.verdict, locale),
        verdict.counts(review.counts, locale) if review.judged else DASH,
        cautions.in_short(review),
    )


def unread(number: str | None, name: str | None, storey: str | None, wrong: Exception) -> RoomLine:
    """The line of a room that could not be read, by what its project calls it."""
    locale = Locale("m")
    count = len(wrong.mistakes) if isinstance(wrong, SpecMistakes) else 1
    word = locale.say("rooms.not read")
    return RoomLine(
        "not read",
        number or DASH,
        name or DASH,
        storey or "",
        word,
        DASH,
        locale.say("rooms.mistakes", count),
    )


def in_order(lines: Iterable[RoomLine]) -> list[RoomLine]:
    """What needs somebody first; among alike the project's order."""
    return sorted(lines, key=lambda one: STATES.index(one.state))


def heading(project: str, lines: Sequence[RoomLine]) -> str:
    """The project in a line: how many rooms, how many of each verdict."""
    locale = Locale("m")
    numbers = [(state, [one.state for one in lines].count(state)) for state in STATES]
    counts = [locale.say(f"rooms.count.{state}", count) for state, count in numbers if count]
    rooms = locale.counted(len(lines), "room")
    return locale.say("rooms.heading", project=project, rooms=rooms, counts=", ".join(counts))


def word(state: State, locale: Locale) -> str:
    """How a room stands, in a word or two."""
    return locale.say("rooms.not read" if state == "not read" else f"verdict.{state}")


def summary(lines: Sequence[RoomLine], arrays: int) -> str:
    """What a project holds: how many rooms, how many arrays."""
    locale = Locale("m")
    rooms, hung = locale.counted(len(lines), "room"), locale.counted(arrays, "array")
    return locale.say("schedule.of", arrays=hung, rooms=rooms)
