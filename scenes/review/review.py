"""Every question asked of a Scene, answered once: the Review.

A Review is frozen and complete; pictures, pages, sheets, tables and sentences read it and compute
nothing again.
"""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import replace

from geometry.coverage import State
from scenes.findings.clearance import Clearance, ClearanceState
from scenes.findings.review import AreaReview, HeadReview, Review, Verdict
from scenes.findings.sight import Sightline
from scenes.findings.sound import Sound
from scenes.review.areas import review_areas
from scenes.review.counts import counts_of
from scenes.review.coverage import coverage_of, review_arrays, review_heads, with_sight
from scenes.review.sight import Sights
from scenes.review.sight_moves import unblocking
from scenes.review.speech import speech
from scenes.review.together import together
from scenes.review.tolerance import Kept, kept_of, least_of, tolerance_of
from scenes.room.layouts import in_layouts, joined_id
from scenes.room.scene import Scene
from scenes.rules.clearances import by_state, ceiling_clearances, clearances
from scenes.rules.surroundings import Things


def review(scene: Scene) -> Review:
    """Every question asked of a scene, answered. ValueError if an array has no place yet.

    Of a room of several layouts each is judged by itself, and all of them together.
    """
    if not scene.layouts:
        return _judged(scene)[0]
    each = [_judged(one) for one in in_layouts(scene)]
    names = [joined_id(scene, layout) for layout in scene.layouts]
    by_array = zip(
        *([one.called(name) for one in kept] for name, (_, kept) in zip(names, each, strict=True)),
        strict=True,
    )
    return together(scene, [one for one, _ in each], [tolerance_of(kept) for kept in by_array])


def _judged(scene: Scene) -> tuple[Review, list[Kept]]:
    """The review of one room as it is, and what each array must not lose in it."""
    sights, coverage = Sights.of(scene), coverage_of(scene)
    heads = review_heads(scene, coverage, coverage.serving(sights.sees()))
    serving = {head.id: head.array for head in heads}
    sights = sights.served(serving)
    lines = sights.lines()
    blockers = {line.end: line.blockers for line in lines if line.kind == "array"}
    heads = tuple(with_sight(head, blockers[head.id]) for head in heads)
    areas = review_areas(scene)
    found = clearances(scene)
    stacked: dict[str, Things] = {}
    kept = [kept_of(scene, array, heads, coverage, sights, areas, stacked) for array in scene.arrays]
    arrays = review_arrays(scene, heads, [tolerance_of([one]) for one in kept])
    spoken = speech(scene, serving)
    sound = None
    if spoken is not None:
        from scenes.review.sound import sound_of

        sound = sound_of(scene, spoken)
    judged = Review(
        scene=scene,
        verdict=verdict_of((*heads, *areas), found, lines, sure=not scene.unsure, sound=sound),
        counts=counts_of(heads),
        tolerance=least_of([array.tolerance for array in arrays]),
        heads=heads,
        arrays=arrays,
        clearances=found,
        sightlines=lines,
        unblock=unblocking(sights, lines, found),
        speech=spoken,
        sound=sound,
        areas=areas,
    )
    return judged, kept


def with_ceiling(reviewed: Review) -> Review:
    """The review with what the architect's ceiling asks of its own devices among its clearances, and its verdict.

    What stands between devices is advised at most: it cautions, and never fails a room.
    """
    if reviewed.scene.layouts:
        each = [with_ceiling(one.review) for one in reviewed.layouts]
        return together(reviewed.scene, each, [array.tolerance for array in reviewed.arrays])
    found = by_state(reviewed.clearances, ceiling_clearances(reviewed.scene))
    judged: tuple[HeadReview | AreaReview, ...] = (*reviewed.heads, *reviewed.areas)
    sure, sound = not reviewed.scene.unsure, reviewed.sound
    verdict = verdict_of(judged, found, reviewed.sightlines, sure=sure, sound=sound)
    return replace(reviewed, clearances=found, verdict=verdict)


def verdict_of(
    judged: Iterable[HeadReview | AreaReview],
    found: tuple[Clearance, ...],
    lines: tuple[Sightline, ...],
    *,
    sure: bool = True,
    sound: Sound | None = None,
) -> Verdict:
    """The worst of what heads and areas, clearances, lines and the advice about sound say, as the contract has it."""
    return verdict_by(
        {one.state for one in judged},
        {clearance.state for clearance in found},
        unseen=any(line.kind == "array" and line.state == "blocked" and line.binding for line in lines),
        blocked=any(line.state == "blocked" for line in lines),
        sure=sure,
        advised=sound is not None and bool(sound.advised),
    )


def verdict_by(
    states: Container[State],
    clearances: Container[ClearanceState],
    *,
    unseen: bool,
    blocked: bool,
    sure: bool,
    advised: bool,
) -> Verdict:
    """The verdict by which states there are of heads and areas, and of clearances.

    `unseen`: an array does not see a head it serves, by what the spec gives; `blocked`: any line is. A room of
    which something is not measured (`sure` is False), or whose sound falls short of what is `advised`, passes with
    caution at best.
    """
    if "missed" in states or "short" in clearances or unseen:
        return "fail"
    if "marginal" in states or "advised" in clearances or "unjudged" in clearances:
        return "caution"
    if blocked or not sure or advised:
        return "caution"
    return "pass"
