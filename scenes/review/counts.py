"""How many people are covered, each by the worst of their heads."""

from __future__ import annotations

from collections.abc import Sequence

from scenes.findings.review import STANDINGS, Counts, HeadReview, Standing


def people_of(heads: Sequence[HeadReview]) -> dict[str, Standing]:
    """How each of these heads' people stands."""
    worst: dict[str, Standing] = {}
    for head in heads:
        worst[head.person] = max(worst.get(head.person, "covered"), head.standing, key=STANDINGS.index)
    return worst


def counts_of(heads: Sequence[HeadReview]) -> Counts:
    """The counts of these heads' people."""
    states = list(people_of(heads).values())
    return Counts(len(states), **{standing: states.count(standing) for standing in STANDINGS})


def worst_counts(each: Sequence[Counts]) -> Counts:
    """The counts of the layout in which most talkers are not covered, on a tie the fewest are."""
    return max(each, key=lambda one: (one.lacking, -(one.covered or 0)))
