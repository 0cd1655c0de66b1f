"""A placement spliced into the text: only the changed values change, and what is read back is what was put."""

from __future__ import annotations

import pytest

from scenes.spec.mistakes import SpecMistakes, WriteRefused
from scenes.spec.reading import read_spec_text
from scenes.spec.writing import NewPlace, appended, changes, check_again, keep, spliced, take_back

HEAD = """\
overtable: 1
name: R   # a comment with é
units: m
room: {size: [6, 4], ceiling: 2.8}
seats: [{id: S1, at: [2, 2]}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.05}, bands: {one: [20, 50], "no": [40, 80]}, reach: [1, 3]}
  f: {mount: flush, body: {diameter: 0.2, height: 0.05}, bands: {one: [20, 50]}, reach: [1, 3]}
arrays:
"""

PLACE = NewPlace((3.25, 2.1234), 2.25, "no")


def read(arrays: str):
    return read_spec_text(HEAD + arrays)


@pytest.mark.parametrize(
    ("arrays", "expected"),
    [
        pytest.param(
            "  - {id: A1, profile: p, at: [1, 1], height: 2.0, band: one}   # stays\n",
            "  - {id: A1, profile: p, at: [3.25, 2.1234], height: 2.25, band: 'no'}   # stays\n",
            id="flow, all given",
        ),
        pytest.param(
            "  - {id: A1, profile: p}\n",
            "  - {id: A1, profile: p, at: [3.25, 2.1234], height: 2.25, band: 'no'}\n",
            id="flow, all open",
        ),
        pytest.param(
            "  - {band: one, profile: p, id: A1, drop: 30 cm}\n",
            "  - {band: 'no', profile: p, id: A1, drop: 0.55, at: [3.25, 2.1234]}\n",
            id="drop is the last and changes",
        ),
        pytest.param(
            "  - id: A1\n    profile: p   # which\n    at:\n      - 1\n      - 1   # here\n    height:\n\n# end\n",
            "  - id: A1\n    profile: p   # which\n    at: [3.25, 2.1234]   # here\n    height: 2.25\n"
            "    band: 'no'\n\n# end\n",
            id="block, a list on lines and an empty value",
        ),
        pytest.param(
            "  - id: A1\n    profile: p   # which\n# end\n",
            "  - id: A1\n    profile: p   # which\n    at: [3.25, 2.1234]\n    height: 2.25\n    band: 'no'\n# end\n",
            id="block, all open",
        ),
        pytest.param(
            "  - id: A1\r\n    profile: p\r\n    band: one",
            "  - id: A1\r\n    profile: p\r\n    band: 'no'\r\n    at: [3.25, 2.1234]\r\n    height: 2.25",
            id="block, CRLF, no last line end",
        ),
        pytest.param(
            "  - id: A1\n    profile: >-\n      p\n\n\n# end\n",
            "  - id: A1\n    profile: >-\n      p\n"
            "    at: [3.25, 2.1234]\n    height: 2.25\n    band: 'no'\n\n\n# end\n",
            id="block, a text on lines of its own is the last",
        ),
        pytest.param(
            "  - id: A1\n    band: |-\n      one\n    profile: p\n",
            "  - id: A1\n    band: 'no'\n    profile: p\n    at: [3.25, 2.1234]\n    height: 2.25\n",
            id="block, a text on lines of its own changes",
        ),
        pytest.param(
            '  - {id: A1, profile: p, at: [3.25, 2.1234], height: 225 cm, band: "no"}\n',
            '  - {id: A1, profile: p, at: [3.25, 2.1234], height: 225 cm, band: "no"}\n',
            id="nothing to change",
        ),
    ],
)
def test_only_the_changed_values_are_spliced(arrays, expected):
    spec = read(arrays)
    text = spliced(spec, {"A1": PLACE})
    assert text == HEAD + expected
    again = check_again(spec, text, {"A1": PLACE})
    assert again.arrays[0].at == pytest.approx(PLACE.at_m, abs=1e-4)
    assert again.centre_height(again.arrays[0]) == pytest.approx(PLACE.height_m, abs=1e-4)
    assert (changes(spec, text) == "") == (arrays == expected)


def test_flush_arrays_get_no_height():
    spec = read("  - {id: A1, profile: f, at: [1, 1]}\n")
    place = NewPlace((2.0, 1.5), None, "one")
    text = spliced(spec, {"A1": place})
    assert text == HEAD + "  - {id: A1, profile: f, at: [2, 1.5], band: one}\n"
    check_again(spec, text, {"A1": place})


def test_feet_are_written_in_feet():
    text = HEAD.replace("units: m", "units: ft").replace("[6, 4], ceiling: 2.8", "[20, 14], ceiling: 9")
    text = text.replace("0.2", "8 in").replace("0.05", "2 in").replace("[1, 3]", "[3, 10]")
    spec = read_spec_text(text + '  - {id: A1, profile: p, at: ["3\'", 4], height: 7}\n')
    new = spliced(spec, {"A1": NewPlace((3.048, 1.524), 2.1336, "one")})
    assert new == text + "  - {id: A1, profile: p, at: [10, 5], height: 7, band: one}\n"


def test_an_aliased_array_is_refused():
    spec = read("  - &a {id: A1, profile: p, at: [1, 1], height: 2, band: one}\n  - {<<: *a, id: A2}\n")
    with pytest.raises(SpecMistakes, match="array-shared"):
        spliced(spec, {"A1": PLACE})


def test_a_text_that_changes_more_is_refused():
    spec = read("  - {id: A1, profile: p, at: [1, 1], height: 2.0, band: one}\n")
    text = spliced(spec, {"A1": PLACE}).replace("name: R ", "name: Q ")
    with pytest.raises(WriteRefused, match="more than arrays"):
        check_again(spec, text, {"A1": PLACE})
    with pytest.raises(WriteRefused, match="elsewhere"):
        check_again(spec, spec.source.text, {"A1": PLACE})
    turned = spliced(spec, {"A1": PLACE}).replace("{id: A1,", "{id: A1, turn: 5,")
    with pytest.raises(WriteRefused, match="more of an array"):
        check_again(spec, turned, {"A1": PLACE})
    with pytest.raises(WriteRefused, match="unreadable"):
        check_again(spec, spec.source.text + "  }", {"A1": PLACE})


def test_keep_replaces_the_file_and_its_mark_stays(tmp_path):
    file = tmp_path / "room.yaml"
    file.write_bytes(b"\xef\xbb\xbfold\r\n")
    keep(file, "new\r\n", "old\r\n")
    assert file.read_bytes() == b"\xef\xbb\xbfnew\r\n"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["room.yaml", "room.yaml.before"]
    with pytest.raises(WriteRefused, match="changed since"):
        keep(file, "newer\r\n", "old\r\n")
    assert file.read_bytes() == b"\xef\xbb\xbfnew\r\n"


@pytest.mark.parametrize(
    ("arrays", "expected"),
    [
        ("", "arrays:\n  - {id: A1, profile: p, at: [2, 1.5], height: 2.1, band: one}\n"),
        ("arrays: []\n", "arrays: [{id: A1, profile: p, at: [2, 1.5], height: 2.1, band: one}]\n"),
        ("arrays: []", "arrays: [{id: A1, profile: p, at: [2, 1.5], height: 2.1, band: one}]"),
    ],
)
def test_the_first_array_gets_a_key_of_its_own(arrays, expected):
    text = HEAD.removesuffix("arrays:\n")
    assert text != HEAD
    spec = read_spec_text(text + arrays)
    assert appended(spec, spec.source.text, "A1", "p", NewPlace((2.0, 1.5), 2.1, "one")) == text + expected


def test_the_first_array_is_written_behind_the_last_key_whatever_follows():
    # behind the last key, also where something follows it
    text = HEAD.removesuffix("arrays:\n")
    item = "{id: A1, profile: p, at: [2, 1.5], height: 2.1, band: one}"
    for rest in ("...\n", "# the end\n"):
        spec = read_spec_text(text + rest)
        written = appended(spec, spec.source.text, "A1", "p", NewPlace((2.0, 1.5), 2.1, "one"))
        assert written == f"{text}arrays:\n  - {item}\n{rest}"
    flow = (
        "{overtable: 1, name: R, units: m, room: {size: [6, 4], ceiling: 2.8}, seats: [{id: S1, at: [2, 2]}], "
        "profiles: {p: {mount: pendant, body: {diameter: 0.2, height: 0.05}, bands: {one: [20, 50]}, reach: [1, 3]}}}\n"
    )
    spec = read_spec_text(flow)
    written = appended(spec, spec.source.text, "A1", "p", NewPlace((2.0, 1.5), 2.1, "one"))
    assert written == flow.replace("}}}\n", "}}, arrays: [" + item + "]}\n")


def test_what_was_written_is_taken_back_and_written_again(tmp_path):
    file, old = tmp_path / "room.yaml", b"\xef\xbb\xbfat: 1\r\nno line end"
    file.write_bytes(old)
    with pytest.raises(WriteRefused, match="nothing to undo"):
        take_back(file)
    keep(file, "at: 2\r\nno line end", "at: 1\r\nno line end")
    new = file.read_bytes()
    assert take_back(file).splitlines()[-2:] == ["-at: 2", "+at: 1"]
    assert file.read_bytes() == old
    take_back(file)
    assert file.read_bytes() == new
    file.write_bytes(new + b" # mine")
    with pytest.raises(WriteRefused, match="changed since it was written"):
        take_back(file)
    assert file.read_bytes() == new + b" # mine"


@pytest.mark.parametrize(
    "theirs", [b"", b"mine\n", b"x\n# overtable undo: 1 bytes, " + b"0" * 64 + b" became " + b"0" * 64]
)
def test_a_file_of_somebodys_with_the_name_of_the_copy_is_left_alone(tmp_path, theirs):
    file, copy = tmp_path / "room.yaml", tmp_path / "room.yaml.before"
    file.write_text("old\n")
    copy.write_bytes(theirs)
    for write in (lambda: keep(file, "new\n", "old\n"), lambda: take_back(file)):
        with pytest.raises(WriteRefused, match="not our copy"):
            write()
    assert (file.read_text(), copy.read_bytes()) == ("old\n", theirs)


def test_a_folder_with_the_name_of_the_copy_is_left_alone(tmp_path):
    file = tmp_path / "room.yaml"
    file.write_text("old\n")
    (tmp_path / "room.yaml.before").mkdir()
    for write in (lambda: keep(file, "new\n", "old\n"), lambda: take_back(file)):
        with pytest.raises(WriteRefused, match="not our copy"):
            write()
    assert file.read_text() == "old\n"


def test_a_place_in_lines_no_deeper_than_its_key_is_replaced():
    # as programs write it
    text = (
        "overtable: 1\nname: Over Lines\nunits: m\nroom: {size: [6, 4], ceiling: 2.7}\n"
        "seats: [{id: S1, at: [2, 2]}]\n"
        "profiles:\n  p: {mount: pendant, body: {diameter: 0.2, height: 0.1}, bands: {mid: [20, 70]}, reach: [0.5, 3]}\n"
        "arrays:\n- id: A1\n  profile: p\n  at:\n  - 3\n  - 2\n  height: 2.2\n  band: mid\n"
        "overhead:\n- {id: L1, kind: light, at: [1, 1], below: 0}\n"
    )
    spec = read_spec_text(text, "lines.yaml")
    new = spliced(spec, {"A1": NewPlace((1.5, 2.5), 2.1, "mid")})
    check_again(spec, new, {"A1": NewPlace((1.5, 2.5), 2.1, "mid")})
    assert "  at: [1.5, 2.5]\n  height: 2.1\n" in new


def test_a_whole_sixteenth_of_an_inch_is_written_exactly_in_feet():
    from scenes.spec.lengths import parse_length
    from scenes.spec.writing import _number

    for sixteenths in (1, 37, 1387):
        metres = sixteenths * 0.0254 / 16
        assert parse_length(_number(metres, "ft"), "ft") == pytest.approx(metres, abs=1e-9)
    assert _number(2.2, "ft") == "7.2178"
