"""Many rooms handed over: only what changed is made, a run that is cut off goes on, nobody's files are lost."""

from __future__ import annotations

import csv
import errno
import hashlib
import json
import os
from pathlib import Path

import pytest

import viz.building
import viz.parallel
from scenes.spec.mistakes import SpecMistakes
from tests.small_room import SMALL
from tests.viz.test_handover import Links, names
from viz.building import OF_ALL, STATE, Rooms, hand_over_project
from viz.folders import MANIFEST
from viz.handover import Folder, Settings
from viz.outputs import OutputFailed, OutputInTheWay

LIBRARY = "overtable: 1\nunits: m\nprofiles:\n" + SMALL[SMALL.index("  reed:") : SMALL.index("arrays:")]
PLACED = "arrays: [{id: A1, profile: reed, at: [3, 2], height: 2.2, band: mid}]\n"
BARE = SMALL[: SMALL.index("profiles:")] + PLACED
PROJECT = """\
overtable: 1
project: Quayside House
profiles: devices.yaml
templates: {small: small.yaml}
rooms:
  - {use: small, number: "1", name: Larch, storey: Level 1}
  - {use: small, number: "2", name: Yew, storey: Level 2, change: {room: {ceiling: 2.8}}}
  - {file: own.yaml, number: "3"}
"""


class Building:
    """A project whose rooms are made in this process, of one small file each; what was made is remembered."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder, self.out = folder, folder / "out"
        self.made: list[str] = []
        self.fails: dict[str, BaseException] = {}
        self.write("small.yaml", BARE)
        self.write("own.yaml", BARE.replace("Harbour Room", "Own"))
        self.write("devices.yaml", LIBRARY)
        self.write("p.yaml", PROJECT)
        monkeypatch.setattr(viz.building, "fill", self._fill)
        monkeypatch.setattr(viz.parallel, "each", self._each)

    def write(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text)

    def run(self, **options: object) -> Rooms:
        self.made = []
        settings = Settings(pictures=False, paper=options.pop("paper", None))
        return hand_over_project(
            self.folder / "p.yaml", self.out, settings, lambda what, share: None, **options
        )[1]

    def _fill(self, spec, dossier, path, settings, progress):
        name = dossier.scene.name
        folder = Folder(path)
        folder.keep("page.html", "Page", f"<!doctype html>{name}")
        if name in self.fails:
            raise self.fails.pop(name)
        folder.keep("sheets/01-plan.svg", f"Plan of {name}, 1:50", "<svg/>")
        folder.keep("data/review.json", "Review", "{}")
        self.made.append(name)
        return viz.handover._made(dossier, folder)

    @staticmethod
    def _each(work, jobs, progress):
        outcomes = []
        for job in jobs:
            try:
                outcomes.append(work(job))
            except Exception as error:
                outcomes.append(error)
        return outcomes


@pytest.fixture
def building(tmp_path, monkeypatch):
    return Building(tmp_path, monkeypatch)


ALL = ["Larch", "Yew", "Own"]


def test_only_rooms_of_which_something_changed_are_made_again(building):
    first = building.run()
    assert (building.made, first.new, first.wrong) == (ALL, 3, [])
    before = {name: (building.out / name).stat().st_mtime_ns for name in names(building.out) if "/" in name}
    over_all = [(building.out / name).read_bytes() for name in OF_ALL]
    again = building.run()
    assert (building.made, again.new, len(again.made)) == ([], 0, 3)
    assert over_all == [(building.out / name).read_bytes() for name in OF_ALL]
    assert before == {
        name: (building.out / name).stat().st_mtime_ns for name in names(building.out) if "/" in name
    }
    building.write("own.yaml", BARE.replace("Harbour Room", "Own").replace("2.2,", "2.1,"))
    assert (building.run().new, building.made) == (1, ["Own"])
    building.write("p.yaml", PROJECT.replace("2.8", "2.9"))
    assert (building.run().new, building.made) == (1, ["Yew"])
    building.write("devices.yaml", LIBRARY.replace("reach: [1, 3]", "reach: [1, 3.1]"))
    assert (building.run().new, building.made) == (3, ALL)
    assert (building.run(paper="A4").new, building.made) == (3, ALL)
    # what is no longer whole is made again
    (building.out / "2-yew" / "data" / "review.json").unlink()
    assert (building.run(paper="A4").new, building.made) == (1, ["Yew"])


def test_a_run_that_is_cut_off_keeps_what_is_finished_and_the_next_goes_on(building):
    building.fails["Yew"] = KeyboardInterrupt()
    with pytest.raises(KeyboardInterrupt):
        building.run()
    assert sorted(path.name for path in building.out.iterdir()) == [MANIFEST, "1-larch"]
    assert building.run().new == 2
    assert building.made == ["Yew", "Own"]
    assert not [path for path in building.out.iterdir() if path.name.startswith(".2")]


def test_a_full_disk_and_a_mistake_lose_their_room_and_no_other(building):
    building.fails["Yew"] = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(building.out / "x"))
    building.write("own.yaml", "overtable: 1\nname: Own\n")
    rooms = building.run()
    assert [type(error) for _, error in rooms.wrong] == [OutputFailed, SpecMistakes]
    assert rooms.wrong[1][1].file.endswith("own.yaml")
    assert [line.state for line in rooms.lines] == ["pass", "not read", "not read"]
    assert not (building.out / "2-yew").exists()
    # a room that was made before and cannot be read now stays, without a link to it
    building.write("own.yaml", BARE)
    assert building.run().new == 2
    building.write("own.yaml", "overtable: 1\nname: Own\n")
    building.run()
    assert (building.out / "3-own" / "page.html").exists()
    assert "3-own/index.html" not in (building.out / "index.html").read_text()


def test_where_no_room_can_be_made_nothing_is_left(building):
    building.fails |= {name: OSError(errno.ENOSPC, "full", str(building.out / "x")) for name in ALL}
    with pytest.raises(OutputFailed):
        building.run()
    assert not building.out.exists()


def test_nobodys_files_are_written_over_or_removed(building):
    building.run()
    (building.out / "1-larch" / "photo.jpg").write_text("theirs")
    (building.out / "notes.txt").write_text("theirs")
    (building.out / "2-yew" / "data" / "review.json").write_text("changed")
    building.write("small.yaml", BARE.replace("2.2,", "2.1,"))
    rooms = building.run()
    assert rooms.kept == ["1-larch/photo.jpg"]
    assert [type(error) for _, error in rooms.wrong] == [OutputInTheWay]
    assert (building.out / "2-yew" / "data" / "review.json").read_text() == "changed"
    # a room that left the project goes as far as nobody changed it
    building.write(
        "p.yaml", PROJECT.replace('  - {use: small, number: "1", name: Larch, storey: Level 1}\n', "")
    )
    building.run(force=True)
    assert names(building.out / "1-larch") == ["photo.jpg"]
    assert (building.out / "notes.txt").read_text() == "theirs"
    # a page of all that somebody changed is not written over
    (building.out / "schedule.csv").write_text("theirs")
    with pytest.raises(OutputInTheWay):
        building.run()
    assert (building.out / "schedule.csv").read_text() == "theirs"


def test_a_folder_of_somebody_elses_is_left_alone(building):
    building.out.mkdir()
    (building.out / "letter.txt").write_text("theirs")
    with pytest.raises(OutputInTheWay):
        building.run()
    assert names(building.out) == ["letter.txt"]
    assert building.run(force=True).new == 3
    assert (building.out / "letter.txt").read_text() == "theirs"


def test_the_manifest_of_all_lists_every_file_of_overtables(building):
    building.run()
    listed = dict(
        line.split("  ")[::-1]
        for line in (building.out / MANIFEST).read_text().splitlines()
        if line[0] != "#"
    )
    there = [name for name in names(building.out) if Path(name).name != MANIFEST]
    assert sorted(listed) == there
    for name in there:
        assert hashlib.sha256((building.out / name).read_bytes()).hexdigest() == listed[name]
    assert f"1-larch/{STATE}" in there


def test_the_index_has_a_row_a_room_and_its_tables_every_room(building):
    building.write("own.yaml", "overtable: 1\nname: <b>Own\n")
    building.run()
    text = (building.out / "index.html").read_text()
    links = Links()
    links.feed(text)
    assert [link for link in links.found if "/" in link] == ["1-larch/index.html", "2-yew/index.html"]
    assert set(links.found) - {"1-larch/index.html", "2-yew/index.html"} <= set(names(building.out))
    assert text.count("<tbody") == 3
    assert text.index('data-state="not read"', text.index("<tbody")) < text.index(
        'data-state="pass"', text.index("<tbody")
    )
    assert "own.yaml:1:1" in text
    assert "<option>Level 2</option>" in text
    with (building.out / "schedule.csv").open(newline="") as stream:
        assert [row["room"] for row in csv.DictReader(stream)] == ["Larch", "Yew"]
    assert [row["room"] for row in json.loads((building.out / "rooms.json").read_text())] == ["Larch", "Yew"]


def test_what_to_order_is_summed_over_all_rooms_and_alike_pieces_are_one_row(building):
    building.run()
    with (building.out / "materials.csv").open(newline="") as stream:
        rows = [
            (row["item"], row["kind"], row["length_m"], row["pieces"], row["arrays"])
            for row in csv.DictReader(stream)
        ]
    with (building.out / "schedule.csv").open(newline="") as stream:
        drop = {row["room_number"]: row for row in csv.DictReader(stream)}
    assert rows[0] == ("array", "reed", "", "3", "1 A1; 2 A1; 3 A1")
    # the room whose ceiling is 10 cm higher has a cable that much longer
    cables = {arrays: float(length) for item, _, length, _, arrays in rows if item.startswith("cable")}
    assert set(cables) == {"1 A1; 3 A1", "2 A1"}
    assert cables["2 A1"] - cables["1 A1; 3 A1"] == pytest.approx(0.1)
    assert cables["2 A1"] == float(drop["2"]["piece_m"])


def test_every_open_clearance_of_all_rooms_is_in_one_table(building):
    too_near = "overhead: [{id: SP1, kind: sprinkler, at: [3.3, 2], below: 0.4, spray: standard}]\n"
    building.write("own.yaml", BARE + too_near)
    building.run()
    with (building.out / "clearances.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert ("3", "SP1") in {(row["room_number"], row["against"]) for row in rows}
    assert {row["state"] for row in rows} <= {"too close", "closer than advised", "not checked"}
    assert not [row for row in rows if row["room_number"] in "12" and row["against"] == "SP1"]


def test_the_cover_lists_every_rooms_drawings(building):
    from pypdf import PdfReader

    building.run()
    text = "".join(page.extract_text() for page in PdfReader(building.out / "cover.pdf").pages)
    for said in (
        "Quayside House",
        "3 drawings",
        "Level 2",
        "Plan of Yew, 1:50",
        "2-yew/sheets",
        "never approval",
    ):
        assert said in text
