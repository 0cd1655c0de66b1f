"""The designer's own criteria, counted over the talkers of a review: reported, never failed."""

from __future__ import annotations

from collections.abc import Callable

from scenes.findings.criteria import AngleMet, DistanceMet
from scenes.findings.review import HeadReview, Review

MET_M = 1e-9
"""A distance this little outside is met: rounding."""
MET_DEG = 1e-6
"""An angle this little larger is met: rounding."""


def criteria_met(review: Review) -> tuple[DistanceMet | AngleMet, ...]:
    """What the spec's `criteria` ask and how many talkers meet it; empty where it asks nothing.

    Somebody who stands up or walks meets a criterion if all of their heads do.
    """
    if not review.judged:
        return ()
    asked = review.scene.criteria
    found: list[DistanceMet | AngleMet] = []
    if asked.distance_m is not None:
        near, far = asked.distance_m
        met, talkers = _count(review, lambda head: near - MET_M <= head.slant_m <= far + MET_M)
        found.append(DistanceMet(near, far, met, talkers))
    if asked.off_centre_deg is not None:
        most = asked.off_centre_deg
        met, talkers = _count(review, lambda head: abs(head.off_centre_deg) <= most + MET_DEG)
        found.append(AngleMet(most, met, talkers))
    return tuple(found)


def _count(review: Review, meets: Callable[[HeadReview], bool]) -> tuple[int, int]:
    """How many meet it, of how many; of several layouts of the one in which most do not."""
    each: dict[str | None, dict[str, bool]] = {}
    for head in review.heads:
        people = each.setdefault(head.layout, {})
        people[head.person] = people.get(head.person, True) and meets(head)
    counts = [(sum(people.values()), len(people)) for people in each.values()]
    return max(counts, key=lambda one: (one[1] - one[0], -one[0]), default=(0, 0))
