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
    except RuntimeError as error:
        # Python 3.11 wraps whatever comes while a class is made, in an import too
        if not isinstance(error.__cause__, KeyboardInterrupt):
            raise
        status = 130
    sys.exit(status)


def _as_process() -> int:
    """The exit status of the process's own command."""
    import gc
    import signal

    # a stop from outside tidies up as Ctrl-C does
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))

    # The process is the command's own. Nearly all that it makes lives to its end, so the collector looks
    # seldom, and not at all (frozen, below) on the way out: together a fifth of a cold `check`.
    gc.set_threshold(100_000)
    _without_plugins()

    from viz.commands.app import run
    from viz.commands.streams import unbroken

    sys.stdout, sys.stderr = (unbroken(stream) for stream in (sys.stdout, sys.stderr))
    status = run(sys.argv[1:])
    gc.freeze()
    return status


def _without_plugins() -> None:
    """Let pydantic look for no plugins: they have no business in a spec, and it would read every package's list.

    The module that looks for them is never loaded, for with it come importlib.metadata, email and zipfile, a
    twentieth of a cold `check`. Where a release of pydantic asks another, the variable still says what is meant.
    """
    import os
    import types

    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    looking = types.ModuleType("pydantic.plugin._loader")
    vars(looking)["get_plugins"] = tuple
    sys.modules.setdefault(looking.__name__, looking)
