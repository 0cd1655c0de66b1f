"""Several layouts of one room judged together: one review out of theirs, with the worst verdict and the worst counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import chain
from typing import Any

from scenes.findings.names import Id
from scenes.findings.review import VERDICTS, HeadReview, LayoutReview, Review, Tolerance
from scenes.findings.sight import Sightline, Unblock
from scenes.findings.sound import Advice, Sound
from scenes.review.counts import worst_counts
from scenes.review.coverage import review_arrays
from scenes.review.tolerance import least_of
from scenes.room.layouts import joined_id
from scenes.room.scene import Scene
from scenes.rules.clearances import clearances_together
from scenes.spec.layouts import id_out

Name = Callable[[str], str]
"""What a layout's thing is called in the scene of all."""


def together(scene: Scene, each: Sequence[Review], tolerances: Sequence[Tolerance]) -> Review:
    """The review of a scene of all layouts, out of each one's; `tolerances` by array hold in all of them."""
    names = [joined_id(scene, layout) for layout in scene.layouts]
    each = [_only_own_moves(one, name) for one, name in zip(each, names, strict=True)]
    called = [
        _called(one, layout, name) for one, layout, name in zip(each, scene.layouts, names, strict=True)
    ]
    heads = tuple(chain.from_iterable(one.heads for one in called))
    arrays = review_arrays(scene, heads, tolerances)
    spoken = [one.speech for one in called if one.speech is not None]
    return Review(
        scene=scene,
        verdict=max((one.verdict for one in each if one.verdict is not None), key=VERDICTS.index),
        counts=worst_counts([one.counts for one in each]),
        tolerance=least_of([array.tolerance for array in arrays]),
        heads=heads,
        arrays=arrays,
        clearances=clearances_together(scene, [one.clearances for one in each]),
        sightlines=tuple(chain.from_iterable(one.sightlines for one in called)),
        unblock=tuple(chain.from_iterable(one.unblock for one in called)),
        speech=tuple(chain.from_iterable(spoken)) if spoken else None,
        areas=tuple(chain.from_iterable(one.areas for one in called)),
        sound=_sounds(called),
        layouts=tuple(map(LayoutReview, scene.layouts, each)),
    )


def _sounds(each: Sequence[Review]) -> Sound | None:
    """The room's figures, which all layouts share, with the worst advice of each name among them."""
    found = [one.sound for one in each if one.sound is not None]
    if not found:
        return None
    worst: dict[tuple[str, Id | None], Advice] = {}
    for sound in found:
        for one in sound.advice:
            known = worst.setdefault((one.name, one.array), one)
            if one is not known:
                low = one if one.have < known.have else known
                state = "advised" if "advised" in (one.state, known.state) else one.state
                worst[one.name, one.array] = replace(low, state=state, heads=(*known.heads, *one.heads))
    validity = dict.fromkeys(chain.from_iterable(sound.validity for sound in found))
    return replace(found[0], advice=tuple(worst.values()), validity=tuple(validity))


def _called(one: Review, layout: str, name: Name) -> Review:
    """What a layout's review has of its own, called as in the scene of all."""
    return replace(
        one,
        heads=tuple(_head(head, layout, name) for head in one.heads),
        sightlines=tuple(_line(line, layout, name) for line in one.sightlines),
        unblock=tuple(_unblock(found, name) for found in one.unblock),
        speech=one.speech and tuple(replace(line, head=name(line.head)) for line in one.speech),
        areas=tuple(replace(area, id=name(area.id), layout=layout) for area in one.areas),
        sound=one.sound and replace(one.sound, advice=tuple(_advice(had, name) for had in one.sound.advice)),
    )


def of_one_layout(whole: Review, layout: str) -> Review:
    """The review of one layout as documents of it have it: the verdict and tolerances are the whole room's."""
    one = next(found.review for found in whole.layouts if found.name == layout)
    arrays = tuple(
        replace(own, tolerance=_in_one(all_of_them.tolerance, layout))
        for own, all_of_them in zip(one.arrays, whole.arrays, strict=True)
    )
    return replace(
        one,
        verdict=whole.verdict,
        tolerance=least_of([array.tolerance for array in arrays]),
        heads=tuple(replace(head, layout=layout) for head in one.heads),
        arrays=arrays,
        sightlines=tuple(replace(line, layout=layout) for line in one.sightlines),
        areas=tuple(replace(area, layout=layout) for area in one.areas),
        layouts=whole.layouts,
    )


def _head(head: HeadReview, layout: str, name: Name) -> HeadReview:
    return replace(head, id=name(head.id), person=name(head.person), layout=layout, **_in_its_way(head, name))


def _advice(one: Advice, name: Name) -> Advice:
    return replace(one, heads=tuple(map(name, one.heads)))


def _line(line: Sightline, layout: str, name: Name) -> Sightline:
    return replace(line, start=name(line.start), end=name(line.end), layout=layout, **_in_its_way(line, name))


def _in_its_way(one: HeadReview | Sightline, name: Name) -> dict[str, Any]:
    """What stands in a line, called as in the scene of all."""
    by = one.blocked_by
    return {"blocked_by": None if by is None else name(by), "blockers": tuple(map(name, one.blockers))}


def _unblock(one: Unblock, name: Name) -> Unblock:
    return replace(
        one,
        blocker=name(one.blocker),
        lines=tuple((name(start), name(end)) for start, end in one.lines),
        moves=tuple(replace(move, thing=name(move.thing)) for move in one.moves),
        else_place=tuple(map(name, one.else_place)),
    )


def _only_own_moves(one: Review, name: Name) -> Review:
    """With moves of what stands in this layout only: those of what all have were tried in this one alone."""
    return replace(
        one,
        unblock=tuple(
            replace(found, moves=tuple(move for move in found.moves if name(move.thing) != move.thing))
            for found in one.unblock
        ),
    )


def _in_one(tolerance: Tolerance, layout: str) -> Tolerance:
    """With what limits it called as in this layout; what is another's keeps that one's name behind its id."""
    limits = {
        way: end and replace(end, id=id_out(end.id, layout)) for way, end in tolerance.limited_by.items()
    }
    return replace(tolerance, limited_by=limits)
