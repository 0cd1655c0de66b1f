"""The wishes for places in words: which are kept, what each costs, why one is not."""

from __future__ import annotations

from scenes.findings.wishes import Price, WishTold
from scenes.place.placement import Placement
from viz.words.locale import DASH, Locale

LITTLE_M = 0.0005
"""A price of less is not mentioned."""


def sentences(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """What is kept at no cost in one sentence, then what costs something, then what is not kept and why."""
    free = [wish(told, locale) for told in placement.wishes if told.kept and _costs_nothing(told.costs)]
    costly = [
        locale.say("wish.kept", wish=wish(told, locale), price=price(told.costs, locale))
        for told in placement.wishes
        if told.kept and not _costs_nothing(told.costs)
    ]
    dropped = [
        locale.say("wish.not kept", wish=wish(told, locale), why=why(told, placement.enough_m, locale))
        for told in placement.wishes
        if not told.kept
    ]
    first = [locale.say("wish.kept at no cost", wishes=locale.listed(free))] if free else []
    less = [id for id, found in placement.snapped.items() if found.lacks == "spare"]
    written = (
        [locale.say("wish.spare as written", arrays=locale.listed(less))] if less and first + costly else []
    )
    return (*first, *costly, *written, *dropped)


def cost_something(placement: Placement) -> bool:
    """Whether what is kept costs anything: what is proven then holds of positions that keep it."""
    return any(told.kept and not _costs_nothing(told.costs) for told in placement.wishes)


def table(placement: Placement, locale: Locale) -> tuple[list[str], list[list[str]]]:
    """The head and the rows of the table: wish, kept or not, what it costs of margin, distance and talkers."""
    names = ("wish", "kept", "wish.margin", "wish.distance", "wish.talkers")
    rows = [
        [
            wish(told, locale),
            locale.say("wish.yes") if told.kept else why(told, placement.enough_m, locale),
            _length(told.costs.margin_m, locale),
            _length(told.costs.farthest_m, locale),
            DASH if told.costs.covered is None else str(told.costs.covered),
        ]
        for told in placement.wishes
    ]
    return [locale.say(f"column.{name}") for name in names], rows


def wish(told: WishTold, locale: Locale) -> str:
    """What is wished for: `over T1`, `20 mm to spare from every rule`."""
    if told.wish == "over":
        return locale.say("wish.over", tables=locale.either(told.over))
    if told.wish == "row":
        return locale.say("wish.row")
    return locale.say("wish.spare", spare=locale.clearance(told.spare_m))


def why(told: WishTold, enough_m: float, locale: Locale) -> str:
    """Why a wish is not kept."""
    if told.reason == "talkers":
        return locale.say("wish.why.talkers", told.costs.covered or 0)
    if told.reason == "margin":
        return locale.say("wish.why.margin", enough=locale.at_most(enough_m))
    return locale.say(f"wish.why.{told.reason}")


def price(costs: Price, locale: Locale) -> str:
    """What a wish costs: `4 mm of margin and 1 talker`."""
    some = []
    if costs.margin_m is not None and costs.margin_m >= LITTLE_M:
        some.append(locale.say("wish.of margin", length=locale.at_most(costs.margin_m)))
    if costs.farthest_m is not None and costs.farthest_m >= LITTLE_M:
        some.append(locale.say("wish.of distance", length=locale.at_most(costs.farthest_m)))
    if costs.covered:
        some.append(locale.counted(costs.covered, "talker"))
    return locale.listed(some)


def _costs_nothing(costs: Price) -> bool:
    return (costs.margin_m or 0.0) < LITTLE_M and (costs.farthest_m or 0.0) < LITTLE_M and not costs.covered


def _length(metres: float | None, locale: Locale) -> str:
    return DASH if metres is None else locale.at_most(metres if metres >= LITTLE_M else 0.0)
