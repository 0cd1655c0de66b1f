"""The reflected ceiling plan: what lives at the ceiling, where an array may hang, what it hangs too near to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from geometry.region import Polygon
from geometry.shapes import Cylinder, Solid
from scenes.findings.review import Review
from scenes.room.scene import Array, Device
from scenes.rules.keep_outs import KeepOut
from viz.sheets import plan_clearances, plan_parts, symbols
from viz.sheets.draft import Point, View
from viz.sheets.labels import Name, Text, around_mm, disc_mm, place_names, rectangle_mm, room_mm
from viz.sheets.plan import solid_mm, solid_outline
from viz.sheets.plan_arrays import array_name, beside_mm, held, insert_array, orientation_mark, thing
from viz.sheets.plan_chains import ceiling_chains
from viz.sheets.plan_room import (
    Cut,
    grid_lines,
    inside_mm,
    opening_names,
    openings_below,
    section_marks,
    wall_names,
    walls,
)
from viz.sheets.plan_tiles import held_tiles, tile_names
from viz.sheets.rose import BESIDE_MM, draw_rose, rose_text, roses
from viz.words import clearances
from viz.words.locale import Locale
from viz.words.things import kind_name

FIGURES_TO: Final = 64.0
"""At a smaller scale than 1 to this the figures of clearances have no room at devices."""
SMALL_MM: Final = 1.4
"""Radius of the small symbols on paper."""
PIECE_M: Final = 0.4
"""So much of a long beam or duct is hatched either way of where an array comes too near to it."""


def ceiling_plan(
    view: View,
    review: Review,
    keep_outs: Mapping[str, Sequence[KeepOut]],
    regions: Sequence[Polygon],
    cuts: Sequence[Cut],
    *,
    bare: bool = False,
) -> None:
    """What lives at the ceiling, where an array may hang, and the dimensions that hang it.

    `bare`: without dimensions and section marks, for a page that tells them elsewhere.
    """
    scene = review.scene
    if not bare:
        held_tiles(view, scene)
    plan_clearances.draw_edges(view, plan_clearances.edges(review, keep_outs))
    _allowed(view, regions)
    grid_lines(view, scene, "grid", avoid=False)
    plan_parts.edges(view, scene)
    walls(view, scene, scene.room.openings)
    openings_below(view, scene)
    for table in scene.tables:
        view.polyline("table above", table.outline_m, closed=True)
    for obstacle in scene.obstacles:
        solid_outline(view, "obstacle above", obstacle.solid)
        view.things[f"obstacle {obstacle.id}"] = solid_mm(view, obstacle.solid)
    for device in scene.overhead:
        _device(view, device)
    for array in scene.arrays:
        insert_array(view, review, array)
        orientation_mark(view, array)
    plan_parts.arrows(view, scene)
    clashes = _clashes(view, review)
    if not bare:
        tile_names(view, scene)
        section_marks(view, scene, cuts)
        ceiling_chains(view, scene)
    wall_names(view, scene)
    shown = not bare and view.denominator <= FIGURES_TO
    asked = plan_clearances.asked_of(review, keep_outs) if shown else {}
    view.draft.figured |= bool(asked)
    plan_clearances.draw_lines(view, asked)
    if not bare:
        plan_clearances.draw_clouds(view, review)
    keys = {} if bare else plan_clearances.keys(review)
    _letter_ceiling(view, review, asked, keys)
    for at, text in clashes:
        view.label([text], at, gap_mm=3.4, within=inside_mm(view, scene))


def _allowed(view: View, regions: Sequence[Polygon]) -> None:
    """Where the acoustic centre of an array may be."""
    for outer, holes in regions:
        rings = [list(map(tuple, ring.tolist())) for ring in (outer, *holes)]
        view.hatch("region hatch", rings, spacing_mm=1.6, angle_deg=45)
        for ring in rings:
            view.polyline("region", ring, closed=True)


def _device(view: View, device: Device) -> None:
    role = device.kind
    view.insert(
        symbols.device_block(view.draft, device),
        role,
        device.at_m,
        turn_deg=device.turn_deg,
        scale=view.paper(1) if device.kind in symbols.SMALL_KINDS else 1.0,
        attributes={
            "TAG": device.id,
            "KIND": kind_name(device.kind, view.draft.locale),
            "BELOW": view.draft.locale.dimension(device.below_m),
            "SIZE": view.draft.locale.drawn_size(*device.size_m),
        },
    )
    _device_obstacle(view, device)


def _device_obstacle(view: View, device: Device) -> None:
    """The device as a thing that has a name, and the box in which nothing else is lettered."""
    if device.kind in symbols.SMALL_KINDS:
        view.symbol_box(device.at_m, 1.9)
        shape = disc_mm(view, device.at_m, SMALL_MM)
    elif device.round:
        shape = disc_mm(view, device.at_m, view.to_mm((device.size_m[0] / 2, 0))[0])
        view.keep(shape.bounds)
    else:
        shape = rectangle_mm(view, device.at_m, device.size_m, device.turn_deg)
        view.keep(shape.bounds)
    view.things[f"device {device.id}"] = shape


def _letter_ceiling(
    view: View, review: Review, asked: Mapping[str, plan_clearances.Asked], keys: Mapping[str, str]
) -> None:
    """Names of arrays with their undersides, of devices, doors and windows, and a rose beside each array."""
    scene, locale = review.scene, view.draft.locale
    room, around = room_mm(view, scene.room.outline_m), around_mm(view, scene.room.outline_m)
    names = []
    measured = [one for one in review.arrays if rose_text(review, one)]
    for one in measured:
        texts = [Text(rose_text(review, one), where, BESIDE_MM) for where in (room, around)]
        names.append(Name(thing(scene.array(one.id)), tuple(texts), outward_deg=0.0, first=True))
    for array in scene.arrays:
        underside = locale.say("sheet.underside", height=locale.dimension(array.underside_m))
        names.append(array_name(view, scene, array, underside, held(review)))
    for device in scene.overhead:
        lines = _lines_at(device.id, asked, keys, locale)
        texts = [Text(some, where) for some in dict.fromkeys((lines, lines[:1])) for where in (room, around)]
        names.append(Name(f"device {device.id}", tuple(texts)))
    names += [
        Name(f"obstacle {one.id}", (Text((one.id,), room), Text((one.id,), around)))
        for one in scene.obstacles
    ]
    first = len(names)
    tags = plan_parts.tags(view, scene)
    placed = place_names(view, [*names, *tags, *opening_names(view, scene)])
    tagged = [placed.get(first + number) for number in range(len(tags))]
    outside = plan_parts.tags_outside(view, scene, [box is not None for box in tagged])
    led = place_names(view, outside) if outside else {}
    plan_parts.frames(view, [box for box in (*tagged, *led.values()) if box is not None])
    for number, one in enumerate(measured):
        if number in placed:
            draw_rose(view, placed[number], len(rose_text(review, one)))
        else:  # outside the room, with whose it is
            array = scene.array(one.id)
            anchor = (array.centre_m[:2], beside_mm(view, array))
            roses(view, review, inside_mm(view, scene), {one.id: anchor})


def _lines_at(
    id: str, asked: Mapping[str, plan_clearances.Asked], keys: Mapping[str, str], locale: Locale
) -> tuple[str, ...]:
    """What stands at a device: its tag, what a rule asks of it, and the numbers of its notes."""
    found = [asked[id].text(locale)] if id in asked else []
    return (id, *found, *([keys[id]] if id in keys else []))


def _clashes(view: View, review: Review) -> list[tuple[Point, str]]:
    """Hatches over the devices that an array is too near to; where each is and what to letter there."""
    scene, locale = review.scene, Locale.of(review.scene)
    lettered: dict[str, tuple[Point, str]] = {}
    for clearance in (*review.short, *review.advised):
        thing = None if clearance.shown is None else clearance.shown.hatch
        if thing is None or clearance.against in lettered or clearance.array is None:
            continue
        ring = _clash_ring(thing, scene.array(clearance.array), view.to_m(2.6))
        for angle in (45, -45):
            view.hatch("clash", [ring], spacing_mm=1.0, angle_deg=angle)
        view.polyline("clash", ring, closed=True)
        word, label = clearances.word(clearance, locale), clearances.label(clearance, locale)
        lettered[clearance.against] = (thing.middle_m[:2], f"{word}: {label}")
    return list(lettered.values())


def _clash_ring(thing: Solid, array: Array, least_m: float) -> list[Point]:
    """What of a thing is hatched: a circle round a small one, of a long beam or duct the piece by the array."""
    x, y = thing.middle_m[:2]
    size = (2 * thing.radius_m, 2 * thing.radius_m) if isinstance(thing, Cylinder) else thing.size_m[:2]
    if isinstance(thing, Cylinder) or max(size) <= 1.0:
        radius = max(math.hypot(*size) / 2, least_m)
        turns = (math.radians(angle) for angle in range(0, 360, 10))
        return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]
    turn = math.radians(thing.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    away = (array.centre_m[0] - x, array.centre_m[1] - y)
    spans = []
    for side, here in zip(size, (c * away[0] + s * away[1], c * away[1] - s * away[0]), strict=True):
        near = min(max(here, -side / 2), side / 2)
        low, high = max(near - PIECE_M, -side / 2), min(near + PIECE_M, side / 2)
        spans.append((min(low, (low + high) / 2 - least_m), max(high, (low + high) / 2 + least_m)))
    (left, right), (front, back) = spans
    corners = ((left, front), (right, front), (right, back), (left, back))
    return [(x + c * u - s * v, y + s * u + c * v) for u, v in corners]
