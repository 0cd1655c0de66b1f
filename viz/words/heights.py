"""Which heights work in which band, who limits them, and why where none works."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.heights import Cause
from scenes.findings.heights import ArrayHeights, BandHeights
from viz.words.locale import Locale


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
