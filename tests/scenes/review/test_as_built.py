"""The room as it hangs: what is told to correct is applied and judged again; wrong figures are told where they stand."""

from __future__ import annotations

from pathlib import Path

import pytest

from scenes.findings.as_built import AsBuilt
from scenes.review.as_built import as_built
from scenes.room.scene import Scene
from scenes.spec.measured import COLUMNS, read_measured
from scenes.spec.mistakes import SpecMistakes
from tests.viz.rooms import demo_scene
from viz.words import as_built as words
from viz.words.locale import Locale


@pytest.fixture(scope="module")
def heron() -> Scene:
    return demo_scene("heron")


def _found(scene: Scene, folder: Path, row: str) -> AsBuilt:
    path = folder / "measured.yaml"
    path.write_text(f"overtable: 1\nunits: mm\narrays:\n  - {{id: A1, {row}}}\n", encoding="utf-8")
    return as_built(scene, read_measured(path))


def test_an_array_as_designed_holds(heron: Scene, tmp_path: Path) -> None:
    found = _found(
        heron, tmp_path, "off_walls: [3300, 2250], underside: 2160, level: 0.5, band: main, turn: 0"
    )
    assert found.holds
    assert found.corrections == ()
    assert found.review.arrays[0].at_m == pytest.approx(found.designed.arrays[0].at_m)
    assert words.lines(found)[:2] == (
        "The room holds as it hangs.",
        "A1 hangs 0.5° out of level (at most 1°).",
    )


def test_inside_its_tolerance_it_holds_and_what_is_left_is_judged_from_there(
    heron: Scene, tmp_path: Path
) -> None:
    found = _found(heron, tmp_path, "off_walls: [3350, 2210], underside: 2190")
    designed = found.designed.arrays[0].tolerance
    # 50 and 40 mm aside, 30 mm up: within what the card allows all at once
    assert designed.sideways_m >= 0.050
    assert (designed.up_m or 0) >= 0.030
    assert found.holds
    (off,) = found.arrays
    assert (off.x_m, off.y_m, off.up_m) == pytest.approx((0.050, -0.040, 0.030))
    assert found.review.arrays[0].tolerance != designed


@pytest.mark.parametrize(
    ("row", "quantities", "text"),
    [
        ("off_walls: [3310, 2250], underside: 2240", ("height",), "Correct first: lower A1 by 80 mm."),
        ("underside: 2165, band: outer", ("band",), "Correct first: set A1 to band main."),
        (
            "off_walls: [4300, 2250], underside: 2170",
            ("place",),
            "Correct first: move A1 1.000 m towards W4.",
        ),
        ("level: 2", ("level",), "Correct first: level A1, which is 2° out (at most 1°)."),
    ],
)
def test_what_is_corrected_first_makes_it_hold(
    heron: Scene, tmp_path: Path, row: str, quantities: tuple[str, ...], text: str
) -> None:
    found = _found(heron, tmp_path, row)
    assert not found.holds
    (first,) = found.corrections
    assert first.quantities == quantities
    assert first.holds
    said = words.corrections(found, Locale.of(heron))
    assert said == [f"{text} The room then holds as designed."]


def test_the_schedule_s_own_table_is_read(heron: Scene, tmp_path: Path) -> None:
    path = tmp_path / "schedule.csv"
    head = ["room", *COLUMNS, "hold"]
    cells = {
        "room": "Heron, the room",
        "array": "A1",
        "x_off_wall_m": "3.3",
        "y_off_wall_m": "2.25",
        "band": "main",
    }
    rows = [head, [f'"{cells[name]}"' if name in cells else "" for name in head]]
    path.write_text("\r\n".join(",".join(row) for row in rows) + "\r\n", encoding="utf-8")
    found = as_built(heron, read_measured(path))
    assert found.holds
    assert found.arrays[0].up_m is None


@pytest.mark.parametrize(
    ("text", "code", "line", "path"),
    [
        ("array,underside_m\nB1,2.1\n", "unknown-name", 2, "arrays[0].id"),
        ("array,underside_m\nA1,2.1\nA1,2.2\n", "id-taken", 3, "arrays[1].id"),
        ("array,underside_m\n\nA1,high\n", "length", 3, "arrays[0].underside"),
        ("array,band\nA1,wide\n", "unknown-name", 2, "arrays[0].band"),
        ("array,underside_m\nA1,2.9\n", "height-range", 2, "arrays[0].underside"),
        ("array,x_off_wall_m,y_off_wall_m\nA1,30,2\n", "outside-room", 2, "arrays[0].off_walls"),
        ("name,underside_m\nA1,2.1\n", "missing-key", 1, ""),
        ("array\n", "too-few", 1, "arrays"),
    ],
)
def test_what_cannot_be_is_told_in_the_table_s_lines(
    heron: Scene, tmp_path: Path, text: str, code: str, line: int, path: str
) -> None:
    file = tmp_path / "measured.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SpecMistakes) as caught:
        as_built(heron, read_measured(file))
    (mistake,) = caught.value.mistakes
    assert (mistake.code, mistake.line, mistake.path) == (code, line, path)


def test_a_flush_array_has_no_underside_to_measure(tmp_path: Path) -> None:
    with pytest.raises(SpecMistakes) as caught:
        _found(demo_scene("ferry"), tmp_path, "underside: 2700")
    assert [one.code for one in caught.value.mistakes] == ["flush-height"]


def test_a_room_that_fails_as_designed_is_never_said_to_hold(tmp_path: Path) -> None:
    weir = demo_scene("weir")
    found = _found(weir, tmp_path, "underside: 2180, band: main")
    assert found.designed.held
    assert not found.holds
    assert found.corrections == ()
    assert words.lines(found)[0] == "The room fails as it was designed. Correct the design first."


def test_out_of_level_as_far_as_it_may_but_too_far_for_a_talker_is_levelled(
    heron: Scene, tmp_path: Path
) -> None:
    # near the lower end of its height somebody has less margin than a degree takes: 2 x 3.1 m x sin 0.5 deg = 54 mm
    level = _found(heron, tmp_path, "underside: 2040")
    assert level.holds
    assert 0 <= min(head.margin_m for head in level.review.heads) < 0.054
    found = _found(heron, tmp_path, "underside: 2040, level: 1")
    assert found.review.verdict == level.review.verdict
    assert not found.holds
    (off,) = found.arrays
    assert off.at_risk
    (said,) = words.corrections(found, Locale.of(heron))
    assert said.startswith("Correct first: level A1, which is 1° out and may lose T1-")
