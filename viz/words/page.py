"""What the page says of arrays and clearances beside its tables, and who made it."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from scenes.findings.installation import ScheduleRow
from scenes.findings.review import ArrayReview, Review
from scenes.review.schedule import schedule
from scenes.room.scene import Scene
from scenes.room.walls import wall_name
from viz.words import arrays, assumptions, clearances, installation
from viz.words.locale import Locale


def array_facts(array: ArrayReview, review: Review, locale: Locale) -> list[tuple[str, str]]:
    """An array as a list of facts: what each is called, and how it reads."""
    text = arrays.array(array, [review.head(id) for id in array.heads], locale)
    place = next(row for row in schedule(review.scene, review) if row.array == array.id)
    profile = review.scene.array(array.id).profile
    mount = locale.say(f"mount.{profile.mount}")
    rows = [
        (
            locale.say("column.array"),
            locale.say("page.array", array=array.id, profile=profile.name, mount=mount),
        ),
        (locale.say("page.place on plan"), _place(place, review.scene, locale)),
        (locale.say("column.height"), locale.say("array.hangs", height=text.height, drop=text.drop)),
        (locale.say("column.band"), text.band),
        (locale.say("page.reach"), locale.between(*array.reach_m)),
    ]
    if len(review.arrays) > 1:
        talkers = locale.listed(array.heads, 9) or locale.say("page.nobody")
        rows.insert(1, (locale.say("column.serves"), talkers))
    if array.margin_m is not None:
        rows.append((locale.say("page.least margin"), text.margin))
    return rows


def first_rows(scene: Scene) -> list[tuple[str, str, str]]:
    """Every talker of a room before its arrays have a place: who, how they are, how high they speak."""
    locale = Locale.of(scene)
    return [
        (head.id, locale.say(f"posture.{head.posture}"), locale.between(*head.mouth_m))
        for head in scene.heads
    ]


def _place(row: ScheduleRow, scene: Scene, locale: Locale) -> str:
    """From which two walls an array is set out, as in the schedule, and where the Plan view has these walls."""
    (left, front), (right, back) = scene.room.bounds_m
    sides = []
    for wall, axis, middle, names in (
        (row.x_wall, 0, (left + right) / 2, ("left", "right")),
        (row.y_wall, 1, (front + back) / 2, ("below", "above")),
    ):
        a, b = scene.room.wall(wall)
        side = names[0] if (a[axis] + b[axis]) / 2 < middle else names[1]
        sides.append(locale.say(f"page.place.{side}", wall=wall_name(wall)))
    walls = locale.listed(sides, len(sides))
    return locale.say("page.place", point=installation.hang_point(row, locale), walls=walls)


class ClearanceRow(NamedTuple):
    """A clearance in the page's table; `look` is its state, `note` is empty where nothing is to be added."""

    who: str
    what: str
    note: str
    required: str
    actual: str
    look: str
    state: str


def clearance_rows(review: Review) -> tuple[list[ClearanceRow], list[str]]:
    """Every clearance in a row, and the sources of their rules, numbered from 1 as the rows refer to them."""
    locale, several = Locale.of(review.scene), len(review.arrays) > 1
    sources: dict[str, int] = {}
    rows = []
    for one in review.clearances:
        text = clearances.row(one, locale)
        source = locale.say("source of", number=text.number, title=text.title, source=text.source)
        number = sources.setdefault(source, len(sources) + 1)
        part = "page.rule" if one.part is None else "page.rule, part"
        rows.append(
            ClearanceRow(
                who=locale.say("page.pair", array=text.array, thing=text.against)
                if several
                else text.against,
                what=locale.say(part, title=text.title, part=text.part, source=number),
                note=text.note if one.state != "clear" else "",
                required=text.required,
                actual=text.actual,
                look=one.state,
                state=text.state,
            )
        )
    return rows, list(sources)


def made_by(scene: Scene, made_on: str | None) -> str:
    """Who made the page, from which file, the date given, the document's own data, and who is assumed to sit there."""
    locale, document = Locale.of(scene), scene.document
    file = Path(scene.source.file).name
    made = " ".join(
        (
            locale.say("page.made"),
            # the name alone: a path would tell whose machine it was, and change the bytes
            *([locale.say("page.made.from", file=file, digest=scene.source.sha256[:12])] if file else []),
            *([locale.say("page.made.on", date=made_on)] if made_on else []),
        )
    )
    values = {
        "document": document.number,
        "revision": document.revision,
        "drawn by": document.drawn_by,
        "checked by": document.checked_by,
    }
    return " ".join(
        (
            locale.say("page.made.closed", made=made),
            *(locale.say(f"page.made.{name}", value=value) for name, value in values.items() if value),
            *assumptions.people(scene),
        )
    )
