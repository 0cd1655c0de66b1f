"""A room before every array has a place, in words: that there is no verdict yet, why, and what to type next."""

from __future__ import annotations

from pathlib import Path

from scenes.findings.review import Review
from viz.words import areas, clearances
from viz.words.locale import Locale


def sentences(look: Review) -> tuple[str, ...]:
    """Why there is no verdict, how many talkers there are, and what there is to say of clearances already."""
    locale = Locale.of(look.scene)
    why = f"{reason(look)}."
    talkers = locale.say("first.talkers", talkers=locale.counted(look.counts.talkers, "talker"))
    of_areas = [areas.waiting(one, locale) for one in look.scene.areas]
    return why, talkers, *of_areas, *clearances.of_rows(look.clearances, locale, judged=bool(look.clearances))


def reason(look: Review) -> str:
    """Why there is no verdict: which arrays have no place yet, or that there is none."""
    locale = Locale.of(look.scene)
    if look.waiting:
        return locale.say("first.waiting", len(look.waiting), arrays=locale.listed(look.waiting, 6))
    return locale.say("first.no array")


def next_step(look: Review, file: Path | str) -> str:
    """What to type next."""
    if look.waiting or len(look.scene.profiles) == 1:
        name = "first.next"
    elif look.scene.profiles:
        name = "first.next of profiles"
    else:
        name = "first.next without array"
    return Locale.of(look.scene).say(name, file=str(file))
