"""What the report says in sentences of its own: figures at a glance, heights, speech, lines of sight."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import get_args

from scenes.findings.heights import ArrayHeights
from scenes.findings.installation import ScheduleRow
from scenes.findings.review import Review
from scenes.findings.sight import LineKind
from scenes.room.acoustics import Acoustics
from viz.words import tolerance, verdict
from viz.words.criteria import criteria
from viz.words.heights import leaning, stretches
from viz.words.locale import Locale, plain


def tiles(review: Review, schedule: Sequence[ScheduleRow], locale: Locale) -> list[tuple[str, str]]:
    """The figures at a glance, each with what stands under it."""
    more = [
        locale.say(f"report.tile.{name}", count=len(some))
        for name, some in (("advised", review.advised), ("unjudged", review.unjudged))
        if some
    ]
    short = locale.say("of", part=len(review.short), whole=len(review.clearances))
    blocked = locale.say("of", part=len(review.blocked), whole=len(review.sightlines))
    if len(schedule) == 1:
        hung = locale.site(schedule[0].underside_m), locale.say("report.tile.underside")
    else:
        hung = str(len(schedule)), locale.say("report.tile.arrays")
    return [
        (verdict.counts(review.counts, locale), verdict.covered(review.counts, locale)),
        tolerance.tile(review),
        hung,
        (short, ", ".join((locale.say("report.tile.short"), *more))),
        (blocked, locale.say("report.tile.blocked")),
    ]


def speech(acoustics: Acoustics, locale: Locale) -> str:
    """What the levels are estimated from, and that they are no more than that."""
    given = [locale.say("report.speech.effort", effort=acoustics.effort)]
    if acoustics.noise_dBA is not None:
        given.append(locale.say("report.speech.noise", level=plain(acoustics.noise_dBA)))
    if acoustics.reverberation_s is not None:
        given.append(locale.say("report.speech.reverberation", seconds=plain(acoustics.reverberation_s)))
    return locale.say("report.speech", given=locale.listed(given))


def heights(review: Review, rows: Sequence[ArrayHeights], locale: Locale) -> list[str]:
    """How each array's talkers lie in its band and which heights of it are allowed; then the designer's criteria."""
    texts = []
    in_use = {
        row.id: band for row in rows for band in row.bands if band.name == row.today_band and not row.flush
    }
    for array in review.arrays:
        if array.mean_off_centre_deg is None:
            continue
        angle = locale.from_centre(array.mean_off_centre_deg)
        sentences = [locale.say("report.mean", array=array.id, angle=angle)]
        if array.id in in_use:
            band = in_use[array.id]
            height, some = locale.site(array.height_m), band.allowed_m
            name = "report.interval" if some else "report.interval, none"
            sentences.append(locale.say(name, heights=stretches(some, locale), height=height))
            sentences += [locale.say("heights.leaning", heights=heights) for heights in leaning(band, locale)]
        texts.append(" ".join(sentences))
    return [*texts, *criteria(review)]


def sight(review: Review, locale: Locale) -> list[str]:
    """How many lines of sight there are of each kind, and how many of them are blocked."""
    if not review.sightlines:
        return [locale.say("report.sight.none")]
    counts = Counter(line.kind for line in review.sightlines)
    kinds = [
        locale.say(f"report.sight.{kind}", count=counts[kind]) for kind in get_args(LineKind) if counts[kind]
    ]
    blocked = (
        locale.say("report.sight.some blocked", count=len(review.blocked))
        if review.blocked
        else locale.say("report.sight.none blocked")
    )
    lines = locale.counted(len(review.sightlines), "line")
    return [locale.say("report.sight", lines=lines, kinds=locale.listed(kinds), blocked=blocked)]
