"""The room as it hangs in words: how far off each array is, what to correct first."""

from __future__ import annotations

from scenes.findings.as_built import SET_M, AsBuilt, Correction, Off, Quantity
from scenes.room.walls import wall_name
from viz.words import verdict
from viz.words.locale import Locale


def lines(found: AsBuilt) -> tuple[str, ...]:
    """What is said of a room as it hangs, most important first."""
    locale = Locale.of(found.review.scene)
    say = locale.say
    told = [say(_heading(found))]
    told += corrections(found, locale)
    told += [array(one, found, locale) for one in found.arrays]
    if found.unmeasured:
        names = locale.listed(found.unmeasured)
        told.append(say("as built.unmeasured", len(found.unmeasured), arrays=names))
    told.append(verdict.paragraph(found.review))
    return tuple(told)


def _heading(found: AsBuilt) -> str:
    if found.holds:
        return "as built.holds"
    return "as built.fails as designed" if found.designed.held and found.review.held else "as built.not so"


def array(one: Off, found: AsBuilt, locale: Locale) -> str:
    """How one array hangs, beside how it was designed: `A1 hangs 12 mm low, 5 mm nearer to W4.`"""
    say = locale.say
    parts = _aside(one, found, ("as built.farther", "as built.nearer"), locale)
    if one.up_m is not None and abs(one.up_m) >= SET_M:
        parts.append(
            say("as built.high" if one.up_m > 0 else "as built.low", length=locale.clearance(abs(one.up_m)))
        )
    if one.turn_deg:
        parts.append(
            say("as built.turned", turn=locale.edge(abs(one.turn_deg)), way=_turn(one.turn_deg, locale))
        )
    if one.band is not None and one.band != one.band_designed:
        parts.append(say("as built.band", band=one.band, designed=one.band_designed))
    if one.level_deg:
        parts.append(
            say("as built.level", level=locale.edge(abs(one.level_deg)), most=locale.edge(one.allowed_deg))
        )
    if not parts:
        return say("as built.as designed", array=one.array)
    return say("as built.hangs", array=one.array, how=locale.listed(parts, len(parts)))


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
    """What to correct first, in order, and that the room then holds as it was designed."""
    say = locale.say
    off = {one.array: one for one in found.arrays}
    told = [_correction(one, off[one.array], found, locale) for one in found.corrections]
    if not told:
        return []
    first = say("as built.correct", corrections=locale.listed(told, len(told)))
    return [say("as built.then", correction=first) if found.corrections[-1].holds else first]


def _correction(one: Correction, off: Off, found: AsBuilt, locale: Locale) -> str:
    told = [text for quantity in one.quantities for text in _back(quantity, off, found, locale)]
    return locale.listed(told, len(told))


def _back(quantity: Quantity, off: Off, found: AsBuilt, locale: Locale) -> list[str]:
    """What to do to put one quantity of an array back as designed."""
    say, array = locale.say, off.array
    if quantity == "band":
        return [say("as built.back.band", array=array, band=off.band_designed)]
    if quantity == "turn":
        turn = off.turn_deg or 0.0
        return [say("as built.back.turn", array=array, turn=locale.edge(abs(turn)), way=_turn(-turn, locale))]
    if quantity == "level":
        level, most = locale.edge(abs(off.level_deg or 0.0)), locale.edge(off.allowed_deg)
        if off.at_risk:
            heads = locale.listed(off.at_risk)
            return [say("as built.back.level, at risk", array=array, level=level, heads=heads)]
        return [say("as built.back.level", array=array, level=level, most=most)]
    if quantity == "height":
        up = off.up_m or 0.0
        way = "lower" if up > 0 else "raise"
        return [say(f"as built.back.{way}", array=array, length=locale.clearance(abs(up)))]
    moves = _aside(off, found, ("as built.back.towards", "as built.back.away"), locale)
    return [say("as built.back.move", array=array, moves=locale.listed(moves))]


def _turn(turn_deg: float, locale: Locale) -> str:
    return locale.say("as built.anticlockwise" if turn_deg > 0 else "as built.clockwise")
