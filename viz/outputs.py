"""Writing outputs: into the place the user gave, whole or not at all.

Files are written aside in the folder they belong to and renamed; folders are made aside and moved in
place at the end. Nothing is ever written anywhere else.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class OutputInTheWay(Exception):
    """Something else is where the output should go. Nothing was written."""

    exit_status = 2


_INPUTS: set[Path] = set()


def protect(*inputs: Path) -> None:
    """From now on nothing is written over these files, nor over a folder that holds one: they are the input."""
    _INPUTS.update(path.resolve() for path in inputs)


def write_file(path: Path, content: bytes | str) -> Path:
    """Write a whole file, or nothing: aside first, then renamed over `path`. Returns the path.

    The folder must exist; text is UTF-8 with line feeds.
    """
    if path.is_dir():
        raise OutputInTheWay(f"{path} is a folder; give the name of a file")
    if path.resolve() in _INPUTS:
        raise OutputInTheWay(f"{path} is what was read; give the output another name")
    if not path.parent.is_dir():
        raise OutputInTheWay(f"{path.parent} is no folder; make it first, or give another")
    data = content.encode("utf-8") if isinstance(content, str) else content
    with _told_as(path):
        handle, aside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(aside, 0o666 & ~_umask())
        os.replace(aside, path)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise
    return path


def output_folder(path: Path) -> Path:
    """The folder to write a set of files into, made if it is not there. Raises OutputInTheWay."""
    if path.exists() and not path.is_dir():
        raise OutputInTheWay(f"{path} exists and is no folder; give another name")
    path.mkdir(parents=True, exist_ok=True)
    return path


@contextmanager
def whole_folder(path: Path, *, force: bool = False) -> Iterator[Path]:
    """A folder to fill that becomes `path` at the end, or leaves no trace if the filling fails.

    An existing folder is replaced only if it is empty or was made by overtable (it holds the marker
    file), or with `force`. Raises OutputInTheWay otherwise, before anything is made.
    """
    path = path.absolute()
    check_free(path, force=force)
    with _told_as(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(dir=path.parent, prefix=f".{path.name}."))
    try:
        os.chmod(aside, 0o777 & ~_umask())
        yield aside
        (aside / MARKER).write_text(
            "Made by overtable; replaced as a whole when it is made again.\n", "utf-8"
        )
        old = None
        if path.exists():
            old = Path(tempfile.mkdtemp(dir=path.parent, prefix=f".{path.name}.old.")) / "folder"
            os.rename(path, old)
        os.rename(aside, path)
        if old is not None:
            shutil.rmtree(old.parent)
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise


@contextmanager
def _told_as(path: Path) -> Iterator[None]:
    """What the system refuses is told of the output asked for, not of the name it has meanwhile."""
    try:
        yield
    except OSError as error:
        raise OutputInTheWay(f"{path} cannot be made there ({error.strerror}); give another place") from error


MARKER = ".overtable"


def check_free(path: Path, *, force: bool = False) -> None:
    """Raise OutputInTheWay if `path` is a file, or a folder that holds other people's files."""
    if path.is_symlink() or (path.exists() and not path.is_dir()):
        raise OutputInTheWay(f"{path} exists and is no folder; give another name")
    here = path.resolve()
    if here.is_dir() and any(kept.is_relative_to(here) for kept in (*_INPUTS, Path.cwd().resolve())):
        raise OutputInTheWay(f"{path} is the current folder or holds what is read; give another folder")
    if path.is_dir() and any(path.iterdir()) and not (path / MARKER).exists() and not force:
        raise OutputInTheWay(
            f"{path} holds files that overtable did not make; give another folder, or --force to replace it"
        )


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
