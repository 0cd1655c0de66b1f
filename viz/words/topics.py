"""Open points for the trades: title, description, and whose it is."""

from __future__ import annotations

from typing import Final

from geometry.records import record
from scenes.findings.clearance import Clearance
from scenes.review.cautions import DECIDES, SIGNS_FOR
from viz.words import clearances
from viz.words.cautions import CautionText
from viz.words.locale import Locale

UNSIGNED: Final = frozenset({"client"})
"""Whose cautions are no open point of a drawing."""
MECHANICAL: Final = ("supply diffuser", "return grille", "duct", "fan", "pipe")
"""Kinds that are the mechanical engineer's to move, who signs for nothing of an array."""


def trade_of(kind: str) -> str:
    """Whose a thing at the ceiling is, by its kind: who decides about it, the architect for all else."""
    if kind in MECHANICAL:
        return "mechanical"
    who = DECIDES.get(kind, "architect")
    return "architect" if who in UNSIGNED else who


@record(frozen=True, slots=True)
class TopicText:
    """What a topic says."""

    title: str
    description: str
    trade: str
    priority: str


def clearance_topic(one: Clearance, locale: Locale) -> TopicText:
    """The open point of a clearance that is not clear."""
    row = clearances.row(one, locale)
    parts = [clearances.conflict(one, locale)]
    if row.source:
        parts.append(locale.say("topic.source", source=row.source))
    return TopicText(
        title=locale.say("topic.clearance", array=row.array, thing=row.thing, rule=row.title),
        description=" ".join(part if part.endswith(".") else f"{part}." for part in parts if part),
        trade=_trade(trade_of(one.kind), locale),
        priority=locale.say("topic.high" if one.state == "short" else "topic.normal"),
    )


def sign_off_topic(caution: CautionText, locale: Locale) -> TopicText | None:
    """The sign-off that a caution asks of a trade; None if it asks for none."""
    trade = SIGNS_FOR[caution.name]
    if trade in UNSIGNED:
        return None
    return TopicText(
        title=locale.say("topic.sign-off", topic=caution.title),
        description=f"{caution.text} {locale.say('topic.confirm')}",
        trade=_trade(trade, locale),
        priority=locale.say("topic.normal"),
    )


def _trade(name: str, locale: Locale) -> str:
    return locale.say(f"topic.trade.{name}")
