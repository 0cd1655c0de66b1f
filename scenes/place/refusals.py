"""Why a search is not begun: a name and values, for whoever says so."""

from __future__ import annotations

from typing import Literal, get_args

from scenes.findings.names import Id
from scenes.place.problem import HOLDS

PlaceRefusal = Literal[
    "no such hold",
    "hold for others",
    "nothing to hold",
    "no grid",
    "areas of several",
    "flush in parts",
    "flush in slopes",
]
PLACE_REFUSALS: tuple[PlaceRefusal, ...] = get_args(PlaceRefusal)


class PlaceRefused(ValueError):
    """What is asked of a search cannot be: the refusal's name, and of it what applies.

    `hold` are names of what is to be held, `allowed` those there are; `array` is the array without it; `asked`
    and `there` are numbers of arrays.
    """

    def __init__(
        self,
        name: PlaceRefusal,
        *,
        hold: tuple[str, ...] = (),
        array: Id | None = None,
        asked: int | str | None = None,
        there: int = 0,
    ) -> None:
        super().__init__(name)
        self.name, self.hold, self.allowed = name, hold, HOLDS
        self.array, self.asked, self.there = array, asked, there
