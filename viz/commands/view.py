"""`overtable view`: the room in a native window."""

from __future__ import annotations

from pathlib import Path

from viz.commands.remarks import remark_unplaced


def view(spec: Path, /) -> int:
    """Open a 3D window that updates on every save.

    Parameters
    ----------
    spec
        The room's spec file.
    """
    from viz.window import show

    remark_unplaced(spec)
    show(spec)
    return 0
