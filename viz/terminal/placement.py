"""A placement told on the terminal: where the arrays go, how sure that is, and what stands in the way."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from geometry.band import ON_EDGE_M
from geometry.placement import PRESSING_M
from geometry.snap import Cost, LeftOut
from scenes.findings.review import Review
from scenes.place.placement import AimRow, Placement
from scenes.room.scene import Scene
from scenes.rules.constraints import key_name, tightest
from viz.terminal.console import (
    VERDICT_STYLES,
    hanging_table,
    plain_table,
)
from viz.words import arrays, conflict, verdict
from viz.words.locale import Locale

AIM_WORDS = {
    "near": "the smallest worst slant with enough margin",
    "tolerance": "the largest shift in any direction with everybody covered and every rule kept",
    "margin": "the largest margin",
    "centre": "heads nearest the middle of the band, everybody covered",
    "most": "the most talkers covered, then the largest margin among them",
}

LEFT_OUT: dict[LeftOut, str] = {
    "outside": "outside the room",
    "cut": "in a tile cut to less than half",
    "device": "in a tile that holds a device",
    "tee": "too near a grid tee",
}

LATTICE_WORDS = "the best of its places by the aim taken, several arrays in turn"

GROUPS_WORDS = "as the talkers are shared out here; otherwise may be better"

PROOF_WORDS = {"certified": "proven", "none allowed": "none", "unresolved": "open"}


def print_placement(
    out: Console,
    placement: Placement,
    unconstrained: Placement | None,
    beside: Placement | None = None,
    *,
    tell_lattice: bool = True,
) -> None:
    """The places, all aims beside each other, and what stands in the way, for people."""
    locale = Locale.of(placement.scene)
    free = placement.searched or placement
    if placement.arrays:
        out.print(
            hanging_table(
                [arrays.placed(a, len(_people(placement.scene, a.heads)), locale) for a in placement.arrays],
                locale,
            )
        )
        if tell_lattice:
            for sentence in lattice_sentences(placement, locale):
                out.print(Text(sentence))
        print_rooms(out, placement)
    out.print(aims_table(placement))
    if any(found.position is not None for found in placement.snapped.values()):
        out.print(f"  lattice: {LATTICE_WORDS}", style="dim")
    for aim, text in AIM_WORDS.items():
        out.print(f"  {aim}: {text}", style="dim")
    if any(_of_groups(row) for row in placement.aims):
        out.print(f"  *: {GROUPS_WORDS}", style="dim")
    out.print(Text(placement_sentence(placement, locale)))
    if placement.served_twice:
        twice = [f"{head} ({' and '.join(ids)})" for head, ids in placement.served_twice.items()]
        out.print(Text(f"Covered by more than one array: {locale.listed(twice)}."))
    if placement.arrays:
        for id, things in pushed_by(placement.scene, placement.scene).items():
            out.print(Text(f"{id} is up against {locale.listed(things)}."))
    elif {"at", "height"} <= set(placement.held):
        for id, things in pushed_by(placement.scene, placement.scene, -ON_EDGE_M).items():
            out.print(Text(f"Where {id} is held it is too near to {locale.listed(things)}."))
    if unconstrained is not None:
        out.print(Text(without_rules_sentence(free, unconstrained, locale)))
    elif beside is not None and (told := pushed_sentence(free, beside, locale)):
        out.print(Text(told))
    for sentence in conflict.sentences(placement, Locale.of(placement.scene)):
        out.print(Text(sentence))


def aims_table(placement: Placement) -> Table:
    """The aims beside each other, the one taken marked; with what hangs on the lattice above them.

    Of several arrays heights and bands are told from lowest to highest.
    """
    locale = Locale.of(placement.scene)
    names = ("aim", "height", "band", "margin", "distance", "from centre", "rms", "proof")
    table = plain_table(*names, right=(1, 3, 4, 5, 6))
    table.columns[0].no_wrap = True
    on_lattice = any(found.position is not None for found in placement.snapped.values())

    def add(
        name: str,
        mark: bool,
        heights: Sequence[float],
        bands: Sequence[str],
        figures: Sequence[float | None],
        proof: str,
    ) -> None:
        margin, slant, off, rms = figures
        table.add_row(
            Text(("» " if mark else "  ") + name, "bold" if mark else ""),
            _span([locale.length(height) for height in sorted(heights)]),
            escape(", ".join(dict.fromkeys(bands)) or "–"),
            locale.margin(margin),
            locale.length(slant),
            locale.from_centre(off),
            locale.angle(rms),
            proof,
        )

    if on_lattice:
        add(
            "lattice",
            True,
            [a.height_m for a in placement.arrays],
            [a.band_name for a in placement.arrays],
            (
                placement.margin_m,
                placement.worst_slant_m,
                placement.mean_off_centre_deg,
                placement.rms_off_centre_deg,
            ),
            "exact" if len(placement.arrays) == 1 else "in turn",
        )
    for row in placement.aims:
        add(
            row.aim,
            not on_lattice and row.aim == placement.aim,
            [place[1][2] for place in row.places],
            [place[2] for place in row.places],
            (row.margin_m, row.worst_slant_m, row.mean_off_centre_deg, row.rms_off_centre_deg),
            PROOF_WORDS[row.outcome] + ("*" if _of_groups(row) else ""),
        )
    return table


def _of_groups(row: AimRow) -> bool:
    """Whether what is proven of this aim holds for these groups of heads only."""
    return row.for_groups and row.outcome == "certified" and len(row.places) > 1


def _span(told: Sequence[str]) -> str:
    if not told:
        return "–"
    return told[0] if told[0] == told[-1] else f"{told[0]}\nto {told[-1]}"


def print_rooms(out: Console, placement: Placement) -> None:
    """How far each array may be off each way before the first head is lost, and before a rule is short; rounded down."""
    scene = placement.scene
    locale = Locale.of(scene)
    table = plain_table("array", "may move", "by", "then lost", "clear", "then short", right=(2, 4))
    heads = [head.id for head in scene.heads]
    for array in placement.arrays:
        all_lost = array.not_covered == array.heads != ()
        for room in array.rooms:
            bounded = math.isfinite(room.distance_m)
            table.add_row(
                escape(array.id),
                room.direction,
                locale.spare(room.distance_m) if bounded else "–",
                ("all are lost" if all_lost else "nobody") if room.head is None else escape(heads[room.head]),
                locale.spare(room.clear_distance_m) if math.isfinite(room.clear_distance_m) else "–",
                "–" if room.constraint is None else escape(key_name(room.constraint)),
            )
    if table.row_count:
        out.print(table)
    for array in placement.arrays:
        lost, served = len(_people(scene, array.not_covered)), len(_people(scene, array.heads))
        if 0 < lost < served:
            out.print(
                Text(
                    f"{array.id} does not cover {lost} of its {locale.counted(served, 'talker')} where it hangs: the "
                    f"table tells when the first of the other {served - lost} is lost too."
                )
            )
        level = scene.array(array.id).profile.level_deg
        # of what is lost already nothing is left either way
        if array.margin_left_m is not None and (array.margin_m or 0.0) >= 0 and level > 0:
            left = array.margin_left_m
            told = (
                f"{locale.spare(left)} of its margin is left"
                if left >= locale.least_m
                else "all of its margin may be used up"
            )
            out.print(Text(f"If {array.id} hangs out of true by {locale.edge(level)}, {told}."))


def _people(scene: Scene, ids: Sequence[str]) -> set[str]:
    """Whose heads these are: who walks, or stands up too, is one talker."""
    return {scene.head(id).person for id in ids}


# What was proven -----------------------------------------------------------------------------------------


def placement_sentence(placement: Placement, locale: Locale) -> str:
    """What was proven, in plain words; every bound is rounded so that what is said holds."""
    told = []
    # that no position is allowed is said as what is proven
    if placement.note and placement.note != "no position is allowed":
        told.append(placement.note[0].upper() + placement.note[1:] + ".")
    if placement.count_said:
        others = " for everybody else" if placement.unreached else ""
        told.append(f"Arrays needed{others}: {placement.count_said}.")
    names = ["plan place" if name == "at" else name for name in placement.held]
    held = f" with {locale.listed(names)} held" if names else ""
    row, bound = placement.aim_row, placement.bound_m
    if placement.outcome == "none allowed":
        told.append(f"Proven: no position is allowed by the walls, the ceiling and the rules{held}.")
    elif bound is None:
        told.append("Not proven: the search ran out of its allowance, and no bound is certain.")
    elif bound < 0:
        short = f", the best possible falls short by {locale.at_least(-bound)} or more"
        told.append(
            f"Proven: no allowed place{held} covers everybody{short if bound <= -0.001 else ', by a hair'}."
        )
    else:
        most = f"leaves a margin of more than {locale.at_most(bound)}"
        count = len((placement.searched or placement).arrays)
        where = "no allowed place" if count < 2 else f"no allowed way to hang {count} arrays"
        said = [f"{where}{held} {most}"]
        if row is not None and placement.aim != "margin" and row.bound is not None:
            said = [
                _aim_claim(placement, row, held, locale),
                f"the largest margin anywhere is at most {locale.at_most(bound)}",
            ]
        proven = placement.outcome == "certified" and (row is None or row.outcome == "certified")
        # of several arrays more is left open than what an allowance would have settled
        why = "" if count > 1 else ": the search ran out of its allowance"
        claims = "; ".join(said)
        told.append(
            f"Proven: {claims}." if proven else f"Not proven to be the best{why}. Certain is: {claims}."
        )
    return " ".join(told)


def _aim_claim(placement: Placement, row: AimRow, held: str, locale: Locale) -> str:
    """What the aim taken certifies besides the margin: that nobody can be brought nearer, or more in the middle."""
    assert row.bound is not None
    where = f"no allowed place{held}"
    if row.for_groups and len(row.places) > 1:
        where = f"and each talker served by the array told here {where}"
    if row.aim == "near":
        return (
            f"with a margin of at least {locale.at_least(placement.enough_m)} for everybody {where} brings "
            f"the farthest mouth nearer than {locale.at_least(row.bound)}"
        )
    if row.aim == "tolerance":
        return f"{where} may be off by more than {locale.at_most(row.bound)} in any direction"
    if row.aim == "most":
        return f"{where} covers more than {locale.counted(int(row.bound), 'talker')} with anything to spare"
    return f"with everybody covered {where} has an RMS off-centre of less than {locale.angle_at_least(row.bound)}"


# What the ceiling costs ----------------------------------------------------------------------------------


def pushed_by(room: Scene, placed: Scene, within_m: float = PRESSING_M) -> dict[str, list[str]]:
    """For each array of `placed`, what it is up against (or in conflict with) in the room: thing and rule.

    `within_m` is how much may be left of the rule; -ON_EDGE_M asks for conflicts only.
    """
    found: dict[str, list[str]] = {}
    for array in placed.arrays:
        if array.placed:
            pressing = tightest(room, array, array.centre_m, within_m)
            things = dict.fromkeys(f"{one.against} ({one.rule})" for one in pressing)
            if things:
                found[array.id] = list(things)
    return found


def without_rules_sentence(placement: Placement, unconstrained: Placement, locale: Locale) -> str:
    """What keeping clear of the ceiling costs, in what the aim taken is about: margin, slant or off-centre."""
    if unconstrained.bound_m is None or not unconstrained.arrays:
        return "Without the ceiling's rules there is no place either."
    where = ", ".join(
        f"{a.id} at {locale.length(a.at_m[0])}, {locale.length(a.at_m[1])}, {locale.length(a.height_m)}"
        for a in unconstrained.arrays
    )
    told = f"Without the ceiling's rules the best would be {where} ({_value(unconstrained, locale)})"
    pushed = pushed_sentence(placement, unconstrained, locale)
    return f"{told}; {pushed}" if pushed else f"{told}: nothing at the ceiling pushed it away."


def pushed_sentence(placement: Placement, unconstrained: Placement, locale: Locale) -> str:
    """What pushed the arrays away from where they would be best, and what that cost; empty if nothing did."""
    conflicts = pushed_by(placement.scene, unconstrained.scene, -ON_EDGE_M)
    by = locale.listed(list(dict.fromkeys(thing for things in conflicts.values() for thing in things)))
    if not by or unconstrained.bound_m is None:
        return ""
    return f"{by} pushed {'it' if len(conflicts) == 1 else 'them'} away. {_cost(placement, unconstrained, locale)}"


def margin_cost_m(placement: Placement, unconstrained: Placement) -> float | None:
    """The most of the largest margin that keeping clear costs, metres; None where there is no place to compare."""
    if unconstrained.bound_m is None or placement.largest_margin_m is None:
        return None
    return max(unconstrained.bound_m - placement.largest_margin_m, 0.0)


def _value(placement: Placement, locale: Locale) -> str:
    margin = locale.margin(placement.margin_m or 0.0)
    if placement.aim == "near" and placement.worst_slant_m is not None:
        return f"worst slant {locale.length(placement.worst_slant_m)}, margin {margin}"
    if placement.aim == "centre" and placement.rms_off_centre_deg is not None:
        return f"RMS off-centre {locale.angle(placement.rms_off_centre_deg)}, margin {margin}"
    return f"margin {margin}"


def _cost(placement: Placement, unconstrained: Placement, locale: Locale) -> str:
    """Like against like: what is proven to be had without the rules against what was found with them."""
    if not placement.arrays or placement.margin_m is None or placement.largest_margin_m is None:
        return "With them no position is allowed."
    margin = f"at most {locale.at_most(margin_cost_m(placement, unconstrained) or 0.0)} of the largest margin"
    if placement.aim != unconstrained.aim:
        kept = f"Without them the aim {unconstrained.aim} can be kept, with them it cannot."
        return f"{kept} Keeping clear costs {margin}."
    row = unconstrained.aim_row
    if placement.aim == "margin" or row is None or row.bound is None or placement.aim_value is None:
        return f"Keeping clear costs {margin}."
    lost = max(placement.aim_value - row.bound, 0.0)
    if placement.aim == "near":
        return f"Keeping clear costs at most {locale.at_most(lost)} of worst slant, and {margin}."
    return f"Keeping clear costs at most {locale.angle_at_most(lost)} of RMS off-centre, and {margin}."


# The lattice ---------------------------------------------------------------------------------------------


def lattice_sentences(placement: Placement, locale: Locale) -> list[str]:
    """For each array that was snapped: the free best beside it, what the lattice costs, and whether it is enough."""
    told = []
    for id, found in placement.snapped.items():
        lattice = lattice_name(found.lattice.pitch_m, locale)
        left = ", ".join(f"{count} {LEFT_OUT[reason]}" for reason, count in found.left_out.items())
        if found.position is None:
            why = "its held place is not one of them" if "at" in placement.held else "none in the room"
            told.append(
                f"No place on the {lattice} is allowed for {id} ({left or why}): told is the free place."
            )
            continue
        assert placement.searched is not None
        free = next(array for array in placement.searched.arrays if array.id == id)
        sentence = (
            f"On the {lattice} {id} is at the best of {locale.counted(found.judged, 'place')}"
            f"{f' (left out: {left})' if left else ''}. Free: {locale.length(free.at_m[0])}, "
            f"{locale.length(free.at_m[1])}, height {locale.length(free.height_m)} in {free.band_name}, "
            f"margin {locale.margin(free.margin_m or 0.0)}"
        )
        if found.cost is not None:
            moved = locale.at_most(found.cost.moved_m)
            sentence += f"; the lattice moves it by {moved}, {_costs(found.cost, locale)}"
        told.append(sentence + ".")
        if found.aim != placement.aim:
            asked = "covers everybody"
            if placement.aim == "near":
                asked = f"leaves everybody a margin of {locale.at_most(placement.enough_m)}"
            told.append(
                f"Less than was asked: no place on the {lattice} {asked}; {id} is on the one with the largest margin."
            )
    return told


def lattice_name(pitch_m: float | None, locale: Locale) -> str:
    """`tile centres` (no pitch), or `50 mm lattice` in the room's units."""
    if pitch_m is None:
        return "tile centres"
    pitch = locale.clearance(pitch_m)
    return f"{pitch} lattice"


def _costs(cost: Cost, locale: Locale) -> str:
    """What the lattice costs, and what it gains besides."""
    changes = (("of margin", cost.margin_lost_m), ("of worst slant", cost.slant_added_m))
    lost = [f"{locale.at_most(metres)} {of}" for of, metres in changes if metres >= 0.0005]
    won = [f"{locale.at_least(-metres)} {of}" for of, metres in changes if metres <= -0.0005]
    told = [f"{verb} {locale.listed(some)}" for verb, some in (("costs", lost), ("gains", won)) if some]
    return ", ".join(told) or "costs nothing"


# The file's own place beside it --------------------------------------------------------------------------


def standing_sentence(today: Review | None, placed: Review) -> str:
    """How the file's own places stand beside those found."""
    file = "no complete place in the file" if today is None else _standing(today)
    return f"Today: {file}. So placed: {_standing(placed)}."


def _standing(judged: Review) -> str:
    locale = Locale.of(judged.scene)
    arrays = f"{locale.counted(len(judged.arrays), 'array')}, " if len(judged.arrays) > 1 else ""
    return (
        f"{arrays}{verdict.counts(judged.counts, locale)} covered, least margin "
        f"{locale.margin(judged.margin_m)}, {judged.verdict}"
    )


def print_verdict(out: Console, placement: Placement, judged: Review, today: Review | None) -> None:
    """Today's place beside the one found, the verdict on the room so placed, and what fails first."""
    locale = Locale.of(judged.scene)
    out.print(Text(standing_sentence(today, judged)))
    coverage, *others = verdict.whole(judged)
    told = [coverage]
    if placement.fails_first is not None and placement.clear_tolerance_m is not None and not judged.short:
        left = placement.clear_tolerance_m
        after = "at the least shift" if left < locale.least_m else f"after {locale.spare(left)}"
        told.append(f"A clearance is short sooner, {after}: {placement.fails_first}.")
    closing = Text(f"{verdict.word(judged.verdict, locale)}.", VERDICT_STYLES[judged.verdict])
    out.print(closing.append(" " + " ".join([*told, *others]), ""))
