"""What a spec file may say: good files read whole, bad ones are told where, what and what is allowed."""

from __future__ import annotations

import ast
import json
import os
import random
import re
import subprocess
import sys
from itertools import cycle
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from scenes.spec.equipment import RoundBody
from scenes.spec.mistakes import Inside, SpecMistakes
from scenes.spec.occupants import AroundSeats, StandingLine
from scenes.spec.reading import read_spec, read_spec_text
from scenes.spec.schema import spec_schema
from scenes.spec.yaml_tree import read_tree
from tests.small_room import SMALL
from viz.words.mistakes import lines

HERE = Path(__file__).parents[1] / "specs"
# The bad files say in their first lines which mistakes they make: line, path | found | code.
EXPECTED = re.compile(r"^# mistake: (\d+) (\S*) \| (.*) \| (.*)$", re.MULTILINE)
BAD = sorted(file.stem for file in HERE.glob("*.yaml") if EXPECTED.match(file.read_text(encoding="utf-8")))


def mistakes_of(text: str, folder: Path | None = None) -> SpecMistakes:
    with pytest.raises(SpecMistakes) as raised:
        read_spec_text(text, "room.yaml", folder)
    return raised.value


def test_a_whole_room_reads() -> None:
    spec = read_spec(HERE / "harbour-room.yaml")
    assert spec.name == "Harbour Room"
    assert spec.document is not None
    assert spec.document.date == "2026-11-25"
    assert spec.room.corners == ((0, 0), (7.2, 0), (7.2, 4.6), (0, 4.6))
    assert spec.room.ceiling.height == 2.75
    assert spec.people.seated.mouth == (1.07, 1.24)
    assert isinstance(spec.seats[0], AroundSeats)
    assert isinstance(spec.standing[1], StandingLine)
    assert spec.profiles["halo"].bands["outer"] == (17, 43)
    assert isinstance(spec.profiles["halo"].body, RoundBody)
    assert spec.centre_height(spec.arrays[0]) == 2.2
    assert spec.overhead[1].size == (1.2, 0.3)
    assert spec.obstacles[0].from_ == 0
    assert spec.cameras[0].at == (7.1, 2.3, 1.15)
    assert spec.displays[0].facing == 180
    assert spec.acoustics is not None
    assert spec.acoustics.reverberation_s == 0.5


def test_every_key_is_read_and_every_length_becomes_metres() -> None:
    spec = read_spec(HERE / "every-key.yaml")
    # Conversions by the exact inch of 25.4 mm: 29'-6 1/4" is 354.25 in, 29 in, 2 ft.
    assert spec.room.corners == ((0, 0), (9, 0), (9, 8.99795), (4.5, 7), (0, 7))
    assert spec.room.grid is not None
    assert spec.room.grid.origin == (0.15, 0)
    assert [opening.sill for opening in spec.room.openings] == [0, 0.9, 0]
    assert spec.tables[0].height == 0.7366
    assert spec.tables[1].shape == "racetrack"
    assert spec.tables[1].height == 0.7366
    assert spec.people.seated.population == "of the file's choice"
    assert spec.people.seated.seat == 0.44
    assert spec.people.standing.mouth == (1.5, 1.5)
    assert spec.people.standing.sway == 0.1
    assert spec.seats[0].stands
    assert spec.seats[1].mouth == (1.1, 1.25)
    assert spec.overhead[2].below == -0.2
    assert spec.overhead[2].required == 0.6096
    assert spec.limits.headroom == 2.1
    assert spec.suspension.box is not None
    assert spec.suspension.box.fixing == "structure"
    assert spec.suspension.safety_cable == "2 mm steel rope"
    assert spec.suspension.clamp is True
    assert not spec.rules["another"].use
    # Pendant: the centre is 20 mm above the underside, as the profile says; flush: at the ceiling.
    reed, tile = spec.profiles["reed"], spec.profiles["tile"]
    assert (reed.centre_above_underside, tile.centre_above_underside) == (0.02, 0)
    assert abs(reed.top_above_centre - 0.04) < 1e-12
    assert [spec.centre_height(array) for array in spec.arrays] == [2.2, 2.7, 3.2, None]


def test_every_key_of_the_models_is_in_the_file_of_every_key() -> None:
    written = set(re.findall(r"(\w+):", (HERE / "every-key.yaml").read_text(encoding="utf-8")))
    known = {
        key
        for definition in (spec_schema(), *spec_schema()["$defs"].values())
        for key in definition.get("properties", {})
    }
    # room: one of size and outline; Library has its own file.
    assert known - written == set()


def test_what_a_file_leaves_out() -> None:
    spec = read_spec_text(SMALL)
    assert spec.people.seated.mouth == (1.2, 1.2)
    assert spec.people.standing.mouth == (1.5, 1.5)
    assert spec.people.seated.sway == spec.people.standing.sway == 0.1
    assert spec.limits.model_dump() == {"wall": 0.3, "headroom": 2.032, "free_over_table": 0.6}
    assert spec.tables[0].height == 0.74
    assert spec.profiles["reed"].level == 1
    assert spec.profiles["reed"].sectors == 1
    assert spec.profiles["reed"].centre_above_underside == 0.05
    assert spec.room.corners == ((0, 0), (6, 0), (6, 4), (0, 4))
    assert spec.room.ceiling.kind == "suspended"
    around = spec.seats[0]
    assert isinstance(around, AroundSeats)
    assert around.gap == 0.25
    around = read_spec_text(SMALL.replace(", count: 4", "")).seats[0]
    assert isinstance(around, AroundSeats)
    assert (around.pitch, around.count) == (0.75, None)
    people = read_spec_text(SMALL + "people: {seated: {sway: 0.2}}\n").people
    assert (people.seated.mouth, people.seated.sway) == ((1.2, 1.2), 0.2)


@pytest.mark.parametrize("units", ["m", "cm", "mm", "ft", "in"])
def test_the_same_room_in_other_units_is_the_same_spec(units: str) -> None:
    # Metres in each unit: the international yard and pound agreement of 1959 for ft and in.
    scale = {"m": 1, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "in": 0.0254}[units]

    def bare(match: re.Match[str]) -> str:
        return f"{float(match[0]) / scale!r}"

    def told(match: re.Match[str]) -> str:
        return f'"{match[0]} m"'

    lengths = re.compile(r"(?<=size: \[)\d, \d|(?<=at: \[)\d, \d|(?<=reach: \[)\d, \d|(?<=: )\d\.\d")
    expected = read_spec_text(SMALL).model_dump(exclude={"units"})
    for write in (bare, told):
        text = lengths.sub(lambda found, write=write: re.sub(r"[\d.]+", write, found[0]), SMALL)
        read = read_spec_text(text.replace("units: m", f"units: {units}")).model_dump(exclude={"units"})
        assert json.dumps(read) == json.dumps(expected) or units in ("ft", "in")
        assert all(abs(a - b) < 1e-12 for a, b in zip(numbers(read), numbers(expected), strict=True))


def numbers(tree: object) -> list[float]:
    """All numbers in a tree, in order."""
    if isinstance(tree, dict):
        return [number for value in tree.values() for number in numbers(value)]
    if isinstance(tree, (list, tuple)):
        return [number for value in tree for number in numbers(value)]
    return [tree] if isinstance(tree, (int, float)) else []


def test_a_spec_is_frozen_and_knows_its_source() -> None:
    spec = read_spec(HERE / "harbour-room.yaml")
    with pytest.raises(Exception, match="frozen"):
        spec.name = "another"  # type: ignore[misc]
    source = spec.source
    assert source is not None
    text = (HERE / "harbour-room.yaml").read_text(encoding="utf-8")
    assert source.text == text
    assert len(source.sha256) == 64
    assert text[slice(*source.marks.value_span(("arrays", 0, "height")))] == "2.2"
    mistake = source.marks.mistake(("arrays", 0, "band"), "no-band", array="A1")
    assert (mistake.line, mistake.path, mistake.found.text) == (41, "arrays[0].band", "outer")
    # What stands in a file, not where it stands.
    assert spec == read_spec_text(text, "elsewhere.yaml")
    assert spec != read_spec_text(text.replace("height: 2.2", "height: 2.3"))


@pytest.mark.parametrize("trouble", BAD)
def test_a_bad_file_hears_of_all_its_mistakes(trouble: str) -> None:
    file = HERE / f"{trouble}.yaml"
    with pytest.raises(SpecMistakes) as raised:
        read_spec(file)
    expected = EXPECTED.findall(file.read_text(encoding="utf-8"))
    assert [
        (str(one.line), one.path, one.found.text or one.found.kind, one.code) for one in raised.value.mistakes
    ] == expected
    lines = file.read_text(encoding="utf-8").splitlines()
    assert all(one.column <= len(lines[one.line - 1]) + 1 for one in raised.value.mistakes)


def test_there_are_bad_files() -> None:
    assert len(BAD) > 70


@pytest.mark.parametrize(
    ("key", "count", "entry"),
    [
        ("arrays", 65, "{id: A%d, profile: reed}"),
        ("overhead", 5001, "{id: L%d, kind: light, at: [1, 1], below: 0}"),
        ("seats", 2001, "{id: S%d, at: [1, 1]}"),
    ],
)
def test_too_many_of_anything(key: str, count: int, entry: str) -> None:
    kept = [line for line in SMALL.splitlines() if not line.startswith(key)]
    text = "\n".join([*kept, f"{key}:", *(f"- {entry % i}" for i in range(count))])
    assert len(text.encode()) < 1 << 20
    (one,) = mistakes_of(text).mistakes
    assert (one.path, one.code) == (key, "too-many")
    assert one.found.count == count
    assert dict(one.allowed) == {"most": count - 1}
    fewer = read_spec_text(text.rpartition("\n")[0])
    assert len(getattr(fewer, key)) == count - 1


def test_profiles_from_a_library_in_its_own_units(tmp_path: Path) -> None:
    start, end = SMALL.index("profiles:"), SMALL.index("arrays:")
    text = SMALL[:start] + "profiles: shared-profiles.yaml\n" + SMALL[end:]
    spec = read_spec_text(text, "room.yaml", HERE)
    assert spec.profiles["reed"].body == RoundBody(diameter=0.254, height=0.0508)  # 10 in, 2 in
    assert spec.source is not None
    assert spec.source.library == "shared-profiles.yaml"
    assert spec.source.library_data == (HERE / "shared-profiles.yaml").read_bytes()
    for name, code in [
        ("nowhere.yaml", "library-missing"),
        (".", "library-missing"),
        ("/etc/hostname", "library-absolute"),
        ("../nowhere.yaml", "library-missing"),
    ]:
        (one,) = mistakes_of(text.replace("shared-profiles.yaml", name), tmp_path).mistakes
        assert (one.line, one.path, one.found.text, one.code) == (7, "profiles", name, code)
        if code == "library-missing":
            assert dict(one.allowed)["looked"] == str(tmp_path / name)
    (one,) = mistakes_of(text).mistakes
    assert one.code == "library-no-folder"


def test_mistakes_in_a_library_name_the_library() -> None:
    start, end = SMALL.index("profiles:"), SMALL.index("arrays:")
    text = SMALL[:start] + "profiles: shared-profiles-with-mistakes.yaml\n" + SMALL[end:]
    text = text.replace("profile: reed", "profile: rede")
    first, second, third = sorted(mistakes_of(text, HERE).mistakes, key=lambda one: one.path, reverse=True)
    assert (first.path, first.found.text, first.line) == ("profiles.reed.reach", "[120, 40]", 7)
    assert first.inside == Inside("shared-profiles-with-mistakes.yaml", 9, 12, "profiles.reed.reach")
    assert (second.path, second.found.text, second.line) == ("profiles.reed.mount", "pendent", 7)
    assert second.nearest == "pendant"
    assert (third.path, third.line, third.inside) == ("arrays[0].profile", 8, None)
    assert third.nearest == "reed"


def test_a_file_that_cannot_be_opened(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for path, code in (
        (tmp_path, "is-folder"),
        (tmp_path / "none.yaml", "no-file"),
        (tmp_path / "file" / "none.yaml", "no-file"),
        (tmp_path / "nul\0.yaml", "unreadable"),
    ):
        with pytest.raises(SpecMistakes) as raised:
            read_spec(path)
        (one,) = raised.value.mistakes
        assert (one.line, one.column, one.path, one.code) == (None, None, "", code)


@pytest.mark.parametrize("written", [".5", "-.5", "5.", ".inf", "-.inf", ".nan", "010", "1_000", "1e999"])
def test_a_number_written_otherwise_is_told_how_numbers_are_written(written: str) -> None:
    for good, bad, path in [
        ("ceiling: 2.7", f"ceiling: {written}", "room.ceiling"),
        ("mid: [22, 68]", f"mid: [{written}, 68]", "profiles.reed.bands.mid[0]"),
        ("count: 4", f"count: {written}", "seats[0].count"),
    ]:
        (one,) = mistakes_of(SMALL.replace(good, bad)).mistakes
        assert (one.path, one.found.text) == (path, written)
        assert dict(one.allowed)["read_as"] == "digits"


def test_large_files_are_refused_before_they_are_read(tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    file.write_bytes(SMALL.encode() + b"#" * (1 << 20))
    with pytest.raises(SpecMistakes) as raised:
        read_spec(file)
    assert raised.value.mistakes[0].code == "file-too-large"


def test_the_schema_admits_what_the_reader_admits() -> None:
    schema = spec_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for name in ("harbour-room", "every-key"):
        tree = yaml.load((HERE / f"{name}.yaml").read_text(encoding="utf-8"), Loader=yaml.SafeLoader)
        tree = json.loads(json.dumps(tree, default=str))
        assert [(error.json_path, error.message) for error in validator.iter_errors(tree)] == []
    validator.validate(yaml.safe_load(SMALL) | {"profiles": "shared-profiles.yaml"})


@pytest.mark.parametrize(
    "trouble",
    [
        "version-of-another-format",
        "units-missing",
        "units-unknown",
        "key-unknown",
        "key-unknown-at-the-top",
        "shape-unknown",
        "size-negative",
        "room-both-size-and-outline",
        "room-neither-size-nor-outline",
        "outline-of-two-corners",
        "band-outside-the-quadrant",
        "no-head-at-all",
        "array-with-height-and-drop",
        "device-of-an-unknown-kind",
        "rule-changed-without-a-reason",
        "sectors-none",
        "number-with-a-comma",
        "number-true",
        "id-that-is-a-number",
        "camera-without-a-height",
        "size-of-a-round-table-twice",
    ],
)
def test_the_schema_refuses_typical_mistakes(trouble: str) -> None:
    tree = yaml.safe_load((HERE / f"{trouble}.yaml").read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(spec_schema())
    assert not validator.is_valid(json.loads(json.dumps(tree, default=str)))


def test_reading_a_spec_loads_nothing_heavy() -> None:
    program = (
        "import sys; from scenes.spec.reading import read_spec; read_spec(sys.argv[1]); "
        "print([name for name in ('numpy', 'shapely', 'scipy', 'vtk') if name in sys.modules])"
    )
    root = Path(__file__).parents[3]
    result = subprocess.run(
        [sys.executable, "-c", program, str(HERE / "harbour-room.yaml")],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ast.literal_eval(result.stdout) == []


NASTY = [
    "~ ",
    " yes ",
    " 010 ",
    " -1 ",
    " 0 ",
    " 1e9 ",
    " .nan ",
    " [] ",
    " {} ",
    " [1] ",
    " [1, 2] ",
    " {id: 1} ",
    " text ",
    " '2,4' ",
    " *x ",
    " !t 1 ",
    " 90 ",
    " 1e-300\n",
    " [[0, 0], [1, 1]] ",
    ' "\\0" ',
    " &y 3",
]
VALUE = re.compile(r"(?<=: )[^\s,{}\[\]]+(?=[\s,}\]])|(?<=, )\w+|\[[^\[\]]*\]")


@settings(max_examples=100, deadline=None)
@given(st.randoms(use_true_random=False), st.lists(st.sampled_from(NASTY), min_size=1, max_size=4))
def test_a_good_file_with_values_replaced_is_read_or_refused(rng: random.Random, values: list[str]) -> None:
    text = (HERE / "every-key.yaml").read_text(encoding="utf-8")
    for value in values:
        match = rng.choice(list(VALUE.finditer(text)))
        text = text[: match.start()] + value.strip() + text[match.end() :]
    mistakes = mistakes_or_none(text)
    if mistakes is not None:
        assert mistakes.mistakes
        assert all(1 <= one.line <= text.count("\n") + 2 for one in mistakes.mistakes)
        assert lines(mistakes).encode("utf-8")


def mistakes_or_none(text: str) -> SpecMistakes | None:
    """The mistakes of a text; None when it reads whole."""
    try:
        read_spec_text(text)
    except SpecMistakes as mistakes:
        return mistakes
    return None


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=120))
def test_any_bytes_are_a_spec_or_mistakes(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    file = tmp_path_factory.getbasetemp() / "any.yaml"
    file.write_bytes(data)
    with pytest.raises(SpecMistakes):
        read_spec(file)


PYTHON = re.compile(
    r"Input should|\b(?:valid (?!YAML)|instance|dict|str|tuple|int|float|None|True|False|Error|object)\b"
)


def test_no_mistake_names_a_thing_of_the_program() -> None:
    """Every value of a file that has every key, replaced by a wrong one of each kind in turn."""
    text = (HERE / "every-key.yaml").read_text(encoding="utf-8")
    root = read_tree(text, "room.yaml")[0].root
    assert root is not None
    spans: set[tuple[int, int]] = set()
    left = [root]
    while left:
        node = left.pop()
        spans.add((node.start, node.end))
        left += node.value.values() if node.kind == "mapping" else node.value if node.kind == "list" else ()
    said = set()
    wrongs = cycle(("~", "yes", "true", "-1", ".nan", "[1, 2, 3, 4]", "{id: 1}", "{shape: 3}"))
    for (start, end), wrong in zip(sorted(spans), wrongs, strict=False):
        told = mistakes_or_none(text[:start] + wrong + text[end:])
        said |= set(lines(told).splitlines()) if told else set()
    assert len(said) > 80
    assert not [one for one in said if PYTHON.search(one)]


def test_what_a_spec_names_as_profiles_is_not_told_unless_it_is_a_profiles_file(tmp_path: Path) -> None:
    # a try-out: `profiles: ../../../etc/shadow` was read, and part of it appeared among the mistakes
    room = tmp_path / "rooms" / "room.yaml"
    room.parent.mkdir()
    start, end = SMALL.index("profiles:"), SMALL.index("arrays:")
    (tmp_path / "shadow").write_text("root:$6$secret:20000:0\n")
    (tmp_path / "keys.yaml").write_text("password: secret\nlist: [secret\n")
    (tmp_path / "rooms" / "link.yaml").symlink_to(tmp_path / "shadow")
    for name in ("../shadow", "../keys.yaml", "link.yaml"):
        room.write_text(SMALL[:start] + f"profiles: {name}\n" + SMALL[end:])
        with pytest.raises(SpecMistakes) as told:
            read_spec(room)
        (one,) = told.value.mistakes
        assert (one.path, one.found.text) == ("profiles", name)
        assert "secret" not in lines(told.value)


def test_a_pipe_or_a_device_is_no_spec(tmp_path: Path) -> None:
    # a try-out: a pipe was waited for without end
    os.mkfifo(tmp_path / "room.yaml")
    for path in (tmp_path / "room.yaml", Path("/dev/zero")):
        with pytest.raises(SpecMistakes) as told:
            read_spec(path)
        assert [one.code for one in told.value.mistakes] == ["not-a-file"]
