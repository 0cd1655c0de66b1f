"""Everything at once: complete, the same bytes twice, nothing half-written, nobody's files overwritten."""

from __future__ import annotations

import csv
import hashlib
import html
import html.parser
import json
import os
import re
import signal
import subprocess
import sys
import time
import zipfile
from importlib.resources import files
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from viz import drawing, palette
from viz.commands.main import main
from viz.handover import small
from viz.sheets import lettering
from viz.words.locale import Locale

REPO = Path(__file__).parents[2]
EMPTY_PDF = b"%PDF\ntrailer <</ID[(" + b"A" * 24 + b")(" + b"A" * 24 + b")]>>\nstartxref\n0\n%%EOF\n"
NO_SHEETS = SimpleNamespace(sheets=(), pdf=EMPTY_PDF, dxf="0", paper="A3")


def names(folder: Path) -> list[str]:
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())


def hashes(folder: Path) -> dict[str, str]:
    return {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in names(folder)}


class Links(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.found += [value for name, value in attrs if name in ("href", "src")]


@pytest.fixture(scope="module")
def heron(tmp_path_factory):
    """A whole handover of the small room, with pictures, made once."""
    from viz.building import hand_over_many
    from viz.handover import Settings

    folder = tmp_path_factory.mktemp("handover")
    for name in ("heron.yaml", "devices.yaml"):
        (folder / name).write_bytes(files("scenes.rooms").joinpath(name).read_bytes())
    rooms, wrong = hand_over_many(
        [folder / "heron.yaml"], folder / "out", Settings(size=(640, 400)), lambda what, share: None
    )
    assert not wrong
    return rooms[0], folder / "out"


@pytest.fixture
def quick(monkeypatch):
    """The documents that take long are a line each: for tests of which file lies where."""
    import viz.client
    import viz.page
    import viz.report
    import viz.sheets

    monkeypatch.setattr(viz.sheets, "sheets", lambda *_, **__: NO_SHEETS)
    monkeypatch.setattr(viz.report, "report_pdf", lambda *_, **__: EMPTY_PDF)
    monkeypatch.setattr(viz.client, "client_pdf", lambda *_, **__: EMPTY_PDF)
    monkeypatch.setattr(viz.page, "page", lambda *_, **__: "<!doctype html>")


def test_everything_is_there_and_the_index_links_all_of_it(heron):
    made, folder = heron
    there = names(folder)
    for name in (
        "heron.yaml",
        "devices.yaml",
        "index.html",
        "page.html",
        "report.pdf",
        "client.pdf",
        "model.glb",
        "data/review.json",
        "data/heights.json",
        "data/heads.csv",
        "data/clearances.csv",
        "data/schedule.csv",
        "pictures/corner.png",
        "pictures/plan.png",
        "pictures/ceiling.png",
        "sheets/heron-room.pdf",
        "sheets/heron-room.dxf",
        "sheets/01-floor-plan.svg",
    ):
        assert name in there
    links = Links()
    text = (folder / "index.html").read_text("utf-8")
    links.feed(text)
    assert set(links.found) == set(there) - {"index.html", ".overtable"}
    assert text.index(made.sentence) < text.index("<img")
    assert "never approval" in text
    assert made.left_out == ()
    # ids as they are written, and how high the eye is that looks down
    assert "From the camera · CAM1" in text
    assert re.search(r"From above the array, from \d\.\d\d m above floor", text)


def test_the_tables_say_what_the_review_says(heron):
    _, folder = heron
    review = json.loads((folder / "data/review.json").read_text("utf-8"))
    with (folder / "data/heads.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["id"] for row in rows] == [head["id"] for head in review["heads"]]
    for row, head in zip(rows, review["heads"], strict=True):
        assert float(row["margin_m"]) == head["margin_m"]
        assert float(row["angle_down_deg"]) == head["depression_deg"]
        assert row["state"] == Locale("m").say(f"state.{head['state']}")
    with (folder / "data/schedule.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["array"] for row in rows] == [array["id"] for array in review["arrays"]]
    assert float(rows[0]["drop_m"]) == pytest.approx(review["arrays"][0]["drop_m"], abs=1e-6)


def test_the_copied_spec_reads_alike(heron, run):
    _, folder = heron
    told = json.loads(run("check", folder / "heron.yaml", "--json")[1])
    assert told == json.loads((folder / "data/review.json").read_text("utf-8"))


def test_two_runs_give_the_same_bytes(heron, rooms, handed_over):
    _, folder = heron
    os.utime(rooms / "heron.yaml", (1, 1))
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "viz.commands",
            "handover",
            "heron.yaml",
            "-o",
            "one",
            "--no-pictures",
            "--zip",
        ],
        cwd=rooms,
        env={**os.environ, "PYTHONPATH": str(REPO), "PYTHONHASHSEED": "2"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    # the other run, another day, folder and order of hashes
    assert hashes(rooms / "one") == hashes(handed_over("heron").folder)
    # the one with pictures differs in what shows them alone
    same = {"data/review.json", "sheets/heron-room.dxf", "sheets/heron-room.pdf", "model.glb", "heron.yaml"}
    first = hashes(folder)
    assert all(first[name] == digest for name, digest in hashes(rooms / "one").items() if name in same)
    with zipfile.ZipFile(rooms / "one.zip") as archive:
        assert archive.testzip() is None
        assert sorted(archive.namelist()) == [n for n in names(rooms / "one") if n != ".overtable"]
        assert {entry.date_time[:3] for entry in archive.infolist()} == {(2000, 1, 1)}


@pytest.mark.thorough
def test_a_room_without_a_date_is_handed_over_undated_or_with_the_date_given(rooms, run, monkeypatch):
    from pypdf import PdfReader

    import viz.sheets

    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text().replace(", date: 2026-11-25", ""))
    texts = []
    for name, more in (("undated", ()), ("dated", ("--date", "2027-03-04"))):
        assert run("handover", spec, "-o", rooms / name, "--no-pictures", *more)[0] == 0
        reader = PdfReader(rooms / name / "report.pdf")
        monkeypatch.setattr(viz.sheets, "sheets", lambda *_, **__: NO_SHEETS)  # drawn once is enough
        texts.append("".join(page.extract_text() for page in reader.pages))
    assert "undated" in texts[0]
    assert "2027-03-04" in texts[1]
    assert "undated" not in texts[1]
    assert "2000-01-01" not in texts[0] + texts[1]


def test_a_folder_of_somebody_elses_is_left_alone(rooms, run):
    (rooms / "mine").mkdir()
    (rooms / "mine" / "letter.txt").write_text("mine")
    code, _, err = run("handover", rooms / "heron.yaml", "-o", rooms / "mine")
    assert code == 2
    assert "--force" in err
    assert names(rooms / "mine") == ["letter.txt"]


def test_a_mistake_writes_nothing(rooms, run):
    (rooms / "heron.yaml").write_text("overtable: 1\n")
    before = sorted(p.name for p in rooms.iterdir())
    code, _, err = run("handover", rooms / "heron.yaml", "-o", rooms / "out")
    assert code == 2
    assert "heron.yaml:1" in err
    assert sorted(p.name for p in rooms.iterdir()) == before


def test_killed_half_way_leaves_no_half_folder(rooms):
    """A kill cannot be caught: what is left is a hidden folder aside, never one under the name asked for."""
    process = subprocess.Popen(
        [sys.executable, "-m", "viz.commands", "handover", "heron.yaml", "-o", "out", "--no-pictures"],
        cwd=rooms,
        env={**os.environ, "PYTHONPATH": str(REPO)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and not list(rooms.glob(".out.*/new/data/review.json")):
        assert process.poll() is None, "it ended before it could be killed"
        time.sleep(0.01)
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert not (rooms / "out").exists()


def test_interrupted_half_way_leaves_nothing_at_all(rooms, monkeypatch, run):
    import viz.sheets

    def interrupt(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(viz.sheets, "sheets", interrupt)
    before = sorted(p.name for p in rooms.iterdir())
    with pytest.raises((KeyboardInterrupt, SystemExit)):
        main(["handover", str(rooms / "heron.yaml"), "-o", str(rooms / "out"), "--no-pictures"])
    assert sorted(p.name for p in rooms.iterdir()) == before


def test_where_nothing_can_be_drawn_the_rest_is_made_and_it_says_so(rooms, run, monkeypatch):
    def nothing() -> str:
        raise drawing.GraphicsMissing("this machine has no graphics library: apt-get install libegl1")

    monkeypatch.setattr(drawing, "ready", nothing)
    code, _, err = run("handover", rooms / "heron.yaml", "-o", rooms / "out")
    assert code == 0
    assert "No pictures: " in err
    assert "apt-get install" in err
    assert not (rooms / "out" / "pictures").exists()
    assert (rooms / "out" / "report.pdf").stat().st_size > 10_000
    assert "No pictures: " in (rooms / "out" / "index.html").read_text("utf-8")


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    """A project handed over once: a room that fails, a file that is none, and two passing rooms of one file name."""
    folder = tmp_path_factory.mktemp("project")
    for name in ("weir.yaml", "heron.yaml", "devices.yaml", "x/heron.yaml", "x/devices.yaml"):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(files("scenes.rooms").joinpath(Path(name).name).read_bytes())
    (folder / "bad.yaml").write_text("overtable: 1\nname: <b>x</b>\n")
    specs = ("weir.yaml", "bad.yaml", "heron.yaml", "x/heron.yaml")
    done = subprocess.run(
        [sys.executable, "-m", "viz.commands", "handover", *specs, "-o", "out", "--no-pictures"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(REPO)},
        capture_output=True,
        text=True,
        check=False,
    )
    return done, folder / "out"


def test_several_rooms_get_a_folder_each_and_one_mistake_stops_no_other(project):
    done, folder = project
    assert done.returncode == 2
    assert "bad.yaml:1" in done.stderr
    assert "Weir Room: Fail." in done.stdout
    assert "Heron Room: Pass." in done.stdout
    # rooms of one name get a folder each
    assert sorted(p.name for p in folder.iterdir() if p.is_dir()) == ["heron", "heron-2", "weir"]
    index = (folder / "index.html").read_text("utf-8")
    links = Links()
    links.feed(index)
    assert links.found == [
        "weir/index.html",
        "heron/index.html",
        "heron-2/index.html",
        "cover.pdf",
        "schedule.pdf",
        "schedule.csv",
        "clearances.csv",
        "materials.csv",
    ]
    assert "8 of 12" in index
    summary = json.loads((folder / "rooms.json").read_text("utf-8"))
    assert [row["room"] for row in summary] == ["Weir Room", "Heron Room", "Heron Room"]


def test_the_index_of_a_project_holds_the_room_that_fails_and_lists_every_schedule(project):
    done, folder = project
    hold = "Not for installation: 2 of 12 talkers not covered, 2 covered only upright"
    index = html.unescape((folder / "index.html").read_text("utf-8"))
    assert index.count(hold) == done.stdout.count(hold) == 1
    with (folder / "schedule.csv").open(encoding="utf-8", newline="") as stream:
        held = [(row["room"], row["hold"]) for row in csv.DictReader(stream)]
    assert held == [("Weir Room", hold), ("Heron Room", ""), ("Heron Room", "")]
    # each caution once; those of some rooms with their names
    asbestos = re.findall(r"<p>([^<]*)<b>Asbestos\.</b>", index)
    sprinklers = re.findall(r"<p>([^<]*)<b>Sprinkler spray\.</b>", index)
    assert asbestos == [""]
    assert sprinklers == ["Weir Room: ", "Heron Room, Heron Room: "]


def test_the_pages_still_is_small(heron):
    _, folder = heron
    import io

    from PIL import Image

    still = small((folder / "pictures/corner.png").read_bytes(), width=320)
    assert Image.open(io.BytesIO(still)).size == (320, 200)
    # a state's colour, rare as it is, stays what it is
    covered = np.array([int(palette.STATE_COLOURS["covered"][i : i + 2], 16) for i in (1, 3, 5)])
    for png in (
        (folder / "pictures/corner.png").read_bytes(),
        small((folder / "pictures/corner.png").read_bytes()),
    ):
        pixels = np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(int)
        assert (np.abs(pixels - covered).max(axis=-1) <= 3).sum() > 20
    assert small(None) is None


def test_names_in_a_script_the_typeface_does_not_have_are_marked_and_told(rooms, run):
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text("utf-8").replace("name: Heron Room", "name: 会議室 قاعة"), "utf-8")
    for arguments in (
        ("heights", spec, "--picture", rooms / "heights.svg"),
        ("handover", spec, "-o", rooms / "all", "--no-pictures"),
    ):
        code, _, err = run(*arguments)
        assert code == 0, err
        assert "U+4F1A" in err
        assert lettering.MARK in err
    code, _, err = run("stills", spec, "-o", rooms / "stills", "--view", "plan", "--size", "400x300")
    assert code == 0, err
    assert "drawn as an empty box" in err
    index = (rooms / "all" / "index.html").read_text("utf-8")
    assert "会議室 قاعة" in index
    assert "U+4F1A" in index


def test_a_room_given_twice_is_refused(rooms, run, monkeypatch):
    monkeypatch.chdir(rooms)
    code, _, err = run("handover", "heron.yaml", "loft.yaml", rooms / "heron.yaml", "-o", "all")
    assert code == 2
    assert "heron.yaml is given twice" in err
    assert not (rooms / "all").exists()


def test_two_rooms_compared_as_one_are_remarked_upon(rooms, run):
    heron, loft = rooms / "heron.yaml", rooms / "loft.yaml"
    for arguments in (
        ("check", "--changes", loft, heron),
        ("sheets", heron, "--since", loft, "-o", rooms / "changes"),
    ):
        code, _, err = run(*arguments)
        assert code == 0
        assert "two different rooms (Loft Studio and Heron Room" in err
    renamed = rooms / "renamed.yaml"
    renamed.write_text(heron.read_text("utf-8").replace("name: Heron Room", "name: Teal Room"), "utf-8")
    assert run("check", "--changes", heron, renamed)[2] == ""


def test_made_again_a_persons_files_stay_and_are_told(quick, rooms, run):
    # a try-out: a rerun took `comments.docx` and `photos/` away without a word
    arguments = ("handover", rooms / "heron.yaml", "-o", rooms / "out", "--no-pictures", "--zip")
    assert run(*arguments)[0] == 0
    (rooms / "out" / "photos").mkdir()
    for name in ("comments.docx", "photos/1.jpg"):
        (rooms / "out" / name).write_text("mine")
    code, _, err = run(*arguments)
    assert code == 0
    assert "left where it is: comments.docx, photos/1.jpg" in err
    assert (rooms / "out" / "photos" / "1.jpg").read_text() == "mine"
    with zipfile.ZipFile(rooms / "out.zip") as archive:
        assert not {"comments.docx", "photos/1.jpg"} & set(archive.namelist())
    (rooms / "out" / "data" / "heads.csv").write_text("corrected by hand")
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert "data/heads.csv" in err
    assert "--force" in err
    assert (rooms / "out" / "data" / "heads.csv").read_text() == "corrected by hand"


def test_the_spec_handed_over_is_the_bytes_that_were_reviewed(quick, rooms, monkeypatch):
    # a try-out: edited between reading and copying, the copy said 2.60 m and the review 2.2 m
    import viz.handover
    from viz.building import hand_over_many
    from viz.handover import Settings

    spec, library = rooms / "heron.yaml", rooms / "devices.yaml"
    spec.write_bytes(b"\xef\xbb\xbf" + spec.read_bytes().replace(b"\n", b"\r\n"))
    before = spec.read_bytes(), library.read_bytes()
    real = viz.handover.read_dossier

    def edited_meanwhile(*arguments):
        read = real(*arguments)
        spec.write_text("something else")
        library.write_text("something else")
        return read

    monkeypatch.setattr(viz.handover, "read_dossier", edited_meanwhile)
    rooms_made, wrong = hand_over_many([spec], rooms / "out", Settings(pictures=False), lambda *_: None)
    assert (len(rooms_made), wrong) == (1, [])
    assert (
        (rooms / "out" / "heron.yaml").read_bytes(),
        (rooms / "out" / "devices.yaml").read_bytes(),
    ) == before


def test_what_changed_since_an_earlier_file_joins_the_sheets(quick, rooms, run):
    spec = rooms / "heron.yaml"
    (rooms / "before.yaml").write_text(
        spec.read_text("utf-8").replace("at: [1.8, 1.05]", "at: [1.9, 1.05]"), "utf-8"
    )
    assert (rooms / "before.yaml").read_bytes() != spec.read_bytes()
    before = rooms / "before.yaml"
    code, _, err = run("handover", spec, "-o", rooms / "out", "--no-pictures", "--since", before)
    assert code == 0, err
    there = names(rooms / "out")
    assert {"sheets/changes.pdf", "sheets/changes.dxf"} <= set(there)
    index = (rooms / "out" / "index.html").read_text("utf-8")
    assert "What changed since before.yaml" in index
    # nothing changed: it is said, and there is no sheet of it
    code, _, err = run("handover", spec, "-o", rooms / "same", "--no-pictures", "--since", spec)
    assert code == 0
    assert "sheets/changes.pdf" not in names(rooms / "same")
    code, _, err = run("handover", spec, rooms / "loft.yaml", "-o", rooms / "more", "--since", before)
    assert code == 2
    assert "one room" in err


def test_a_dead_worker_and_a_full_disk_are_the_machines_fault(rooms, run, monkeypatch):
    from concurrent.futures.process import BrokenProcessPool

    import viz.parallel
    from viz.outputs import OutputFailed

    specs = [rooms / "heron.yaml", rooms / "loft.yaml"]
    for error, said in (
        (BrokenProcessPool("abrupt"), "a worker process died"),
        (OutputFailed(rooms / "out" / "a.svg", "No space left on device"), "a.svg could not be written"),
    ):
        monkeypatch.setattr(
            viz.parallel, "each", lambda work, jobs, progress, error=error: [error for _ in jobs]
        )
        code, out, err = run("handover", *specs, "-o", rooms / "out", "--no-pictures")
        assert (code, out) == (3, "")
        assert said in err
        assert not (rooms / "out").exists()


@pytest.mark.parametrize("name", ["page.html", "data", "devices.yaml"])
def test_a_spec_of_any_name_takes_no_other_files_place(quick, rooms, run, name):
    folder = rooms / "rooms"
    folder.mkdir()
    spec = folder / name
    spec.write_text((rooms / "heron.yaml").read_text().replace("profiles: devices", "profiles: ../devices"))
    assert run("handover", spec, "-o", rooms / "out", "--no-pictures")[0] == 0
    assert run("check", rooms / "out" / "room" / name)[0] == 0
    kept = {path.name: path.read_bytes() for path in (rooms / "out").iterdir() if path.is_file()}
    assert spec.read_bytes() == (rooms / "out" / "room" / name).read_bytes()
    assert (rooms / "devices.yaml").read_bytes() in kept.values()
    assert kept["page.html"].startswith(b"<!doctype html>")
