"""Sound in words: one line, what is advised, a table, and what the figures rest on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from geometry.index import class_of
from scenes.findings.review import Review
from scenes.findings.sound import Advice, OffPlane, Sound, SpeechLine
from scenes.room.scene import Scene
from viz.words.locale import DASH, Locale, number, plain

EXAMPLE = "acoustics: {noise_dBA: 35, reverberation_s: 0.5}"
COLUMNS = (
    "talker",
    "array",
    "faces array",
    "loss",
    "level, short",
    "over noise, short",
    "direct, short",
    "index",
)

REPORT_COLUMNS = ("talker", "array", "faces array", "loss", "level", "over noise", "direct", "index")


class SpeechText(NamedTuple):
    """One talker's sound at the array, one way of facing, as tables show it."""

    head: str
    array: str
    faces: str
    loss: str
    level: str
    over_noise: str
    direct: str
    heard: str


def line(review: Review) -> str | None:
    """The levels that reach the arrays in one line, from the least to the greatest; what to give where the file has no
    acoustics. None before every array has a place."""
    locale = Locale.of(review.scene)
    if not review.judged:
        return None
    if not review.speech:
        return locale.say("sound.missing", example=EXAMPLE)
    lines = [one for one in review.speech if one.counts]
    parts = [locale.say("sound.level", level=_between([one.level_dBA for one in lines], locale))]
    over = [one.to_noise_dB for one in lines if one.to_noise_dB is not None]
    if over:
        parts.append(locale.say("sound.over", over=_between(over, locale)))
    indices = [one.index for one in lines if one.index is not None]
    if indices:
        parts.append(_index(min(indices), locale))
    return locale.say("sound.line", parts=", ".join(parts))


def sentences(review: Review) -> tuple[str, ...]:
    """A sentence for each thing that falls short of what is advised, the room's first."""
    return () if review.sound is None else of_advice(review.sound.advised, review.scene)


def of_advice(advised: Sequence[Advice], scene: Scene) -> tuple[str, ...]:
    """A sentence for each advice that is not kept."""
    locale = Locale.of(scene)
    return tuple(_advised(one, scene.room.volume_m3, locale) for one in advised)


def own_limits(sound: Sound, locale: Locale) -> tuple[str, ...]:
    """The designer's own limits and what there is; how far the noise lets a voice reach beside each data sheet."""
    told = []
    for one in sound.advice:
        if one.state != "reported":
            continue
        if one.name == "reach":
            way = "more" if one.met else "less"
            told.append(
                locale.say(
                    f"sound.reach.{way}",
                    array=str(one.array),
                    claimed=locale.length(one.need[0]),
                    effort=sound.effort,
                    have=locale.length(one.have),
                )
            )
        else:
            digits = 2 if one.name == "index" else 1
            told.append(
                locale.say(
                    f"sound.own.{one.name}", have=number(one.have, digits), need=number(_need(one), digits)
                )
            )
    return tuple(told)


def rows(review: Review) -> tuple[SpeechText, ...]:
    """Every talker and way of facing, as the table has them."""
    return tuple(_row(one, Locale.of(review.scene)) for one in review.speech or ())


def rests_on(review: Review) -> tuple[str, ...]:
    """What the figures are: before any processing, where they do not hold, and how far they may be off."""
    locale, sound = Locale.of(review.scene), review.sound
    if sound is None:
        return ()
    hz = 0 if sound.schroeder_hz is None else round(sound.schroeder_hz, -1)
    held = [
        locale.say("sound.before processing")
        if name == "before processing"
        else locale.say(f"sound.valid.{name}", hz=number(hz, 0))
        for name in sound.validity
    ]
    return (*held, locale.say("sound.error"))


def formulas(sound: Sound, locale: Locale) -> tuple[str, ...]:
    """The formulas in a line each, and the sources."""
    told = [locale.say("sound.formula.level")]
    if sound.critical_distance_m is not None and sound.mean_alpha is not None:
        over = -_decibels(1 - sound.mean_alpha)
        critical = locale.length(sound.critical_distance_m)
        told.append(locale.say("sound.formula.direct"))
        told.append(locale.say("sound.formula.critical", critical=critical, over=number(over, signed=True)))
    told.append(locale.say("sound.formula.index"))
    limits = "; ".join(
        dict.fromkeys(one.source for one in sound.advice if one.name != "reach" and one.source)
    )
    told.append(locale.say("sound.sources", limits=limits or DASH))
    return tuple(told)


def bounces(review: Review) -> tuple[str, ...]:
    """The strongest reflection off the ceiling and off a table, each in a sentence."""
    locale, told = Locale.of(review.scene), []
    by_ceiling = [(one.ceiling_bounce, one) for one in review.speech or () if one.ceiling_bounce is not None]
    by_table = [(one.table_bounce, one) for one in review.speech or () if one.table_bounce is not None]
    if by_ceiling:
        off, of = max(by_ceiling, key=lambda one: one[0].bounce.reflection_dB)
        told.append(locale.say("sound.bounce.ceiling", None, array=of.array, head=of.head, **_comb(off)))
    if by_table:
        off, of = max(by_table, key=lambda one: one[0].bounce.reflection_dB)
        told.append(locale.say("sound.bounce.table", None, table=str(off.off), head=of.head, **_comb(off)))
    return tuple(told)


def _comb(off: OffPlane) -> dict[str, str]:
    found = off.bounce
    notch, spacing = found.first_notch_hz, found.notch_spacing_hz
    return {
        "weaker": number(-found.reflection_dB),
        "delay": number(found.delay_ms),
        "notch": DASH if notch is None else number(notch, 0),
        "spacing": DASH if spacing is None else number(spacing, 0),
    }


def _row(one: SpeechLine, locale: Locale) -> SpeechText:
    unknown = one.facing_deg is None
    level = locale.level(one.level_dBA)
    if unknown and one.level_range_dBA is not None:
        low, high = one.level_range_dBA
        level = locale.say("sound.range", low=locale.level(low), high=locale.level(high))
    return SpeechText(
        head=one.head,
        array=one.array,
        faces=locale.say("sound.facing unknown")
        if one.azimuth_deg is None
        else f"{number(abs(one.azimuth_deg), 0)}°",
        loss=locale.level(one.loss_dB, signed=True),
        level=level,
        over_noise=locale.level(one.to_noise_dB),
        direct=locale.level(one.to_reverberant_dB, signed=True),
        heard=DASH
        if one.index is None
        else f"{number(one.index, 2)} {locale.say(f'sound.class.{one.index_class}')}",
    )


def _between(values: Sequence[float], locale: Locale) -> str:
    low, high = number(min(values), 0), number(max(values), 0)
    return low if low == high else locale.say("sound.range", low=low, high=high)


def _index(index: float, locale: Locale) -> str:
    word = locale.say(f"sound.class.{class_of(round(index, 2))}")
    return locale.say("sound.index", index=number(index, 2), word=word)


def _need(one: Advice) -> float:
    low, high = one.need
    return float(low if low is not None else high or 0.0)


def _advised(one: Advice, volume_m3: float, locale: Locale) -> str:
    low, high = one.need
    if one.name == "reverberation" and low is not None and high is not None:
        way = "long" if one.have > high else "short"
        return locale.say(
            f"sound.reverberation.{way}",
            have=plain(round(one.have, 2)),
            volume=locale.volume(volume_m3),
            source=one.source,
            low=number(low, 2),
            high=number(high, 2),
        )
    if one.name == "noise":
        return locale.say(
            "sound.advice.noise", have=plain(round(one.have, 1)), need=plain(_need(one)), source=one.source
        )
    heads = locale.listed(one.heads)
    if one.name == "index":
        word = locale.say(f"sound.class.{class_of(round(one.have, 2))}")
        have, need = number(one.have, 2), number(_need(one), 2)
        return locale.say(
            "sound.advice.index", heads=heads, have=have, need=need, word=word, source=one.source
        )
    return locale.say(
        "sound.advice.over noise",
        heads=heads,
        have=number(one.have),
        need=plain(_need(one)),
        source=one.source,
    )


def _decibels(ratio: float) -> float:
    from math import log10

    return 10 * log10(ratio)
