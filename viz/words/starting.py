"""The questions of `overtable new`, the remarks of the spec it writes, and what is wrong with an answer."""

from __future__ import annotations

from collections.abc import Sequence

from scenes.starting import Question, RemarkName, StartMistake, device_kinds, table_shapes
from viz.words.locale import Locale


def question(name: Question, default: str, locale: Locale) -> str:
    """What is asked, with the answer that Enter gives."""
    return locale.say("new.ask", question=locale.say(f"new.question.{name}"), default=default)


def not_asked(names: Sequence[Question], locale: Locale) -> str:
    """That nothing was asked, for what a default stands, and which options give the answers."""
    return locale.say(
        "new.not asked",
        questions=locale.listed(names, len(names)),
        options=", ".join(f"--{name}" for name in names),
    )


def remark(name: RemarkName, locale: Locale) -> str:
    """A remark in the spec."""
    return locale.say(f"new.remark.{name}")


def mistake(error: StartMistake, locale: Locale) -> str:
    """What was found, and what may be answered."""
    return locale.say(
        "new.mistake", question=error.question, found=error.found, allowed=_allowed(error, locale)
    )


def beside(error: StartMistake, locale: Locale) -> str:
    """The same for a form, where it stands at the answer itself."""
    if not error.found:
        return locale.say("start.wrong, nothing", allowed=_allowed(error, locale))
    return locale.say("start.wrong", found=error.found, allowed=_allowed(error, locale))


def _allowed(error: StartMistake, locale: Locale) -> str:
    lists = {"kind": ", ".join(device_kinds()), "shape": ", ".join(table_shapes())}
    if error.allowed in ("kind", "shape"):
        return locale.say("new.allowed.list", things=lists[error.allowed])
    return locale.say(f"new.allowed.{error.allowed}")
