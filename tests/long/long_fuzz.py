"""Broken specs by the thousand: each is refused with its mistakes or reviewed, and none ends in anything else."""

from __future__ import annotations

import random
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from scenes.review.review import review
from scenes.room.build import build, require_places
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text

ROOMS = Path(str(files("scenes.rooms")))
NAMES = ("heron", "wharf", "loft", "weir", "ferry")
PARTS, MUTANTS = 40, 150
ODD = (
    *(
        "0",
        "-1",
        "1e308",
        "-0.0",
        ".nan",
        ".inf",
        "1e-320",
        "90",
        "360.5",
        "010",
        "1_000",
        "1:30",
        "true",
        "no",
    ),
    *("~", "", "[]", "{}", "[[[]]]", "''", '"\\u202e"', "7'-10 1/2\"", "3 furlongs", "&a [*a]", "!!binary x"),
    *("<<: {}", "会", "\t"),
)
MARKS = ":,[]{}#&*!|>%@`- \n\t\0é"


def lines_swapped(dice: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    a, b = (dice.randrange(len(lines)) for _ in range(2))
    lines[a], lines[b] = lines[b], lines[a]
    return "".join(lines)


def line_dropped(dice: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    del lines[dice.randrange(len(lines))]
    return "".join(lines)


def line_doubled(dice: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    at = dice.randrange(len(lines))
    return "".join([*lines[:at], lines[at], *lines[at:]])


def word_replaced(dice: random.Random, text: str) -> str:
    words = text.split(" ")
    words[dice.randrange(len(words))] = dice.choice(ODD)
    return " ".join(words)


def number_changed(dice: random.Random, text: str) -> str:
    digits = [at for at, letter in enumerate(text) if letter.isdigit()]
    at = dice.choice(digits)
    return f"{text[:at]}{dice.choice('0123456789.-e')}{text[at + 1 :]}"


def letter_changed(dice: random.Random, text: str) -> str:
    at = dice.randrange(len(text))
    return f"{text[:at]}{dice.choice(MARKS)}{text[at + 1 :]}"


def cut_off(dice: random.Random, text: str) -> str:
    return text[: dice.randrange(len(text))]


CHANGES: tuple[Callable[[random.Random, str], str], ...] = (
    *(lines_swapped, line_dropped, line_doubled, word_replaced, word_replaced),
    *(number_changed, number_changed, number_changed, letter_changed, cut_off),
)


@pytest.mark.parametrize("part", range(PARTS))
def test_any_spec_is_refused_or_reviewed(part: int) -> None:
    dice = random.Random(part)
    reviewed = 0
    for number in range(MUTANTS):
        text = (ROOMS / f"{dice.choice(NAMES)}.yaml").read_text("utf-8")
        for _ in range(dice.choice((1, 1, 1, 2, 4))):
            text = dice.choice(CHANGES)(dice, text)
        try:
            spec = read_spec_text(text, "room.yaml", ROOMS)
            scene = build(spec)
            require_places(spec, scene)
        except SpecMistakes:
            continue
        except Exception as error:
            raise AssertionError(f"part {part}, number {number}:\n{text}") from error
        assert review(scene).verdict in ("pass", "caution", "fail")
        reviewed += 1
    assert 0 < reviewed < MUTANTS
