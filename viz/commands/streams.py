"""Standard output and error as commands use them: nothing that is printed ends in a traceback."""

from __future__ import annotations

import codecs
import io
import os
import sys
import unicodedata
from typing import Any


def print_json(value: object) -> None:
    """JSON alone on standard output; where its encoding is not UTF-8, with every other letter than ASCII escaped."""
    from scenes.numbers import json_text

    text = json_text(value)
    if codecs.lookup(sys.stdout.encoding or "utf-8").name != "utf-8":
        text = "".join(map(_escaped, text))
    sys.stdout.write(text)


def _escaped(letter: str) -> str:
    """A letter of JSON in ASCII. Only what stands inside strings is not ASCII already."""
    if letter.isascii():
        return letter
    units = letter.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[at : at + 4]}" for at in range(0, len(units), 4))


# ---------------------------------------------------------------- letters that an encoding does not have

PLAIN = {
    "●": "*", "◐": "o", "○": "o", "✕": "x", "■": "#", "◆": "+", "✓": "v", "×": "x", "»": ">>", "·": "-", "•": "*",
    "−": "-", "–": "-", "—": "-", "‑": "-", "…": "...", "→": "->", "←": "<-", "≥": ">=", "≤": "<=", "±": "+/-",
    "≈": "~", "µ": "u", "Ω": "Ohm", "€": "EUR", "⌀": "dia ", "\N{FRACTION SLASH}": "/",
    "°": "deg", "′": "'", "″": '"', "‘": "'", "’": "'", "“": '"', "”": '"', "²": "2", "³": "3",
    "ß": "ss", "Ø": "O", "ø": "o", "Æ": "AE", "æ": "ae", "Ł": "L", "ł": "l", "\N{NO-BREAK SPACE}": " ",
}  # fmt: skip
"""What stands in for a letter where the stream's encoding does not have it."""

ERRORS = "overtable-plain"


def plain(error: UnicodeError) -> tuple[str | bytes, int]:
    """A codec error handler: each letter that cannot be encoded becomes one that can, at worst a question mark.

    A byte of a file's name that is no text (PEP 383) is put out as the byte it is.
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letters = error.object[error.start : error.end]
    if all(0xDC80 <= ord(letter) <= 0xDCFF for letter in letters):
        return bytes(ord(letter) - 0xDC00 for letter in letters), error.end
    before = error.object[: error.start][-1:]
    said = []
    for letter in letters:
        said.append(_after_a_digit(letter) if before.isdecimal() else _plain(letter))
        before = letter
    return "".join(said), error.end


def _after_a_digit(letter: str) -> str:
    """As `_plain`, kept apart from the number it follows: 3½ is no 31/2, and 10⁶ no 106."""
    form = unicodedata.decomposition(letter)
    apart = {"<fraction>": " ", "<super>": "^"}.get(form.partition(" ")[0], "")
    return ("" if letter in PLAIN else apart) + _plain(letter)


def _plain(letter: str) -> str:
    if letter in PLAIN:
        return PLAIN[letter]
    digit = unicodedata.decimal(letter, None)
    if digit is not None:
        return str(digit)
    parts = [PLAIN.get(part, part) for part in unicodedata.normalize("NFKD", letter)]
    bare = "".join(parts).encode("ascii", "ignore").decode()
    # accents that stand alone, joiners, marks of direction
    unseen = unicodedata.combining(letter) or unicodedata.category(letter) in ("Cf", "Mn")
    return bare if bare or unseen else "?"


# ---------------------------------------------------------------- the process's own streams


class _Unbroken(io.FileIO):
    """A stream whose reader may leave before the end (`| head`): what nobody reads is dropped, the command goes on."""

    def write(self, data: Any) -> int:
        """How many bytes were taken."""
        try:
            return super().write(data)
        except OSError as error:
            os.dup2(os.open(os.devnull, os.O_WRONLY), self.fileno())
            if isinstance(error, BrokenPipeError):
                return len(data)
            # once: a disk that is full is told, not told again on the way out
            raise OSError(error.errno, error.strerror, "standard output") from None


class _Unbuffered(io.BufferedWriter):
    """A stream that waits for nothing, as PYTHONUNBUFFERED asks."""

    def write(self, data: Any) -> int:
        """How many bytes were taken."""
        count = super().write(data)
        self.flush()
        return count


def unbroken(stream: Any) -> Any:
    """The stream, from now on without broken pipes and with every letter in some form; as it is where it is no stream
    of the process's own."""
    try:
        raw = _Unbroken(stream.fileno(), "w", closefd=False)
    except (AttributeError, OSError):
        return stream
    stream.flush()
    codecs.register_error(ERRORS, plain)
    # what a person sets (PYTHONIOENCODING=ascii:replace) stays; these three are what Python sets by itself
    errors = ERRORS if stream.errors in ("strict", "surrogateescape", "backslashreplace") else stream.errors
    return io.TextIOWrapper(
        _Unbuffered(raw) if stream.write_through else io.BufferedWriter(raw),
        encoding=stream.encoding,
        errors=errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )
