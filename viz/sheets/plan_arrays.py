"""An array on a plan: its body with its data, its orientation mark, its name."""

from __future__ import annotations

import math

from scenes.findings.review import Review
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from viz.sheets import symbols
from viz.sheets.draft import View
from viz.sheets.labels import Name, Text, around_mm, disc_mm, rectangle_mm, room_mm
from viz.words import arrays as array_words
from viz.words import cautions, verdict
from viz.words.locale import Locale


def insert_array(view: View, review: Review, array: Array) -> None:
    """The array's body with its data, what the room is judged among them."""
    locale, scene = view.draft.locale, review.scene
    view.insert(
        symbols.array_block(view.draft, array),
        "array",
        array.centre_m[:2],
        turn_deg=array.turn_deg,
        attributes={
            "TAG": array.id,
            "PROFILE": array.profile.name,
            "HEIGHT": locale.dimension(array.centre_m[2]),
            "UNDERSIDE": locale.dimension(array.underside_m),
            "DROP": locale.dimension(ceiling_over_m(scene.room, array.at_m) - array.centre_m[2]),
            "BAND": array_words.of(array, locale),
            "TURN": locale.edge(array.turn_deg),
            "MASS": locale.mass(array.profile.mass_kg),
            "STATUS": locale.say("hold, drawing") if held(review) else verdict.word(review.verdict, locale),
        },
    )
    at, profile = array.centre_m[:2], array.profile
    shape = (
        disc_mm(view, at, view.to_mm((profile.plan_radius_m, 0))[0])
        if profile.round
        else rectangle_mm(view, at, profile.size_m, array.turn_deg)
    )
    view.things[thing(array)] = shape
    view.keep(shape.buffer(0.5).bounds)


def orientation_mark(view: View, array: Array) -> None:
    """Where the array's 0° points, beside its body."""
    turn = math.radians(array.turn_deg)
    away = array.profile.plan_radius_m + view.to_m(2.4)
    x, y = array.centre_m[:2]
    at = (x + away * math.cos(turn), y + away * math.sin(turn))
    view.insert(
        symbols.orientation_block(view.draft), f"sector{view.suffix}", at, turn_deg=array.turn_deg,
        scale=view.paper(1),
    )  # fmt: skip
    view.symbol_box(at, 1.7)


def held(review: Review) -> str | None:
    """What is said beside an array that is not to be installed: a plan is read without its frame too."""
    return Locale.of(review.scene).say("hold, word") if cautions.hold(review) else None


def array_name(view: View, scene: Scene, array: Array, told: str, hold: str | None = None) -> Name:
    """The array's id with its profile and a line more, in the room or beside it; its id alone where there is no room.

    `hold` is a word that stands with the id.
    """
    room, around = room_mm(view, scene.room.outline_m), around_mm(view, scene.room.outline_m)
    name = array.id if hold is None else f"{array.id} {hold}"
    whole = (f"{name}  {array.profile.name}", told)
    texts = ((whole, room), (whole, around), ((f"{name}  {told}",), around), ((name,), around))
    return Name(thing(array), tuple(Text(lines, where) for lines, where in texts), first=True)


def thing(array: Array) -> str:
    """What an array is called among the things of a view."""
    return f"array {array.id}"


def beside_mm(view: View, array: Array) -> float:
    """From the middle of an array's symbol to letters beside it, on paper."""
    return view.to_mm((array.profile.plan_radius_m, 0))[0] + 1.2
