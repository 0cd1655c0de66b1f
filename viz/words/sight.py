"""Lines of sight that are blocked, by what, and what to do about it."""

from __future__ import annotations

from scenes.findings.review import Review, Sightline
from viz.words.locale import Locale


def blocked(line: Sightline, locale: Locale) -> str:
    """One blocked line, with advice where there is any."""
    if line.advice:
        return locale.say(
            "sight.blocked, advice",
            start=line.start,
            end=line.end,
            by=str(line.blocked_by),
            advice=line.advice,
        )
    return locale.say("sight.blocked", start=line.start, end=line.end, by=str(line.blocked_by))


def sentences(review: Review) -> tuple[str, ...]:
    """A sentence for arrays, for cameras and for displays, as far as lines of theirs are blocked."""
    locale = Locale.of(review.scene)
    texts = []
    for kind in ("array", "camera", "display"):
        lines = [line for line in review.blocked if line.kind == kind]
        if lines:
            more = locale.say("sight.more", count=len(lines) - 1) if len(lines) > 1 else ""
            texts.append(locale.say(f"sight.line.{kind}", line=blocked(lines[0], locale), more=more))
    return tuple(texts)
