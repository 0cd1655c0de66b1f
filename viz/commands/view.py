"""`overtable view`: the room in a native window."""

from __future__ import annotations

from pathlib import Path

from viz.commands.inputs import placed_scene


def view(spec: Path, /) -> int:
    """Open a 3D window that updates on every save.

    Parameters
    ----------
    spec
        The room's spec file.
    """
    from viz.window import show

    placed_scene(spec)
    show(spec)
    return 0
