"""An array on a plan: its body with its data, its orientation mark, its name."""

from __future__ import annotations

import math

from scenes.room.scene import Array, Scene
from viz.sheets import symbols
from viz.sheets.draft import Box, View
from viz.words import arrays as array_words


def insert_array(view: View, scene: Scene, array: Array) -> None:
    locale = view.draft.locale
    view.insert(
        symbols.array_block(view.draft, array),
        "array",
        array.centre_m[:2],
        turn_deg=array.turn_deg,
        attributes={
            "TAG": array.id,
            "PROFILE": array.profile.name,
            "HEIGHT": locale.site(array.centre_m[2]),
            "UNDERSIDE": locale.site(array.underside_m),
            "DROP": locale.site(scene.room.ceiling_m - array.centre_m[2]),
            "BAND": array_words.of(array, locale),
            "TURN": locale.edge(array.turn_deg),
            "MASS": locale.mass(array.profile.mass_kg),
        },
    )
    view.symbol_box(array.centre_m[:2], view.to_mm((array.profile.plan_radius_m, 0))[0] + 0.5)


def orientation_mark(view: View, array: Array) -> None:
    """Where the array's 0° points, beside its body."""
    turn = math.radians(array.turn_deg)
    away = array.profile.plan_radius_m + view.to_m(2.4)
    x, y = array.centre_m[:2]
    at = (x + away * math.cos(turn), y + away * math.sin(turn))
    view.insert(
        symbols.orientation_block(view.draft), "sector", at, turn_deg=array.turn_deg, scale=view.paper(1)
    )
    view.symbol_box(at, 1.7)


def name_array(view: View, array: Array, told: str, inside: Box) -> None:
    """The array's id, with its profile and a line more where there is room; outside the room if nowhere else."""
    gap_mm = beside_mm(view, array)
    for lines in ([f"{array.id}  {array.profile.name}", told], [array.id]):
        if view.label(lines, array.centre_m[:2], gap_mm=gap_mm, within=inside) is not None:
            return
    view.label([array.id], array.centre_m[:2], gap_mm=gap_mm)


def beside_mm(view: View, array: Array) -> float:
    """From the middle of an array's symbol to letters beside it, on paper."""
    return view.to_mm((array.profile.plan_radius_m, 0))[0] + 1.2
