"""What goes wrong, told on the right stream, and the exit status that goes with it.

Exit status: 0 done and nothing failed; 1 done, and the review found a failure; 2 the input is wrong
(nothing written); 3 something on this machine is missing or failed, with the way out; 130 Ctrl-C.
An exception carries its status in `exit_status`.
"""

from __future__ import annotations

import re
import sys
from typing import TYPE_CHECKING

from scenes.spec.mistakes import SpecMistakes, WriteRefused
from viz.commands.examples import EXAMPLES
from viz.commands.streams import print_json
from viz.refusals import Refusal

if TYPE_CHECKING:
    from viz.words.locale import Locale

WRONG, MACHINE, INTERRUPTED = 2, 3, 130

OURS = ("geometry", "scenes", "viz")
"""Packages of overtable's own: where one of these is missing, the fault is overtable's."""


class WrongUse(Refusal):
    """The command was asked for something it cannot do; its message says what to do instead."""


class Unusable(Exception):
    """What was given cannot give what was asked for; the text, of viz/words, says why."""

    exit_status = WRONG


class Missing(Exception):
    """Something that is needed is not installed; the text, of viz/words, says how to get it."""

    exit_status = MACHINE


def told(error: Exception, *, as_json: bool) -> int:
    """Tell an expected error on the right stream; its exit status. Anything unexpected is raised again."""
    status = status_of(error)
    if status is None:
        raise error
    if isinstance(error, SpecMistakes) and as_json:
        from viz.json_objects import mistakes

        print_json(mistakes(error))
    elif isinstance(error, SpecMistakes):
        from viz.words.mistakes import lines

        print(lines(error), file=sys.stderr)
    else:
        print(f"overtable: {text_of(error)}", file=sys.stderr)
    return status


def status_of(error: Exception) -> int | None:
    """The exit status that goes with an error; None if it is not one to be expected."""
    if isinstance(error, SpecMistakes):
        return WRONG
    status = getattr(error, "exit_status", None)
    if isinstance(status, int):
        return status
    if isinstance(error, MemoryError) or _is_named(error, "BrokenExecutor") or _package(error):
        return MACHINE
    if isinstance(error, OSError):
        from viz.outputs import MACHINE_FAILS

        return MACHINE if error.errno in MACHINE_FAILS else WRONG
    return WRONG if _is_named(error, "CycloptsError") else None


def text_of(error: Exception) -> str:
    """What is said of an expected error."""
    from viz.words.locale import Locale

    locale = Locale("m")
    if isinstance(error, MemoryError):
        return locale.say("memory")
    if _is_named(error, "BrokenExecutor"):
        return locale.say("worker")
    if package := _package(error):
        return locale.say("package missing", package=package)
    if isinstance(error, OSError):
        what = error.strerror or str(error)
        return f"{error.filename}: {what}" if error.filename else what
    if _is_named(error, "CycloptsError"):
        # the command that was read so far: its own help says what it takes
        command = " ".join(("overtable", *(getattr(error, "command_chain", None) or ())))
        return locale.say("see help", error=_in_plain_words(error, locale), command=command)
    if isinstance(error, WriteRefused):
        from viz.words.mistakes import unwritten

        return unwritten(error)
    return str(error)


def _package(error: Exception) -> str | None:
    """The Python package of somebody else's that this error says is not installed; None if it says nothing of it."""
    name = error.name if isinstance(error, ModuleNotFoundError) else None
    package = None if name is None else name.partition(".")[0]
    return None if package in OURS else package


def _is_named(error: Exception, name: str) -> bool:
    """Whether an error is of that class, without importing the package the class is from."""
    return any(kind.__name__ == name for kind in type(error).__mro__)


def _in_plain_words(error: Exception, locale: Locale) -> str:
    """What cyclopts says, as people say it: what is missing or not known, and what to type."""
    text = str(error)
    if missing := re.fullmatch(r'Command "(\S+)" parameter (\S+) requires an argument\.', text):
        command, name = missing[1], missing[2]
        return locale.say("needs", command=command, name=name, example=EXAMPLES[command][0])
    if unknown := re.match(r'Unknown command "(.*?)"\.(?: Did you mean "(.*?)"\?)?', text):
        if unknown[2] is None:
            return locale.say("no command", text=unknown[1])
        return locale.say("no command, nearest", text=unknown[1], nearest=unknown[2])
    return re.sub(
        r'unable to convert (".*?") into (int|float)',
        lambda found: locale.say(
            "not a whole number" if found[2] == "int" else "not a number", text=found[1]
        ),
        text,
    )
