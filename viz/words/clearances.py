"""What is too near at the ceiling, what cannot be judged, and what there is to say beside the figures."""

from __future__ import annotations

from collections.abc import Sequence

from scenes.findings.review import Clearance, Review
from viz.words.locale import Locale


def word(clearance: Clearance, locale: Locale) -> str:
    """A clearance's state in a table: what is short by a value that only advises is `below advice`."""
    advised = clearance.state == "short" and not clearance.binding
    return locale.say(f"clearance.state.{'advised' if advised else clearance.state}")


def phrase(clearance: Clearance, locale: Locale) -> str:
    """One clearance in words, with required and actual where they exist."""
    array, thing = clearance.array, clearance.against
    if clearance.rule == "touch":
        thing = locale.say("clearance.touch.wall") if clearance.kind == "wall" else thing
        return locale.say("clearance.touch", whose=_whose(clearance, locale), thing=thing)
    if clearance.rule == "grid-tee":
        return locale.say("clearance.grid", array=array, note=clearance.note)
    if clearance.rule == "hang-line" and clearance.actual_m is not None and clearance.actual_m < 0:
        box = clearance.part == "body"
        return locale.say("clearance.box" if box else "clearance.line", array=array, thing=thing)
    pair = locale.say("clearance.pair", array=array, thing=thing, rule=clearance.rule, part=clearance.part)
    if clearance.required_m is None or clearance.actual_m is None:
        return pair
    actual, required = locale.pair(clearance.actual_m, clearance.required_m)
    how = "clearance.pair required" if clearance.binding else "clearance.pair advised"
    return locale.say(how, pair=pair, actual=actual, required=required)


def notes(clearances: Sequence[Clearance], locale: Locale) -> tuple[str, ...]:
    """What there is to say beside the figures, each thing once, with the arrays, things and rules it is about."""
    about: dict[tuple[str, str], dict[str, list[str]]] = {}
    for one in clearances:
        if one.note:
            about.setdefault((one.rule, one.note), {}).setdefault(one.array, []).append(one.against)
    texts = []
    for (rule, note), by_array in about.items():
        pairs = [
            locale.say("clearance.note.pair", array=array, things=locale.listed(things, 6))
            for array, things in by_array.items()
        ]
        texts.append(locale.say("clearance.note", rule=rule, pairs="; ".join(pairs), note=note))
    return tuple(texts)


def sentences(review: Review) -> tuple[str, ...]:
    """What is short, what is below advice, what cannot be judged; or that nothing is."""
    locale = Locale.of(review.scene)
    failing = [one for one in review.short if one.binding]
    advised = [one for one in review.short if not one.binding]
    unjudged = [one for one in review.clearances if one.state == "unjudged"]
    texts = []
    for message, some in (("clearance.short", failing), ("clearance.advised", advised)):
        if some:
            more = locale.say("clearance.and more", count=len(some) - 1) if len(some) > 1 else ""
            texts.append(locale.say(message, len(some), first=phrase(some[0], locale), more=more))
    touching = [one for one in unjudged if one.rule == "touch"]
    for one in touching:
        whose = _whose(one, locale)
        texts.append(locale.say("clearance.touch unjudged", whose=whose, thing=one.against, note=one.note))
    others = [one for one in unjudged if one.rule != "touch"]
    if others:
        things = locale.listed(list(dict.fromkeys(one.against for one in others)))
        texts.append(locale.say("clearance.unjudged", len(others), things=things))
    if not texts and review.clearances:
        texts.append(locale.say("clearance.none short"))
    return tuple(texts)


def _whose(clearance: Clearance, locale: Locale) -> str:
    if clearance.part == "body":
        return clearance.array
    return locale.say("clearance.touch.cable", array=clearance.array)
