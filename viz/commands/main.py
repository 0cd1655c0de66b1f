"""Run one command and exit with its status. Nothing is imported before it may be interrupted."""

from __future__ import annotations

import sys


def main(arguments: list[str] | None = None) -> None:
    """Run the command of these arguments, or of the process's own, and exit. No input leads to a traceback."""
    try:
        if arguments is None:
            status = _as_process()
        else:
            from viz.commands.app import run

            status = run(arguments)
    except KeyboardInterrupt:
        status = 130
    sys.exit(status)


def _as_process() -> int:
    """The exit status of the process's own command."""
    import gc
    import os
    import signal

    # a stop from outside tidies up as Ctrl-C does
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))

    # The process is the command's own. Nearly all that it makes lives to its end, so the collector looks
    # seldom, and not at all (frozen, below) on the way out: together a fifth of a cold `check`.
    gc.set_threshold(100_000)
    # Plugins of pydantic have no business in a spec; to look for them reads every installed package's list.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

    from viz.commands.app import run
    from viz.commands.streams import unbroken

    sys.stdout, sys.stderr = (unbroken(stream) for stream in (sys.stdout, sys.stderr))
    status = run(sys.argv[1:])
    gc.freeze()
    return status
