"""Which heights work in which band, who limits them, and why where none works."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

from geometry.heights import Cause
from scenes.findings.heights import ArrayHeights, ArrayTable, BandHeights, BandTable, Unkept
from scenes.findings.review import Counts, Verdict
from scenes.room.scene import Scene
from scenes.room.spans import LEAST_HANG_M
from viz.words.locale import DASH, Locale
from viz.words.things import all_named


class HeightsText(NamedTuple):
    """What one band of one array would allow, as every output shows it: which fields, is the output's choice."""

    band: str
    allowed: str
    best: str
    margin: str
    from_centre: str


def row_text(band: BandHeights, locale: Locale) -> HeightsText:
    """One band's texts; what there is none of is a dash."""
    return HeightsText(
        band=locale.say("band", name=band.name, edges=locale.edges(band.low_deg, band.high_deg)),
        allowed=stretches(band.allowed_m, locale),
        best=best_allowed(band, locale),
        margin=locale.margin(band.told_margin_m),
        from_centre=locale.from_centre(band.told_off_centre_deg),
    )


def stretches(some: Sequence[tuple[float, float]], locale: Locale) -> str:
    """Stretches of height, each rounded inwards: `1.92–2.22 m and 2.72–2.73 m`; a dash where there are none."""
    return locale.listed([locale.within(*pair) for pair in some]) or DASH


def heading(row: ArrayHeights, locale: Locale) -> str:
    """Which array, where on plan, for how many talkers and where it hangs now."""
    place = locale.say("place", x=locale.length(row.at_m[0]), y=locale.length(row.at_m[1]))
    if not row.heads:
        return locale.say("heights.of, idle", array=row.id, place=place)
    talkers = locale.counted(row.talkers, "talker")
    if row.today_m is None or row.today_band is None:
        return locale.say("heights.of", array=row.id, place=place, talkers=talkers)
    height = locale.site(row.today_m)
    return locale.say(
        "heights.of, now", array=row.id, place=place, talkers=talkers, height=height, band=row.today_band
    )


def notes(row: ArrayHeights, band: BandHeights, scene: Scene, *, chosen: bool) -> list[str]:
    """What stands below a band's column in the diagram, line by line; `chosen`: it is the band in use."""
    locale = Locale.of(scene)
    said = row_text(band, locale)
    lines = []
    if not row.heads:
        lines.append(locale.say("heights.note.idle"))
    if band.told_margin_m is None:
        lines.append(locale.say("heights.note.not allowed"))
    else:
        lines.append(locale.say("heights.note.allowed", heights=said.allowed))
        lines += [locale.say("heights.note.leaning", heights=heights) for heights in leaning(band, locale)]
        how = "heights.note.best" if band.told_margin_m >= 0 else "heights.note.best, upright"
        lines.append(locale.say(how, height=said.best, margin=said.margin))
        lines += [" ".join(more) for more in [unkept(band.unkept, scene)] if more]
    if band.told_off_centre_deg is not None:
        lines.append(locale.say("heights.note.from centre", angle=said.from_centre))
    if band.ruled_out_m:
        lines.append(locale.say("heights.note.ruled out", heights=stretches(band.ruled_out_m, locale)))
    if (band.covered_interval_m is None and band.conflict) or any(band.limited_by):
        lines.append(limits(band, locale))
    if chosen and row.today_m is not None:
        lines.append(locale.say("heights.note.now", height=locale.site(row.today_m)))
    return lines


def leaning(band: BandHeights, locale: Locale) -> list[str]:
    """Where of the allowed heights everyone is covered leaning too, if that is some of them and not all."""
    if not band.allowed_covered_m or band.allowed_covered_m == band.allowed_m:
        return []
    return [stretches(band.allowed_covered_m, locale)]


def limits(band: BandHeights, locale: Locale) -> str:
    """Who limits a band's heights below and above, or who leaves none."""
    if band.covered_interval_m is None and band.conflict:
        if len(band.conflict) > 1:
            return locale.say("heights.limits.conflict", one=band.conflict[0], other=band.conflict[1])
        return locale.say("heights.limits.nobody", one=band.conflict[0])
    below, above = band.limited_by
    if below and above:
        return locale.say("heights.limits.both", below=below, above=above)
    if below:
        return locale.say("heights.limits.below", below=below)
    if above:
        return locale.say("heights.limits.above", above=above)
    return locale.say("heights.limits.surfaces")


def allowed(band: BandHeights, locale: Locale) -> str:
    """At which heights nothing fails, and which of them is best."""
    if band.best_allowed_m is None:
        return locale.say("heights.not allowed", band=band.name)
    said = row_text(band, locale)
    name = "heights.allowed" if band.allowed_covered_m else "heights.allowed, upright"
    told = locale.say(name, band=band.name, heights=said.allowed, best=said.best, margin=said.margin)
    return " ".join((told, *(locale.say("heights.leaning", heights=some) for some in leaning(band, locale))))


def best_allowed(band: BandHeights, locale: Locale) -> str:
    """The best allowed height, written so that it is allowed as written; a dash where there is none."""
    at = band.told_m
    pair = next((pair for pair in band.allowed_m if at is not None and pair[0] <= at <= pair[1]), None)
    return locale.height(at if at is None or pair is None else locale.inwards(at, *pair))


def unkept(some: Unkept | None, scene: Scene) -> list[str]:
    """Which height has a larger margin than the best that is told and why it is not that; or that none keeps more."""
    locale = Locale.of(scene)
    if some is None:
        return []
    spare, hang = locale.clearance(scene.wishes.spare.value), locale.clearance(LEAST_HANG_M)
    things = all_named([limit.id for limit in some.tight], scene)
    if not some.hangs_short:
        why = locale.say("heights.tight", spare=spare, things=things)
    elif not some.tight:
        why = locale.say("heights.hangs short", hang=hang)
    else:
        why = locale.say("heights.tight, hangs short", spare=spare, things=things, hang=hang)
    height, margin = locale.height(some.at_m), locale.margin(some.margin_m)
    if some.instead_m is None:
        return [locale.say("heights.there", height=height, why=why), locale.say("heights.nothing instead")]
    return [locale.say("heights.more margin", height=height, margin=margin, why=why)]


def wished(scene: Scene) -> str:
    """What is wished of a best height besides that it is allowed."""
    locale = Locale.of(scene)
    spare, hang = locale.clearance(scene.wishes.spare.value), locale.clearance(LEAST_HANG_M)
    return locale.say("heights.wished", spare=spare, hang=hang)


def label(array: str, height_m: float, locale: Locale) -> str:
    """What stands at an array in the picture: `A1 · 2.20 m`."""
    return locale.say("stage.array", array=array, height=locale.height(height_m))


def stretch(one: ArrayTable, band: BandTable, scene: Scene) -> str:
    """What stands below the slider: whether nothing fails anywhere, and the best height on offer."""
    locale = Locale.of(scene)
    if one.flush:
        return locale.say("slider.flush")
    if band.best is None:
        return locale.say("slider.none")
    height = locale.height(one.heights_m[band.best])
    return " ".join((locale.say("slider.best", height=height), *unkept(band.unkept, scene)))


def best(height: str, locale: Locale) -> str:
    """What is announced when the slider goes to the best height."""
    return locale.say("slider.to best", height=height)


def bar(verdict: Verdict, low: str, high: str, locale: Locale) -> str:
    """The title of a stretch of the slider's track."""
    return locale.say("slider.bar", verdict=locale.say(f"verdict.{verdict}"), low=low, high=high)


def covered(counts: Counts, locale: Locale) -> str:
    """How many are covered at a height, beside it: `8 of 12 covered`."""
    return locale.say("slider.covered", covered=counts.covered or 0, talkers=counts.talkers)


def everybody(talkers: int, locale: Locale) -> str:
    """The line of the slider's chart that is reached where everybody is covered."""
    return locale.say("slider.everybody", talkers=talkers)


def ruled(things: Sequence[str], locale: Locale) -> str:
    """What is too close over a stretch of heights that rules forbid."""
    return locale.say("slider.ruled", things=locale.listed(things, MOST_NAMED))


MOST_NAMED: Final = 2
"""Things that are named at a stretch of the slider's chart before the rest is counted."""


def sign(kind: Literal["best", "now"], height: str, locale: Locale) -> str:
    """The title of a sign at the slider's track."""
    return locale.say(f"slider.sign.{kind}", height=height)


def sentence(row: ArrayHeights, band: BandHeights, locale: Locale) -> str:
    """From which height to which a band covers everybody the array serves, who limits it, and why where none does."""
    if band.covered_interval_m is None:
        return _none(row, band, locale)
    if row.flush:
        return locale.say("heights.covers flush", band=band.name)
    low, high = (locale.length(end) for end in band.covered_interval_m)
    below, above = band.limited_by
    return locale.say(
        "heights.covers",
        band=band.name,
        low=low,
        below=locale.say("heights.lower", head=below) if below else locale.say("heights.floor"),
        high=high,
        above=locale.say("heights.higher", head=above) if above else locale.say("heights.ceiling"),
        upright=_upright(row, band, locale),
    )


def _none(row: ArrayHeights, band: BandHeights, locale: Locale) -> str:
    why = _why(row, band.cause, band.conflict, locale)
    same = (band.cause, band.conflict) == (band.interval_cause, band.interval_conflict)
    if band.interval_m is None and same:
        return locale.say("heights.none either way", band=band.name, why=why)
    return locale.say("heights.none", band=band.name, why=why, upright=_upright(row, band, locale))


def _upright(row: ArrayHeights, band: BandHeights, locale: Locale) -> str:
    if band.interval_m is None:
        why = _why(row, band.interval_cause, band.interval_conflict, locale)
        return locale.say("heights.upright neither", why=why)
    if row.flush:
        return locale.say("heights.upright flush")
    low, high = (locale.length(end) for end in band.interval_m)
    return locale.say("heights.upright", low=low, high=high)


def _why(row: ArrayHeights, cause: Cause | None, conflict: Sequence[str], locale: Locale) -> str:
    if cause is None or not conflict:
        return locale.say("heights.why.no conflict")
    if cause == "disagree":
        return locale.say("heights.why.disagree", one=conflict[0], other=conflict[1])
    name = "floor, flush" if cause == "floor" and row.flush else cause
    return locale.say(f"heights.why.{name}", one=conflict[0])
