"""Rooms built in code for the tests of rules, sightlines and schedules: one array over one table."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from geometry.shapes import Cylinder, Point2
from scenes.findings.clearance import Clearance
from scenes.room.provenance import Given
from scenes.room.scene import (
    Array,
    Device,
    Display,
    Document,
    Grid,
    Head,
    Obstacle,
    Profile,
    Room,
    RuleChange,
    Scene,
    Suspension,
    Table,
)
from scenes.room.swing import Swing
from scenes.rules.clearances import clearances

CEILING_M = 2.75


def profile(
    diameter_m: float = 0.1, tall_m: float = 0.06, *, mount: str = "pendant", size: Any = None, **more: Any
) -> Profile:
    tall_m = tall_m if size is None else size[2]
    centre = more.pop("centre_m", 0.0 if mount == "flush" else tall_m / 2)
    return Profile(
        name="lamp",
        mount=mount,  # type: ignore[arg-type]
        round=size is None,
        size_m=size or (diameter_m, diameter_m, tall_m),
        centre_m=centre,
        bands={"mid": (21.0, 66.0)},
        reach_m=(0.8, 3.5),
        sectors=1,
        hangs_by=more.pop("hangs_by", "flush" if mount == "flush" else "cable"),
        points=more.pop("points", 1),
        mass_kg=more.pop("mass_kg", 1.4),
        level_deg=more.pop("level_deg", 1.0),
    )


def array(id: str = "A1", at: Point2 = (3.0, 2.0), height_m: float = 2.2, **more: Any) -> Array:
    kind = more.pop("profile", None) or profile()
    if kind.mount == "flush":
        height_m = CEILING_M
    return Array(id, kind, at, height_m, "mid", more.pop("turn_deg", 0.0), "height")


def device(id: str, kind: str, at: Point2, below_m: float = 0.05, **more: Any) -> Device:
    size = more.pop("size_m", (0.06, 0.06))
    depth = more.pop("depth_m", 0.05)
    standard = "standard" if kind == "sprinkler" else None
    return Device(
        id=id,
        kind=kind,
        at_m=at,
        size=Given(size),
        round=more.pop("round", True),
        turn_deg=more.pop("turn_deg", 0.0),
        below_m=below_m,
        depth=Given(depth),
        stem_m=more.pop("stem_m", None),
        spray=more.pop("spray", standard),
        required_m=more.pop("required_m", None),
        low_m=CEILING_M - below_m,
    )


def guessed(of: Device, *what: str) -> Device:
    """The device with its `size` or `depth`, or both, a default of overtable's own."""
    changes: Any = {name: Given(getattr(of, name).value, "default") for name in what}
    return replace(of, **changes)


def table(id: str = "T1", low: Point2 = (2.0, 1.5), high: Point2 = (4.0, 2.5)) -> Table:
    outline = (low, (high[0], low[1]), high, (low[0], high[1]))
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    return Table(id, "rectangle", middle, (high[0] - low[0], high[1] - low[1]), 0.0, 0.74, outline)


def head(id: str, at: Point2, mouth_m: tuple[float, float] = (1.2, 1.2), **more: Any) -> Head:
    return Head(id, more.pop("posture", "seated"), at, Given(mouth_m), Given(0.1), 0.0, "G", **more)


def scene(**parts: Any) -> Scene:
    room = Room(
        outline_m=((0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)),
        ceiling_m=CEILING_M,
        ceiling_kind=parts.pop("ceiling_kind", "suspended"),
        structure_m=parts.pop("structure_m", 3.4),
        grid=parts.pop("grid", None),
        north_deg=90.0,
        openings=(),
    )
    arrays = parts.pop("arrays", (array(),))
    usual: dict[str, Any] = {
        "name": "Room in a test",
        "project": None,
        "document": Document(),
        "units": "m",
        "room": room,
        "tables": (table(),),
        "heads": (head("S1", (2.4, 1.3)), head("S2", (3.6, 2.7))),
        "profiles": {"lamp": arrays[0].profile},
        "arrays": arrays,
    }
    return Scene(**{**usual, **parts})


def changed(of: Scene, rule: str, value_m: float | None = None, reason: str = "agreed on site") -> Scene:
    return replace(of, rule_changes=(RuleChange(rule, value_m is None, value_m, reason),))


def rows(of: Scene, rule: str) -> list[Clearance]:
    """The clearances of a room by one rule."""
    return [row for row in clearances(of) if row.rule == rule]


def only(of: Scene, rule: str) -> Clearance:
    """The one clearance of a room by one rule."""
    [row] = rows(of, rule)
    return row


def cause_of(row: Clearance) -> str | None:
    """The name of what decides a clearance."""
    return None if row.cause is None else row.cause.name


def near_sprinkler(apart_m: float, *, height_m: float = 2.6, diameter_m: float = 0.1, **more: Any) -> Scene:
    """A round body whose near edge is `apart_m` from a sprinkler on plan, above the plane under it."""
    kind = profile(diameter_m)
    sprinkler = device("SP1", "sprinkler", (3.0 - diameter_m / 2 - apart_m, 2.0), **more)
    return scene(arrays=(array(profile=kind, height_m=height_m),), overhead=(sprinkler,), tables=())


def busy_room(
    turn_deg: float = 20.0,
    *,
    wide: bool = False,
    mount: str = "pendant",
    grid: bool = False,
    swing_deg: float | None = None,
) -> Scene:
    """Two arrays among devices of many kinds, a column and a screen that a projector faces."""
    size = (0.4, 0.25, 0.08) if wide else None
    return scene(
        arrays=(
            array(profile=profile(0.2, 0.08, size=size, mount=mount), turn_deg=turn_deg),
            array("A2", (4.6, 1.0), 2.4),
        ),
        grid=Grid((0.6, 0.6), (0.1, 0.2)) if grid else None,
        tables=(table("T1", (2.0, 1.5), (3.0, 2.5)), table("T2", (3.0, 1.5), (4.0, 2.5))),
        overhead=(
            device("SP1", "sprinkler", (2.2, 1.5), below_m=0.08),
            device("SP2", "sprinkler", (4.5, 3.0), below_m=0.3),
            device(
                "L1",
                "light",
                (3.0, 1.0),
                size_m=(1.2, 0.3),
                round=False,
                turn_deg=35,
                below_m=0.4,
                stem_m=0.35,
            ),
            device("SD1", "smoke detector", (1.0, 3.0)),
            device("PJ1", "projector", (0.6, 2.0), below_m=0.4, size_m=(0.4, 0.3), round=False),
            device("B1", "beam", (5.0, 2.0), below_m=0.2, size_m=(0.2, 3.0), round=False, depth_m=0.2),
        ),
        obstacles=(Obstacle("C1", Cylinder((1.5, 3.2, CEILING_M / 2), 0.2, CEILING_M)),),
        displays=(Display("DS1", (5.9, 2.0, 1.6), 2.0, 1.2, 180.0),),
        suspension=Suspension(swing=None if swing_deg is None else Swing(swing_deg, "a letter")),
    )
