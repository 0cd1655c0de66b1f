"""The schedule, the steps and the as-installed tables in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from geometry.records import record
from scenes.findings.installation import ScheduleRow, Step
from scenes.findings.review import Review
from scenes.room.scene import Scene
from scenes.room.walls import wall_name
from viz.words import cautions, clearances, tolerance
from viz.words.locale import DASH, Locale


@record(frozen=True, slots=True)
class ScheduleText:
    """One array's row in words: what it is, where it hangs and how it is held. A dash where there is no such thing."""

    array: str
    profile: str
    x: str
    y: str
    tile: str
    ceiling: str
    underside: str
    drop: str
    turn: str
    band: str
    mass: str
    suspension: str
    cable: str
    cut: str
    second: str
    holes: str
    box: str
    fixing: str
    box_support: str
    array_support: str
    relief: str
    hang: str
    level: str
    tolerance: str


@record(frozen=True, slots=True)
class StepText:
    """One step: its number, a title and what to do."""

    number: int
    title: str
    text: str


@record(frozen=True, slots=True)
class Installed:
    """The tables to fill in: heads, and a row per array with what was designed where there is a value."""

    measured: tuple[str, ...]
    measured_rows: tuple[tuple[str, ...], ...]
    commissioned: tuple[str, ...]
    commissioned_rows: tuple[tuple[str, ...], ...]
    seats: tuple[str, ...]
    note: str


def schedule(row: ScheduleRow, review: Review) -> ScheduleText:
    """One array's row."""
    scene = review.scene
    locale = Locale.of(scene)
    return ScheduleText(
        array=row.array,
        profile=row.profile,
        x=locale.say("row.from wall", length=locale.site(row.x_m), wall=wall_name(row.x_wall)),
        y=locale.say("row.from wall", length=locale.site(row.y_m), wall=wall_name(row.y_wall)),
        tile=_tile(row, locale),
        ceiling=_ceiling(row, locale),
        underside=locale.say(
            "row.above floor", underside=locale.site(row.underside_m), centre=locale.site(row.centre_m)
        ),
        drop=locale.say("row.to centre", drop=locale.site(row.drop_m)),
        turn=locale.say("row.turned", turn=locale.edge(row.turn_deg)),
        band=locale.say("row.banded", band=row.band, edges=locale.edges(row.low_deg, row.high_deg)),
        mass=locale.say("row.mass not given") if row.mass_kg is None else locale.mass(row.mass_kg),
        suspension=locale.say(f"suspension.{row.hangs_by}", count=row.points),
        cable=_cable(row, locale),
        cut=cut(row, locale, locale.site),
        second=_second(row, locale),
        holes=_holes(row, locale),
        box=_box(row, locale),
        fixing=_fixing(row, locale),
        box_support=_box_support(row, locale),
        array_support=locale.say(f"support.array.{'frame' if row.box == 'frame' else row.hangs_by}"),
        relief=_relief(row, locale),
        hang=DASH if row.box == "frame" else locale.say(f"hang.{row.box}"),
        level=_level(row, locale),
        tolerance=tolerance.of_array(row.tolerance, review),
    )


def hung_from(rows: Sequence[ScheduleRow], review: Review) -> tuple[str, ...]:
    """What each array hangs by and where that comes from, a line each, as short as can be."""
    locale = Locale.of(review.scene)
    return tuple(_hung_from(row, schedule(row, review), locale) for row in rows)


def _hung_from(row: ScheduleRow, text: ScheduleText, locale: Locale) -> str:
    held = text.suspension if text.cut == DASH else text.cut
    if row.box == "frame":
        return locale.say("hung in", array=row.array, held=held, box=text.box, ceiling=text.ceiling)
    return locale.say(
        "hung from", array=row.array, held=held, box=text.box, cable=text.cable, ceiling=text.ceiling
    )


def labelled(text: ScheduleText, locale: Locale) -> tuple[tuple[tuple[str, str], ...], ...]:
    """A row as labels and values, in two columns: where it hangs, and how it is held."""
    where = ("profile", "x", "y", "tile", "ceiling", "underside", "drop", "turn", "band", "mass")
    how = (
        *("suspension", "hang", "cut", "cable", "box", "fixing", "holes", "box_support", "array_support"),
        *("second", "relief", "level", "tolerance"),
    )
    return tuple(
        tuple(
            (locale.say(f"label.{name.replace('_', ' ')}"), getattr(text, name))
            for name in names
            # what a flush array or one on a cable does not have
            if getattr(text, name) != DASH or name not in ("hang", "cut", "cable", "level")
        )
        for names in (where, how)
    )


def _frame(row: ScheduleRow) -> str:
    return ", frame" if row.box == "frame" else ""


def _cable(row: ScheduleRow, locale: Locale) -> str:
    """How long the cable is; a dash for what has none to set."""
    if row.box == "frame":
        return DASH
    if row.cable_m is None:
        return locale.say("row.cable not known", spare=locale.site(row.spare_m))
    return locale.say("row.cabled", cable=locale.site(row.cable_m), spare=locale.site(row.spare_m))


def cut(row: ScheduleRow, locale: Locale, length: Callable[[float], str]) -> str:
    """What is cut to length besides the cable: wires, rods or poles, from where to where; a dash where nothing is.

    `length` writes how long it is.
    """
    hang = row.hang
    if hang.by in ("cable", "flush", "recessed"):
        return DASH
    if hang.piece_m is None:
        return locale.say(f"cut.{hang.by} not known, {hang.lacks}", hang.pieces)
    start = locale.say("cut.from structure" if row.box == "structure" else "cut.from ceiling")
    return locale.say(f"cut.{hang.by}", hang.pieces, length=length(hang.piece_m), start=start)


def _second(row: ScheduleRow, locale: Locale) -> str:
    """How long the secondary supports are, straight; or that the structure has to be measured."""
    hang = row.hang
    if hang.second_m is None:
        return locale.say("second.not known")
    array = locale.say("second.array", length=locale.site(hang.second_m))
    if hang.box_line_m is None or row.box_support == "none":
        return locale.say("second", lines=array)
    box = locale.say("second.box", length=locale.site(hang.box_line_m))
    return locale.say("second", lines=locale.listed([array, box]))


def _holes(row: ScheduleRow, locale: Locale) -> str:
    """What the ceiling is opened for: how often, how large, and where."""
    hang = row.hang
    if not hang.holes:
        return locale.say("holes.none")
    cut = hang.by in ("flush", "recessed")
    name = "cut" if cut else "hole"
    size = locale.say(f"holes.{name}, size not known")
    if hang.cutout_m is not None:
        across, deep = (locale.clearance(value) for value in hang.cutout_m)
        round_ = hang.cutout_m[0] == hang.cutout_m[1] and not cut
        size = locale.say("holes.size", across=across, deep=deep)
        if round_:
            size = locale.say("holes.diameter", across=across)
    if len(row.holes_m) == 1:
        return locale.say(f"holes.{name}, one", size=size)
    if not row.holes_m:
        return locale.say("holes.places not known", count=hang.holes, size=size)
    places = [locale.say("holes.place", x=locale.site(x), y=locale.site(y)) for x, y in row.holes_m]
    return locale.say(
        "holes.several",
        count=hang.holes,
        size=size,
        places="; ".join(places),
        x_wall=wall_name(row.x_wall),
        y_wall=wall_name(row.y_wall),
    )


def _ceiling(row: ScheduleRow, locale: Locale) -> str:
    """How high the ceiling is over the array, and which of its parts that is."""
    height = locale.site(row.ceiling_m)
    return height if row.part is None else locale.say("row.ceiling part", height=height, part=row.part)


def _tile(row: ScheduleRow, locale: Locale) -> str:
    if row.tile is None:
        return DASH
    if row.tee is None:
        return row.tile
    return locale.say("row.tile on tee", tile=row.tile, tee=clearances.note(row.tee, locale))


def _box(row: ScheduleRow, locale: Locale) -> str:
    if row.tile is not None and row.box != "under the ceiling":
        return locale.say(f"box.{row.box}, tile", tile=row.tile)
    return locale.say(f"box.{row.box}")


def _fixing(row: ScheduleRow, locale: Locale) -> str:
    suspended = row.ceiling == "suspended" and row.box in ("structure", "frame")
    return locale.say(f"fixing.{row.box}{', suspended' if suspended else ''}")


def _box_support(row: ScheduleRow, locale: Locale) -> str:
    if row.safety_cable is not None:
        return row.safety_cable
    return locale.say(f"support.box.{row.box_support}{_frame(row) if row.box_support == 'line' else ''}")


def _level(row: ScheduleRow, locale: Locale) -> str:
    """How far out of true it may hang; a dash for what a ceiling holds."""
    level_deg = row.tolerance.level_deg
    return locale.say("row.level", level=locale.edge(level_deg)) if level_deg else DASH


def _relief(row: ScheduleRow, locale: Locale) -> str:
    if row.clamp is not None:
        return row.clamp
    if row.relief == "none":
        return locale.say("relief.none")
    return locale.say(f"relief.{'frame' if row.box == 'frame' else row.hangs_by}")


# ---- steps -----------------------------------------------------------------------------------------------


def steps(found: Sequence[Step], rows: Sequence[ScheduleRow], review: Review) -> tuple[StepText, ...]:
    """The steps in order; of a room that fails the one that holds it."""
    locale = Locale.of(review.scene)
    return tuple(
        StepText(number, _step_title(step, rows, locale), _step(step, rows, review, locale))
        for number, step in enumerate(found, 1)
    )


def titles(found: Sequence[Step], array: str, locale: Locale) -> list[str]:
    """What the steps for one array are called, in order."""
    return [locale.say(f"step.title.{step.name}") for step in found if array in step.arrays]


def _step_title(step: Step, rows: Sequence[ScheduleRow], locale: Locale) -> str:
    """What a step is called, and for which arrays it is where it is not for all."""
    title = locale.say(f"step.title.{step.name}")
    if len(step.arrays) == len(rows):
        return title
    return locale.say("step title, arrays", title=title, arrays=locale.listed(step.arrays, len(step.arrays)))


def _step(step: Step, rows: Sequence[ScheduleRow], review: Review, locale: Locale) -> str:
    x_wall, y_wall = (wall_name(index) for index in step.walls)
    text = locale.say(
        f"step.text.{step.name}",
        x_wall=x_wall,
        y_wall=y_wall,
        hold=cautions.hold(review) or "",
        issue=_issue(review.scene, locale),
        signatories=locale.listed([one.who.lower() for one in cautions.signed_by(review)], 6),
        bands=locale.listed([_set_band(row, locale) for row in rows], len(rows)),
    )
    open_here = cautions.open_here(review)
    if step.name == "sign-off" and open_here:
        return locale.say("step, open", text=text, open=open_here)
    return text


def _issue(scene: Scene, locale: Locale) -> str:
    document = scene.document
    if document.revision is None:
        return locale.say("issue.none")
    if document.date is None:
        return locale.say("issue.revision", revision=document.revision)
    return locale.say("issue.revision and date", revision=document.revision, date=document.date)


def _set_band(row: ScheduleRow, locale: Locale) -> str:
    edges = locale.edges(row.low_deg, row.high_deg)
    return locale.say("set band", array=row.array, band=row.band, edges=edges)


# ---- as installed ----------------------------------------------------------------------------------------

_MEASURED = ("array", "x", "y", "underside", "level", "by")
_COMMISSIONED = ("array", "serial", "band", "turn", "support", "signed")


def installed(rows: Sequence[ScheduleRow], review: Review) -> Installed:
    """The tables to fill in on site, and every talker's place to speak from."""
    locale = Locale.of(review.scene)
    heads = {
        names: tuple(locale.say(f"installed.{name}") for name in names)
        for names in (_MEASURED, _COMMISSIONED)
    }
    return Installed(
        measured=heads[_MEASURED],
        measured_rows=tuple(
            (
                row.array,
                locale.site(row.x_m),
                locale.site(row.y_m),
                locale.site(row.underside_m),
                locale.edge(row.tolerance.level_deg) if row.tolerance.level_deg else DASH,
                "",
            )
            for row in rows
        ),
        commissioned=heads[_COMMISSIONED],
        commissioned_rows=tuple(
            (row.array, "", f"{row.band}", locale.edge(row.turn_deg), "", "") for row in rows
        ),
        seats=tuple(dict.fromkeys(head.person for head in review.scene.heads)),
        note=locale.say("as installed"),
    )


def walls(scene: Scene, rows: Sequence[ScheduleRow], locale: Locale) -> Mapping[str, str]:
    """From where to where the walls that a schedule measures from run on plan, by their names."""
    found = {}
    for index in sorted({index for row in rows for index in (row.x_wall, row.y_wall)}):
        a, b = (", ".join(locale.site(value) for value in end) for end in scene.room.wall(index))
        found[wall_name(index)] = locale.say("row.wall", start=a, end=b)
    return found


def hang_point(row: ScheduleRow, locale: Locale) -> str:
    """From which walls an array is set out: `2.40 m from W1, 1.20 m from W2`."""
    return locale.say(
        "hang point",
        x=locale.site(row.x_m),
        x_wall=wall_name(row.x_wall),
        y=locale.site(row.y_m),
        y_wall=wall_name(row.y_wall),
    )
