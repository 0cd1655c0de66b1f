"""Why arrays cannot cover everybody, and what was tried on the room to help."""

from __future__ import annotations

from scenes.findings.placement import Because, Conflict, Miss, Try
from scenes.place.placement import Placement
from scenes.rulebook import rules
from viz.words.locale import Locale

MOST_MISSES = 4
"""So many heads of a conflict are told with their figures, the rest by their number."""


def sentences(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """Why, the whole room's own figure beside it, and what would help and what would not; nothing without a conflict."""
    conflict = placement.conflict
    if conflict is None:
        return ()
    helps = [helped(one, placement, locale) for one in conflict.tried if one.works]
    vain = [changed(one, locale) for one in conflict.tried if not one.works]
    return (
        because(conflict, locale),
        *_room(placement, locale),
        *helps,
        *([locale.say("conflict.no help", changes=locale.listed(vain, most=12))] if vain else []),
    )


def because(conflict: Conflict, locale: Locale) -> str:
    """Why these heads cannot be served together."""
    why, heads = conflict.because, conflict.heads
    if why.name == "nothing allowed":
        things = [_key(key, locale) for key in why.keys]
        return locale.say("conflict.nothing allowed", len(things), things=locale.listed(things, most=12))
    if why.name == "undecided":
        return locale.say("conflict.undecided")
    if why.name == "arrays":
        return locale.say("conflict.arrays", arrays=locale.counted(why.count or 0, "array"))
    if why.name == "nowhere":
        return locale.say("conflict.nowhere", heads=locale.listed(heads))
    if why.name == "too far apart":
        return locale.say(
            "conflict.too far apart",
            one=heads[0],
            other=heads[1],
            apart=locale.length(why.apart_m),
            reach=locale.length(why.reach_m),
            spans=locale.length(why.spans_m),
        )
    return _not_together(why, heads, locale)


def _not_together(why: Because, heads: tuple[str, ...], locale: Locale) -> str:
    told = [_miss(miss, why, locale) for miss in why.misses]
    told += [locale.say("conflict.served", head=head) for head in why.served]
    if len(told) > MOST_MISSES:
        told = [*told[: MOST_MISSES - 1], locale.say("conflict.more", more=len(told) - MOST_MISSES + 1)]
    x, y, z = why.at_m or (0.0, 0.0, 0.0)
    return locale.say(
        "conflict.not together",
        len(heads),
        heads=locale.listed(heads),
        x=locale.length(x),
        y=locale.length(y),
        height=locale.length(z),
        band=why.band or "",
        misses="; ".join(told),
    )


def _miss(miss: Miss, why: Because, locale: Locale) -> str:
    near, far, low, high = why.near_m or 0.0, why.reach_m or 0.0, why.low_deg or 0.0, why.high_deg or 0.0
    limit = {
        "too near": locale.length(near),
        "too far": locale.length(far),
        "too shallow": locale.edge(low),
        "too steep": locale.edge(high),
    }[miss.reason]
    by_angle = miss.reason in ("too shallow", "too steep")
    figure = locale.angle(miss.depression_deg) if by_angle else locale.length(miss.slant_m)
    allowed = locale.say(f"conflict.limit.{miss.reason}", limit=limit)
    reason = locale.say(f"reason.{miss.reason}")
    name = "conflict.miss leaning" if miss.swaying else "conflict.miss"
    # two figures that look the same would say nothing
    short = locale.say("conflict.short", short=locale.at_most(miss.short_m))
    by = short if miss.swaying or figure == limit else ""
    return locale.say(name, head=miss.head, reason=reason, figure=figure, limit=allowed, short=by)


def _key(key: tuple[str | int, ...], locale: Locale) -> str:
    """A rule by its title; lines of sight, and parts that nothing may hang from, by their name."""
    rule = rules().get(str(key[0]))
    if rule is not None:
        return f"“{rule.title}”"
    return locale.say("conflict.suspension" if key[0] == "suspension" else "conflict.sight")


def _room(placement: Placement, locale: Locale) -> list[str]:
    """What the room comes to as a whole, where that is known."""
    most, margin = placement.most, placement.largest_margin_m
    if most is None or margin is None or placement.judged is None or margin >= 0:
        return []
    return [
        locale.say(
            "conflict.room",
            covered=round(placement.judged.counts.covered or 0),
            talkers=locale.counted(placement.judged.counts.talkers, "talker"),
            short=locale.shortfall(-margin),
        )
    ]


def helped(one: Try, placement: Placement, locale: Locale) -> str:
    """A change that helps, in which band where that is another one, and what the room so changed comes to."""
    talkers = len({head.person for head in placement.scene.heads})
    other = dict.fromkeys(one.bands or ()).keys() - {array.band_name for array in placement.arrays}
    change = changed(one, locale)
    if other:
        named = locale.listed([band for band in dict.fromkeys(one.bands or ()) if band in other])
        change = locale.say("conflict.in band", len(other), change=change, bands=named)
    return locale.say(
        "conflict.helps",
        change=change,
        covered=one.covered or 0,
        talkers=locale.counted(talkers, "talker"),
        margin=locale.margin(one.margin_m),
    )


def changed(one: Try, locale: Locale) -> str:
    """The change, in a few words; one of which no value helps is told as such."""
    if one.value is None:
        return locale.say(f"try.none.{one.change}")
    if one.change == "arrays" and isinstance(one.value, int):
        return locale.counted(one.value, "array")
    if one.change == "hold":
        return locale.say(f"try.hold.{one.value}")
    if one.change == "lean":
        return locale.say("try.lean")
    value = one.value if isinstance(one.value, str) else locale.length(one.value)
    return locale.say(f"try.with.{one.change}", value=value)
