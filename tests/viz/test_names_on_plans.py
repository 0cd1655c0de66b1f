"""Names on plans, read out of each sheet's own DXF: nobody takes one for another's, in any demo room on any paper."""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import cache
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf import path

from scenes.dossier import Dossier
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.viz.drawn import dossier_of, drawn
from viz.sheets import lettering, sheets
from viz.sheets.drawing import Sheet

ROOMS = ("heron", "weir", "loft", "ferry")
EVERY_TIME = [*((room, "A4") for room in ROOMS), ("weir", "Tabloid")]
"""Every room on the smallest paper and the most crowded on the largest; tests/long/long_plans.py has all others."""

TOUCHES_MM = 0.7
"""A leader's end is at least so near to what it belongs to, on paper: letters have a little room round them."""
FARTHER = 1.3
"""Every other named thing is so many times as far from a name without a leader as its own."""
LEAST_MM = 0.4
"""What is nearer than this is at the thing, however near another is."""


class Plan:
    """What a plan's DXF has: what is named by a TAG, the letters of its notes, and its leaders, on paper in mm."""

    def __init__(self, sheet: Sheet) -> None:
        doc = ezdxf.read(io.StringIO(sheet.dxf))
        inches = doc.header["$INSUNITS"] == 1
        self.units = sheet.scale / (25.4 if inches else 1.0)
        suffix = "-RCPL" if sheet.kind == "ceiling" else ""
        space = doc.modelspace()
        spots: dict[tuple[float, float], list[Any]] = {}
        for insert in space.query("INSERT"):
            spots.setdefault((round(insert.dxf.insert.x, 2), round(insert.dxf.insert.y, 2)), []).append(
                insert
            )
        self.things: dict[str, Any] = {}
        for inserts in spots.values():
            tagged = [insert for insert in inserts if insert.has_attrib("TAG")]
            if tagged:
                # chair and figure stand where the mark of who sits there stands
                whole = shapely.union_all([self.shape(insert) for insert in inserts])
                self.things |= {insert.get_attrib_text("TAG"): whole for insert in tagged}
        self.letters = [
            (text.dxf.text, self.box(text)) for text in space.query(f'TEXT[layer=="A-ANNO-NOTE{suffix}"]')
        ]
        self.leaders = [
            [shapely.Point(self.paper(end)) for end in (line.dxf.start, line.dxf.end)]
            for line in space.query(f'LINE[layer=="A-ANNO-LEAD{suffix}"]')
        ]

    def paper(self, at: Any) -> tuple[float, float]:
        return at[0] / self.units, at[1] / self.units

    def shape(self, insert: Any) -> Any:
        """The hull of what a block draws."""
        points = [self.paper(insert.dxf.insert)]
        for entity in insert.virtual_entities():
            if entity.dxftype() != "ATTDEF":
                lines = path.from_hatch(entity) if entity.dxftype() == "HATCH" else [path.make_path(entity)]
                points += [self.paper(at) for line in lines for at in line.flattening(0.1 * self.units)]
        return shapely.MultiPoint(points).convex_hull

    def box(self, text: Any) -> Any:
        """The box of letters, from their baseline to the height of capitals."""
        align, start, end = text.get_placement()
        (x, y), tall = self.paper(start), text.dxf.height / self.units
        wide = lettering.width(text.dxf.text, tall)
        assert end is None
        left = x - {"LEFT": 0.0, "CENTER": wide / 2, "RIGHT": wide}[align.name]
        return shapely.box(left, y, left + wide, y + tall)

    def named(self) -> Iterator[tuple[str, Any]]:
        """Every thing that has a name, with the box of the letters that name it."""
        for tag in self.things:
            for text, box in self.letters:
                if text == tag or text.startswith(f"{tag} "):
                    yield tag, self.with_line_below(box)

    def with_line_below(self, box: Any) -> Any:
        """The box of a name with that of a line that goes on below it."""
        x0, y0, x1, _ = box.bounds
        under = shapely.box(x0 + 0.2, y0 - 2.0, x1 - 0.2, y0 - 0.2)
        return shapely.union_all(
            [box, *(other for _, other in self.letters if other.intersects(under))]
        ).envelope

    def doubtful(self) -> list[str]:
        """The names that could be taken for another thing's."""
        return [tag for tag, box in self.named() if not self.beside(tag, box) and not self.led(tag, box)]

    def others(self, tag: str) -> list[Any]:
        return [
            shape
            for other, shape in self.things.items()
            if other != tag and not shape.equals(self.things[tag])
        ]

    def beside(self, tag: str, box: Any) -> bool:
        own_mm = box.distance(self.things[tag])
        nearest = min((box.distance(other) for other in self.others(tag)), default=1e9)
        return bool(nearest >= max(LEAST_MM, FARTHER * own_mm))

    def led(self, tag: str, box: Any) -> bool:
        """Whether a leader runs from these letters to their thing, and ends nearer to it than to any other."""
        for leader in self.leaders:
            for start, end in (leader, leader[::-1]):
                own_mm = end.distance(self.things[tag])
                near = start.distance(box) <= 2 * TOUCHES_MM and own_mm <= TOUCHES_MM
                if near and all(own_mm < end.distance(other) for other in self.others(tag)):
                    return True
        return False


@cache
def plans(room: str, paper: str) -> tuple[Plan, ...]:
    return tuple(Plan(sheet) for sheet in drawn(room, paper).sheets[:2])


@pytest.mark.parametrize(("room", "paper"), EVERY_TIME)
def test_no_name_stands_nearer_to_another_thing_without_a_leader_to_its_own(room: str, paper: str) -> None:
    for plan in plans(room, paper):
        assert plan.doubtful() == []


@pytest.mark.parametrize("room", ROOMS)
def test_everything_is_named_once_and_every_array_with_its_underside(room: str) -> None:
    scene = dossier_of(room).scene
    floor, ceiling = plans(room, "A4")
    assert sorted(tag for tag, _ in floor.named()) == sorted(floor.things)
    assert sorted(tag for tag, _ in ceiling.named()) == sorted(ceiling.things)
    texts = " ".join(text for text, _ in ceiling.letters)
    assert texts.count("underside ") == len(scene.arrays)
    for plan in (floor, ceiling):
        said = {text for text, _ in plan.letters}
        assert {opening.id for opening in scene.room.openings} <= said


@pytest.mark.parametrize("room", ["heron", "weir", "ferry"])
def test_the_tile_of_the_schedule_is_found_by_its_letter_and_number(room: str) -> None:
    dossier = dossier_of(room)
    [row] = dossier.schedule
    assert row.tile is not None
    ceiling = plans(room, "A4")[1]
    at = {text: box.centroid for text, box in ceiling.letters}
    array = ceiling.things[row.array].centroid
    # the column's letter stands over the array's tile, the row's number beside it
    scale_mm = ceiling.units * (25.4 if room == "ferry" else 1.0)
    half_mm = dossier.scene.room.grid.pitch_m[0] * 500 / scale_mm
    assert abs(at[row.tile[0]].x - array.x) <= half_mm
    assert abs(at[row.tile[1:]].y - array.y) <= half_mm


CROWD = """\
overtable: 1
name: R
units: m
room: {size: [9, 6], ceiling: 2.8}
tables: [{id: T1, shape: rectangle, size: [6.4, 1.4], at: [4.5, 3], height: 0.74}]
seats: [{around: T1, pitch: 0.6, gap: 0.2}]
profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {one: [20, 65]}, reach: [0.8, 3]}}
arrays: [{id: A1, profile: p, at: [4.5, 3], height: 2.2, band: one}]
"""


def test_a_crowded_table_has_leaders_rather_than_names_at_the_wrong_seat() -> None:
    floor = Plan(sheets(Dossier(build(read_spec_text(CROWD)))).sheets[0])
    assert floor.doubtful() == []
    assert floor.leaders


def test_the_measure_of_the_test_finds_a_name_that_stands_at_another() -> None:
    floor = plans("weir", "A4")[0]
    at = dict(floor.named())
    wrong = shapely.affinity.translate(at["T1-1"], *(
        b - a for a, b in zip(at["T1-1"].centroid.coords[0], at["T1-2"].centroid.coords[0], strict=True)
    ))  # fmt: skip
    assert not floor.beside("T1-1", wrong)
    assert not floor.led("T1-1", wrong)
