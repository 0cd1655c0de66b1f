"""What each array hears besides its talkers, and a turn that puts it into sectors without any."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from geometry.band import Floats
from geometry.heard import area_in_band, in_band, sectors_of
from geometry.records import record
from geometry.shapes import Point3
from scenes.findings.heard import Heard, HeardKind, Turn
from scenes.findings.review import VERDICTS, HeadReview, Review
from scenes.review.review import review
from scenes.room.scene import Array, Scene

NOISY: Final = ("supply diffuser", "projector", "loudspeaker")
"""Devices of the ceiling that are heard; doors and displays are as well."""
STEP_DEG = 1


@record(frozen=True, slots=True, eq=False)
class _Thing:
    """What one array hears of a thing: points on plan with their slants, and the talkers who are there with it."""

    id: str
    kind: HeardKind
    what: str
    reason: str | None
    points_m: Floats
    slants_m: Floats
    heads: tuple[HeadReview, ...]


def heard(judged: Review) -> tuple[Heard, ...]:
    """Each thing in the band of an array and in a sector of it where talkers are, places to keep away first.

    Reach ends nothing here, and no wall: sound comes through doors. With it the turn that leaves the fewest, places
    to keep away first, if any leaves fewer than now and costs neither talkers nor the verdict.
    """
    if not judged.judged:
        return ()
    found: list[Heard] = []
    for array in judged.scene.arrays:
        things = list(_things(judged, array))
        rows = [row for thing in things for row in _rows(array, thing)]
        turn = _turn(judged, array, things) if rows else None
        found += (replace(row, turn=turn) for row in rows)
    return tuple(sorted(found, key=lambda row: row.kind != "keep_away"))


def _things(judged: Review, array: Array) -> Iterator[_Thing]:
    """What of the room is in an array's band."""
    scene, centre, band = judged.scene, array.centre_m, array.band
    served = [head for head in judged.heads if head.array == array.id]
    if not served:
        return
    mouths = [height for head in scene.heads for height in head.mouth_m]
    for area in scene.keep_away:
        points, slants = area_in_band(area.outline_m, (min(mouths), max(mouths)), centre, band)
        if len(points):
            yield _Thing(area.id, "keep_away", "keep away", area.reason, points, slants, tuple(served))
    for id, what, at in _devices(scene):
        if in_band(at, centre, band):
            layout = scene.furnishing(id)
            name = None if layout is None else scene.layouts[layout]
            there = tuple(head for head in served if name is None or head.layout == name)
            slant = np.array([math.dist(at, centre)])
            yield _Thing(id, "device", what, None, np.array([at[:2]]), slant, there)


def _devices(scene: Scene) -> Iterator[tuple[str, str, Point3]]:
    """What may be heard of the room itself: id, kind and place."""
    for device in scene.overhead:
        if device.kind in NOISY:
            yield device.id, device.kind, (*device.at_m, device.low_m)
    for door in scene.room.openings:
        if door.kind == "door":
            (ax, ay), (bx, by) = scene.room.wall(door.wall)
            share = (door.offset_m + door.width_m / 2) / math.dist((ax, ay), (bx, by))
            middle = (ax + (bx - ax) * share, ay + (by - ay) * share, door.sill_m + door.height_m / 2)
            yield door.id, "door", middle
    for display in scene.displays:
        yield display.id, "display", display.at_m


def _rows(array: Array, thing: _Thing) -> Iterator[Heard]:
    """One row for each sector that has both the thing and talkers."""
    sectors = sectors_of(thing.points_m, array.centre_m[:2], array.turn_deg, array.profile.sectors)
    of_heads = _of_heads(array, thing.heads, array.turn_deg)
    for sector in sorted({*sectors.tolist()} & {*of_heads}):
        here = sectors == sector
        nearest = thing.points_m[here][thing.slants_m[here].argmin()]
        talkers = [head for head, own in zip(thing.heads, of_heads, strict=True) if own == sector]
        talker = min(talkers, key=lambda head: math.dist(head.mouth_m[:2], nearest))
        yield Heard(
            array=array.id,
            thing=thing.id,
            kind=thing.kind,
            what=thing.what,
            reason=thing.reason,
            band=str(array.band_name),
            sector=int(sector),
            nearest_talker=talker.id,
            ratio_dB=20 * math.log10(float(thing.slants_m[here].min()) / talker.slant_m),
            turn=None,
        )


def _of_heads(array: Array, heads: Sequence[HeadReview], turn_deg: float) -> list[int]:
    places = [head.mouth_m[:2] for head in heads]
    return sectors_of(places, array.centre_m[:2], turn_deg, array.profile.sectors).tolist() if heads else []


def _turn(judged: Review, array: Array, things: Sequence[_Thing]) -> Turn | None:
    """The turn, in whole degrees from the present one, that leaves the fewest rows; None if none leaves fewer.

    In the middle of the widest stretch of turns as good, so that nobody is at the edge of a sector. Tried on the
    whole room: it must cost no talker and no better verdict.
    """
    if array.profile.sectors == 1:
        return None
    width = 360 / array.profile.sectors
    turns = np.arange(0, math.ceil(width), STEP_DEG)
    scores = [_score(array, things, array.turn_deg + turn) for turn in turns.tolist()]
    best = min(scores)
    if best == scores[0]:
        return None
    middle = _middle_of_widest([score == best for score in scores])
    by = float(turns[middle])
    to = (array.turn_deg + (by if by <= width / 2 else by - width)) % 360
    tried = review(judged.scene.with_array(array.id, turn_deg=to))
    lost = (judged.counts.covered or 0) - (tried.counts.covered or 0)
    worse = tried.verdict is None or VERDICTS.index(tried.verdict) > VERDICTS.index(judged.verdict or "pass")
    if lost > 0 or worse or tried.verdict is None:
        return None
    return Turn(to, *best, lost, judged.margin_m - tried.margin_m, tried.verdict)


def _score(array: Array, things: Sequence[_Thing], turn_deg: float) -> tuple[int, int]:
    """How many places to keep away, and devices, are in sectors with talkers, each counted once a sector."""
    counts = {"keep_away": 0, "device": 0}
    for thing in things:
        sectors = sectors_of(thing.points_m, array.centre_m[:2], turn_deg, array.profile.sectors)
        counts[thing.kind] += len({*sectors.tolist()} & {*_of_heads(array, thing.heads, turn_deg)})
    return counts["keep_away"], counts["device"]


def _middle_of_widest(good: Sequence[bool]) -> int:
    """The middle of the longest run of what is good; the first of several."""
    runs: list[list[int]] = []
    for k, one in enumerate(good):
        if one and runs and runs[-1][-1] == k - 1:
            runs[-1].append(k)
        elif one:
            runs.append([k])
    longest = max(runs, key=len)
    return longest[len(longest) // 2]
