"""Whole folders: complete or not there, and a person's files in them stay."""

from __future__ import annotations

import errno
import os
import subprocess
import sys

import pytest

from viz import folders, outputs
from viz.folders import MANIFEST, check_free, read_manifest, shortly, whole_folder
from viz.outputs import OutputFailed, OutputInTheWay, write_file


def names(folder):
    return sorted(
        p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_symlink() or p.is_file()
    )


def made(target, files, *, force=False):
    """Make a folder of these files; the names of a person's that stayed."""
    kept = []
    with whole_folder(target, force=force, kept=kept.extend) as aside:
        for name, text in files.items():
            (aside / name).parent.mkdir(parents=True, exist_ok=True)
            write_file(aside / name, text)
    return kept


@pytest.fixture
def target(tmp_path):
    return tmp_path / "out"


def test_a_folder_appears_only_when_it_is_complete(tmp_path, target):
    def fails_half_way() -> None:
        with whole_folder(target) as aside:
            (aside / "half").write_text("x")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fails_half_way()
    assert names(tmp_path) == []
    with whole_folder(target) as aside:
        (aside / "one").write_text("1")
        assert not target.exists()
    assert names(target) == [MANIFEST, "one"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_made_again_what_it_wrote_itself_goes_and_comes(tmp_path, target):
    made(target, {"one": "1", "sub/two": "2"})
    assert made(target, {"two": "2"}) == []
    assert names(target) == [MANIFEST, "two"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_the_manifest_is_what_sha256sum_reads_and_has_nothing_of_time_or_place(target):
    made(target, {"one": "1", "sub/a b": "2", "new\nline\\": "3"})
    done = subprocess.run(
        ["sha256sum", "--strict", "-c", MANIFEST], cwd=target, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert read_manifest(target).keys() == {"one", "sub/a b", "new\nline\\"}
    text = (target / MANIFEST).read_text()
    made(target.parent / "other", {"one": "1", "sub/a b": "2", "new\nline\\": "3"})
    assert (target.parent / "other" / MANIFEST).read_text() == text
    assert str(target.parent) not in text


def test_a_persons_files_stay_and_are_told(tmp_path, target):
    # a try-out: `comments.docx` and `photos/` put into a handover were gone after the next
    made(target, {"index.html": "<p>1", "sub/plan.svg": "<svg/>"})
    (target / "comments.docx").write_text("mine")
    (target / "photos").mkdir()
    (target / "photos" / "1.jpg").write_text("mine")
    (target / "sub" / "note.txt").write_text("mine")
    (target / "empty").mkdir()
    (target / "link").symlink_to(tmp_path)
    kept = made(target, {"index.html": "<p>2"})
    assert kept == ["comments.docx", "link", "photos/1.jpg", "sub/note.txt"]
    assert names(target) == [MANIFEST, "comments.docx", "index.html", "link", "photos/1.jpg", "sub/note.txt"]
    assert (target / "empty").is_dir()
    assert (target / "link").is_symlink()
    assert "<p>2" in (target / "index.html").read_text()
    assert read_manifest(target).keys() == {"index.html"}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out"]


def test_a_file_changed_since_is_replaced_only_with_force(tmp_path, target):
    made(target, {"a.csv": "1", "b.csv": "1"})
    (target / "a.csv").write_text("corrected by hand")
    with pytest.raises(OutputInTheWay, match=r"did not write a\.csv, or it was changed since.*--force"):
        made(target, {"a.csv": "2", "b.csv": "2"})
    assert (target / "a.csv").read_text() == "corrected by hand"
    assert (target / "b.csv").read_text() == "1"
    assert made(target, {"a.csv": "2", "b.csv": "2"}, force=True) == []
    assert (target / "a.csv").read_text() == "2"
    # what has a seal is known by that too, if overtable itself wrote it there meanwhile
    made(target, {"a.svg": "<svg/>"})
    write_file(target / "a.svg", "<svg>2</svg>")
    made(target, {"a.svg": "<svg>3</svg>"})
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_file_of_the_last_time_that_was_changed_stays_though_the_new_has_none(target):
    made(target, {"a.csv": "1", "old.csv": "1"})
    (target / "old.csv").write_text("corrected by hand")
    with pytest.raises(OutputInTheWay, match=r"old\.csv"):
        made(target, {"a.csv": "2"})
    assert made(target, {"a.csv": "2"}, force=True) == ["old.csv"]
    assert (target / "old.csv").read_text() == "corrected by hand"


def test_somebody_elses_folder_is_entered_only_with_force_and_even_then_nothing_goes(target):
    (target / "one").mkdir(parents=True)
    (target / "one" / "mine").write_text("mine")
    with pytest.raises(OutputInTheWay, match="--force"):
        made(target, {"two": "2"})
    assert names(target) == ["one/mine"]
    assert made(target, {"two": "2"}, force=True) == ["one/mine"]
    assert names(target) == [MANIFEST, "one/mine", "two"]


@pytest.mark.parametrize("theirs", ["a", "a/b", "a/b/c", MANIFEST + "/x"])
def test_a_file_where_a_folder_goes_and_a_folder_where_a_file_goes_are_in_the_way(target, theirs):
    made(target, {"one": "1"})
    if theirs.startswith(MANIFEST):
        (target / MANIFEST).unlink()
    (target / theirs).parent.mkdir(parents=True, exist_ok=True)
    (target / theirs).write_text("mine")
    with pytest.raises(OutputInTheWay):
        made(target, {"a/b": "2"})
    assert (target / theirs).read_text() == "mine"


def test_what_comes_while_the_folder_is_filled_is_seen(tmp_path, target):
    # a try-out: the look was at the start only, and a folder made during the run was gone
    def made_while(folder, name):
        with whole_folder(folder) as aside:
            (aside / "one").write_text("1")
            folder.mkdir(exist_ok=True)
            (folder / name).write_text("mine")

    with pytest.raises(OutputInTheWay):
        made_while(target, "mine.txt")
    assert names(target) == ["mine.txt"]
    again = tmp_path / "again"
    made(again, {"one": "1"})
    made_while(again, "mine.txt")
    assert names(again) == [MANIFEST, "mine.txt", "one"]
    with pytest.raises(OutputInTheWay, match="one"):
        made_while(again, "one")
    assert (again / "one").read_text() == "mine"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["again", "out"]


def test_a_file_in_the_way_of_a_folder_is_refused(tmp_path, target):
    target.write_text("mine")
    with pytest.raises(OutputInTheWay, match="not a folder"):
        made(target, {"one": "1"}, force=True)
    assert target.read_text() == "mine"


def test_a_full_disk_names_the_file_asked_for(tmp_path, target, monkeypatch):
    real = outputs.os.chmod

    def full(path, mode):
        if str(path).endswith(".part"):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), path)
        real(path, mode)

    monkeypatch.setattr(outputs.os, "chmod", full)
    with pytest.raises(OutputFailed) as told:
        made(target, {"sub/two.svg": "<svg/>"})
    assert told.value.path == target / "sub" / "two.svg"
    assert told.value.exit_status == 3
    monkeypatch.undo()
    with pytest.raises(OutputFailed, match="one could not be written"), whole_folder(target) as aside:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(aside / "one"))
    assert list(tmp_path.iterdir()) == []


KILLED = """
import os, signal, sys
from pathlib import Path
from viz import folders
target = Path(sys.argv[1])
if sys.argv[2] == "between":
    real = os.rename
    def killed(source, to):
        real(source, to)
        if Path(to).name == "old":
            os.kill(os.getpid(), signal.SIGKILL)
    folders.os.rename = killed
with folders.whole_folder(target) as aside:
    (aside / "new.txt").write_text("new")
    if sys.argv[2] == "filling":
        os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.parametrize("when", ["filling", "between"])
def test_what_a_killed_run_left_is_put_right_by_the_next(tmp_path, target, when):
    # a try-out: kill -9 left folders that nothing cleared
    made(target, {"one": "1"})
    (target / "mine.txt").write_text("mine")
    done = subprocess.run([sys.executable, "-c", KILLED, target, when], check=False)
    assert done.returncode == -9
    assert len(list(tmp_path.glob(".out.overtable-*"))) == 1
    assert target.exists() is (when == "filling")
    assert made(target, {"two": "2"}) == ["mine.txt"]
    assert names(target) == [MANIFEST, "mine.txt", "two"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_run_that_lives_is_not_cleared_away(tmp_path, target):
    with whole_folder(target) as aside:
        (aside / "one").write_text("1")
        folders.clear_stale(target)
        assert (aside / "one").exists()
        # another one ends meanwhile
        made(target, {"two": "2"})
    assert names(target) == [MANIFEST, "one"]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_names_in_a_sentence():
    assert shortly(["a", "b"]) == "a, b"
    assert shortly(list("abcdefgh"), most=4) == "a, b, c and 5 more"


def test_a_link_to_a_folder_is_called_a_link(tmp_path):
    (tmp_path / "there").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "there")
    with pytest.raises(OutputInTheWay, match=r"link is a link\. Give the folder that it leads to"):
        check_free(tmp_path / "link")
