"""Mistakes of a spec file in plain English: what is wrong, where, and what to type instead."""

from __future__ import annotations

from scenes.spec.lengths import LengthMistake
from scenes.spec.mistakes import Found, Inside, MisreadAs, Mistake, SpecMistakes, Value, WriteRefused, shown
from viz.words.locale import MINUS, Locale, plain

MISREAD: tuple[MisreadAs, ...] = ("truth", "date", "number", "endless")
MOST_NAMES = 12
"""Known names that are listed; the nearest one is named before them."""


def lines(mistakes: SpecMistakes, file: str | None = None) -> str:
    """Every mistake of a file, a line each, with file, line and column in front; `file`: called otherwise."""
    locale = Locale(mistakes.units)
    return "\n".join(_line(one, file or mistakes.file, locale) for one in mistakes.mistakes)


def of_file(name: str, error: Exception) -> str:
    """What is wrong with a file, for readers who are not to see where it lies: its name, no folder."""
    if isinstance(error, SpecMistakes):
        return lines(error, name)
    because = error.strerror if isinstance(error, OSError) and error.strerror else text_of(error)
    return f"{name}: {because}"


def text_of(error: Exception) -> str:
    """An error in words: a file's mistakes line by line, why it is not written; of any other what it says itself."""
    if isinstance(error, SpecMistakes):
        return lines(error)
    return unwritten(error) if isinstance(error, WriteRefused) else str(error)


def unwritten(refused: WriteRefused) -> str:
    """Why a change is not written into the spec's file, and what to do instead."""
    return Locale("m").say(f"write.{refused.name}", about=refused.about)


def option(name: str, written: str, wrong: LengthMistake, locale: Locale) -> str:
    """An option of a command that is no length: what was written, and what to write instead."""
    size = "" if wrong.metres is None else locale.as_written(wrong.metres)
    text = locale.say(f"mistake.{wrong.code}", found=written, size=size)
    return locale.say("option", option=name, text=text, allowed=locale.say(f"allowed.{wrong.code}"))


def found(mistake: Mistake, locale: Locale) -> str:
    """What stands in the file."""
    return _found(mistake.found, locale)


def allowed(mistake: Mistake, file: str, locale: Locale) -> str:
    """What to type instead."""
    values, texts = dict(mistake.allowed), _texts(mistake, file, locale)
    if mistake.code == "missing-key" and values["about"]:
        text = locale.say("allowed.missing-key, about", None, **texts)
    elif mistake.code == "length-too-long" and values["mm_m"]:
        text = locale.say("allowed.length-too-long, mm", None, **texts)
    else:
        text = locale.say(f"allowed.{mistake.code}", None, **texts)
    match values.get("read_as"):
        case None | "":
            return text
        case "digits":
            return locale.say("read as, digits", allowed=text)
    return locale.say("read as", allowed=text, because=texts["read_as"])


def sentence(mistake: Mistake, file: str, locale: Locale) -> str:
    """What is wrong and what to type instead: the name that was probably meant, or what is allowed."""
    wrong = _wrong(mistake, file, locale)
    if mistake.nearest is not None:
        return locale.say("did you mean", wrong=wrong, nearest=shown(mistake.nearest, 40))
    return f"{wrong} {allowed(mistake, file, locale)}"


def _wrong(mistake: Mistake, file: str, locale: Locale) -> str:
    values, texts = dict(mistake.allowed), _texts(mistake, file, locale)
    if mistake.code == "bad-syntax" and values["since"]:
        return locale.say("mistake.bad-syntax, since", None, **texts)
    if mistake.code == "key-not-text" and values["because"]:
        return locale.say("mistake.key-not-text, because", None, **texts)
    return locale.say(f"mistake.{mistake.code}", None, **texts)


def _line(mistake: Mistake, file: str, locale: Locale) -> str:
    text = sentence(mistake, file, locale)
    if mistake.inside is not None:
        text = _in_library(mistake.inside, text, locale)
    if mistake.line is None or mistake.column is None:
        return text
    line, column = mistake.line, mistake.column
    if not mistake.path:
        return locale.say("mistake at, file", file=file, line=line, column=column, sentence=text)
    return locale.say("mistake at", file=file, line=line, column=column, path=mistake.path, sentence=text)


def _in_library(inside: Inside, text: str, locale: Locale) -> str:
    if inside.line is None or inside.column is None:
        return locale.say("mistake in library, file", sentence=text, file=inside.file)
    return locale.say(
        "mistake in library",
        sentence=text,
        file=inside.file,
        line=inside.line,
        column=inside.column,
        path=inside.path,
    )


def _texts(mistake: Mistake, file: str, locale: Locale) -> dict[str, str]:
    """The fields of a mistake's messages: lengths without their `_m`, names in a row."""
    texts = {key.removesuffix("_m"): _value(key, value, locale) for key, value in mistake.allowed}
    return {**texts, "found": found(mistake, locale), "file": mistake.inside.file if mistake.inside else file}


def _value(key: str, value: Value, locale: Locale) -> str:
    if isinstance(value, tuple):
        return ", ".join(value[:MOST_NAMES]) + (", …" if len(value) > MOST_NAMES else "")
    if isinstance(value, str):
        return _name(key, value, locale)
    # a number to type: with the hyphen of the keyboard
    return locale.as_written(value) if key.endswith("_m") else plain(value).replace(MINUS, "-")


def _name(key: str, value: str, locale: Locale) -> str:
    match key:
        case "because" | "read_as" if value in MISREAD:
            return locale.say(f"misread.{value}")
        case "quantity":
            return locale.say(f"quantity.{value}")
        case "counted":
            return locale.say(f"counted.{value}")
        case "shape":
            return locale.say(f"shape.{value}")
        case "what":
            return locale.say(f"what.{value}")
    return value


def _found(what: Found, locale: Locale) -> str:
    match what.kind:
        case "text":
            return what.text
        case "list":
            return locale.say("found.list", size=what.count)
        case "mapping" if what.count:
            return locale.say("found.mapping", keys=what.text)
        case "mapping":
            return locale.say("found.mapping, empty")
    return locale.say("found.nothing")
