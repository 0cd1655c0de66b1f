"""What is too close, what is below advice, what is not judged, and what there is to say beside the figures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from geometry.records import record
from scenes.findings.cause import Move
from scenes.findings.clearance import Clearance
from scenes.findings.review import Review
from viz.words.locale import DASH, Locale
from viz.words.things import kind_name, of_a_kind

CODE_SURENESS = ("copy", "mention", "memory")
"""How sure a value is that was not read in the printed standard."""


NAMELESS = ("wall", "floor", "grid", "structure", "ceiling")
"""Kinds of what has no id of its own."""

MOST: Final = 6
"""This many things of one kind are listed before the rest is counted."""


@record(frozen=True, slots=True)
class ClearanceText:
    """A row of a table of clearances: every output shows these texts, and only chooses which.

    `against` is the id alone, `thing` has the kind in front.
    """

    array: str
    against: str
    kind: str
    thing: str
    title: str
    number: str
    part: str
    required: str
    actual: str
    state: str
    note: str
    source: str


def row(one: Clearance, locale: Locale) -> ClearanceText:
    """A clearance as a row."""
    required, actual = figures(one, locale)
    return ClearanceText(
        array=one.array or one.device or DASH,
        against=thing(one, locale) if one.kind in NAMELESS else one.against,
        kind=one.kind if one.kind in NAMELESS else kind_name(one.kind, locale),
        thing=thing(one, locale),
        title=one.title,
        number=one.number,
        part=DASH if one.part is None else locale.say(f"clearance.part.{one.part}"),
        required=required,
        actual=actual,
        state=word(one, locale),
        note=note(one, locale),
        source=source(one, locale),
    )


def word(one: Clearance, locale: Locale) -> str:
    """Its state: clear, too close, below advice, not judged, off."""
    return locale.say(f"clearance.state.{one.state}")


def figures(one: Clearance, locale: Locale) -> tuple[str, str]:
    """Required and actual: the one down and finer where needed, so that both read as what is judged."""
    if one.required_m is None or one.actual_m is None:
        return locale.clearance(one.required_m), locale.actual(one.actual_m)
    actual, required = locale.pair(one.actual_m, one.required_m)
    return required, actual


def of(one: Clearance, locale: Locale) -> str:
    """What is there of what is required, as short as can be: `480 mm of 610 mm`; what is there where nothing is."""
    required, actual = figures(one, locale)
    if one.required_m is None or one.actual_m is None:
        return actual
    return locale.say("clearance.of", actual=actual, required=required)


def drawn_figures(one: Clearance, locale: Locale) -> tuple[str, str]:
    """Required and actual as a drawing letters them: `500`, `803`; it says its unit once."""
    required, actual = (text.removesuffix(" mm") for text in figures(one, locale))
    return required, actual


def drawn_both(one: Clearance, locale: Locale) -> str:
    """What stands at a neighbour on a drawing: `803 / 500 R9`."""
    required, actual = drawn_figures(one, locale)
    return locale.say("clearance.drawn", actual=actual, required=required, number=one.number)


def drawn_required(one: Clearance, locale: Locale) -> str:
    """What stands at a thing that keeps an array out of where it is far away: `500 R9`."""
    return locale.say("clearance.drawn, required", required=drawn_figures(one, locale)[0], number=one.number)


def label(one: Clearance, locale: Locale) -> str:
    """What stands beside it in a drawing: `480 mm, 610 mm required`; or that it is in the way."""
    required, actual = figures(one, locale)
    if one.required_m is None or one.actual_m is None:
        return actual
    if one.actual_m < 0 and one.cause is not None and one.cause.angle_deg is not None:
        return locale.say("clearance.in the way of a swing", angle=locale.edge(one.cause.angle_deg))
    if one.actual_m < 0 and one.kind != "grid":
        return locale.say("clearance.in the way" if one.state == "short" else "clearance.may be in the way")
    asked = "clearance.label.advised" if one.state == "advised" else "clearance.label.required"
    text = locale.say(asked, actual=actual, required=required)
    return locale.say("clearance.label.tee", figures=text) if one.kind == "grid" else text


def legend(one: Clearance, locale: Locale) -> str:
    """What a legend calls it: too close, below advice, or kept."""
    tee = one.kind == "grid" and one.state in ("short", "advised")
    return locale.say("clearance.legend.tee" if tee else f"clearance.legend.{one.state}")


def unchecked(review: Review) -> str:
    """How many things of which kind no clearance could be checked to: `5 sprinklers`; empty where there are none."""
    locale = Locale.of(review.scene)
    kinds: dict[str, set[str]] = {}
    for one in review.unjudged:
        if one.array is not None:
            kinds.setdefault(one.kind, set()).add(one.against)
    return locale.listed(
        [
            locale.say(f"clearance.thing.{kind}")
            if kind in NAMELESS
            else locale.say("count.of a kind", count=len(ids), kind=kind_name(kind, locale, len(ids)))
            for kind, ids in kinds.items()
        ]
    )


def thing(one: Clearance, locale: Locale) -> str:
    """What it is against, with its kind in front where that says more than the id: `sprinkler SP2`."""
    if one.kind in NAMELESS:
        return locale.say(f"clearance.thing.{one.kind}")
    return one.against if one.kind in ("array", "table") else of_a_kind(one.kind, one.against, locale)


def conflict(one: Clearance, locale: Locale) -> str:
    """What is too close, below advice or not judged, as a sentence without its full stop."""
    cause = one.cause
    if one.state == "unjudged":
        return locale.say("clearance.unjudged", what=_pair(one, locale), why=note(one, locale))
    if cause is not None and cause.name in ("on-tee", "across-tee"):
        message = "clearance.on tee" if cause.name == "on-tee" else "clearance.across tee"
        return locale.say(message, array=one.array or "", moves=moves(cause.moves, locale))
    if cause is not None and cause.name == "no-room-above":
        required, actual = figures(one, locale)
        return locale.say("clearance.no room above", who=_who(one, locale), required=required, actual=actual)
    if cause is not None and cause.name == "across-edge":
        message = "clearance.across step" if one.kind == "ceiling" else "clearance.across edge"
        return locale.say(message, who=_who(one, locale), thing=thing(one, locale))
    if cause is not None and cause.name == "through-structure":
        depth = locale.shortfall(cause.have_m)
        return locale.say("clearance.through structure", who=_who(one, locale), depth=depth)
    if cause is not None and cause.name == "one-tile":
        tile, array = cause.thing or "", one.array or ""
        return locale.say("clearance.one tile", array=array, thing=thing(one, locale), tile=tile)
    if _in_it(one):
        return locale.say("clearance.runs into", who=_who(one, locale), thing=_nearest(one, locale))
    return _too_close(one, locale)


def _in_it(one: Clearance) -> bool:
    """Whether it is in the thing as it hangs: not only when it swings."""
    swings = one.cause is not None and one.cause.angle_deg is not None
    apart = one.actual_m is None or one.actual_m >= 0
    return not (swings or apart or one.kind in ("floor", "table", "sprinkler"))


def _swings(one: Clearance, angle_deg: float, locale: Locale) -> str:
    """That it hits something when it swings, or comes nearer to it than the file asks for."""
    required, actual = figures(one, locale)
    advised = one.state == "advised"
    message = "clearance.may swing into" if advised else "clearance.swings into"
    if one.actual_m is not None and one.actual_m > 0:
        message = "clearance.may swing near" if advised else "clearance.swings near"
    return locale.say(
        message,
        who=_who(one, locale),
        thing=_nearest(one, locale),
        angle=locale.edge(angle_deg),
        actual=actual,
        required=required,
    )


def _too_close(one: Clearance, locale: Locale) -> str:
    """By what it is: over the floor or a table, by a default, by a code, or by a value of the designer's."""
    required, actual = figures(one, locale)
    who, thing = _who(one, locale), _nearest(one, locale)
    standard = one.by.standard
    if one.cause is not None and one.cause.angle_deg is not None:
        return _swings(one, one.cause.angle_deg, locale)
    if one.kind == "floor":
        return locale.say("clearance.too low", who=who, actual=actual, required=required)
    if one.kind == "table":
        over = "clearance.low over" if one.state == "advised" else "clearance.too low over"
        return locale.say(over, who=who, thing=thing, actual=actual, required=required)
    if one.state == "advised":
        return locale.say("clearance.below advice", who=who, thing=thing, actual=actual, required=required)
    if one.basis != "code" or standard is None:
        return locale.say("clearance.too close", who=who, thing=thing, actual=actual, required=required)
    found = locale.say(
        "clearance.too close by code",
        who=who,
        thing=thing,
        standard=standard,
        actual=actual,
        required=required,
    )
    if one.sureness not in CODE_SURENESS:
        return found
    decides = locale.say(f"profession.{one.by.signs[0]}")
    return locale.say("clearance.unchecked", conflict=found, decides=decides)


def _pairs(some: Sequence[Clearance], locale: Locale) -> str:
    """Who is near what, each named once: `A1 to sprinklers SP1 and SP2 and light L1`."""
    near: dict[str, dict[str, dict[str, None]]] = {}
    for one in some:
        kind = one.kind if thing(one, locale) != one.against else ""
        near.setdefault(_who(one, locale), {}).setdefault(kind, {})[one.against] = None
    texts = []
    for who, by_kind in near.items():
        things = [_of_a_kind(kind, list(ids), locale) for kind, ids in by_kind.items()]
        texts.append(locale.say("clearance.pair", who=who, thing=locale.listed(things)))
    return locale.listed(texts)


def _of_a_kind(kind: str, ids: Sequence[str], locale: Locale) -> str:
    if kind in NAMELESS:
        return locale.say(f"clearance.thing.{kind}")
    some = locale.listed(ids, MOST)
    return locale.say("thing of a kind", kind=kind_name(kind, locale, len(ids)), id=some) if kind else some


def _pair(one: Clearance, locale: Locale) -> str:
    return locale.say("clearance.pair", who=_who(one, locale), thing=thing(one, locale))


def _who(one: Clearance, locale: Locale) -> str:
    """The array or the part of it that is meant, as the beginning of a sentence."""
    array = one.array or one.device or ""
    return array if one.part in (None, "body") else locale.say(f"clearance.who.{one.part}", array=array)


def _nearest(one: Clearance, locale: Locale) -> str:
    """What it is against; of walls the nearest."""
    if one.kind == "wall" and one.cause is not None and one.cause.name == "nearest-wall":
        return locale.say("clearance.thing.one wall", wall=one.cause.thing or "")
    return thing(one, locale)


def moves(some: Sequence[Move], locale: Locale) -> str:
    """How far to move something, each along its own direction: `3 cm in +x and 2 cm in +y`."""
    ways = [
        locale.say("move", by=locale.shortfall(move.by_m), direction=move.direction.replace("-", "−"))
        for move in some
    ]
    return locale.listed(ways)


def note(one: Clearance, locale: Locale) -> str:
    """What there is to say beside the figures: what decides, and whose value it is; empty where nothing is."""
    said = [] if one.cause is None else [_because(one, locale)]
    if one.state == "off" and one.change is not None:
        said = [locale.say("clearance.note.off", reason=one.change.reason)]
    elif one.change is not None:
        said.append(locale.say("clearance.note.changed", reason=one.change.reason))
    elif one.basis == "own":
        said.append(locale.say("clearance.note.own"))
    return "; ".join(text for text in said if text)


def _because(one: Clearance, locale: Locale) -> str:
    cause = one.cause
    if cause is None or cause.name == "runs-into":
        return ""
    return locale.say(
        f"cause.{cause.name}",
        thing=cause.thing or locale.say("clearance.thing.box"),
        have=locale.length(cause.have_m),
        may=locale.length(cause.may_m),
        angle="" if cause.angle_deg is None else locale.edge(cause.angle_deg),
        quoted=cause.quoted or "",
        moves=moves(cause.moves, locale),
        who=locale.say(f"profession.{one.by.signs[0]}"),
    )


def notes(some: Sequence[Clearance], locale: Locale) -> tuple[str, ...]:
    """What there is to say beside the figures, each thing once, with the arrays and things it is about."""
    about: dict[tuple[str, str], dict[str, list[str]]] = {}
    for one in some:
        if text := note(one, locale):
            by_array = about.setdefault((one.title, text), {})
            by_array.setdefault(one.array or one.device or "", []).append(one.against)
    texts = []
    for (title, text), by_array in about.items():
        pairs = [
            locale.say("clearance.note.pair", array=array, things=locale.listed(things, 6))
            for array, things in by_array.items()
        ]
        texts.append(locale.say("clearance.note", title=title, pairs="; ".join(pairs), note=text))
    return tuple(texts)


def source(one: Clearance, locale: Locale) -> str:
    """What the required value rests on, and how sure that is."""
    if one.sureness == "own":
        if one.by.basis == "default":
            return locale.say("source.own")
        return locale.say("source.own instead", source=one.by.source)
    if one.sureness in CODE_SURENESS:
        return locale.say("source.unchecked", source=one.by.source)
    return locale.say("source", source=one.by.source)


def sentences(review: Review) -> tuple[str, ...]:
    """What is too close, what is below advice, what is not judged; or that nothing is."""
    return of_rows(review.clearances, Locale.of(review.scene), judged=bool(review.clearances))


def of_rows(rows: Sequence[Clearance], locale: Locale, *, judged: bool) -> tuple[str, ...]:
    """`sentences` of rows, of which those that are clear need not be there; `judged`: there are any at all."""
    short, advised, unjudged = (
        [one for one in rows if one.state == state] for state in ("short", "advised", "unjudged")
    )
    texts: list[str] = []
    runs_into = {conflict(one, locale) for one in short}
    advised = [one for one in advised if conflict(one, locale) not in runs_into]
    for more, some in (("clearance.more short", short), ("clearance.more advised", advised)):
        if len(some) == 1:
            texts.append(locale.say("clearance.alone", first=conflict(some[0], locale)))
        elif some:
            texts.append(locale.say(more, first=conflict(some[0], locale), more=len(some) - 1))
    texts += _unjudged(unjudged, locale)
    if not texts and judged:
        texts.append(locale.say("clearance.none"))
    return tuple(texts)


def _unjudged(some: Sequence[Clearance], locale: Locale) -> list[str]:
    """One sentence for each reason that something is not judged, and whom to ask."""
    by_reason: dict[tuple[str, str], list[Clearance]] = {}
    for one in some:
        by_reason.setdefault((note(one, locale), one.by.signs[0]), []).append(one)
    texts = []
    for (why, signs), alike in by_reason.items():
        pairs = _pairs(alike, locale)
        ours = any(
            one.cause is not None and one.cause.name in ("default-size", "default-depth") for one in alike
        )
        told = locale.say("clearance.unjudged", what=pairs, why=why)
        if any(one.cause is not None and one.cause.name == "no-code-value" for one in alike):
            texts.append(locale.say("clearance.alone", first=told))  # its note says whom to ask for what
            continue
        asked = locale.say("clearance.give") if ours else locale.say(f"ask.{signs}")
        texts.append(locale.say("clearance.unjudged, ask", unjudged=told, ask=asked))
    return texts


def others(clear: int, locale: Locale) -> str:
    """That there are clear ones besides what a table shows, and how to see them."""
    return locale.say("clearance.others", clear)


def summary(review: Review) -> str:
    """How many were checked and how they stand: `52 clearances checked: 1 too close, 2 below advice, 0 not judged.`"""
    locale = Locale.of(review.scene)
    return locale.say(
        "clearance.summary",
        checked=locale.counted(len(review.clearances), "clearance"),
        short=len(review.short),
        advised=len(review.advised),
        unjudged=len(review.unjudged),
    )


def shown(review: Review, *, all_of_them: bool) -> tuple[Clearance, ...]:
    """The clearances that a table lists: all, or those that are not clear."""
    return tuple(one for one in review.clearances if all_of_them or one.state != "clear")


def too_close_to(rows: Sequence[Clearance], locale: Locale) -> tuple[str, ...]:
    """The names of what an array is too close to, each once."""
    return tuple(dict.fromkeys(thing(one, locale) for one in rows if one.state == "short"))
