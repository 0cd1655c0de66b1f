"""`overtable live`: the page on this machine, following the file."""

from __future__ import annotations

from pathlib import Path

from viz.commands.errors import WrongUse
from viz.commands.remarks import remark_unplaced


def live(spec: Path, /, *, port: int = 0, browser: bool = True) -> int:
    """Open the page in your browser and update it on every save.

    Drag an array to see its figures at once. Only this machine can open the page.

    Parameters
    ----------
    spec
        The room's spec file.
    port
        Port on this machine; 0 takes a free one.
    browser
        Open the browser. It is on by default.
    """
    from viz.live import serve

    if not 0 <= port <= 65535:
        raise WrongUse("use.port", port=port)
    remark_unplaced(spec)
    serve(spec, port=port, open_browser=browser)
    return 0
