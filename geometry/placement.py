"""Where to hang one array: the best place by a stated aim, with a proof that no place is better.

What is asked (constraints, a box of positions, an aim) and what comes back (a place with its figures, a
bound, the certificate). `question` says what positions are worth, `branching` does the searching and
`candidates` keeps the best place seen; where nothing works, `conflicts` says why.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from geometry.band import Band, Floats
from geometry.branching import Outcome, Progress, Searched, branch_and_bound
from geometry.certificate import Certificate
from geometry.constraint import Constraint, Key, SearchBox
from geometry.coverage import Heads, least_margins
from geometry.question import Aim, Question

ENOUGH_M = 0.10
"""The margin a place must leave under the aim `near`, unless asked otherwise."""
GAP_M = 0.001
"""Certified means: the bound is at most this far from the value (aims in metres)."""
GAP_DEG = 0.01
"""The same for the aim `centre`, whose value is in degrees (0.4 mm at 2.3 m)."""
PRESSING_M = 0.002
"""A constraint with no more than this left at the place presses on it."""
MARGIN: Key = ("margin",)
"""Stands among the constraints' keys for the margin that an aim asks for."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to search: most (cell, band) values to compute, and the gaps to close."""

    evaluations: int = 3_000_000
    gap_m: float = GAP_M
    gap_deg: float = GAP_DEG


@dataclass(frozen=True, slots=True)
class Place:
    """One position and band with its figures, all exact; degrees and slants for the middle of the mouths."""

    at_m: tuple[float, float, float]
    band: int
    margin_m: float
    worst_slant_m: float
    mean_off_centre_deg: float
    rms_off_centre_deg: float

    def value(self, aim: Aim) -> float:
        """What this aim makes large: the margin, minus the worst slant, or minus the RMS off-centre."""
        if aim == "tolerance":
            return self.margin_m
        return -self.worst_slant_m if aim == "near" else -self.rms_off_centre_deg


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What one search found. `bound` is in the terms of `Place.value`: proven, no allowed place has more.

    `excluded` gives for each constraint (and MARGIN) the share of box and bands dropped because of it
    (what could not beat the best was dropped before any constraint was asked), `pressing` the
    constraints that hold within 2 mm at the place. place is None where there is none; bound is None
    when nothing is allowed.
    """

    aim: Aim
    outcome: Outcome
    place: Place | None
    bound: float | None
    gap: float | None
    evaluations: int
    seconds: float
    excluded: Mapping[Key, float] = field(default_factory=dict)
    pressing: tuple[Key, ...] = ()
    certificate: Certificate | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """One array placed: the search that was taken, and all three aims beside each other.

    `note` says in words why another aim than the one asked for was taken, else it is empty.
    """

    asked: Aim
    taken: Aim
    note: str
    enough_m: float
    near: Found
    tolerance: Found
    centre: Found

    @property
    def chosen(self) -> Found:
        """The search whose place is taken."""
        return {"near": self.near, "tolerance": self.tolerance, "centre": self.centre}[self.taken]


def place(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    aim: Aim = "near",
    enough_m: float = ENOUGH_M,
    start: Sequence[Place] = (),
    effort: Effort | None = None,
    record: bool = False,
    progress: Callable[[Progress], None] | None = None,
) -> Answer:
    """The best place of one array for these heads by all three aims, and the one to take.

    `near` falls back to `tolerance`, with a note, where no place has the margin `enough_m`, and
    `centre` where no place covers everybody. `start` are places to begin from, as far as they are
    allowed; `record` keeps the certificates. `progress` is told as in `search`, one search after another.
    """
    best = partial(
        search,
        heads,
        bands,
        box,
        constraints,
        enough_m=enough_m,
        effort=effort,
        record=record,
        progress=progress,
    )
    tolerance = best(aim="tolerance", start=start)
    start = [*start, *([] if tolerance.place is None else [tolerance.place])]
    near = best(aim="near", start=start)
    start = [*start, *([] if near.place is None else [near.place])]
    centre = best(aim="centre", start=start)
    taken, note = aim, ""
    if aim == "near" and near.place is None:
        most = tolerance.place.margin_m if tolerance.place else math.nan
        taken = "tolerance"
        note = f"no place leaves everybody a margin of {enough_m:g} m (the best is {most:.3f} m)"
    elif aim == "centre" and centre.place is None:
        taken, note = "tolerance", "no place covers everybody"
    if note:
        note += "; the place with the largest margin is taken"
        if tolerance.place is None:
            note = "no position is allowed"
            if tolerance.outcome == "unresolved":
                note = "no allowed position was found within the effort allowed"
    return Answer(aim, taken, note, enough_m, near, tolerance, centre)


def search(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint] = (),
    *,
    aim: Aim = "tolerance",
    enough_m: float = ENOUGH_M,
    start: Sequence[Place] = (),
    effort: Effort | None = None,
    at_least: float | None = None,
    record: bool = False,
    progress: Callable[[Progress], None] | None = None,
) -> Found:
    """The best allowed place by one aim over all bands, and a proven bound.

    tolerance  the largest least margin
    near       the smallest worst slant among places with least margin >= `enough_m`
    centre     the smallest RMS off-centre among places with least margin >= 0

    `start` are places to begin from. With `at_least` the search only asks whether a value of at least
    that exists: it stops at the first such place, or when the bound falls below it. The bound of a
    search with `at_least` that found nothing is that figure. `progress` is called at most five times a
    second with how far it is.
    """
    began = time.perf_counter()
    if not len(heads) or not bands:
        raise ValueError("search needs at least one head and one band")
    effort = effort or Effort()
    gap = effort.gap_deg if aim == "centre" else effort.gap_m
    question = _question(heads, bands, box, constraints, aim, enough_m)
    smallest = -question.smallest_demand_m
    if (question.need_m < smallest and aim != "tolerance") or (at_least is not None and at_least < smallest):
        # out of band the four numbers only bound the slack: a demand out there needs the exact one
        question = question.exactly()
    spots = [(np.array(place.at_m), place.band) for place in start]
    branch = partial(
        branch_and_bound, gap=gap, evaluations=effort.evaluations, record=record, progress=progress
    )
    found = branch(question, spots, at_least=at_least)
    spent = found.evaluations
    if aim == "tolerance" and at_least is None and found.at_m is not None:
        place = _place(question, found.at_m, found.band)
        if place.margin_m < smallest:
            # nobody's place is in band: the bound must be asked for again with the exact slack too
            question = question.exactly()
            found = branch(question, [(found.at_m, found.band)])
            spent += found.evaluations
    return _told(question, box, found, spent, time.perf_counter() - began)


def figures(heads: Heads, bands: Sequence[Band], at_m: Sequence[float] | Floats, band: int) -> Place:
    """The place at this position in this band, with its exact figures."""
    x, y, z = (float(number) for number in at_m)
    question = _question(heads, bands, SearchBox((x, y, z), (x, y, z)), (), "tolerance", 0.0)
    return _place(question, np.array([x, y, z]), band)


def _question(
    heads: Heads,
    bands: Sequence[Band],
    box: SearchBox,
    constraints: Sequence[Constraint],
    aim: Aim,
    enough_m: float,
) -> Question:
    return Question(
        heads,
        tuple(bands),
        np.array(box.low_m, float),
        np.array(box.high_m, float),
        tuple(constraint.key for constraint in constraints),
        tuple(constraint.signed_m for constraint in constraints),
        aim,
        enough_m,
    )


def _place(question: Question, at: Floats, band: int) -> Place:
    one = at.reshape(1, 3)
    mean, rms = question.off_centre(one, np.array([band]))
    margin = least_margins(question.bands[band], one, question.heads)
    return Place(
        (float(at[0]), float(at[1]), float(at[2])),
        band,
        float(margin[0]),
        float(question.worst_slant(one)[0]),
        float(mean[0]),
        float(rms[0]),
    )


def _told(question: Question, box: SearchBox, found: Searched, evaluations: int, seconds: float) -> Found:
    """The record of a search in the terms of those who asked."""
    place = None if found.at_m is None or found.bound is None else _place(question, found.at_m, found.band)
    value = None if place is None else place.value(question.aim)
    pressing: tuple[Key, ...] = ()
    if place is not None and question.keys:
        left = question.allowed(np.array([place.at_m]))[0]
        pressing = tuple(key for key, m in zip(question.keys, left, strict=True) if m < PRESSING_M)
    excluded = {
        MARGIN if why == MARGIN else why[1:]: share
        for why, share in found.leaves.share.items()
        if why == MARGIN or why[0] == "rule"
    }
    certificate = None
    if found.leaves.record:
        certificate = Certificate(
            question.aim,
            box.low_m,
            box.high_m,
            question.need_m,
            found.bound,
            value,
            question.bands,
            question.points,
            question.demand,
            question.legs,
            tuple(found.leaves.groups),
        )
    return Found(
        question.aim,
        found.outcome,
        place,
        found.bound,
        None if value is None or found.bound is None else max(found.bound - value, 0.0),
        evaluations,
        seconds,
        excluded,
        pressing,
        certificate,
    )
