"""Layouts in a spec file: what each may say, and what must agree in each of them."""

from __future__ import annotations

import pytest

from scenes.room.build import build
from scenes.spec.layouts import MOST_LAYOUTS, id_in, id_out, is_in
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS


def test_each_layout_has_the_top_level_and_its_own() -> None:
    spec = read_spec_text(LAYOUTS)
    assert list(spec.layouts) == ["board", "rows", "halved"]
    board = spec.in_layout("board")
    assert [table.id for table in board.tables] == ["T1"]
    assert len(board.seats) == 2
    assert board.layouts == {}
    assert [one.id for one in spec.in_layout("halved").obstacles] == ["W1"]


@pytest.mark.parametrize(
    ("was", "now", "path", "code"),
    [
        ("{id: R, rows", "{id: S1, rows", "layouts.rows.seats[0].id", "id-taken"),
        (
            "{around: T1, count: 3}",
            "{around: T2, count: 3}",
            "layouts.halved.seats[0].around",
            "unknown-name",
        ),
        ("tables: [{id: T1, shape: round", "tables: [{id: DS1, shape: round", "displays[0].id", "id-taken"),
        ("id: W1, at: [4.6", "id: W1, from: 3, at: [4.6", "layouts.halved.obstacles[0].from", "repeated-key"),
        (
            "  rows:\n    seats",
            "  rows:\n    overhead: []\n    seats",
            "layouts.rows.overhead",
            "unknown-key",
        ),
        ("at: [3.6, 2.7], pitch", "at: [9.6, 2.7], pitch", "layouts.rows.seats[0].at", "seat-outside"),
        ("id: S1, at: [1.0", "id: S1 (board), at: [1.0", "seats[0].id", "id-like-layout"),
        ("overhead:\n", "wishes: {over: T9}\noverhead:\n", "wishes.over", "unknown-name"),
    ],
)
def test_mistakes_are_found_in_the_layout_that_has_them(was: str, now: str, path: str, code: str) -> None:
    assert was in LAYOUTS
    with pytest.raises(SpecMistakes) as raised:
        build(read_spec_text(LAYOUTS.replace(was, now, 1)))
    found = [(one.path, one.code) for one in raised.value.mistakes]
    assert (path, code) in found
    assert len(set(found)) == len(found)


def test_what_another_mistake_names_is_told_where_the_file_has_it() -> None:
    text = LAYOUTS.replace("count: 6, stands: true}", "count: 6}, {around: T1, count: 2}")
    with pytest.raises(SpecMistakes) as raised:
        read_spec_text(text)
    (one,) = raised.value.mistakes
    assert (one.path, dict(one.allowed)) == (
        "layouts.board.seats[1].around",
        {"other": "layouts.board.seats[0].around"},
    )


def test_every_layout_needs_a_talker_and_there_are_not_too_many() -> None:
    bare = LAYOUTS.replace("seats: [{id: S1, at: [1.0, 2.7]}]\n", "")
    empty = bare.replace("    seats: [{id: R, rows: 2", "    tables: []\n#")
    with pytest.raises(SpecMistakes) as raised:
        read_spec_text(empty)
    assert [(one.path, one.code) for one in raised.value.mistakes] == [("layouts.rows", "no-talker")]
    many = "".join(f"  more{k}: {{}}\n" for k in range(MOST_LAYOUTS))
    with pytest.raises(SpecMistakes) as raised:
        read_spec_text(LAYOUTS.replace("layouts:\n", f"layouts:\n{many}"))
    assert [(one.path, one.code) for one in raised.value.mistakes] == [("layouts", "too-many")]


@pytest.mark.parametrize("id", ["S1", "S1-up", "W-3", "a (b)"])
def test_an_id_beside_other_layouts_is_told_back(id: str) -> None:
    named = id_in(id, "board")
    assert named.endswith("-up") == id.endswith("-up")
    assert id_out(named, "board") == id
    assert is_in(named, "board")
    assert not is_in(named, "rows")
    assert id_out(id, "board") == id_out(id, None) == id
