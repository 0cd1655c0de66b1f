"""Overhead devices by their kind: how each looks from below, and the strokes that tell it on a ceiling plan.

Forms and strokes stand in the room's frame, within the device's own size; a kind without a form of its own is
drawn as the solid that was judged.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from geometry.band import Floats
from geometry.solids import shape_mesh
from scenes.room.kinds import BUILT_IN
from scenes.room.scene import Device
from viz.device_marks import marks
from viz.forms import (
    Form,
    Parts,
    box,
    circle,
    ellipsoid,
    join,
    lathe,
    moved,
    prism,
    rectangle,
    rounded_rectangle,
    tube,
)

REACHES_CEILING_M = 0.005
"""A device whose top is nearer the ceiling than this has no stem."""
THIN_STEM_M, STEM_M = 0.010, 0.022
ON_THIN_STEMS = ("sprinkler", "light", "smoke detector")


def device(thing: Device, ceiling_m: float) -> Parts:
    """An overhead device as its kind looks from below, within its size, from its lowest point up."""
    stem = _stem(thing, ceiling_m)
    drawn = FORMS.get(thing.kind)
    if drawn is not None:
        return drawn(thing, stem)
    part = "structure" if thing.kind in BUILT_IN else "body"
    return {part: join(shape_mesh(thing.solid), *stem)}


def symbol(thing: Device) -> list[Floats]:
    """Plan strokes, each (k, 2), that tell a device's kind on a ceiling plan."""
    turn = math.radians(thing.turn_deg)
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    strokes = STROKES.get(thing.kind, _marked_strokes)(thing)
    return [stroke @ matrix + np.asarray(thing.at_m) for stroke in strokes]


def _stem(thing: Device, ceiling_m: float) -> list[Form]:
    """What a device hangs by, a rod with its rose; nothing where it reaches the ceiling itself."""
    top = thing.low_m + thing.depth_m
    if top >= ceiling_m - REACHES_CEILING_M:
        return []
    x, y = thing.at_m
    thick = THIN_STEM_M if thing.kind in ON_THIN_STEMS else STEM_M
    return [
        tube([(x, y, top - 0.002), (x, y, ceiling_m)], thick, 10, rounded=False),
        lathe([(2.6 * thick, -0.012), (2.6 * thick, 0)], 16, (x, y, ceiling_m)),
    ]


# ---------------------------------------------------------------- forms, each with its stem


def _sprinkler(thing: Device, stem: list[Form]) -> Parts:
    """The toothed deflector below, the frame's arms, and a rose where it comes out of the ceiling itself."""
    r, tall, at = thing.size_m[0] / 2, thing.depth_m, _lowest(thing)
    teeth = np.linspace(0, 2 * math.pi, 24, endpoint=False)
    radius = np.where(np.arange(24) % 2, 0.72 * r, r)
    plate = prism(np.column_stack([radius * np.cos(teeth), radius * np.sin(teeth)]), 0, 0.004)
    yoke = [tube([(side * 0.45 * r, 0, 0.6 * tall), (0, 0, 0.1 * tall)], 0.003, 6) for side in (-1, 1)]
    head = lathe([(0.010, 0.55 * tall), (0.010, tall)], 12)
    plug = ellipsoid((0, 0, 0.36 * tall), (0.005, 0.005, 0.16 * tall), 8, 6)
    rose = head if stem else lathe([(0.036, max(tall - 0.006, 0.01)), (0.030, tall)], 20)
    return {"dark": join(moved(join(plate, head, plug, *yoke), at), *stem), "body": moved(rose, at)}


def _light(thing: Device, stem: list[Form]) -> Parts:
    """A frame, and a lens that shines."""
    (wide, deep), tall, at = thing.size_m, thing.depth_m, _lowest(thing)
    if thing.round:
        r = wide / 2
        frame = lathe([(r, 0.004), (r, tall)], 32, at)
        lens = lathe([(0.90 * r, 0), (0.90 * r, 0.006)], 32, at)
    else:
        x, y, low = at
        edge = min(0.03, 0.12 * min(wide, deep))
        frame = box((wide, deep, tall - 0.004), (x, y, low + tall / 2 + 0.002), thing.turn_deg)
        lens = box((wide - 2 * edge, deep - 2 * edge, 0.006), (x, y, low + 0.003), thing.turn_deg)
    return {"body": join(frame, *stem), "luminous": lens}


def _supply_diffuser(thing: Device, stem: list[Form]) -> Parts:
    """Cones one inside another round a dark core; it is part of the ceiling and has no stem."""
    (wide, deep), tall = thing.size_m, thing.depth_m
    r = wide / 2
    rings = []
    for outer, inner, z in ((1.0, 0.80, 0.0), (0.72, 0.52, 0.008), (0.44, 0.24, 0.016)):
        if thing.round:
            rings.append(lathe([(outer * r, z), (inner * r, z + 0.03)], 28))
        else:
            big = rectangle(outer * wide, outer * deep)
            rings.append(prism(big, z, z + 0.03, top=big * (inner / outer)))
    if thing.round:
        core = lathe([(0.9 * r, 0.03), (0.9 * r, tall)], 28)
    else:
        core = _box_above(0.03, wide, deep, tall)
    return {"body": _placed(thing, join(*rings)), "dark": _placed(thing, core)}


def _return_grille(thing: Device, stem: list[Form]) -> Parts:
    """A frame with slats before a dark box; it is part of the ceiling and has no stem."""
    wide, deep = thing.size_m
    frame = prism(rectangle(wide, deep), 0, 0.012, holes=[rectangle(0.88 * wide, 0.88 * deep)])
    slats = [
        box((0.88 * wide, 0.012, 0.02), (0, v, 0.011)) for v in np.linspace(-0.40 * deep, 0.40 * deep, 9)
    ]
    back = _box_above(0.022, wide, deep, thing.depth_m)
    return {"body": _placed(thing, join(frame, *slats)), "dark": _placed(thing, back)}


def _smoke_detector(thing: Device, stem: list[Form]) -> Parts:
    """A dome below its base, with a dark eye."""
    r, tall, at = thing.size_m[0] / 2, thing.depth_m, _lowest(thing)
    dome = [
        (0.30 * r, 0),
        (0.62 * r, 0.12 * tall),
        (0.78 * r, 0.42 * tall),
        (0.80 * r, 0.50 * tall),
        (r, 0.55 * tall),
        (r, tall),
    ]
    eye = lathe([(0.12 * r, -0.001), (0.12 * r, 0.01)], 10, at)
    return {"body": join(lathe(dome, 28, at), *stem), "dark": eye}


def _loudspeaker(thing: Device, stem: list[Form]) -> Parts:
    """A shell with a round grille."""
    (wide, deep), tall, at = thing.size_m, thing.depth_m, _lowest(thing)
    if thing.round:
        r = wide / 2
        shell = lathe([(r, 0), (r, 0.012), (0.88 * r, 0.02), (0.80 * r, tall)], 32, at)
    else:
        x, y, low = at
        shell = box((wide, deep, tall), (x, y, low + tall / 2), thing.turn_deg)
    cone = 0.80 * min(wide, deep) / 2
    return {"body": join(shell, *stem), "dark": lathe([(cone, -0.002), (cone, 0.01)], 32, at)}


def _projector(thing: Device, stem: list[Form]) -> Parts:
    """A rounded case with its lens at one side of the front."""
    (wide, deep), tall = thing.size_m, thing.depth_m
    case = prism(rounded_rectangle(wide, deep, 0.04), 0, tall)
    axis = [(wide / 2 - 0.03, 0.2 * deep, 0.5 * tall), (wide / 2 - 0.001, 0.2 * deep, 0.5 * tall)]
    lens = tube(axis, 0.3 * tall, 18, rounded=False)
    return {"body": join(_placed(thing, case), *stem), "dark": _placed(thing, lens)}


FORMS: dict[str, Callable[[Device, list[Form]], Parts]] = {
    "sprinkler": _sprinkler,
    "light": _light,
    "supply diffuser": _supply_diffuser,
    "return grille": _return_grille,
    "smoke detector": _smoke_detector,
    "loudspeaker": _loudspeaker,
    "projector": _projector,
}


def _lowest(thing: Device) -> tuple[float, float, float]:
    return (*thing.at_m, thing.low_m)


def _placed(thing: Device, form: Form) -> Form:
    """A form made about the origin, from its lowest point up, where the device is."""
    return moved(form, _lowest(thing), thing.turn_deg)


def _box_above(low: float, wide: float, deep: float, top: float) -> Form:
    """The dark box behind a diffuser or a grille: nine tenths of it across, from `low` up, at least a centimetre."""
    tall = max(top - low, 0.01)
    return box((0.9 * wide, 0.9 * deep, tall), (0, 0, low + tall / 2))


# ---------------------------------------------------------------- strokes, before the device's turn


def _edge(thing: Device) -> Floats:
    """A device's outline; of a small round one large enough to be seen."""
    return circle(_seen_radius(thing)) if thing.round else rectangle(*thing.size_m)


def _seen_radius(thing: Device) -> float:
    return max(thing.size_m[0] / 2, 0.07)


def _marked_strokes(thing: Device) -> list[Floats]:
    """The outline, and in it what tells the kind."""
    a, b = (_seen_radius(thing),) * 2 if thing.round else _halves(thing)
    return [_closed(_edge(thing)), *marks(thing.kind, a, b)]


def _sprinkler_strokes(thing: Device) -> list[Floats]:
    r = _seen_radius(thing)
    return [_closed(circle(r)), _line(-1.6 * r, 0, 1.6 * r, 0), _line(0, -1.6 * r, 0, 1.6 * r)]


def _light_strokes(thing: Device) -> list[Floats]:
    a, b = _halves(thing)
    across = (
        [_line(-a, 0, a, 0), _line(0, -a, 0, a)]
        if thing.round
        else [_line(-a, -b, a, b), _line(-a, b, a, -b)]
    )
    return [_closed(_edge(thing)), *across]


def _supply_strokes(thing: Device) -> list[Floats]:
    a, edge = thing.size_m[0] / 2, _edge(thing)
    spokes = (
        [
            _line(0.5 * a, 0, a, 0),
            _line(-a, 0, -0.5 * a, 0),
            _line(0, 0.5 * a, 0, a),
            _line(0, -a, 0, -0.5 * a),
        ]
        if thing.round
        else [np.array([corner * 0.5, corner]) for corner in edge]
    )
    return [_closed(edge), _closed(edge * 0.5), *spokes]


def _return_strokes(thing: Device) -> list[Floats]:
    a, b = _halves(thing)
    return [_closed(_edge(thing)), *(_line(-a, v, a, v) for v in np.linspace(-0.75 * b, 0.75 * b, 7))]


def _smoke_strokes(thing: Device) -> list[Floats]:
    r = _seen_radius(thing)
    return [
        _closed(_edge(thing)),
        _line(-0.5 * r, 0.25 * r, 0.5 * r, 0.25 * r),
        _line(-0.5 * r, -0.25 * r, 0.5 * r, -0.25 * r),
    ]


def _loudspeaker_strokes(thing: Device) -> list[Floats]:
    small = 0.5 * min(_seen_radius(thing), thing.size_m[1] / 2)
    return [_closed(_edge(thing)), CONE * small * 1.4]


CONE = np.array(
    [(-0.5, -0.35), (-0.05, -0.35), (0.5, -0.8), (0.5, 0.8), (-0.05, 0.35), (-0.5, 0.35), (-0.5, -0.35)]
)
"""The sign of a loudspeaker."""


def _projector_strokes(thing: Device) -> list[Floats]:
    a, b = _halves(thing)
    return [
        _closed(_edge(thing)),
        _line(a, 0.2 * b, a + 0.25, 0.2 * b + 0.12),
        _line(a, 0.2 * b, a + 0.25, 0.2 * b - 0.12),
    ]


def _bulkhead_strokes(thing: Device) -> list[Floats]:
    a, b = _halves(thing)
    return [_closed(_edge(thing)), _line(-a, -b, a, b)]


STROKES: dict[str, Callable[[Device], list[Floats]]] = {
    "sprinkler": _sprinkler_strokes,
    "light": _light_strokes,
    "supply diffuser": _supply_strokes,
    "return grille": _return_strokes,
    "smoke detector": _smoke_strokes,
    "loudspeaker": _loudspeaker_strokes,
    "projector": _projector_strokes,
    "bulkhead": _bulkhead_strokes,
}


def _halves(thing: Device) -> tuple[float, float]:
    return thing.size_m[0] / 2, thing.size_m[1] / 2


def _closed(ring: Floats) -> Floats:
    return np.concatenate([ring, ring[:1]])


def _line(x0: float, y0: float, x1: float, y1: float) -> Floats:
    return np.array([(x0, y0), (x1, y1)])
