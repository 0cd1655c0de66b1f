"""Whole folders: filled aside, moved into place when they are complete, never over a person's work.

A folder keeps a manifest of what overtable wrote into it: names and SHA-256, nothing of time or machine. Made again,
only files that are still as the manifest says are replaced or removed; everything else stays where it is.
"""

from __future__ import annotations

import glob
import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from viz import seal
from viz.outputs import (
    MACHINE_FAILS,
    OutputFailed,
    OutputInTheWay,
    holds_input,
    lock,
    told_as,
    umask,
    write_file,
)
from viz.words.locale import Locale

MANIFEST = ".overtable"


@contextmanager
def whole_folder(
    path: Path, *, force: bool = False, kept: Callable[[Sequence[str]], None] = lambda names: None
) -> Iterator[Path]:
    """A folder to fill that becomes `path` at the end, or leaves no trace if the filling fails.

    A folder that is there already is made anew if overtable made it: files that it wrote and nobody changed go, files
    of other people stay, and `kept` is called with their names. Where a person's file, or one changed since, has the
    name of a new one, nothing is done (OutputInTheWay) unless `force` says to replace it; this is looked at before
    anything is made and again when all is ready to be moved in.
    """
    path = path.absolute()
    clear_stale(path)
    check_free(path, force=force)
    working = _Working(path)
    try:
        yield working.new
        write_manifest(working.new)
        stayed = working.move_in(force=force)
    except OutputFailed as failed:
        raise OutputFailed(working.asked_for(failed.path), failed.reason) from failed
    except OSError as error:
        where = path if error.filename is None else working.asked_for(Path(os.fsdecode(error.filename)))
        if error.errno not in MACHINE_FAILS and not where.is_relative_to(path):
            raise  # of something that was read
        with told_as(where):
            raise
    finally:
        working.clear()
    if stayed:
        kept(stayed)


def _folder_there(path: Path) -> bool:
    """Whether a folder stands there; OutputInTheWay for a link, a file, or a folder with what is being read."""
    if path.is_symlink():
        raise OutputInTheWay("output.link", path=path)
    if path.exists() and not path.is_dir():
        raise OutputInTheWay("output.no folder", path=path)
    if not path.is_dir():
        return False
    if holds_input(path):
        raise OutputInTheWay("folder.holds input", path=path)
    return True


def check_free(path: Path, *, force: bool = False) -> None:
    """Raise OutputInTheWay if `path` is a file or a link, or a folder that must not be made anew."""
    if not _folder_there(path):
        return
    if force:
        return
    manifest = read_manifest(path)
    if manifest is None:
        if any(path.iterdir()):
            raise OutputInTheWay("folder.of others", path=path)
        return
    _require_unchanged(path, [name for name in manifest if _changed(path, name, manifest)])


def _require_unchanged(path: Path, names: Sequence[str]) -> None:
    if names:
        raise OutputInTheWay("folder.changed", path=path, names=shortly(names))


def shortly(names: Sequence[str], most: int = 6) -> str:
    """Names of files in a sentence, the first of many."""
    return ", ".join(names) if len(names) <= most else Locale("m").listed(names, most)


# ---------------------------------------------------------------- the manifest


def write_manifest(folder: Path, digests: Mapping[str, str] | None = None) -> None:
    """Put the names and digests of all files of a folder into its manifest, as sha256sum writes and reads them.

    Of a folder that holds other people's files the digests of overtable's own are given.
    """
    lines = []
    if digests is None:
        digests = {name: _digest(folder / name) for name in _files(folder)}
    for name, digest in digests.items():
        escaped = name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
        lines.append(f"{'' if escaped == name else chr(92)}{digest}  {escaped}\n")
    header = f"# {Locale('m').say('folder.manifest', manifest=MANIFEST)}\n"
    (folder / MANIFEST).write_bytes((header + "".join(lines)).encode("utf-8", "surrogateescape"))


def read_manifest(folder: Path) -> dict[str, str] | None:
    """The digests of what overtable wrote into a folder, by name; None if there is no manifest."""
    try:
        text = (folder / MANIFEST).read_bytes().decode("utf-8", "surrogateescape")
    except OSError:
        return None
    manifest = {}
    for line in text.split("\n"):
        digest, cut, name = line.removeprefix("\\").partition("  ")
        if cut and len(digest) == 64:
            if line.startswith("\\"):
                name = name.replace("\\n", "\n").replace("\\r", "\r").replace("\\\\", "\\")
            manifest[name] = digest
    return manifest


def _files(folder: Path) -> list[str]:
    """The names of all files below a folder (and of links, which are not followed), but for the manifest."""
    found = []
    for here, folders, files in os.walk(folder):
        where = Path(here)
        links = [name for name in folders if (where / name).is_symlink()]
        found += [(where / name).relative_to(folder).as_posix() for name in (*files, *links)]
    return sorted(name for name in found if name != MANIFEST)


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _changed(folder: Path, name: str, manifest: Mapping[str, str]) -> bool:
    """Whether a name of the manifest holds something that overtable did not write. What is gone is not changed."""
    path = folder / name
    if not path.is_symlink() and not path.exists():
        return False
    if path.is_symlink() or not path.is_file():
        return True
    return _digest(path) != manifest[name] and not seal.unbroken(path)


def is_whole(folder: Path) -> bool:
    """Whether a folder holds all that its manifest says, as overtable wrote it."""
    manifest = read_manifest(folder)
    if manifest is None:
        return False
    return all((folder / name).is_file() and not _changed(folder, name, manifest) for name in manifest)


# ---------------------------------------------------------------- a folder of folders


def require_own(path: Path, names: Sequence[str], *, force: bool = False) -> None:
    """Raise OutputInTheWay unless `path` may hold folders that are made one by one, and these files beside them."""
    if not _folder_there(path):
        return
    manifest = read_manifest(path)
    if force:
        return
    if manifest is None and any(path.iterdir()):
        raise OutputInTheWay("folder.of others", path=path)
    own = manifest or {}
    _require_unchanged(path, [name for name in names if _stands(path, name) and _is_theirs(path, name, own)])


def _stands(path: Path, name: str) -> bool:
    return (path / name).is_symlink() or (path / name).exists()


def _is_theirs(path: Path, name: str, manifest: Mapping[str, str]) -> bool:
    return name not in manifest or _changed(path, name, manifest)


def put_beside(
    path: Path, files: Mapping[str, bytes | str], rooms: Sequence[str], *, force: bool = False
) -> None:
    """Put files into a folder of folders, each whole or not at all, and all that is overtable's into its manifest.

    What an earlier run put there and this one does not, files and folders, goes as far as nobody changed it.
    """
    require_own(path, list(files), force=force)
    before = read_manifest(path) or {}
    gone = {name.partition("/")[0] for name in before if "/" in name} - {*rooms}
    for folder in sorted(gone):
        _remove_own(path / folder)
    for name in before:
        if "/" not in name and name not in files and not _changed(path, name, before):
            (path / name).unlink(missing_ok=True)
    for name, content in files.items():
        write_file(path / name, content, force=True)
    digests = {name: _digest(path / name) for name in files}
    for room in rooms:
        digests |= {f"{room}/{name}": digest for name, digest in (read_manifest(path / room) or {}).items()}
    write_manifest(path, digests)


def _remove_own(folder: Path) -> None:
    """Remove what overtable wrote into a folder and nobody changed, and what is empty then."""
    manifest = read_manifest(folder) or {}
    for name in manifest:
        if not _changed(folder, name, manifest):
            (folder / name).unlink(missing_ok=True)
    (folder / MANIFEST).unlink(missing_ok=True)
    for here, _, _ in os.walk(folder, topdown=False):
        with suppress(OSError):
            os.rmdir(here)


# ---------------------------------------------------------------- the working folder


class _Working:
    """A hidden folder beside the one asked for, locked while this process lives: `new` is filled, `old` is what
    stood there, for the moment in which they change places."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with told_as(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            self.folder = Path(tempfile.mkdtemp(dir=path.parent, prefix=_prefix(path)))
            self.held = _held(self.folder)
            self.new, self.old = self.folder / "new", self.folder / "old"
            self.new.mkdir()
            os.chmod(self.new, 0o777 & ~umask())

    def asked_for(self, path: Path) -> Path:
        """The place asked for of a file aside."""
        return self.path / path.relative_to(self.new) if path.is_relative_to(self.new) else path

    def move_in(self, *, force: bool) -> list[str]:
        """Put the new folder in place; the names of a person's files that stayed. Raises OutputInTheWay."""
        with _one_at_a_time(self.path.parent):
            if not self.path.exists() and not self.path.is_symlink():
                os.rename(self.new, self.path)
                return []
            check_free(self.path, force=force)
            os.rename(self.path, self.old)
            # nobody finds it by its name now, so what is seen is what is moved
            try:
                theirs = _theirs(self.old)
                names = {*_files(self.new), MANIFEST}
                met = [
                    n for n in theirs if _meets(n, names) and not (n in names and seal.unbroken(self.old / n))
                ]
                if not force:
                    _require_unchanged(self.path, met)
                os.rename(self.new, self.path)
            except BaseException:
                os.rename(self.old, self.path)
                raise
            return _bring_back(self.old, self.path, theirs)

    def clear(self) -> None:
        """Remove what is left aside. A person's file that could not be brought back is not."""
        shutil.rmtree(self.new, ignore_errors=True)
        with suppress(OSError):
            self.folder.rmdir()
        if self.held is not None:
            os.close(self.held)


def _theirs(folder: Path) -> list[str]:
    """The names in a folder that overtable did not write, or that were changed since."""
    manifest = read_manifest(folder) or {}
    return [name for name in _files(folder) if name not in manifest or _changed(folder, name, manifest)]


def _meets(name: str, names: set[str]) -> bool:
    """Whether a file of this name and files of these cannot stand in one folder."""
    parts = name.split("/")
    if any("/".join(parts[:n]) in names for n in range(1, len(parts) + 1)):
        return True
    return any(other.startswith(f"{name}/") for other in names)


def _bring_back(old: Path, path: Path, theirs: Sequence[str]) -> list[str]:
    """Move a person's files from the old folder into the new one, and remove the rest of the old. Their names."""
    names = {*_files(path), MANIFEST}
    back = [name for name in theirs if not _meets(name, names)]
    for name in back:
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        os.rename(old / name, path / name)
    for here, folders, _ in os.walk(old):
        # folders that a person made and that hold nothing
        for empty in (Path(here) / name for name in folders):
            if not any(empty.iterdir()) and not _meets(empty.relative_to(old).as_posix(), names):
                (path / empty.relative_to(old)).mkdir(parents=True, exist_ok=True)
    shutil.rmtree(old)
    return back


def _prefix(path: Path) -> str:
    return f".{path.name[:60]}.overtable-"


def _held(folder: Path) -> int | None:
    """A locked handle of a folder; None if somebody else holds it, or if there are no such locks here."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return None
    if lock(handle):
        return handle
    os.close(handle)
    return None


@contextmanager
def _one_at_a_time(folder: Path) -> Iterator[None]:
    """Two runs that end together move their folders in one after the other, where the system has locks."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        yield
        return
    try:
        lock(handle, wait=True)
        yield
    finally:
        os.close(handle)


def clear_stale(path: Path) -> None:
    """Remove working folders of killed runs for the same folder; what had been taken from its place goes back."""
    for left in path.parent.glob(f"{glob.escape(_prefix(path))}*"):
        held = _held(left) if left.is_dir() and not left.is_symlink() else None
        if held is None:
            continue
        try:
            if (left / "old").is_dir():
                if path.exists():
                    with suppress(OSError):
                        _bring_back(left / "old", path, _theirs(left / "old"))
                else:
                    os.rename(left / "old", path)
            shutil.rmtree(left / "new", ignore_errors=True)
            with suppress(OSError):
                left.rmdir()
        finally:
            os.close(held)
