"""What a thing of a room is called: one table of names for its kind, in every output."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from scenes.dossier import Dossier
from scenes.review.review import review
from scenes.room.scene import Scene
from tests.scenes.ceiling_rooms import busy_room
from viz.csvs import clearances_csv
from viz.sheets.drawing import sheets
from viz.stage import staged
from viz.words import clearances
from viz.words.english import MESSAGES
from viz.words.locale import Locale
from viz.words.things import kind_name, named


@pytest.fixture(scope="module")
def room() -> Scene:
    """The busy room, whose light is of a kind that has no symbol and no rule of its own."""
    scene = busy_room()
    overhead = [replace(one, kind="other") if one.kind == "light" else one for one in scene.overhead]
    return replace(scene, overhead=tuple(overhead))


def test_a_kind_is_called_by_the_table_alone_wherever_it_is_read(
    room: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(MESSAGES, "kind.other", ("box of its own kind", "boxes of their own kind"))
    found = review(room)
    other = next(one for one in room.overhead if one.kind == "other")
    called = f"box of its own kind {other.id}"
    assert named(other.id, room) == called
    about = [one for one in found.clearances if one.kind == "other"]
    assert about
    assert {clearances.thing(one, Locale.of(room)) for one in about} == {called}
    rows = list(csv.DictReader(io.StringIO(clearances_csv(found))))
    assert {row["kind"] for row in rows if row["against"] == other.id} == {"box of its own kind"}
    dossier = Dossier(room)
    assert "box of its own kind" in {prop.legend for prop in staged(dossier).layer("overhead")}
    drawing = sheets(dossier).dxf
    assert drawing.count("box of its own kind") >= 2, "in the ceiling plan's legend, and with its symbol"


def test_several_of_a_kind_are_named_in_the_plural() -> None:
    locale = Locale("m")
    assert [kind_name("access panel", locale, count) for count in (1, 2)] == ["access panel", "access panels"]
    assert [kind_name("other", locale, count) for count in (1, 2)] == ["device", "devices"]
