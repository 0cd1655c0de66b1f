"""`overtable start`, and `overtable` alone: the rooms of a folder on a page of this machine."""

from __future__ import annotations

from pathlib import Path

from viz.commands.errors import WrongUse


def start(folder: Path = Path(), /, *, port: int = 0, browser: bool = True) -> int:
    """Open the rooms of a folder in your browser: what overtable alone does.

    Each room is a card with its plan and verdict. New rooms, the best position and all documents are made from
    there. Only this machine can open the page, and only files in the folder are read or written.

    Parameters
    ----------
    folder
        Folder with your rooms. Left out: the one you are in.
    port
        Port on this machine; 0 takes a free one.
    browser
        Open the browser. It is on by default.
    """
    if not 0 <= port <= 65535:
        raise WrongUse("use.port", port=port)
    if not folder.is_dir():
        raise WrongUse("start.no folder", folder=folder)
    from viz.start.server import serve

    serve(folder, port=port, open_browser=browser)
    return 0
