"""The product's answers against the oracle's: every difference as one line of text."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.outside.oracle.hanging import Heights, band_heights, kept_interval, least_margin
from tests.outside.oracle.judging import Found, HeadFigures, Judged
from tests.outside.oracle.reading import Array, read
from tests.outside.oracle.seating import Head

FIGURE = 2e-6
"""Lengths and angles agree to this: the product's output is rounded to 6 decimals."""
MOUTH_M = 1e-5
"""The oracle follows curved edges as polylines."""
ANGLE_DEG = 2e-5
GRAZED = 0.01
"""Of the lines to one head so many may be hidden before it counts: the product asks fewer of them."""


def differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of a review (`check --json`) is not so."""
    judged = Judged(read(path))
    found = [*_seats(judged, told), *_clearances(judged, told)]
    # an array within a device of a default size sees nobody, and how large that is the oracle cannot know
    return (
        found if judged.room.stands_in_a_guess() else [*found, *_heads(judged, told), *_arrays(judged, told)]
    )


def _seats(judged: Judged, told: Mapping[str, Any]) -> Iterator[str]:
    ids, own = [one["id"] for one in told["heads"]], [head.id for head in judged.heads]
    if ids != own:
        yield f"heads are {ids}, oracle {own}"
        return
    for one, head in zip(told["heads"], judged.heads, strict=True):
        if math.dist(one["mouth_m"], head.middle) > MOUTH_M:
            yield f"{head.id}: mouth at {one['mouth_m']}, oracle {head.middle}"
        if not all(map(close, [*one["mouth_range_m"], one["sway_m"]], [*head.mouth, head.sway])):
            yield f"{head.id}: {one['mouth_range_m']} sway {one['sway_m']}, oracle {head.mouth} {head.sway}"
        if one["posture"] != head.posture:
            yield f"{head.id}: posture {one['posture']}, oracle {head.posture}"


def close(one: float, other: float, within: float = FIGURE) -> bool:
    """Whether two numbers are the same but for so much."""
    return abs(one - other) <= within


def _heads(judged: Judged, told: Mapping[str, Any]) -> Iterator[str]:
    by_id = {head.id: head for head in judged.heads}
    for one in told["heads"]:
        head = by_id.get(one["id"])
        if head is None:
            continue
        yield from _served(judged, one, head)
        mine = judged.figures[head.id, one["array"]]
        for key, value in (
            ("depression_deg", mine.depression),
            ("slant_m", mine.slant),
            ("off_centre_deg", mine.off_centre),
            ("slack_m", mine.slack),
            ("margin_m", mine.margin),
        ):
            # the mouth's own rounding on a curved edge reaches the angle magnified by the distance
            if not close(one[key], value, ANGLE_DEG if key.endswith("_deg") else MOUTH_M):
                yield f"{head.id}: {key} {one[key]}, oracle {value:.7f}"
        if min(abs(mine.slack), abs(mine.margin)) > MOUTH_M:
            if one["state"] != mine.state:
                yield f"{head.id}: {one['state']}, oracle {mine.state}"
            if one["in_band"] != _in(one, mine, ("too shallow", "too steep"), "in_reach"):
                yield f"{head.id}: in_band {one['in_band']}"
        yield from _reason(one, mine.reasons, mine.slack)
        yield from _sight(judged, one, mine)


def _sight(judged: Judged, one: Mapping[str, Any], mine: HeadFigures) -> Iterator[str]:
    guessed = judged.room.guesses
    blocked, seen = one["sight"] == "blocked", mine.seen
    ids = [blocker.id for blocker in seen.blockers]
    if blocked and not seen.blocked and one["blocked_by"] not in guessed:
        yield f"{one['id']} from {one['array']}: blocked by {one['blocked_by']}, oracle clear"
    if not blocked and seen.hit > GRAZED * seen.asked:
        yield f"{one['id']} from {one['array']}: clear, oracle {seen.hit} of {seen.asked} lines hidden by {ids}"


def _in(one: Mapping[str, Any], mine: Any, edges: tuple[str, str], other: str) -> bool:
    """Whether the whole range keeps these edges: it does where slack is 0 or more, else by the reasons known."""
    if mine.slack >= 0:
        return True
    if not mine.reasons:
        return bool(one["in_band"])
    worst = {edge: mine.reasons.get(edge, math.inf) for edge in edges}
    if min(worst.values()) < 0:
        return False
    return bool(one["in_band"])  # the other end of the range may be out: not asked here


def _served(judged: Judged, one: Mapping[str, Any], head: Head) -> Iterator[str]:
    expected = judged.serving[head.id]
    if one["array"] != expected:
        mine = {a.id: judged.figures[head.id, a.id] for a in judged.room.arrays}
        told = {id: (round(f.margin, 6), f.seen.blocked) for id, f in mine.items()}
        yield f"{head.id}: served by {one['array']}, oracle {expected} of {told}"


def _reason(one: Mapping[str, Any], numbers: Mapping[str, float], slack: float) -> Iterator[str]:
    if slack >= MOUTH_M and one["reason"] is not None:
        yield f"{one['id']}: reason {one['reason']} though inside"
    if slack < -MOUTH_M and numbers:
        least = min(numbers.values())
        allowed = [name for name, value in numbers.items() if value < least + 1e-5]
        if one["reason"] not in allowed:
            yield f"{one['id']}: reason {one['reason']}, oracle {allowed}"


def _arrays(judged: Judged, told: Mapping[str, Any]) -> Iterator[str]:
    for one, array in zip(told["arrays"], judged.room.arrays, strict=True):
        mine = [head.id for head in judged.heads if judged.serving[head.id] == array.id]
        if one["heads"] != mine:
            yield f"{array.id}: serves {one['heads']}, oracle {mine}"
            continue
        served = [judged.figures[id, array.id] for id in mine]
        off = [one.off_centre for one in served]
        for key, value in (
            ("height_m", float(array.centre[2])),
            ("drop_m", judged.room.ceiling - float(array.centre[2])),
            ("underside_m", float(array.centre[2]) - array.profile.below),
            ("margin_m", min((f.margin for f in served), default=None)),
            ("worst_slant_m", max((f.slant for f in served), default=None)),
            ("mean_off_centre_deg", sum(off) / len(off) if off else None),
            ("rms_off_centre_deg", math.sqrt(sum(x * x for x in off) / len(off)) if off else None),
        ):
            if (one[key] is None) != (value is None) or (
                value is not None and not close(one[key], value, ANGLE_DEG)
            ):
                yield f"{array.id}: {key} {one[key]}, oracle {value}"
        yield from _intervals(judged, array, one)


def _intervals(judged: Judged, array: Array, one: Mapping[str, Any]) -> Iterator[str]:
    """The heights that keep inside, and covered, those of the heads it serves that are so now."""
    for key, states in (("height_interval_m", ("covered", "marginal")), ("covered_interval_m", ("covered",))):
        kept = [
            head
            for head in judged.heads
            if judged.serving[head.id] == array.id and judged.of(head.id).state in states
        ]
        leaning = key == "covered_interval_m"
        mine = kept_interval(judged.room, array, kept, leaning=leaning) if kept else None
        if not _same_interval(one[key], mine):
            yield f"{array.id}: {key} {one[key]}, oracle {mine}"


# Clearances ----------------------------------------------------------------------------------------------


def _clearances(judged: Judged, told: Mapping[str, Any]) -> Iterator[str]:
    groups: dict[tuple[str, str, str], list[Found]] = {}
    for found in judged.clearances:
        groups.setdefault((found.array, found.demand.against, found.demand.rule), []).append(found)
    rows = {}
    for row in told["clearances"]:
        rows[row["array"], row["against"], row["rule"]] = row
    for key, several in groups.items():
        row = rows.get(key) or _other_way(key, rows)
        if key[2] == "hang-line" and row is None:
            continue  # of what is above the ceiling only the nearest is told
        yield from _row(key, several, row)


def _other_way(
    key: tuple[str, str, str], rows: Mapping[tuple[str, str, str], Mapping[str, Any]]
) -> Mapping[str, Any] | None:
    """Two arrays are told against each other once."""
    return rows.get((key[1], key[0], key[2]))


def _row(key: tuple[str, str, str], several: list[Found], row: Mapping[str, Any] | None) -> Iterator[str]:
    """A row against the demands that it may be about (body and cable); the tightest of them decides."""
    asked = [one for one in several if one.required is not None or one.state == "off"]
    worst = min(several, key=lambda one: one.spare)
    if row is None:
        if asked and worst.state != "clear" and not worst.demand.guessed:
            yield f"{key}: no row, oracle {worst.state}: {worst.actual:.6f} of {worst.required}"
        return
    if worst.demand.guessed:
        yield from _guessed(key, worst, row)
        return
    tight = abs(worst.spare) < 1e-6
    if row["state"] != worst.state and not tight:
        yield f"{key}: {row['state']}, oracle {worst.state}: {worst.actual:.6f} of {worst.required}"
    elif not any(_same(row, one) for one in several):
        told = [(one.demand.part, one.required, round(one.actual, 6)) for one in several]
        yield f"{key}: {row['part']} requires {row['required_m']}, has {row['actual_m']}, oracle {told}"


def _same(row: Mapping[str, Any], one: Found) -> bool:
    if row["state"] in ("unjudged", "off"):
        return True
    if row["required_m"] is None or one.required is None:
        return row["required_m"] is None and one.required is None
    if not close(row["required_m"], one.required):
        return False
    deep = one.actual <= 0 and row["actual_m"] <= FIGURE  # how deep is not the oracle's business
    return deep or close(row["actual_m"], one.actual, MOUTH_M)


def _guessed(key: tuple[str, str, str], known: Found, row: Mapping[str, Any]) -> Iterator[str]:
    """Of a thing whose size is left to a default: short only if it is so by what the file itself says."""
    enough_by_file = known.required is None or known.spare >= 0
    if enough_by_file and row["state"] == "short":
        yield f"{key}: short, though only by a default size of overtable's own"
    if not enough_by_file and row["state"] == "clear":
        yield f"{key}: clear, though short by what the file says"


# Heights -------------------------------------------------------------------------------------------------

MILLIMETRE = 0.001
"""Where nobody can be lost no more the best is searched for, to a millimetre."""
HEIGHT_M = 1e-4
"""Ends of intervals: the oracle asks a way at places a few millimetres apart."""


def height_differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of `heights --json` is not so, for a room with one array."""
    judged = Judged(read(path))
    [array], found = judged.room.arrays, []
    for band in told["arrays"][0]["bands"]:
        mine = band_heights(judged.room, array, band["name"], judged.heads)
        for key, value in (("interval_m", mine.interval), ("covered_interval_m", mine.covered)):
            if not _same_interval(band[key], value):
                found.append(f"{band['name']}: {key} {band[key]}, oracle {value}")
        if band["best_m"] is None:
            found.append(f"{band['name']}: no best height")
            continue
        there, _ = least_margin(array, band["name"], judged.heads, band["best_m"])
        if not close(band["best_margin_m"], there, HEIGHT_M):
            found.append(
                f"{band['name']}: best_margin_m {band['best_margin_m']}, at that height oracle {there}"
            )
        if there < mine.best_margin - (HEIGHT_M if there >= 0 else MILLIMETRE):
            found.append(
                f"{band['name']}: best {there} at {band['best_m']}, oracle's best {mine.best_margin}"
            )
        found += _limits(judged, array, band, mine)
    return found


def _same_interval(told: Any, mine: tuple[float, float] | None) -> bool:
    if told is None or mine is None:
        # a stretch of less than a tenth of a millimetre may be there or not
        there = told or mine
        return there is None or there[1] - there[0] < HEIGHT_M
    return close(told[0], mine[0], HEIGHT_M) and close(told[1], mine[1], HEIGHT_M)


def _limits(judged: Judged, array: Array, band: Mapping[str, Any], mine: Heights) -> Iterator[str]:
    """Who ends the covered interval (the wider one where there is none) must stand on its edge there."""
    if mine.covered is None and mine.interval is None:
        return
    ends, leaning = (mine.covered, True) if mine.covered is not None else (mine.interval, False)
    assert ends is not None
    sway = {head.id: head.sway if leaning else 0.0 for head in judged.heads}
    for name, height in zip(("low", "high"), ends, strict=True):
        id = band["limited_by"][name]
        _, slack = least_margin(array, band["name"], judged.heads, height)
        at_edge = [head for head, value in slack.items() if value - sway[head] < 10 * HEIGHT_M]
        if (id is None and at_edge) or (id is not None and id not in at_edge):
            yield f"{band['name']}: {name} end limited by {id}, oracle {at_edge}"
