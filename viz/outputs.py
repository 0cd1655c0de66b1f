"""Writing outputs: into the place the user gave, whole or not at all, and never over a person's work.

Files are written aside in the folder they belong to and renamed. What stands there already is replaced only if
overtable wrote it and nobody changed it since (its seal is unbroken), if it holds the same bytes, or with `force`.
Nothing is ever written anywhere else. Whole folders: viz/folders.py.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import sys
import tempfile
import time
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from viz import seal
from viz.refusals import Refusal


class OutputInTheWay(Refusal):
    """Something else is where the output should go. Nothing was written."""


class OutputFailed(Refusal):
    """This machine could not write an output: its disk is full or failed. Nothing of it is left."""

    exit_status = 3

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__("output.failed", path=path, reason=reason)
        self.path, self.reason = path, reason

    def __reduce__(self) -> tuple[type[OutputFailed], tuple[Path, str]]:
        return OutputFailed, (self.path, self.reason)


MACHINE_FAILS = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EMFILE, errno.ENFILE, errno.ENOMEM}
"""What the system refuses because of its own state, whatever the name asked for."""

_INPUTS: set[Path] = set()


def protect(*inputs: Path) -> None:
    """From now on nothing is written over these files, nor over a folder that holds one: they are the input."""
    _INPUTS.update(path.resolve() for path in inputs)


def holds_input(folder: Path) -> bool:
    """Whether a folder is the current one or holds what was read."""
    here = folder.resolve()
    return any(path.is_relative_to(here) for path in (*_INPUTS, Path.cwd().resolve()))


# ---------------------------------------------------------------- files


def write_file(path: Path, content: bytes | str, *, force: bool = False) -> Path:
    """Write a whole file, or nothing. Returns the path. See `write_files`."""
    return write_files({path: content}, force=force)[0]


def write_files(files: Mapping[Path, bytes | str], *, force: bool = False) -> list[Path]:
    """Write all of these files, or none: each aside first, then renamed over its name. Returns the names.

    Their folders must exist; text is UTF-8 with line feeds. Each gets its seal where its form has one. Raises
    OutputInTheWay before anything is written if one of them must not be, OutputFailed if the machine fails.
    """
    contents = {
        path: seal.sealed(content.encode("utf-8") if isinstance(content, str) else content, path.suffix)
        for path, content in files.items()
    }
    _require_free(contents, force=force)
    asides: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            asides[path] = _aside(path, content)
        # again, for what happened meanwhile
        _require_free(contents, force=force)
        for path, aside in asides.items():
            _move_in(aside, path, contents[path], force=force)
    finally:
        for aside in asides.values():
            aside.unlink(missing_ok=True)
    return list(files)


def require_replaceable(path: Path, *, force: bool = False) -> None:
    """Raise OutputInTheWay before long work if a file of this name will be refused whatever its content."""
    if seal.has_seals(path):
        _require_free({path: b""}, force=force)


def output_folder(path: Path) -> Path:
    """The folder to write a set of files into, made if it is not there. Raises OutputInTheWay."""
    if path.exists() and not path.is_dir():
        raise OutputInTheWay("output.no folder", path=path)
    with told_as(path):
        path.mkdir(parents=True, exist_ok=True)
    return path


@contextmanager
def told_as(path: Path) -> Iterator[None]:
    """What the system refuses is told of the output asked for, not of the name it has meanwhile."""
    try:
        yield
    except OSError as error:
        if error.errno in MACHINE_FAILS:
            raise OutputFailed(path, str(error.strerror)) from error
        raise OutputInTheWay("output.impossible", path=path, reason=error.strerror) from error


def _require_free(contents: Mapping[Path, bytes], *, force: bool) -> None:
    if in_the_way := [
        why for path, content in contents.items() if (why := _in_the_way(path, content, force))
    ]:
        raise in_the_way[0].with_others(in_the_way[1:])


def _in_the_way(path: Path, content: bytes, force: bool) -> OutputInTheWay | None:
    """Why this content must not be written under this name; None if it may."""
    real = path.resolve()
    if path.is_dir():
        return OutputInTheWay("output.folder", path=path)
    if real in _INPUTS:
        return OutputInTheWay("output.input", path=path)
    if not real.parent.is_dir():
        return OutputInTheWay("output.no parent", folder=path.parent)
    try:
        mode = real.stat().st_mode
    except OSError:
        return None  # not there, or out of reach: then writing tells
    if not stat.S_ISREG(mode):
        return OutputInTheWay("output.device", path=path)
    if force:
        return None
    if not mode & 0o222:
        return OutputInTheWay("output.read-only", path=path)
    if seal.unbroken(real) or _holds(real, content):
        return None
    return _of_others(path)


def _of_others(path: Path) -> OutputInTheWay:
    """That a file is not overtable's, or that its form could not say so."""
    if seal.has_seals(path):
        return OutputInTheWay("output.changed", path=path)
    if form := path.suffix.upper().removeprefix("."):
        return OutputInTheWay("output.unknown", path=path, form=form)
    return OutputInTheWay("output.unknown, no ending", path=path)


def _holds(path: Path, content: bytes) -> bool:
    try:
        return path.stat().st_size == len(content) and path.read_bytes() == content
    except OSError:
        return False


# ---------------------------------------------------------------- aside

_ASIDE = ".overtable-"
_STALE_S = 60.0
"""A file aside is locked while it is written; one that is not, and older than this, was left by a killed run."""


def _aside(path: Path, content: bytes) -> Path:
    """The content in a file beside its place, written through to the disk's books. Raises OutputFailed."""
    folder = path.resolve().parent
    clear_stale_files(folder)
    with told_as(path):
        handle, name = tempfile.mkstemp(dir=folder, prefix=_ASIDE, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as stream:
                lock(stream.fileno())
                stream.write(content)
            os.chmod(name, 0o666 & ~umask())
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    return Path(name)


def _move_in(aside: Path, path: Path, content: bytes, *, force: bool) -> None:
    """Give a file aside its name. A file that came there since it was looked at is not replaced either."""
    real = path.resolve()
    with told_as(path):
        if not real.exists():
            # a link, unlike a rename, never replaces; where there are no links the check above must do
            with suppress(OSError):
                os.link(aside, real)
                return
        _require_free({path: content}, force=force)
        os.replace(aside, real)


def clear_stale_files(folder: Path) -> None:
    """Remove files aside that a killed run left in a folder."""
    for left in folder.glob(f"{_ASIDE}*.part"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime < _STALE_S:
                continue
            with left.open("rb") as stream:
                if lock(stream.fileno()):
                    left.unlink()


if sys.platform == "win32":

    def lock(handle: int, *, wait: bool = False) -> bool:
        """False: there is no such lock here, so nothing counts as left over."""
        return False

else:
    import fcntl

    def lock(handle: int, *, wait: bool = False) -> bool:
        """Lock an open file or folder until it is closed or the process dies; whether that was possible."""
        try:
            fcntl.flock(handle, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True


def umask() -> int:
    """The permissions that new files do not get."""
    mask = os.umask(0)
    os.umask(mask)
    return mask


# ---------------------------------------------------------------- names

NAME_LENGTH = 80
"""Letters of a file's name, its ending not counted: far below what any file system holds."""

_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
"""Names that Windows keeps for itself."""


def slug_of(name: str) -> str:
    """A name as a file name: at most NAME_LENGTH small ASCII letters, digits and dashes; never empty."""
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:NAME_LENGTH].rstrip("-")
    return f"{slug}-room" if slug in _DEVICES else slug or "room"


def unique_slugs(names: Sequence[str]) -> list[str]:
    """A file name for each of these names in one folder, all different. What would be second of a name gets -2 and
    so on, but never a name that another one has by itself."""
    plain = [slug_of(name) for name in names]
    taken: set[str] = set()
    slugs = []
    for slug in plain:
        found, number = slug, 1
        while found in taken or (number > 1 and found in plain):
            number += 1
            end = f"-{number}"
            found = slug[: NAME_LENGTH - len(end)].rstrip("-") + end
        taken.add(found)
        slugs.append(found)
    return slugs
