"""The place command: the search run, told, written into the spec, and its proof put into a file."""

from __future__ import annotations

import json as json_module
import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from rich.markup import escape
from rich.text import Text

from scenes import words
from scenes.building import build
from scenes.cautions import with_cautions
from scenes.lengths import LengthMistake, parse_length
from scenes.numbers import json_text
from scenes.placed import Placement
from scenes.placing import place_scene
from scenes.review import review
from scenes.rules import tightest
from scenes.scene import Scene
from scenes.spec import Spec, read_spec
from scenes.writing import NewPlace, changes, check_again, keep, spliced
from viz.outputs import protect, write_file
from viz.tables import (
    VERDICT_STYLES,
    console,
    hanging_table,
    long_text,
    plain_table,
    print_cautions,
    short_text,
    unit_suffix,
)

if TYPE_CHECKING:
    from geometry.snap import Snapped

PRESSING_M = 0.002
"""An array with less than this left of a rule is up against it: the search certifies to a millimetre."""

AIM_WORDS = {
    "near": "the smallest worst slant with enough margin",
    "tolerance": "the largest margin",
    "centre": "heads nearest the middle of the band, everybody covered",
}

PROOF_WORDS = {"certified": "proven", "none allowed": "none", "unresolved": "open"}


class PlaceMistake(Exception):
    """An option of place that cannot be; the text says what is allowed."""

    exit_status = 2


@dataclass(frozen=True, slots=True)
class PlaceOptions:
    """The options of `overtable place` as they were given."""

    aim: Literal["near", "tolerance", "centre"]
    enough: str
    hold: tuple[Literal["at", "height", "band"], ...]
    arrays: str | None
    snap: str | None
    ignore_clearances: bool
    write: bool
    certificate: Path | None
    json: bool


def run_place(path: Path, options: PlaceOptions) -> int:
    """Place the arrays of a spec, tell it, and write what was asked for. Exit status as for every command."""
    spec = read_spec(path)
    protect(*spec.files)
    scene = build(spec)
    enough_m = _length(options.enough, "--enough", spec.units, least=0.0)
    snap_to = _snap(options.snap, spec.units)
    count = _count(options.arrays)
    if options.write and count is not None and count != len(scene.arrays):
        raise PlaceMistake(
            f"--write cannot put {options.arrays} arrays into a spec that has {len(scene.arrays)}: add or remove "
            "arrays in the spec first (id and profile are enough), then run place again"
        )
    out = console(stderr=options.json)
    settings: dict[str, Any] = {
        "aim": options.aim,
        "enough_m": enough_m,
        "hold": options.hold,
        "arrays": count,
        "record": options.certificate is not None,
    }
    with out.status("searching …") if out.is_terminal else _Quiet():
        try:
            placement = place_scene(scene, **settings)
            unconstrained = (
                place_scene(scene, **settings, clearances=False) if options.ignore_clearances else None
            )
        except ValueError as wrong:
            raise PlaceMistake(str(wrong)) from None
        placed: Scene = placement.scene
        snapped: Mapping[str, Snapped] = {}
        if snap_to is not None and placement.arrays:
            from scenes.snapping import snap_scene

            try:
                placed, snapped = snap_scene(
                    placed, snap_to, aim=placement.aim, enough_m=enough_m, hold=options.hold
                )
            except ValueError as wrong:
                raise PlaceMistake(str(wrong)) from None
    complete = bool(placement.arrays) and all(array.placed for array in placed.arrays)
    failed = not complete or (placement.bound_m or 0.0) < 0 or review(placed).verdict == "fail"
    if options.json:
        told = placement.as_json()
        told["snapped"] = _snapped_json(placed, snapped) if snapped else None
        told["without_clearances"] = None if unconstrained is None else unconstrained.as_json()
        told["up_against"] = pushed_by(placement.scene, placement.scene)
        told["pushed_by"] = None if unconstrained is None else pushed_by(placement.scene, unconstrained.scene)
        sys.stdout.write(json_text(with_cautions(told, scene)))
    else:
        print_placement(out, placement, scene.units, unconstrained)
        if snapped:
            print_snapped(out, placed, snapped, scene.units)
        if complete:
            verdict = review(placed)
            closing = Text(
                f"Placed so: {words.VERDICT_WORDS[verdict.verdict]}.", VERDICT_STYLES[verdict.verdict]
            )
            out.print(closing.append(" " + " ".join(words.sentences(verdict)), ""))
        print_cautions(out, scene)
    if options.certificate is not None:
        proof = placement.certificate_json()
        if proof is None:
            raise PlaceMistake(
                "--certificate: this search keeps no proof of its own (it is kept for one array only)"
            )
        write_file(options.certificate, json_module.dumps(proof) + "\n")
        out.print(f"Proof written to {escape(str(options.certificate))}.")
    if options.write and complete:
        write_placement(path, spec, placed, out)
    return 1 if failed else 0


def write_placement(path: Path, spec: Spec, placed: Scene, out: Any) -> None:
    """Show the changed lines, read the new text again, compare, and keep it."""
    places = {
        array.id: NewPlace(
            (array.centre_m[0], array.centre_m[1]),
            None if array.profile.mount == "flush" else array.centre_m[2],
            str(array.band_name),
        )
        for array in placed.arrays
    }
    text = spliced(spec, places)
    assert spec.source is not None
    if text == spec.source.text:
        out.print("The spec says so already; nothing to write.")
        return
    out.print(escape(changes(spec, text)))
    try:
        check_again(spec, text, places)
        keep(path, text, spec.source.text)
    except ValueError as wrong:
        raise PlaceMistake(str(wrong)) from None
    out.print(f"Written to {escape(str(path))}.")


def print_placement(out: Any, placement: Placement, units: str, unconstrained: Placement | None) -> None:
    """The places, all three aims beside each other, and what stands in the way, for people."""
    unit = unit_suffix(units)
    if placement.arrays:
        rows = [
            (
                a.id,
                (*a.at_m, a.height_m, a.drop_m),
                (a.band_name, a.band.low_deg, a.band.high_deg),
                len(a.heads),
                a.margin_m,
            )
            for a in placement.arrays
        ]
        out.print(hanging_table(rows, units))
        print_rooms(out, placement, units)
    table = plain_table(
        "aim",
        f"height{unit}",
        "band",
        f"margin{unit}",
        f"slant{unit}",
        "off",
        "rms",
        "proof",
        right=(1, 3, 4, 5, 6),
    )
    for row in placement.aims:
        taken = row.aim == placement.aim
        several = len(row.places) > 1
        table.add_row(
            Text(("» " if taken else "  ") + row.aim, "bold" if taken else ""),
            "–" if not row.places else ("…" if several else long_text(row.places[0][1][2], units)),
            "–" if not row.places else ("…" if several else escape(row.places[0][2])),
            "–" if row.margin_m is None else short_text(row.margin_m, units),
            "–" if row.worst_slant_m is None else long_text(row.worst_slant_m, units),
            "–" if row.mean_off_centre_deg is None else f"{row.mean_off_centre_deg:+.1f}°",
            "–" if row.rms_off_centre_deg is None else f"{row.rms_off_centre_deg:.1f}°",
            PROOF_WORDS[row.outcome],
        )
    out.print(table)
    for aim, text in AIM_WORDS.items():
        out.print(f"  {aim}: {text}", style="dim")
    out.print(Text(placement_sentence(placement, units)))
    if placement.served_twice:
        twice = [f"{head} ({' and '.join(ids)})" for head, ids in placement.served_twice.items()]
        out.print(Text(f"Covered by more than one array: {words.listed(twice)}."))
    for id, things in pushed_by(placement.scene, placement.scene).items():
        out.print(Text(f"{id} is up against {words.listed(things)}."))
    if unconstrained is not None:
        out.print(Text(without_rules_sentence(placement, unconstrained, units)))
    if placement.conflict is not None:
        out.print(Text(placement.conflict.because + "."))
        for remedy in placement.conflict.remedies:
            out.print(Text(f"  {'would help' if remedy.works else 'would not help'}: {remedy.sentence}."))


def print_rooms(out: Any, placement: Placement, units: str) -> None:
    """How far each array may be off each way before the first head is lost, and before a rule fails."""
    unit = unit_suffix(units)
    table = plain_table(
        "array", "may move", f"by{unit}", "then lost", f"clear{unit}", "then short", right=(2, 4)
    )
    heads = [head.id for head in placement.scene.heads]
    for array in placement.arrays:
        for room in array.rooms:
            table.add_row(
                escape(array.id),
                room.direction,
                "–" if not math.isfinite(room.distance_m) else long_text(room.distance_m, units),
                "–" if room.head is None else escape(heads[room.head]),
                "–" if not math.isfinite(room.clear_distance_m) else long_text(room.clear_distance_m, units),
                escape(room.constraint or "–"),
            )
    out.print(table)
    for array in placement.arrays:
        level = placement.scene.array(array.id).profile.level_deg
        if array.margin_left_m is not None and array.margin_m is not None and level > 0:
            left = array.margin_left_m
            told = f"{words.whole_down(left, units)} is left" if left >= 0 else "nobody's margin is sure"
            out.print(Text(f"If {array.id} hangs out of true by {level:g}°, {told}."))


def placement_sentence(placement: Placement, units: str) -> str:
    """What was proven, in plain words."""
    told = []
    if placement.note:
        told.append(placement.note[0].upper() + placement.note[1:] + ".")
    if placement.count_said:
        told.append(f"Arrays needed: {placement.count_said}.")
    if placement.outcome == "none allowed":
        told.append("Proven: no position is allowed by the walls, the ceiling and the rules.")
    elif placement.bound_m is not None and placement.bound_m < 0:
        told.append(
            f"Proven: no allowed place covers everybody, what is held kept; the best possible falls short by "
            f"{words.shortfall(-placement.bound_m, units)}."
        )
    elif placement.outcome == "certified" and placement.bound_m is not None:
        # rounded up: what is said of a bound must hold
        told.append(
            f"Proven: no place allowed by the rules and by what is held leaves a margin of more than "
            f"{words.shortfall(placement.bound_m, units)}."
        )
    else:
        told.append("Not proven: the search ran out of its allowance; the bound told is what is certain.")
    return " ".join(told)


def _m(units: str) -> str:
    return "" if units in ("ft", "in") else " m"


def without_rules_sentence(placement: Placement, unconstrained: Placement, units: str) -> str:
    """What keeping clear of the ceiling costs."""
    if unconstrained.bound_m is None or placement.bound_m is None:
        return "Without the ceiling's rules: no place to compare."
    cost = max(unconstrained.bound_m - placement.bound_m, 0.0)
    where = ", ".join(
        f"{a.id} at {words.length(a.at_m[0], units)}, {words.length(a.at_m[1], units)}, "
        f"{words.length(a.height_m, units)}"
        for a in unconstrained.arrays
    )
    away = [thing for things in pushed_by(placement.scene, unconstrained.scene).values() for thing in things]
    told = (
        f"Without the ceiling's rules the best would be {where} (margin "
        f"{short_text(unconstrained.margin_m or 0.0, units)}{_m(units)})"
    )
    if not away:
        return f"{told}: nothing at the ceiling pushed it away."
    by = words.listed(list(dict.fromkeys(away)))
    return (
        f"{told}; {by} pushed it away. Keeping clear costs at most {words.shortfall(cost, units)} of margin."
    )


def pushed_by(room: Scene, placed: Scene) -> dict[str, list[str]]:
    """For each array of `placed`, what it is up against (or in conflict with) in the room: thing and rule."""
    found: dict[str, list[str]] = {}
    for array in placed.arrays:
        if array.placed:
            pressing = tightest(room, array, array.centre_m, PRESSING_M)
            things = dict.fromkeys(f"{one.against} ({one.rule})" for one in pressing)
            if things:
                found[array.id] = list(things)
    return found


def print_snapped(out: Any, placed: Scene, snapped: Mapping[str, Snapped], units: str) -> None:
    """Where each array went on the lattice, and what that costs."""
    for id, found in snapped.items():
        if found.place is None:
            left = ", ".join(f"{count} {reason}" for reason, count in found.left_out.items())
            out.print(
                Text(f"{id}: no place on the lattice is allowed ({left or 'none in the room'}); it stays.")
            )
            continue
        x, y, z = found.place.at_m
        text = (
            f"{id} snapped to {words.length(x, units)}, {words.length(y, units)}, height {words.length(z, units)}, "
            f"margin {short_text(found.place.margin_m, units)}{_m(units)}"
        )
        if found.cost is not None:
            text += (
                f": moved {words.length(found.cost.moved_m, units)}, "
                f"costs {words.shortfall(max(found.cost.margin_lost_m, 0.0), units)} of margin"
            )
        out.print(Text(text + "."))
        if found.note:
            out.print(Text(found.note[0].upper() + found.note[1:] + "."))


def _snapped_json(placed: Scene, snapped: Mapping[str, Snapped]) -> list[dict[str, Any]]:
    rows = []
    for id, found in snapped.items():
        array = placed.array(id)
        rows.append(
            {
                "id": id,
                "to": found.to,
                "at_m": array.at_m,
                "height_m": array.height_m,
                "band": array.band_name,
                "margin_m": None if found.place is None else found.place.margin_m,
                "judged": found.judged,
                "left_out": found.left_out,
                "moved_m": None if found.cost is None else found.cost.moved_m,
                "margin_lost_m": None if found.cost is None else found.cost.margin_lost_m,
                "slant_added_m": None if found.cost is None else found.cost.slant_added_m,
            }
        )
    return rows


def _length(text: str, name: str, units: str, *, least: float) -> float:
    try:
        metres = parse_length(text, units)
    except LengthMistake as mistake:
        raise PlaceMistake(f"{name}: found {text!r}, allowed is {mistake.allowed}") from None
    if metres < least:
        raise PlaceMistake(f"{name}: found {text!r}, allowed is a length of {least:g} m or more")
    return metres


def _snap(text: str | None, units: str) -> Literal["tile"] | float | None:
    if text is None or text == "tile":
        return text  # type: ignore[return-value]  # mypy does not narrow str by ==
    return _length(text, "--snap", units, least=0.001)


def _count(text: str | None) -> int | Literal["fewest"] | None:
    if text is None or text == "fewest":
        return text  # type: ignore[return-value]  # mypy does not narrow str by ==
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 64:
        raise PlaceMistake(f"--arrays: found {text!r}, allowed is a whole number from 1 to 64, or fewest")
    return int(text)


class _Quiet:
    def __enter__(self) -> None: ...

    def __exit__(self, *_: object) -> None: ...
