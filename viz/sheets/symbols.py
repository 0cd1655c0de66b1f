"""Symbols as blocks: talkers by state, arrays, overhead devices, figures, marks. Black and white tells them apart.

Point symbols are drawn in paper millimetres and inserted at the view's scale; bodies and fittings that
have a size are drawn at 1:1 in model units, one block for each kind and size.
"""

from __future__ import annotations

import math
from typing import Any, Final

from scenes.room.scene import Array, Device
from viz.device_marks import marks
from viz.sheets.draft import Draft

SMALL_KINDS: Final = ("sprinkler", "smoke detector")
"""Devices smaller than a pencil stroke at most scales: their symbol has a size on paper."""
LONG_KINDS: Final = (
    "light", "beam", "bulkhead", "exit sign", "screen", "track", "duct", "pipe", "cable tray",
)  # fmt: skip
ROUND_KINDS: Final = ("loudspeaker", "emergency light", "strobe", "sensor", "fan")
"""The shapes of the legend's symbols; the others are square."""
STATE_BLOCKS: Final = {
    "covered": "HEAD-COVERED",
    "marginal": "HEAD-MARGINAL",
    "blocked": "HEAD-BLOCKED",
    "missed": "HEAD-MISSED",
}
BYLAYER: Final = {"layer": "0"}


def block(draft: Draft, name: str) -> tuple[Any, bool]:
    """The block of that name, and whether it is new and still has to be drawn."""
    if name in draft.doc.blocks:
        return draft.doc.blocks.get(name), False
    return draft.doc.blocks.new(name), True


def attribute_definitions(made: Any, keys: tuple[str, ...]) -> None:
    """The attributes a block carries; only TAG is seen."""
    for key in keys:
        definition = made.add_attdef(key, (0, 0), dxfattribs={"layer": "0", "height": 2.5, "style": "NOTE"})
        definition.is_invisible = key != "TAG"


def disc(made: Any, x: float, y: float, radius: float) -> None:
    """A filled circle."""
    fill = made.add_hatch(color=0, dxfattribs=BYLAYER)
    edge = fill.paths.add_edge_path()
    edge.add_arc((x, y), radius, 0, 360)


def filled(made: Any, points: list[tuple[float, float]]) -> None:
    """A filled polygon."""
    fill = made.add_hatch(color=0, dxfattribs=BYLAYER)
    fill.paths.add_polyline_path(points, is_closed=True)


HEAD_KEYS: Final = ("TAG", "STATE", "POSTURE", "MOUTH", "MARGIN", "ARRAY")


def head_block(draft: Draft, state: str) -> str:
    """A talker's mouth: a dot where covered, a ring where marginal, a diamond where blocked, a cross where missed.

    Paper millimetres.
    """
    name = STATE_BLOCKS[state]
    made, new = block(draft, name)
    if new:
        if state == "covered":
            disc(made, 0, 0, 0.85)
        elif state == "marginal":
            made.add_circle((0, 0), 0.95, dxfattribs=BYLAYER)
        elif state == "blocked":
            corners = [(0, -1.2), (1.2, 0), (0, 1.2), (-1.2, 0)]
            made.add_lwpolyline(corners, close=True, dxfattribs=BYLAYER)
        else:
            for sign in (1, -1):
                made.add_line((-1, -sign), (1, sign), dxfattribs=BYLAYER)
        attribute_definitions(made, HEAD_KEYS)
    return name


def figure_block(draft: Draft) -> str:
    """Head and shoulders from above, facing +x, the mouth at 0,0. Metres at 1:1."""
    made, new = block(draft, "FIGURE")
    if new:
        k = draft.per_m
        made.add_circle((-0.1 * k, 0), 0.095 * k, dxfattribs=BYLAYER)
        made.add_ellipse((-0.15 * k, 0), major_axis=(0, 0.225 * k), ratio=0.5, dxfattribs=BYLAYER)
    return "FIGURE"


def chair_block(draft: Draft) -> str:
    """A chair from above under the figure. Metres at 1:1."""
    made, new = block(draft, "CHAIR")
    if new:
        k = draft.per_m
        rounded(made, -0.44 * k, -0.25 * k, 0.06 * k, 0.25 * k, 0.08 * k)
    return "CHAIR"


def rounded(made: Any, x0: float, y0: float, x1: float, y1: float, r: float) -> None:
    """A rectangle with round corners."""
    bulge = math.tan(math.pi / 8)
    points = [
        (x0 + r, y0, 0), (x1 - r, y0, bulge), (x1, y0 + r, 0), (x1, y1 - r, bulge),
        (x1 - r, y1, 0), (x0 + r, y1, bulge), (x0, y1 - r, 0), (x0, y0 + r, bulge),
    ]  # fmt: skip
    made.add_lwpolyline(points, format="xyb", close=True, dxfattribs=BYLAYER)


ARRAY_KEYS: Final = ("TAG", "PROFILE", "HEIGHT", "UNDERSIDE", "DROP", "BAND", "TURN", "MASS", "STATUS")


def array_block(draft: Draft, array: Array) -> str:
    """The body from above at its true size, with a cross through its acoustic centre. 1:1."""
    profile = array.profile
    name = f"ARRAY-{_safe(profile.name)}"
    made, new = block(draft, name)
    if new:
        k = draft.per_m
        x, y = profile.size_m[0] / 2 * k, profile.size_m[1] / 2 * k
        if profile.round:
            made.add_circle((0, 0), x, dxfattribs=BYLAYER)
            if profile.hole_m:
                made.add_circle((0, 0), profile.hole_m / 2 * k, dxfattribs=BYLAYER)
        else:
            rounded(made, -x, -y, x, y, min(x, y) * 0.15)
        for a, b in (((-1.25 * x, 0), (1.25 * x, 0)), ((0, -1.25 * y), (0, 1.25 * y))):
            made.add_line(a, b, dxfattribs={**BYLAYER, "lineweight": 18})
        disc(made, 0, 0, min(x, y) * 0.3)
        attribute_definitions(made, ARRAY_KEYS)
    return name


DEVICE_KEYS: Final = ("TAG", "KIND", "BELOW", "SIZE")


def device_block(draft: Draft, device: Device) -> str:
    """An overhead device from below and above alike: its kind's symbol at its true size, or at a paper size."""
    if device.kind in SMALL_KINDS:
        return symbol_block(draft, device.kind)
    x, y = device.size_m
    name = f"{_safe(device.kind)}-{round(x * 1000)}x{round(y * 1000)}{'R' if device.round else ''}"
    made, new = block(draft, name)
    if new:
        draw_device(made, device.kind, x * draft.per_m, y * draft.per_m, device.round)
        attribute_definitions(made, DEVICE_KEYS)
    return name


def symbol_block(draft: Draft, kind: str) -> str:
    """The symbol of a kind in paper millimetres, for what is too small to draw to scale and for the legend."""
    name = f"SYMBOL-{_safe(kind)}"
    made, new = block(draft, name)
    if new:
        if kind == "sprinkler":
            made.add_circle((0, 0), 1.2, dxfattribs=BYLAYER)
            disc(made, 0, 0, 0.4)
            for i in range(4):
                c, s = math.cos(math.pi / 4 + i * math.pi / 2), math.sin(math.pi / 4 + i * math.pi / 2)
                made.add_line((1.2 * c, 1.2 * s), (1.9 * c, 1.9 * s), dxfattribs=BYLAYER)
        elif kind == "smoke detector":
            made.add_circle((0, 0), 1.6, dxfattribs=BYLAYER)
            made.add_lwpolyline(
                [(-0.8, -0.8), (0.8, -0.8), (0.8, 0.8), (-0.8, 0.8)], close=True, dxfattribs=BYLAYER
            )
            disc(made, 0, 0, 0.35)
        else:
            size = (5.0, 2.0) if kind in LONG_KINDS else (3.4, 3.4)
            draw_device(made, kind, *size, kind in ROUND_KINDS)
        attribute_definitions(made, DEVICE_KEYS)
    return name


def draw_device(made: Any, kind: str, width: float, depth: float, is_round: bool) -> None:
    """The symbol of a kind, filling width × depth about 0,0."""
    x, y = width / 2, depth / 2
    least = min(x, y)
    if is_round:
        made.add_circle((0, 0), x, dxfattribs=BYLAYER)
    else:
        made.add_lwpolyline([(-x, -y), (x, -y), (x, y), (-x, y)], close=True, dxfattribs=BYLAYER)
    if kind == "light":
        # half filled along its length: a lamp, not a grille
        made.add_line((-x, 0), (x, 0), dxfattribs={**BYLAYER, "lineweight": 13})
        disc(made, 0, 0, least * 0.28)
    elif kind == "supply diffuser":
        inner = 0.52
        made.add_lwpolyline(
            [
                (-x * inner, -y * inner),
                (x * inner, -y * inner),
                (x * inner, y * inner),
                (-x * inner, y * inner),
            ],
            close=True,
            dxfattribs={**BYLAYER, "lineweight": 13},
        )
        for sx, sy in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            made.add_line(
                (sx * x * inner, sy * y * inner), (sx * x, sy * y), dxfattribs={**BYLAYER, "lineweight": 13}
            )
    elif kind == "return grille":
        made.add_line((-x, -y), (x, y), dxfattribs={**BYLAYER, "lineweight": 13})
    elif kind == "loudspeaker":
        made.add_lwpolyline(
            [(-0.45 * least, -0.2 * least), (-0.1 * least, -0.2 * least), (0.4 * least, -0.55 * least),
             (0.4 * least, 0.55 * least), (-0.1 * least, 0.2 * least), (-0.45 * least, 0.2 * least)],
            close=True, dxfattribs={**BYLAYER, "lineweight": 13},
        )  # fmt: skip
    elif kind == "projector":
        made.add_circle((x * 0.55, 0), least * 0.45, dxfattribs={**BYLAYER, "lineweight": 13})
    for stroke in marks(kind, x, y):
        made.add_lwpolyline(stroke.tolist(), dxfattribs={**BYLAYER, "lineweight": 13})


def camera_block(draft: Draft) -> str:
    """A camera looking along +x. Paper millimetres."""
    made, new = block(draft, "CAMERA")
    if new:
        made.add_lwpolyline(
            [(-1.7, -0.8), (0.3, -0.8), (0.3, 0.8), (-1.7, 0.8)], close=True, dxfattribs=BYLAYER
        )
        filled(made, [(0.3, 0), (1.7, -0.95), (1.7, 0.95)])
        attribute_definitions(made, ("TAG", "HEIGHT"))
    return "CAMERA"


SECTION_MM: Final = 3.0
"""Radius of the mark at the ends of a section's line: it holds a letter over the number of a sheet."""


def section_block(draft: Draft) -> str:
    """The end of a section line: a circle for letter and sheet and an arrow that looks along +y. Paper millimetres."""
    made, new = block(draft, "SECTION-MARK")
    if new:
        made.add_circle((0, 0), SECTION_MM, dxfattribs=BYLAYER)
        half = math.cos(math.pi / 4) * SECTION_MM
        filled(made, [(-half, half), (half, half), (0, SECTION_MM * math.sqrt(2))])
    return "SECTION-MARK"


def north_block(draft: Draft) -> str:
    """North up. Paper millimetres."""
    made, new = block(draft, "NORTH")
    if new:
        made.add_circle((0, 0), 4.5, dxfattribs={**BYLAYER, "lineweight": 18})
        filled(made, [(0, 4.5), (-1.8, -3.3), (0, -2.1)])
        made.add_lwpolyline(
            [(0, 4.5), (1.8, -3.3), (0, -2.1)], close=True, dxfattribs={**BYLAYER, "lineweight": 18}
        )
    return "NORTH"


def orientation_block(draft: Draft) -> str:
    """The orientation mark: a filled arrow along +x, where an array's 0° points. Paper millimetres."""
    made, new = block(draft, "ORIENTATION")
    if new:
        filled(made, [(1.6, 0), (-0.9, 1.1), (-0.9, -1.1)])
    return "ORIENTATION"


def level_block(draft: Draft) -> str:
    """A level mark, its point at 0,0. Paper millimetres."""
    made, new = block(draft, "LEVEL")
    if new:
        filled(made, [(0, 0), (-1.1, 1.7), (1.1, 1.7)])
    return "LEVEL"


def _safe(name: str) -> str:
    """A name as a block may have it."""
    kept = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in name.upper())
    # two names that differ only in other letters must not become one block
    mark = "" if kept == name.upper() else f"-{sum(ord(c) * 31**i for i, c in enumerate(name)) % 65536:04X}"
    return kept + mark
