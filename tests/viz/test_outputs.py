"""Outputs come whole or not at all, and never over somebody else's files."""

from __future__ import annotations

import errno
import os
import pickle
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viz import outputs
from viz.outputs import (
    NAME_LENGTH,
    OutputFailed,
    OutputInTheWay,
    slug_of,
    unique_slugs,
    write_file,
    write_files,
)


def names(folder):
    return sorted(p.name for p in folder.iterdir())


def test_a_file_is_written_whole_and_nothing_is_left_beside_it(tmp_path):
    assert write_file(tmp_path / "a.txt", "ä\n").read_bytes() == "ä\n".encode()
    write_file(tmp_path / "a.txt", b"new", force=True)
    assert names(tmp_path) == ["a.txt"]
    assert (tmp_path / "a.txt").stat().st_mode & 0o444 == 0o444


def test_a_file_that_cannot_be_written_leaves_nothing(tmp_path):
    with pytest.raises(OutputInTheWay, match="is not a folder"):
        write_file(tmp_path / "nowhere" / "a.txt", "x")
    with pytest.raises(OutputInTheWay, match="is a folder"):
        write_file(tmp_path, "x")
    with pytest.raises((TypeError, AttributeError)):
        write_file(tmp_path / "a.txt", 3)
    assert names(tmp_path) == []


def test_a_place_that_cannot_be_written_is_told_by_the_name_asked_for(rooms, run):
    # a folder in which nothing can be made, not even by root
    for arguments in (
        ("handover", rooms / "heron.yaml", "-o", "/proc/room", "--no-pictures"),
        ("handover", rooms / "heron.yaml", "-o", "/proc/a/room", "--no-pictures"),
        ("export", rooms / "heron.yaml", "/proc/room.json"),
    ):
        code, out, err = run(*arguments)
        assert (code, out) == (2, "")
        assert f"{arguments[-2 if arguments[-1] == '--no-pictures' else -1]} cannot be made there" in err
        assert "/." not in err


def test_what_a_person_wrote_is_replaced_only_with_force(tmp_path):
    # a try-out: `page heron.yaml -o weir.yaml` turned another room's spec into HTML
    mine = tmp_path / "a.svg"
    mine.write_text("<svg>mine</svg>")
    with pytest.raises(OutputInTheWay, match=r"not made by overtable.*--force"):
        write_file(mine, "<svg/>")
    assert mine.read_text() == "<svg>mine</svg>"
    write_file(mine, "<svg/>", force=True)
    # its own again, as often as one likes, until somebody changes it
    write_file(mine, "<svg>2</svg>")
    mine.write_bytes(mine.read_bytes().replace(b"2", b"3"))
    with pytest.raises(OutputInTheWay, match="changed since"):
        write_file(mine, "<svg>4</svg>")
    assert names(tmp_path) == ["a.svg"]


def test_a_form_without_a_seal_is_replaced_by_the_same_bytes_only(tmp_path):
    table = tmp_path / "a.csv"
    write_file(table, "a,b\n")
    write_file(table, "a,b\n")
    with pytest.raises(OutputInTheWay, match=r"CSV has no place to say who wrote it.*--force"):
        write_file(table, "a,c\n")
    assert table.read_text() == "a,b\n"
    assert write_file(table, "a,c\n", force=True).read_text() == "a,c\n"


def test_a_set_of_files_is_written_whole_or_not_at_all(tmp_path):
    (tmp_path / "b.txt").write_text("mine")
    (tmp_path / "c.txt").mkdir()
    with pytest.raises(OutputInTheWay) as told:
        write_files({tmp_path / "a.txt": "1", tmp_path / "b.txt": "2", tmp_path / "c.txt": "3"})
    assert "b.txt holds something else" in str(told.value)
    assert "c.txt is a folder" in str(told.value)
    assert names(tmp_path) == ["b.txt", "c.txt"]


def test_what_comes_while_the_output_is_made_is_not_replaced(tmp_path, monkeypatch):
    real = outputs._aside

    def slow(path, content):
        made = real(path, content)
        path.write_text("mine")
        return made

    monkeypatch.setattr(outputs, "_aside", slow)
    with pytest.raises(OutputInTheWay, match=r"a\.txt holds something else"):
        write_file(tmp_path / "a.txt", "x")
    monkeypatch.undo()
    real_link = os.link

    def late(source, target):
        target.write_text("mine, at the last moment")
        real_link(source, target)

    monkeypatch.setattr(outputs.os, "link", late)
    with pytest.raises(OutputInTheWay, match=r"b\.txt holds something else"):
        write_file(tmp_path / "b.txt", "x")
    assert (tmp_path / "b.txt").read_text() == "mine, at the last moment"
    assert names(tmp_path) == ["a.txt", "b.txt"]


def test_devices_pipes_and_read_only_files_are_left_alone(tmp_path):
    os.mkfifo(tmp_path / "pipe.svg")
    for path in (tmp_path / "pipe.svg", Path("/dev/null")):
        with pytest.raises(OutputInTheWay, match="device or a pipe"):
            write_file(path, "<svg/>", force=True)
    assert not Path("/dev/null").is_file()
    own = write_file(tmp_path / "own.svg", "<svg/>")
    own.chmod(0o444)
    with pytest.raises(OutputInTheWay, match="read-only"):
        write_file(own, "<svg>2</svg>")
    assert write_file(own, "<svg>2</svg>", force=True).stat().st_mode & 0o777 == 0o666 & ~outputs.umask()


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "there").mkdir()
    link = tmp_path / "a.svg"
    link.symlink_to(tmp_path / "there" / "real.svg")
    write_file(link, "<svg/>")
    write_file(link, "<svg>2</svg>")
    assert link.is_symlink()
    assert b"<svg>2" in (tmp_path / "there" / "real.svg").read_bytes()


def test_a_full_disk_is_the_machines_fault_and_leaves_nothing(tmp_path, monkeypatch):
    # a try-out: exit 2, no file named, and `sheets` left its PDF without the DXFs
    real = os.chmod

    def full(path, mode):
        if len(list(tmp_path.glob(".overtable-*"))) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), path)
        real(path, mode)

    monkeypatch.setattr(outputs.os, "chmod", full)
    with pytest.raises(OutputFailed) as told:
        write_files({tmp_path / "a.svg": "<svg/>", tmp_path / "b.svg": "<svg/>"})
    assert told.value.exit_status == 3
    assert str(told.value).startswith(
        f"{tmp_path / 'b.svg'} could not be written: {os.strerror(errno.ENOSPC)}"
    )
    assert names(tmp_path) == []
    again = pickle.loads(pickle.dumps(told.value))
    assert str(again) == str(told.value)


def test_what_a_killed_run_left_aside_is_cleared_by_the_next(tmp_path):
    left, busy, young = (tmp_path / f".overtable-{name}.part" for name in ("left", "busy", "young"))
    for path in (left, busy, young):
        path.write_text("half")
    for path in (left, busy):
        os.utime(path, (1, 1))
    with busy.open("rb") as stream:
        assert outputs.lock(stream.fileno())
        write_file(tmp_path / "a.txt", "x")
        assert names(tmp_path) == [busy.name, young.name, "a.txt"]


def test_names_become_file_names():
    assert slug_of("Café Größe / 2") == "cafe-grosse-2"
    assert slug_of("../..") == "room"
    assert slug_of("会議室") == "room"
    assert slug_of("CON") == "con-room"
    assert slug_of("x" * 400) == "x" * NAME_LENGTH


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        (["x", "x", "y"], ["x", "x-2", "y"]),
        # a try-out: "C.1" and "C 1" shared one picture
        (["camera:C.1", "camera:C 1"], ["camera-c-1", "camera-c-1-2"]),
        # a try-out: arrays 甲 and 乙, cameras 左 and 右
        (["array:甲", "array:乙", "camera:左"], ["array", "array-2", "camera"]),
        # a try-out: the third came out like the second
        (["a", "a", "a-2"], ["a", "a-3", "a-2"]),
        (["a-2", "a", "a", "a"], ["a-2", "a", "a-3", "a-4"]),
        (["x" * 90, "x" * 91], ["x" * 80, "x" * 78 + "-2"]),
    ],
)
def test_no_two_names_of_a_folder_are_one(asked, given):
    assert unique_slugs(asked) == given


@given(st.lists(st.text("aA1-. 甲é", max_size=4) | st.text(max_size=120), max_size=12))
def test_names_of_a_folder_are_different_short_and_plain(asked):
    slugs = unique_slugs(asked)
    assert len(set(slugs)) == len(asked)
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9-]{0,79}", slug) for slug in slugs)
    assert unique_slugs(asked) == slugs


@pytest.mark.parametrize(
    "arguments",
    [
        ("page", "heron.yaml", "-o", "heron.yaml"),
        ("page", "heron.yaml", "-o", "devices.yaml"),
        ("heights", "heron.yaml", "--picture", "heron.svg"),
        ("place", "heron.yaml", "--certificate", "heron.yaml"),
        ("handover", "heron.yaml", "-o", ".", "--force", "--no-pictures"),
    ],
)
def test_no_output_replaces_what_was_read(rooms, run, monkeypatch, arguments):
    monkeypatch.chdir(rooms)
    # a spec may have any name, a picture's too
    (rooms / "heron.svg").write_bytes((rooms / "heron.yaml").read_bytes())
    arguments = [a if a != "heron.yaml" or "heron.svg" not in arguments else "heron.svg" for a in arguments]
    before = {path.name: path.read_bytes() for path in rooms.iterdir()}
    assert run(*arguments)[0] == 2
    assert {path.name: path.read_bytes() for path in rooms.iterdir()} == before


def test_a_profiles_file_in_another_folder_is_kept_too(rooms, run):
    library = rooms / "lib"
    library.mkdir()
    (rooms / "devices.yaml").rename(library / "devices.yaml")
    spec = rooms / "heron.yaml"
    spec.write_text(spec.read_text().replace("profiles: devices.yaml", "profiles: lib/devices.yaml"))
    before = (library / "devices.yaml").read_bytes()
    assert run("page", spec, "-o", library / "devices.yaml")[0] == 2
    assert run("handover", spec, "-o", library, "--force", "--no-pictures")[0] == 2
    assert [path.name for path in library.iterdir()] == ["devices.yaml"]
    assert (library / "devices.yaml").read_bytes() == before
