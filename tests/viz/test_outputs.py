"""Outputs come whole or not at all, and never over somebody else's files."""

from __future__ import annotations

import pytest

from viz.outputs import MARKER, OutputInTheWay, whole_folder, write_file


def names(folder):
    return sorted(p.name for p in folder.iterdir())


def test_a_file_is_written_whole_and_nothing_is_left_beside_it(tmp_path):
    assert write_file(tmp_path / "a.txt", "ä\n").read_bytes() == "ä\n".encode()
    write_file(tmp_path / "a.txt", b"new")
    assert names(tmp_path) == ["a.txt"]
    assert (tmp_path / "a.txt").stat().st_mode & 0o444 == 0o444


def test_a_file_that_cannot_be_written_leaves_nothing(tmp_path):
    with pytest.raises(OutputInTheWay, match="no folder"):
        write_file(tmp_path / "nowhere" / "a.txt", "x")
    with pytest.raises(OutputInTheWay, match="is a folder"):
        write_file(tmp_path, "x")
    with pytest.raises(TypeError):
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


def test_a_folder_appears_only_when_it_is_complete(tmp_path):
    target = tmp_path / "out"

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
    assert names(target) == [MARKER, "one"]
    assert names(tmp_path) == ["out"]


def test_its_own_folder_is_replaced_as_a_whole_and_others_only_with_force(tmp_path):
    target = tmp_path / "out"
    for name in ("one", "two"):
        with whole_folder(target) as aside:
            (aside / name).write_text(name)
    assert names(target) == [MARKER, "two"]
    (target / MARKER).unlink()
    with pytest.raises(OutputInTheWay, match="--force"), whole_folder(target):
        pass
    assert names(target) == ["two"]
    with whole_folder(target, force=True) as aside:
        (aside / "three").write_text("3")
    assert names(target) == [MARKER, "three"]
    assert names(tmp_path) == ["out"]


def test_a_file_in_the_way_of_a_folder_is_refused(tmp_path):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(OutputInTheWay, match="no folder"), whole_folder(tmp_path / "out", force=True):
        pass
    assert (tmp_path / "out").read_text() == "mine"


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
