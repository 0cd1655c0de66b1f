"""Whether a file that a room is read from was saved again."""

from __future__ import annotations

from pathlib import Path

from scenes.spec.model import Spec


def stamp(spec: Spec, path: Path) -> dict[Path, tuple[int, int] | None]:
    """What tells that a file the room is read from was saved again: the spec's own, and its profiles file's.

    When each was saved and how long it is; None while it is missing.
    """
    return {file: _saved(file) for file in (path, *spec.files)}


def _saved(path: Path) -> tuple[int, int] | None:
    try:
        state = path.stat()
    except OSError:
        return None
    return state.st_mtime_ns, state.st_size
