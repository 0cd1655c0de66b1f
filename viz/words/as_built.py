"""The room as it hangs in words: one verdict, what to correct first, then a line for each array."""

from __future__ import annotations

from scenes.findings.as_built import SET_M, TURN_DEG, AsBuilt, Off, Quantity
from scenes.findings.review import Direction, Tolerance
from scenes.room.walls import wall_name
from viz.words import cautions, tolerance, verdict
from viz.words.locale import DASH, Locale
from viz.words.orientation import mark_towards


def lines(found: AsBuilt) -> tuple[str, ...]:
    """What is said of a room as it hangs, most important first."""
    locale = Locale.of(found.review.scene)
    told = list(summary(found))
    told += [array(one, found, locale) for one in found.arrays]
    if found.holds:
        told += [
            locale.say(
                "as built.margin",
                array=one.array,
                tolerance=tolerance.short(found.review.array(one.array).tolerance, locale),
            )
            for one in found.arrays
        ]
    return tuple(told)


def summary(found: AsBuilt) -> tuple[str, ...]:
    """The verdict, what to correct, what else is outside its tolerance, and what was not measured."""
    locale = Locale.of(found.review.scene)
    told = [heading(found, locale), *corrections(found, locale), *_left(found, locale)]
    if found.unmeasured:
        names = locale.listed(found.unmeasured)
        told.append(locale.say("as built.unmeasured", len(found.unmeasured), arrays=names))
    return tuple(told)


def heading(found: AsBuilt, locale: Locale) -> str:
    """The one verdict: whether the room holds as it hangs, and why where it does not."""
    say = locale.say
    if found.designed.held:
        return say("as built.fails as designed")
    if found.holds:
        return say("as built.holds, as far" if found.unmeasured else "as built.holds")
    reasons = cautions.reasons(found.review)
    if reasons:
        return say("as built.not so, why", reasons="; ".join(reasons))
    if found.review.verdict != found.designed.verdict:
        now, then = (verdict.word(one.verdict, locale).lower() for one in (found.review, found.designed))
        return say("as built.not so, worse", now=now, designed=then)
    set_wrong = [
        say(f"as built.why.{quantity}", array=one.array)
        for one in found.corrections
        for quantity in one.quantities
        if quantity in ("band", "turn", "level")
    ]
    return say("as built.not so, why", reasons=", ".join(set_wrong)) if set_wrong else say("as built.not so")


def array(one: Off, found: AsBuilt, locale: Locale) -> str:
    """How one array hangs, beside how it was designed: `A1: 5 mm nearer to W4 (±25 mm), 12 mm low (−27 mm).`"""
    say = locale.say
    limits = found.designed.array(one.array).tolerance
    parts: list[str] = []
    for quantity in ("place", "height", "turn", "band"):
        limit = "" if found.designed.held else _limit(quantity, one, limits, locale)
        for text in _how(quantity, one, found, locale):
            parts.append(say("as built.with limit", off=text, limit=limit) if limit else text)
    if one.level_deg is not None and one.level_deg:
        most = say("as built.at most", level=locale.edge(one.allowed_deg))
        level = say("as built.level", level=locale.edge(abs(one.level_deg)))
        parts.append(say("as built.with limit", off=level, limit=most))
    if not parts:
        parts.append(say("as built.as designed"))
    if one.level_deg is None and one.allowed_deg:
        parts.append(say("as built.level, assumed", level=locale.edge(one.allowed_deg)))
    message = "as built.array, outside" if one.outside else "as built.array"
    return say(message, array=one.array, how=", ".join(parts))


def _how(quantity: Quantity, one: Off, found: AsBuilt, locale: Locale) -> list[str]:
    """How far off one quantity is, empty where it is as designed."""
    say = locale.say
    if quantity == "place":
        return _aside(one, found, ("as built.farther", "as built.nearer"), locale)
    if quantity == "height" and one.up_m is not None and abs(one.up_m) >= SET_M:
        name = "as built.high" if one.up_m > 0 else "as built.low"
        return [say(name, length=locale.clearance(abs(one.up_m)))]
    if quantity == "turn" and one.turn_deg is not None and abs(one.turn_deg) >= TURN_DEG:
        turn = locale.edge(round(abs(one.turn_deg), 1))
        return [say("as built.turned", turn=turn, way=_turn(one.turn_deg, locale))]
    if quantity == "band" and one.band is not None and one.band != one.band_designed:
        return [say("as built.in band", band=one.band, designed=one.band_designed)]
    if quantity == "level" and one.level_deg:
        return [say("as built.level", level=locale.edge(abs(one.level_deg)))]
    return []


def _limit(quantity: Quantity, one: Off, told: Tolerance, locale: Locale) -> str:
    """How far that may be off by the hang card, empty where nothing ends it or there is no such thing."""
    way: Direction = "sideways"
    if quantity == "height":
        way = "up" if (one.up_m or 0.0) > 0 else "down"
    elif quantity != "place":
        return ""
    text = tolerance.figure(told, way, locale)
    return "" if text == DASH else text


def _aside(one: Off, found: AsBuilt, ways: tuple[str, str], locale: Locale) -> list[str]:
    """How far an array is from where it is designed, from each wall: the first of the messages where it is farther."""
    return [
        locale.say(
            ways[0] if away_m > 0 else ways[1], length=locale.clearance(abs(away_m)), wall=wall_name(wall)
        )
        for away_m, wall in zip((one.x_m, one.y_m), found.walls, strict=True)
        if away_m is not None and abs(away_m) >= SET_M
    ]


def corrections(found: AsBuilt, locale: Locale) -> list[str]:
    """What to correct first, in order, and that the room then holds."""
    off = {one.array: one for one in found.arrays}
    told = [
        text
        for one in found.corrections
        for quantity in one.quantities
        for text in _back(quantity, off[one.array], found, locale)
    ]
    if not told:
        return []
    message = "as built.correct"
    if found.designed.held:
        message = "as built.correct, design"
    elif found.corrections[-1].holds:
        message = "as built.correct, then"
    return [locale.say(message, corrections="; ".join(told))]


def of_array(off: Off, found: AsBuilt, locale: Locale) -> list[str]:
    """What to correct at one array, in order."""
    return [
        text
        for one in found.corrections
        if one.array == off.array
        for quantity in one.quantities
        for text in _back(quantity, off, found, locale)
    ]


def _left(found: AsBuilt, locale: Locale) -> list[str]:
    """What is outside the tolerance of its hang card beside what is to be corrected."""
    off = {one.array: one for one in found.arrays}
    parts = [
        locale.say(
            "as built.left of",
            array=name,
            how=", ".join(text for q in some for text in _how(q, off[name], found, locale)),
        )
        for name, some in found.left
    ]
    if not parts:
        return []
    message = "as built.left, then" if found.corrections else "as built.left"
    if found.designed.held or (found.corrections and not found.corrections[-1].holds):
        message = "as built.left, open"
    return [locale.say(message, arrays="; ".join(parts))]


def _back(quantity: Quantity, off: Off, found: AsBuilt, locale: Locale) -> list[str]:
    """What to do to put one quantity of an array back as designed."""
    say, name = locale.say, off.array
    if quantity == "band":
        return [say("as built.back.band", array=name, band=off.band_designed)]
    if quantity == "turn":
        turn, designed = off.turn_deg or 0.0, found.designed.scene
        mark = mark_towards(designed, designed.array(name), locale, locale.site)
        degrees = locale.edge(round(abs(turn), 1))
        return [say("as built.back.turn", array=name, turn=degrees, way=_turn(-turn, locale), mark=mark)]
    if quantity == "level":
        return [_level_it(off, locale)]
    if quantity == "height":
        up = off.up_m or 0.0
        way = "lower" if up > 0 else "raise"
        return [say(f"as built.back.{way}", array=name, length=locale.clearance(abs(up)))]
    moves = _aside(off, found, ("as built.back.towards", "as built.back.away"), locale)
    return [say("as built.back.move", array=name, moves=locale.listed(moves))]


def _level_it(off: Off, locale: Locale) -> str:
    say, level, most = locale.say, locale.edge(off.tilt_deg), locale.edge(off.allowed_deg)
    if not off.at_risk:
        return say("as built.back.level", array=off.array, level=level, most=most)
    texts = []
    for kind in ("head", "rule"):
        things = [limit.id for limit in off.at_risk if (limit.kind == "head") == (kind == "head")]
        if things:
            texts.append(say(f"as built.risk.{kind}", things=locale.listed(things)))
    risk = texts[0] if len(texts) == 1 else say("as built.risk.both", head=texts[0], rule=texts[1])
    return say(
        "as built.back.level, at risk" if off.level_deg is not None else "as built.back.level, not measured",
        array=off.array,
        level=level,
        risk=risk,
    )


def _turn(turn_deg: float, locale: Locale) -> str:
    return locale.say("as built.anticlockwise" if turn_deg > 0 else "as built.clockwise")
