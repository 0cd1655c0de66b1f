"""A plan of what changed between two revisions: a cloud and a number round every place where something did."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from scenes.changes import Change, cloud_radius_m
from scenes.review import Review
from scenes.words import ADVICE
from viz.sheets import symbols
from viz.sheets.draft import Point, View
from viz.sheets.plan import floor_plan

NEAR_M: Final = 0.5
"""Changes nearer than this share a cloud and a number."""
MOST_LINES: Final = 14
ARC_MM: Final = 4.0
"""Length of one arc of a cloud on paper."""

Spot = tuple[int, Point, float]
"""A cloud: its number, its middle on plan, its radius, metres."""


def numbered(told: Sequence[Change]) -> tuple[tuple[Spot, ...], tuple[str, ...]]:
    """Where clouds go, and the list of changes with their clouds' numbers, ordered by these.

    What has no place on plan has no number. A list too long for a sheet ends by saying how much more there is.
    """
    spots: list[Spot] = []
    listed: list[tuple[int, str]] = []
    for change in told:
        mark = 0
        if change.at_m is not None:
            number = next((n for n, at, _ in spots if math.dist(at, change.at_m) < NEAR_M), None)
            if number is None:
                number = len(spots) + 1
                spots.append((number, change.at_m, cloud_radius_m(change)))
            mark = number
        what = change.what if change.kind in ("clearance", "verdict") else f"{change.id}: {change.what}"
        ends = " → ".join(end for end in (change.before, change.after) if end is not None)
        listed.append((mark, f"{what}, {ends}" if ends else what))
    # by number, for whoever looks a cloud up; sorting keeps the order told within each
    lines = [f"{mark or '–'}  {text}" for mark, text in sorted(listed, key=lambda entry: entry[0])]
    if not lines:
        lines.append("Nothing changed.")
    if len(lines) > MOST_LINES:
        lines = [
            *lines[: MOST_LINES - 1],
            f"and {len(lines) - MOST_LINES + 1} more: overtable check OLD NEW --changes",
        ]
    return tuple(spots), (*lines, ADVICE)


def changed_plan(view: View, review: Review, told: Sequence[Change], spots: Sequence[Spot]) -> None:
    """The floor plan of the new revision with the devices that changed, what is gone struck out, and the clouds."""
    ids = {change.id for change in told if change.kind in ("device", "clearance")}
    devices = [device for device in review.scene.overhead if device.id in ids]
    gone = [
        change
        for change in told
        if change.after is None and change.at_m is not None and change.kind != "clearance"
    ]
    # room for symbols and numbers first, then the plan with its letters, then the clouds over its fills
    for device in devices:
        view.symbol_box(device.at_m, 2.0)
    for change in gone:
        view.symbol_box(change.at_m or (0.0, 0.0), 2.0)
    rings = [(number, at, max(radius, view.to_m(5.0))) for number, at, radius in spots]
    tips = [_tip(view, at, radius) for _, at, radius in rings]
    floor_plan(view, review, (), bare=True)
    for device in devices:
        view.insert(
            symbols.device_block(view.draft, device), device.kind, device.at_m, turn_deg=device.turn_deg,
            scale=view.paper(1) if device.kind in symbols.SMALL_KINDS else 1.0,
            attributes={"TAG": device.id, "KIND": device.kind},
        )  # fmt: skip
        view.label([device.id], device.at_m, gap_mm=2.4)
    for change in gone:
        assert change.at_m is not None
        x, y = change.at_m
        size = view.to_m(2.0)
        for sign in (1, -1):
            view.line("change", (x - size, y - sign * size), (x + size, y + sign * size))
        view.label([f"{change.id} removed"], change.at_m, gap_mm=2.6)
    for (number, at, radius), tip in zip(rings, tips, strict=True):
        count = max(8, round(2 * math.pi * radius / view.to_m(ARC_MM)))
        view.cloud("change", [_at(at, radius, 360 * i / count) for i in range(count)])
        view.insert(symbols.delta_block(view.draft), "change", tip, scale=view.paper(1))
        view.add(
            str(number), view.to_mm((tip[0], tip[1] - view.to_m(1.4))), weight="semibold", align="centre"
        )


def _tip(view: View, at: Point, radius: float) -> Point:
    """Where the number of a cloud goes, kept free from now on."""
    away = radius + view.to_m(3.4)
    places = [_at(at, away, angle) for angle in (45, 135, -45, -135, 0, 180, 90, -90)]
    tip = next((place for place in places if not view.taken(place, 3.2)), places[0])
    view.symbol_box(tip, 3.2)
    return tip


def _at(middle: Point, radius: float, angle_deg: float) -> Point:
    angle = math.radians(angle_deg)
    return middle[0] + radius * math.cos(angle), middle[1] + radius * math.sin(angle)
