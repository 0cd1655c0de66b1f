"""Two reviews side by side: each figure of both, on which side it is better, who stands otherwise, what is too close."""

from __future__ import annotations

from typing import Any, Final

from scenes.findings.clearance import Clearance
from scenes.findings.comparison import Compared, Comparison, FigureName, Otherwise, Side
from scenes.findings.review import STANDINGS, VERDICTS, Review, Standing, Verdict
from scenes.numbers import rounded
from scenes.review.changes import other_room
from scenes.review.counts import worst_counts
from scenes.review.people import people_in

SAME_M: Final = 0.0005
"""Lengths nearer to each other than this are the same on every paper."""
SAME_DEG: Final = 0.05
SAME_TALKERS: Final = 0.05
MORE: Final[tuple[FigureName, ...]] = ("covered", "expected", "margin", "sideways", "up", "down")
LESS: Final[tuple[FigureName, ...]] = (
    *("marginal", "blocked", "missed", "farthest", "from centre", "short", "advised"),
)
"""Of which more is better, and of which less. How many arrays there are is for the client to weigh."""


def comparison(first: Review, second: Review) -> Comparison:
    """Both reviews side by side. Both are judged: every array has a place."""
    one, other = _figures(first), _figures(second)
    same = not other_room(first.scene, second.scene)
    return Comparison(
        first=first,
        second=second,
        figures=tuple(
            Compared(name, one[name], other[name], _better(name, one[name], other[name])) for name in one
        ),
        talkers=_otherwise(first, second) if same else None,
        close=(_only(first, second), _only(second, first)),
    )


def _figures(review: Review) -> dict[FigureName, float | Verdict | None]:
    """The figures of one review; the tolerance is the one that is told."""
    tolerance, people = review.told_tolerance, people_in(review)
    # of all layouts, as the verdict is
    each = [one.review for one in review.layouts] or [review]
    counts = worst_counts([one.counts for one in each])
    margins = [one.margin_m for one in each if one.margin_m is not None]
    served = [array for one in each for array in one.arrays]
    farthest = [array.worst_slant_m for array in served if array.worst_slant_m is not None]
    away = [abs(head.off_centre_deg) for one in each for head in one.heads]
    return {
        "verdict": review.verdict,
        "arrays": len(review.arrays),
        "covered": counts.covered,
        "marginal": counts.marginal,
        "blocked": counts.blocked,
        "missed": counts.missed,
        "margin": min(margins, default=None),
        "sideways": None if tolerance is None else tolerance.sideways_m,
        "up": None if tolerance is None else tolerance.up_m,
        "down": None if tolerance is None else tolerance.down_m,
        "farthest": max(farthest),
        "from centre": sum(away) / len(away),
        "short": len(review.short),
        "advised": len(review.advised),
        "expected": None if people is None else people.expected_covered,
    }


def _better(name: FigureName, first: Any, second: Any) -> Side | None:
    """On which side a figure is better; None where they are the same or one has none."""
    if name == "verdict":
        name, first, second = "missed", VERDICTS.index(first), VERDICTS.index(second)
    if first is None or second is None or name not in (*MORE, *LESS):
        return None
    if abs(first - second) < {"from centre": SAME_DEG, "expected": SAME_TALKERS}.get(name, SAME_M):
        return None
    return "first" if (first > second) == (name in MORE) else "second"


def _otherwise(first: Review, second: Review) -> tuple[Otherwise, ...]:
    one, other = _standings(first), _standings(second)
    return tuple(
        Otherwise(person, standing, other[person])
        for person, standing in one.items()
        if person in other and other[person] != standing
    )


def _standings(review: Review) -> dict[str, Standing]:
    """How each person stands: as the worst of their heads."""
    found: dict[str, Standing] = {}
    for head in review.heads:
        found[head.person] = max(found.get(head.person, STANDINGS[0]), head.standing, key=STANDINGS.index)
    return found


def _only(review: Review, beside: Review) -> tuple[Clearance, ...]:
    """What is too close or below advice here and not beside, a thing and rule once."""
    there = {(one.against, one.rule) for one in (*beside.short, *beside.advised)}
    found = {(one.against, one.rule): one for one in reversed((*review.short, *review.advised))}
    return tuple(one for key, one in reversed(found.items()) if key not in there)


def comparison_as_json(found: Comparison) -> dict[str, Any]:
    """The `overtable/comparison/1` object without the words."""
    sides = {"first": "A", "second": "B", None: None}
    return {
        "format": "overtable/comparison/1",
        "files": [review.scene.source.file for review in found.reviews],
        "rooms": [review.scene.name for review in found.reviews],
        "same_room": found.talkers is not None,
        "figures": [
            {"name": one.name, "A": rounded(one.first), "B": rounded(one.second), "better": sides[one.better]}
            for one in found.figures
        ],
        "talkers": None
        if found.talkers is None
        else [{"talker": one.person, "A": one.first, "B": one.second} for one in found.talkers],
        "too_close": {
            side: [
                {"array": one.array, "against": one.against, "rule": one.rule, "state": one.state}
                for one in some
            ]
            for side, some in zip("AB", found.close, strict=True)
        },
    }
