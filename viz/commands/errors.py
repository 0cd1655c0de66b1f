"""What goes wrong, told on the right stream, and the exit status that goes with it.

Exit status: 0 done and nothing failed; 1 done, and the review found a failure; 2 the input is wrong
(nothing written); 3 something on this machine is missing or failed, with the way out; 130 Ctrl-C.
An exception carries its status in `exit_status`.
"""

from __future__ import annotations

import errno
import re
import sys

from scenes.spec.mistakes import SpecMistakes
from viz.commands.streams import print_json

WRONG, MACHINE, INTERRUPTED = 2, 3, 130

MACHINE_FAILS = {errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EMFILE, errno.ENFILE, errno.ENOMEM}
"""What the system refuses because of its own state, whatever the input."""


class WrongUse(Exception):
    """The command was asked for something it cannot do; the text says what to do instead."""

    exit_status = WRONG


def told(error: Exception, *, as_json: bool) -> int:
    """Tell an expected error on the right stream; its exit status. Anything unexpected is raised again."""
    from cyclopts import CycloptsError

    if isinstance(error, SpecMistakes):
        if as_json:
            print_json(error.as_json())
        else:
            print(error, file=sys.stderr)
        return WRONG
    if isinstance(error, CycloptsError):
        print(f"overtable: {_in_plain_words(error)}\nSee: overtable --help", file=sys.stderr)
        return WRONG
    status = getattr(error, "exit_status", None)
    if isinstance(status, int):
        print(f"overtable: {error}", file=sys.stderr)
        return status
    if isinstance(error, OSError):
        what = error.strerror or str(error)
        print(
            f"overtable: {error.filename}: {what}" if error.filename else f"overtable: {what}",
            file=sys.stderr,
        )
        return MACHINE if error.errno in MACHINE_FAILS else WRONG
    raise error


def _in_plain_words(error: Exception) -> str:
    """cyclopts says: unable to convert "x" into float."""
    return re.sub(
        r'unable to convert (".*?") into (int|float)',
        lambda found: f"found {found[1]}, allowed is a {'whole ' if found[2] == 'int' else ''}number",
        str(error),
    )
