"""A placement in words: where the arrays go, how sure that is, and what stands in the way.

Every bound is rounded so that what is said holds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from geometry.band import ON_EDGE_M
from geometry.branching import Progress
from geometry.snap import Cost, Snapped
from scenes.findings.placement import Far, Note
from scenes.findings.review import ArrayReview, Limit, Review
from scenes.place.placement import AimRow, Placement
from scenes.place.pressing import margin_cost_m, pressed_by, pressing_on
from scenes.place.refusals import PlaceRefused
from scenes.review.counts import counts_of
from scenes.room.scene import Scene
from scenes.rules.constraints import Pressing
from viz.words import arrays, conflict, tolerance, verdict, wishes
from viz.words.aims import of_groups
from viz.words.locale import DASH, Locale
from viz.words.things import people_of

if TYPE_CHECKING:
    from geometry.arrangement import CountProof

LITTLE_M = 0.0005
"""A change of less is not mentioned."""


# ---- how far a search has come


def progress(far: Far, locale: Locale) -> str:
    """How far a search has come: what it looks for, the best so far, and what none can beat."""
    if far.progress is not None:
        return locale.say(f"search.{far.progress.aim}", so_far=_so_far(far.progress, locale))
    if far.round is not None:
        return locale.say(f"search.round.{far.stage}", round=far.round)
    if far.stage in ("near", "centre"):
        return locale.say(f"search.several.{far.stage}")
    return locale.say("search.one more" if far.stage == "one more" else "search.conflict")


def _so_far(search: Progress, locale: Locale) -> str:
    tried = f"{search.evaluations:,}"
    if search.best is None or not math.isfinite(search.best):
        return locale.say(
            "search.tried" if search.aim in ("centre", "most") else "search.none yet", tried=tried
        )
    if search.aim == "most":
        return locale.say(
            "search.covered",
            tried=tried,
            best=f"{round(search.best, 2):g}",
            limit=f"{round(search.bound, 2):g}",
        )
    if search.aim == "centre":
        return locale.say("search.best", tried=tried, best=locale.angle(search.best))
    best = locale.length(search.best)
    if not math.isfinite(search.bound):
        return locale.say("search.best", tried=tried, best=best)
    return locale.say("search.best, limit", tried=tried, best=best, limit=locale.length(search.bound))


# ---- remarks


def remarks(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """Why another aim than the one asked for was taken, and what else there is to remark."""
    return tuple(remark(note, locale) for note in placement.notes)


def remark(note: Note, locale: Locale) -> str:
    """One remark, with what is proposed instead where the aim gave way."""
    sentence = _remark(note, locale)
    return f"{sentence} {locale.say('remark.instead', note.hung)}" if note.instead else sentence


def _remark(note: Note, locale: Locale) -> str:
    if note.name == "unreached":
        return locale.say("remark.unreached", heads=locale.listed(note.heads))
    if note.name == "too little margin":
        return _too_little(note, locale)
    if note.name == "less as written":
        enough, best = locale.at_most(note.enough_m or 0.0), locale.margin(note.best_m)
        return locale.say("remark.less as written", enough=enough, best=best)
    if note.name in ("hung as given", "in part", "not in slopes"):
        return _about_parts(note, locale)
    if note.name == "not apart":
        return locale.say("remark.not apart", tried=note.tried or 0)
    if note.name in ("left out", "in one part"):
        message = "remark.left out" if note.name == "left out" else "remark.in one part"
        return locale.say(message, len(note.arrays), arrays=locale.listed(note.arrays))
    if note.name == "some left out":
        return locale.say("remark.some left out", note.missing or 0, wanted=note.wanted or 0)
    if note.name in ("more on the lattice", "too few on the lattice"):
        return _on_the_lattice(note, locale)
    if note.name in ("held too near", "too near"):
        pairs = [locale.say("list.and", first=one, last=other) for one, other in note.pairs]
        name = "remark.held too near" if note.name == "held too near" else "remark.too near"
        return locale.say(name, pairs=", ".join(pairs))
    return locale.say(REMARKS[note.name])


def _about_parts(note: Note, locale: Locale) -> str:
    """Where under a ceiling in parts arrays were sought."""
    if note.name == "in part":
        places = ", ".join(_lies_in(id, part, locale) for id, part in note.lie_in)
        return locale.say("remark.in part", places=places)
    parts = locale.listed(note.parts)
    if note.name == "not in slopes":
        return locale.say("remark.not in slopes", len(note.parts), parts=parts)
    return locale.say("remark.hung as given", len(note.parts), parts=parts, ceiling=note.ceiling or "")


def _lies_in(array: str, part: str | None, locale: Locale) -> str:
    """An array with the part of the ceiling that it lies in."""
    if part is None:
        return locale.say("remark.in part.rest", array=array)
    return locale.say("remark.in part.one", array=array, part=part)


REMARKS: Mapping[str, str] = {
    "over limit": "remark.over limit",
    "nothing allowed": "remark.nothing allowed",
    "nothing found": "remark.nothing found",
    "unseen": "remark.unseen",
    "not covered": "remark.not covered",
    "outside the bound": "remark.outside the bound",
}
"""The messages of remarks that carry no figures."""


def _on_the_lattice(note: Note, locale: Locale) -> str:
    """That the fewest arrays anywhere do not do on the lattice, and what does there."""
    wanted, best = note.wanted or 0, locale.margin(note.best_m)
    if note.name == "more on the lattice":
        return locale.say("remark.more on the lattice", note.hung, wanted=wanted, best=best)
    return locale.say("remark.too few on the lattice", note.tried or 0, wanted=wanted, best=best)


def _too_little(note: Note, locale: Locale) -> str:
    enough, best = locale.at_most(note.enough_m or 0.0), note.best_m or 0.0
    if best < 0:
        return locale.say("remark.too little margin, short", enough=enough)  # the proof says by how much
    if best < locale.least_m:
        return locale.say("remark.too little margin, next to nothing", enough=enough)
    return locale.say("remark.too little margin", enough=enough, best=locale.at_least(best))


def needed(count: CountProof | None, locale: Locale) -> str | None:
    """How many arrays are needed: `2, proven`; None where their number was given."""
    if count is None:
        return None
    if count.tried is not None:
        return locale.say("count needed.none", at_least=count.at_least, tried=count.tried)
    if count.proven:
        return locale.say("count needed.proven", arrays=count.arrays)
    return locale.say("count needed.at least", arrays=count.arrays, at_least=count.at_least)


def _of_enough(placement: Placement, locale: Locale) -> list[str]:
    """With what margin for everybody so many are counted, where it is more than none."""
    count = placement.count
    if count is None or count.each_m <= 0 or not placement.arrays:
        return []
    return [locale.say("count needed, enough", enough=locale.at_most(count.each_m))]


# ---- what was proven


def findings(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """Remarks, how many arrays are needed, and what is proven, a sentence each or two."""
    # that no position is allowed is said as what is proven
    told = [remark(note, locale) for note in placement.notes if note.name != "nothing allowed"]
    count = needed(placement.count, locale)
    if count is not None:
        name = "count needed, others" if placement.unreached else "count needed"
        told.append(locale.say(name, needed=count))
        told += _of_enough(placement, locale)
    return (*told, *proof(placement, locale))


def proof(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """What is proven, or as far as it is not what is certain even so."""
    free = (placement.searched or placement).free
    if free is not None and free.bound_m is not None and free.bound_m < 0:
        # without wishes not everybody can be covered either
        placement = replace(
            placement,
            bound_m=free.bound_m,
            largest_margin_m=free.margin_m,
            margin_outcome=free.outcome,
            searched=replace(placement.searched or placement, wishes=()),
        )
    held, bound = _held(placement, locale), placement.bound_m
    if placement.outcome == "none allowed" and (bound is None or bound >= 0):
        return (_nothing(placement, bound, held, locale),)
    if bound is None:
        return (locale.say("proof.no bound"),)
    count = max(len((placement.searched or placement).arrays), 1)
    if bound < 0:
        if -bound < locale.least_m:
            return (locale.say("proof.just short", count, held=held),)
        return (_short(placement, count, held, locale),)
    row = placement.aim_row
    claim, also = _claims(placement, row, bound, count, locale)
    if placement.outcome == "certified" and (row is None or row.outcome == "certified"):
        groups = row is not None and of_groups(row)
        return (locale.say("proof.best of groups" if groups else "proof.best", claim=claim), *also)
    # of several arrays more is left open than what a longer search would show
    return (locale.say("proof.open, several" if count > 1 else "proof.open", claim=claim), *also)


def _nothing(placement: Placement, bound: float | None, held: str, locale: Locale) -> str:
    """What it is that no position is left by: the rules, or the margin asked for."""
    enough = placement.enough_m
    if bound is None or bound >= enough:
        return locale.say("proof.nothing allowed", held=held)
    most = locale.at_most(bound)
    return locale.say("proof.too little margin", held=held, enough=locale.at_most(enough), most=most)


def _short(placement: Placement, count: int, held: str, locale: Locale) -> str:
    """By how much the best falls short: the best found where that is proven best, else what is certain."""
    best = placement.largest_margin_m
    if best is not None and placement.margin_outcome == "certified":
        return locale.say("proof.short", count, held=held, short=locale.shortfall(-best))
    bound = placement.bound_m or 0.0
    return locale.say("proof.short, at least", count, held=held, short=locale.spare(-bound))


def _held(placement: Placement, locale: Locale) -> str:
    names = [locale.say(f"held.{name}") for name in placement.held]
    held = locale.say("held", things=locale.listed(names)) if names else ""
    if not wishes.cost_something(placement.searched or placement):
        return held
    return locale.say("held.and wishes", held=held) if held else locale.say("held.wishes")


def _claims(
    placement: Placement, row: AimRow | None, bound_m: float, count: int, locale: Locale
) -> tuple[str, tuple[str, ...]]:
    """What the aim taken certifies, and the largest margin beside it where that is another thing."""
    held = _held(placement, locale)
    most = locale.at_most(bound_m)
    margin = locale.say("claim.margin", count, held=held, bound=most)
    if row is None or row.bound is None or placement.aim == "margin":
        return margin, ()
    also = (locale.say("claim.also", count, held=held, bound=most),)
    if placement.aim == "near":
        enough, bound = locale.at_least(placement.enough_m), locale.spare(row.bound)
        return locale.say("claim.near", enough=enough, held=held, bound=bound), also
    if placement.aim == "tolerance":
        bound = locale.at_most(row.bound)
        return locale.say("claim.tolerance", held=held, bound=bound), (*_left_out(placement, locale), *also)
    if placement.aim == "centre":
        return locale.say("claim.centre", held=held, bound=locale.angle_at_least(row.bound)), also
    weighted = [head for head in placement.scene.heads if head.weight != 1]
    if weighted:
        bound = locale.say("claim.most, weight", held=held, weight=f"{row.bound:g}")
        return bound, also
    covered = int(row.bound)
    if covered >= len(people_of(placement.scene, [head.id for head in placement.scene.heads])):
        # that no more than everybody is covered says nothing
        return margin, ()
    talkers = locale.counted(covered, "talker")
    message = "claim.most, layouts" if placement.scene.layouts else "claim.most"
    return locale.say(message, held=held, talkers=talkers), also


def _left_out(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """What the movement of the aim tolerance does not count, and the installation tolerance does."""
    names = [locale.say(f"claim.tolerance.{name}") for name in placement.ball_leaves_out]
    return (locale.say("claim.tolerance.leaves out", things=locale.listed(names)),) if names else ()


# ---- what stands in the way, and what clearing it costs


def thing(one: Pressing, scene: Scene, locale: Locale) -> str:
    """What presses, by its kind and id, or the surface: `sprinkler SP2`, `the walls`."""
    return tolerance.limited_by(Limit("rule", one.against, one.rule), scene, locale)


def things(some: Sequence[Pressing], scene: Scene, locale: Locale) -> str:
    """All of them, each once."""
    return locale.listed(list(dict.fromkeys(thing(one, scene, locale) for one in some)))


def limits(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """What the arrays are up against, or where nothing is allowed, what they are held too close to."""
    scene = placement.scene
    if placement.arrays:
        pressed = pressing_on(placement)
        if len(placement.arrays) == 1:
            return tuple(
                locale.say("limited", things=things(some, scene, locale)) for some in pressed.values()
            )
        return tuple(
            locale.say("limited, several", array=id, things=things(some, scene, locale))
            for id, some in pressed.items()
        )
    if {"at", "height"} <= set(placement.held):
        return tuple(
            locale.say("held too close", array=id, things=things(some, scene, locale))
            for id, some in pressed_by(scene, scene, -ON_EDGE_M).items()
        )
    return ()


def ignoring_the_ceiling(placement: Placement, unconstrained: Placement, locale: Locale) -> str:
    """Where the arrays would be best without the ceiling's rules, and what clearing what is there costs."""
    if unconstrained.bound_m is None or not unconstrained.arrays:
        return locale.say("ceiling.no place")
    where = locale.listed(
        [
            locale.say(
                "ceiling.at",
                array=one.id,
                place=arrays.place(one.at_m, locale),
                height=locale.length(one.height_m),
            )
            for one in unconstrained.arrays
        ]
    )
    value = _value(unconstrained, locale)
    cost = clearing(placement, unconstrained, locale)
    if not cost:
        return locale.say("ceiling.best, the same", arrays=where, value=value)
    return f"{locale.say('ceiling.best', arrays=where, value=value)} {cost}"


def _value(placement: Placement, locale: Locale) -> str:
    margin = _margin(placement.margin_m, locale)
    if placement.aim == "near" and placement.worst_slant_m is not None:
        return locale.say("ceiling.value.near", figure=locale.length(placement.worst_slant_m), margin=margin)
    if placement.aim == "centre" and placement.rms_off_centre_deg is not None:
        figure = locale.angle(placement.rms_off_centre_deg)
        return locale.say("ceiling.value.centre", figure=figure, margin=margin)
    return locale.say("ceiling.value", margin=margin)


def clearing(placement: Placement, unconstrained: Placement, locale: Locale) -> str:
    """What clearing the things at the ceiling costs, like against like; empty where nothing is in the way.

    What is proven to be had without them is set against what was found with them.
    """
    scene = placement.scene
    conflicts = pressed_by(scene, unconstrained.scene, -ON_EDGE_M)
    all_of = things([one for some in conflicts.values() for one in some], scene, locale)
    if not all_of or unconstrained.bound_m is None:
        return ""
    if not placement.arrays or placement.margin_m is None or placement.largest_margin_m is None:
        return locale.say("clearing.none", things=all_of)
    margin = locale.at_most(margin_cost_m(placement, unconstrained) or 0.0)
    if placement.aim != unconstrained.aim:
        return locale.say("clearing.aim", things=all_of, margin=margin, aim=unconstrained.aim)
    row = unconstrained.aim_row
    if row is not None and row.bound is not None and placement.aim_value is not None:
        lost = max(placement.aim_value - row.bound, 0.0)
        if placement.aim == "near":
            return locale.say("clearing.near", things=all_of, lost=locale.at_most(lost), margin=margin)
        if placement.aim == "centre":
            cost = locale.angle_at_most(lost)
            return locale.say("clearing.centre", things=all_of, lost=cost, margin=margin)
    return locale.say("clearing.margin", things=all_of, margin=margin)


# ---- on a lattice


def lattice(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """For each array put on a lattice: the free best beside it, what the lattice costs, whether it is enough."""
    told: list[str] = []
    for id, found in placement.snapped.items():
        name = lattice_name(found.lattice.pitch_m, locale)
        left = ", ".join(
            locale.say("lattice.out", count=count, why=locale.say(f"lattice.out.{reason}"))
            for reason, count in found.left_out.items()
        )
        if found.position is None:
            held = "at" in placement.held
            why = left or locale.say("lattice.why.held" if held else "lattice.why.room")
            told.append(locale.say("lattice.none", lattice=name, array=id, why=why))
            continue
        places = locale.counted(found.judged, "position")
        if left:
            told.append(locale.say("lattice.best, some", array=id, places=places, lattice=name, left=left))
        else:
            told.append(locale.say("lattice.best", array=id, places=places, lattice=name))
        told += _beside(placement, id, found, name, locale)
    return tuple(told)


def _beside(placement: Placement, id: str, found: Snapped, name: str, locale: Locale) -> list[str]:
    """The free best, what the lattice costs, and whether that is less than was asked for."""
    free = next(one for one in (placement.searched or placement).arrays if one.id == id)
    told = [
        locale.say(
            "lattice.free",
            place=arrays.place(free.at_m, locale),
            height=locale.length(free.height_m),
            band=free.band_name,
            margin=_margin(free.margin_m, locale),
        )
    ]
    if found.cost is not None:
        moved = locale.at_most(found.cost.moved_m)
        told.append(locale.say("lattice.moves", moved=moved, costs=_costs(found.cost, locale)))
    if found.aim != placement.aim:
        if placement.aim == "near":
            enough = locale.at_most(placement.enough_m)
            spare = locale.clearance(placement.kept.spare_m)
            lacks = found.lacks or "margin"
            less = locale.say(f"lattice.less.{lacks}", lattice=name, enough=enough, spare=spare, array=id)
            told.append(less)
        else:
            told.append(locale.say("lattice.less", lattice=name, array=id))
    return told


def lattice_name(pitch_m: float | None, locale: Locale) -> str:
    """`tile centres` (no pitch), or `50 mm lattice` in the room's units."""
    if pitch_m is None:
        return locale.say("lattice.tiles")
    return locale.say("lattice.pitch", pitch=locale.clearance(pitch_m))


def _costs(cost: Cost, locale: Locale) -> str:
    """What the lattice costs, and what it gains besides."""
    changes = (
        ("lattice.of margin", cost.margin_lost_m),
        ("lattice.of distance", cost.slant_added_m),
    )
    lost = [locale.say(of, length=locale.at_most(by)) for of, by in changes if by >= LITTLE_M]
    won = [locale.say(of, length=locale.at_least(-by)) for of, by in changes if by <= -LITTLE_M]
    told = [
        *([locale.say("lattice.costs", things=locale.listed(lost))] if lost else []),
        *([locale.say("lattice.gains", things=locale.listed(won))] if won else []),
    ]
    return locale.listed(told) or locale.say("lattice.costs nothing")


# ---- the whole of it


def served_twice(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """Who is covered by more than one array; nothing where nobody is."""
    heads = [
        locale.say("covered twice.one", head=head, arrays=locale.listed(ids))
        for head, ids in placement.served_twice.items()
    ]
    return (locale.say("covered twice", heads=locale.listed(heads)),) if heads else ()


def hanging(placement: Placement, locale: Locale) -> list[arrays.ArrayText]:
    """Where each array goes, and how many people it serves; of several layouts in each, in their order."""
    scene = placement.scene
    texts = [arrays.placed(one, len(people_of(scene, one.heads)), locale) for one in placement.arrays]
    if not scene.layouts:
        return texts
    serves = [
        ", ".join(
            str(len(people_of(scene, [id for id in one.heads if scene.furnishing(id) == k])))
            for k in range(len(scene.layouts))
        )
        for one in placement.arrays
    ]
    return [text._replace(serves=some) for text, some in zip(texts, serves, strict=True)]


def closing(
    placement: Placement, unconstrained: Placement | None, beside: Placement | None, locale: Locale
) -> tuple[str, ...]:
    """What stands below the aims: findings, limits, what clearing the ceiling costs, and what would help.

    `unconstrained`: the best without the ceiling's rules, where that was asked for; `beside`: the same, where it
    was looked for only to name what pushes.
    """
    free = placement.searched or placement
    cost = ""
    if unconstrained is not None:
        cost = ignoring_the_ceiling(free, unconstrained, locale)
    elif beside is not None:
        cost = clearing(free, beside, locale)
    return (
        " ".join(findings(placement, locale)),
        *wishes.sentences(placement, locale),
        *served_twice(placement, locale),
        *limits(placement, locale),
        *([cost] if cost else []),
        *conflict.sentences(placement, locale),
    )


# ---- the file's own position beside it


def standing(today: Review | None, placed: Review) -> str:
    """How the file's own positions stand beside those proposed."""
    locale = Locale.of(placed.scene)
    current = locale.say("standing.none") if today is None else _standing(today, locale)
    return locale.say("standing", current=current, proposed=_standing(placed, locale))


def _standing(judged: Review, locale: Locale) -> str:
    covered = verdict.counts(judged.counts, locale)
    margin = _margin(judged.margin_m, locale)
    word = DASH if judged.verdict is None else locale.say(f"standing.verdict.{judged.verdict}")
    if len(judged.arrays) == 1:
        return locale.say("standing.one", covered=covered, margin=margin, verdict=word)
    count = locale.counted(len(judged.arrays), "array")
    return locale.say("standing.several", arrays=count, covered=covered, margin=margin, verdict=word)


def _margin(metres: float | None, locale: Locale) -> str:
    """A margin in a sentence: a sign only where it is less than nothing."""
    if metres is None or metres < 0:
        return locale.margin(metres)
    return locale.spare(metres)


# ---- the report


def report_paragraphs(placement: Placement | None, review: Review) -> list[str]:
    """Where each array hangs and what it listens to, then what the search found, a paragraph each; None: no search."""
    locale = Locale.of(review.scene)
    texts = []
    for array in review.arrays:
        if array.margin_m is None:
            texts.append(locale.say("report.idle", array=array.id))
            continue
        hangs = locale.say(
            "report.hangs",
            array=array.id,
            height=locale.site(array.height_m),
            drop=locale.site(array.drop_m),
            band=arrays.band(array.band_name, (array.low_deg, array.high_deg), locale),
        )
        texts.append(f"{hangs} {_covers(array, array.margin_m, review, locale)}")
    if placement is None:
        return [*texts, locale.say("report.no search")]
    return [*texts, " ".join((locale.say("report.proof"), *findings(placement, locale)))]


def _covers(array: ArrayReview, margin_m: float, review: Review, locale: Locale) -> str:
    """Whom an array serves and with what margin; how many of them it covers where that is not all."""
    counts = counts_of([review.head(id) for id in array.heads])
    if margin_m >= 0 and counts.covered == counts.talkers:
        return locale.say("report.covers", counts.talkers, margin=locale.spare(margin_m))
    return locale.say("report.covers some", covered=verdict.counts(counts, locale))


# ---- why a search is not begun


def refused(wrong: PlaceRefused, locale: Locale) -> str:
    """Why what was asked for cannot be searched for, and what to type instead."""
    hold = locale.listed(wrong.hold)
    if wrong.name == "no such hold":
        return locale.say("place.refused.no such hold", hold=hold, allowed=", ".join(wrong.allowed))
    if wrong.name == "hold for others":
        asked, there = wrong.asked or 0, wrong.there
        return locale.say("place.refused.hold for others", hold=hold, asked=asked, there=there)
    if wrong.name == "nothing to hold":
        return locale.say("place.refused.nothing to hold", hold=hold, array=wrong.array or "")
    if wrong.name in ("flush in parts", "flush in slopes"):
        return locale.say(f"place.refused.{wrong.name}", array=wrong.array or "")
    return locale.say(f"place.refused.{wrong.name}")
