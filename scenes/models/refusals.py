"""Why a model or a drawing is refused: names and what was found, no sentences."""

from __future__ import annotations

from typing import Literal

RefusalName = Literal[
    "no-file",
    "no-model",
    "cut-short",
    "old-schema",
    "no-unit",
    "no-rooms",
    "no-shapes",
    "no-such-room",
    "several-rooms",
    "room-without-shape",
    "room-without-height",
    "room-too-low",
    "no-drawing",
    "no-walls",
    "outline-leaks",
]


class ModelRefused(Exception):
    """The files cannot give what was asked for. Nothing was made of them.

    `found` are names out of the files, or numbers as text of a program: what the sentence is filled with.
    """

    exit_status = 2

    def __init__(self, name: RefusalName, file: str, found: tuple[str, ...] = ()) -> None:
        super().__init__(name, file, found)
        self.name, self.file, self.found = name, file, found


class ReaderMissing(Exception):
    """The library that reads these files is not installed: which one, and the extra that brings it."""

    exit_status = 3

    def __init__(self, library: str, extra: str) -> None:
        super().__init__(library, extra)
        self.library, self.extra = library, extra
