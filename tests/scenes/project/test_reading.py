"""A project file: rooms by file and by template, and mistakes that stay with the room they are of."""

from __future__ import annotations

import pickle
from pathlib import Path

import jsonschema
import pytest
import yaml

from scenes.project.merging import merged, with_given
from scenes.project.reading import Project, is_project, read_project, untold
from scenes.project.schema import project_schema
from scenes.room.build import build
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text
from scenes.spec.yaml_tree import read_tree
from tests.small_room import SMALL
from viz.words.mistakes import lines

LIBRARY = "overtable: 1\nunits: m\nprofiles:\n" + SMALL[SMALL.index("  reed:") : SMALL.index("arrays:")]
BARE = SMALL[: SMALL.index("profiles:")] + SMALL[SMALL.index("arrays:") :]
HEAD = "overtable: 1\nproject: Quayside House\nprofiles: devices.yaml\ntemplates: {small: rooms/small.yaml}\nrooms:\n"


@pytest.fixture
def project(tmp_path: Path):
    (tmp_path / "b" / "rooms").mkdir(parents=True)
    folder = tmp_path / "b"
    (folder / "devices.yaml").write_text(LIBRARY)
    (folder / "rooms" / "small.yaml").write_text(BARE)
    (folder / "rooms" / "own.yaml").write_text(SMALL.replace("name: Harbour Room", "name: Own # theirs"))

    def of(rooms: str, head: str = HEAD) -> Project:
        (folder / "p.yaml").write_text(head + rooms)
        return read_project(folder / "p.yaml")

    return of


def told(some: Project) -> list[str]:
    """What is told of the rooms that cannot be read, without the folder."""
    found = []
    for room in some.rooms:
        try:
            with room.telling():
                build(room.spec())
        except SpecMistakes as mistakes:
            found.append(lines(mistakes))
    return [text.replace(f"{Path(some.file).parent}/", "") for text in found]


def test_a_room_is_a_spec_with_what_the_project_says_of_it(project) -> None:
    some = project(
        '  - {file: rooms/small.yaml, storey: Level 3, number: "3.01"}\n'
        '  - {file: rooms/own.yaml, name: "Larch: a, b"}\n'
        '  - {use: small, number: "2.14", name: Yew, change: {room: {ceiling: 2.6}, arrays: [], acoustics: ~}}\n'
    )
    assert some.mistakes is None
    first, own, made = (build(room.spec()) for room in some.rooms)
    assert (first.name, first.number, first.storey) == ("Harbour Room", "3.01", "Level 3")
    assert first.project == "Quayside House"
    assert first.profiles["reed"].reach_m == (1, 3)  # the project's library
    assert (own.name, own.number, own.storey) == ("Larch: a, b", None, None)
    assert (made.name, made.number, made.room.ceiling_m) == ("Yew", "2.14", 2.6)
    assert made.room.area_m2 == first.room.area_m2 == 24
    assert [array.id for array in first.arrays] == ["A1"]
    assert made.arrays == ()
    # what is made reads alike wherever it lies beside its profiles
    text = some.rooms[2].text
    assert text is not None
    assert build(pickle.loads(pickle.dumps(text)).spec()) == made
    # a file with all it needs is read as it is, and every line of another keeps its number
    assert some.rooms[0].text.data.startswith(BARE.encode())


def test_a_mistake_stays_with_its_room(project) -> None:
    some = project(
        "  - {use: smal}\n"
        '  - {use: small, number: "1", change: {room: {celing: 2.6}}}\n'
        "  - {use: small, change: {seats: []}}\n"
        "  - {use: small, change: {room: {outline: ~, size: ~}}}\n"
        '  - {file: rooms/own.yaml, number: "1"}\n'
        "  - {file: rooms/own.yaml, numer: two}\n"
        "  - {file: rooms/own.yaml, use: small}\n"
        "  - {number: '7'}\n"
        "  - {file: rooms/own.yaml, change: {room: {}}}\n"
        "  - {file: rooms/none.yaml}\n"
        '  - {file: rooms/own.yaml, number: "2"}\n'
    )
    assert told(some) == [
        "p.yaml:6:11  rooms[0].use  There is no template smal. Did you mean small?",
        "p.yaml:7:55  rooms[1].change.room.celing  There is no key celing here. Did you mean ceiling?",
        "p.yaml:8:34  rooms[2].change.seats  Nobody talks in this room. Add seats or standing, with at least one "
        "talker.",
        "p.yaml:9:11  rooms[3].use  The room has no shape. Give outline or size. "
        "(in rooms/small.yaml, line 4, column 7: room)",
        'p.yaml:10:36  rooms[4].number  The number "1" is used already, in line 7. Give every room a number of its own.',
        "p.yaml:11:28  rooms[5].numer  There is no key numer here. Did you mean number?",
        "p.yaml:12:5  rooms[6]  The room has a file and a template. Give file or use, not both.",
        "p.yaml:13:5  rooms[7]  The room has no file. Give file, or use with the name of a template.",
        "p.yaml:14:36  rooms[8].change  A room with a file of its own has nothing to change here. Change its file, or "
        "give use in place of file.",
        "p.yaml:15:12  rooms[9].file  There is no file rooms/none.yaml. Give the name of a file, relative to this file.",
    ]
    assert some.rooms[10].spec().number == "2"


def test_only_files_of_overtables_in_the_projects_folder_are_read(project, tmp_path) -> None:
    (tmp_path / "secret.yaml").write_text("overtable: 1\nsecret: 42\n")
    (tmp_path / "b" / "diary.yaml").write_text("secret: 42\n")
    (tmp_path / "b" / "notes.txt").write_text(SMALL)
    (tmp_path / "b" / "link.yaml").symlink_to(tmp_path / "secret.yaml")
    rooms = ("../secret.yaml", f"{tmp_path}/secret.yaml", "link.yaml", "diary.yaml", "notes.txt")
    some = project("".join(f"  - {{file: {name}}}\n" for name in rooms))
    codes = [room.wrong.mistakes[0].code for room in some.rooms]
    assert codes == ["file-outside", "file-outside", "file-outside", "file-not-one", "file-ending"]
    assert "42" not in "".join(told(some))
    assert tmp_path / "secret.yaml" not in some.files


def test_what_is_wrong_with_the_project_is_told_beside_its_rooms(project) -> None:
    head = HEAD.replace("devices.yaml", "gone.yaml").replace(
        "rooms:\n", "models: [../m.ifc]\nmodles: 1\nrooms:\n"
    )
    some = project("  - {file: rooms/own.yaml}\n  - {file: rooms/small.yaml}\n  - {use: small}\n", head)
    assert [one.code for one in some.mistakes.mistakes] == ["file-missing", "file-outside", "unknown-key"]
    assert some.rooms[0].spec().name == "Own"
    # a library that is not there is told once for all rooms that need it
    wrong = [room.wrong for room in some.rooms[1:]]
    assert [one.mistakes[0].path for one in untold(wrong)] == ["profiles"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("overtable: 1\nproject: P\nrooms: []\n", "too-few"),
        ("overtable: 1\nproject: P\nroom: {}\nrooms: [{file: a.yaml}]\n", "room-and-rooms"),
        ("overtable: 1\nproject: P\nrooms: 3\n", "needs-list"),
        ("overtable: 1\nproject: P\nrooms: [\n", "bad-syntax"),
    ],
)
def test_a_file_that_names_no_room_is_refused(tmp_path, text, code) -> None:
    (tmp_path / "p.yaml").write_text(text)
    with pytest.raises(SpecMistakes) as raised:
        read_project(tmp_path / "p.yaml")
    assert code in [one.code for one in raised.value.mistakes]


def test_a_project_is_known_by_its_rooms(tmp_path) -> None:
    for name, text, is_one in (
        ("a.yaml", "overtable: 1\nrooms: []\n", True),
        ("b.yaml", "{overtable: 1, rooms: []}", True),
        ("c.yaml", SMALL, False),
        ("d.yaml", "overtable: 1\nmodel: {rooms: 3}\n", False),
        ("e.yaml", "rooms: [\n", False),
    ):
        (tmp_path / name).write_text(text)
        assert is_project(tmp_path / name) is is_one
    assert not is_project(tmp_path / "gone.yaml")


@pytest.mark.parametrize(
    "text",
    [
        SMALL,
        "{" + ", ".join(["overtable: 1", "name: A", "units: m"]) + "}",
        "overtable: 1\nname: &n A\nproject: *n\n...\n",
        "overtable: 1\nname: |\n  A\n  b\nnotes: [a, 'b, c', \"d\", ~, 010, 1.5]\n",
        "base: &b {name: A, units: m}\n<<: *b\nx: {y: z w, q: [1, [2, 3]], 'yes': \"\"}\n",
    ],
)
def test_a_text_with_keys_given_says_everything_else_as_before(text) -> None:
    marks, _ = read_tree(text, "a.yaml")
    before = yaml.safe_load(text)
    want = {**before, "name": "N: é, [1]", "storey": "No"}
    given, wanted = {"name": "N: é, [1]", "storey": "No"}, {"units": before.get("units", "ft")}
    for made in (with_given(marks, given, wanted), merged(marks, None, given)):
        again = yaml.safe_load(made)
        assert {key: again.get(key) for key in want} == {
            **want,
            **({"base": again["base"]} if "base" in want else {}),
        }
    assert yaml.safe_load(with_given(marks, given, wanted))["units"] == wanted["units"]


def test_editors_know_a_project_file() -> None:
    schema = project_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    good = yaml.safe_load(HEAD + "  - {file: a.yaml}\n  - {use: small, change: {room: {}}}\n")
    assert not list(check.iter_errors(good))
    for bad in ("  - {}\n", "  - {file: a.yaml, use: small}\n", "  - {fil: a.yaml}\n"):
        assert list(check.iter_errors(yaml.safe_load(HEAD + bad)))


def test_a_room_says_its_number_and_storey_itself() -> None:
    scene = build(read_spec_text(SMALL.replace("units:", 'number: "3.01"\nstorey: Level 3\nunits:')))
    assert (scene.number, scene.storey) == ("3.01", "Level 3")
