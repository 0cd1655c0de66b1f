"""The designer's own criteria in words: whose they are, and how many talkers meet them."""

from __future__ import annotations

from collections.abc import Sequence

from scenes.findings.criteria import AngleMet, DistanceMet
from scenes.findings.review import Review
from scenes.review.criteria import criteria_met
from viz.words.locale import Locale


def criterion(met: DistanceMet | AngleMet, locale: Locale) -> str:
    """One of the designer's own criteria, and how many talkers meet it."""
    if isinstance(met, DistanceMet):
        near, far = locale.length(met.near_m), locale.length(met.far_m)
        asked = locale.say("criterion.distance", near=near, far=far)
    else:
        asked = locale.say("criterion.angle", most=locale.edge(met.most_deg))
    return locale.say("criterion", asked=asked, met=met.met, talkers=met.talkers)


def criteria(review: Review) -> Sequence[str]:
    """A sentence for each criterion of the spec; empty where it sets none."""
    locale = Locale.of(review.scene)
    return [criterion(met, locale) for met in criteria_met(review)]
