"""Where a value of a scene comes from: told as data beside the value, never found out by comparing it."""

from __future__ import annotations

from typing import Any, Final, Generic, Literal, TypeVar

from geometry.records import record

Origin = Literal["given", "population", "default"]
"""Written into the spec; taken from a surveyed population that the spec names; a default of overtable's own."""

SEAT_M: Final = 0.44
"""Height of a seat under somebody: overtable's default."""
OWN_SEAT: Final = "own"
"""The seat is as high as each person's lower leg and shoe: chairs that are set."""
WOMEN: Final = 0.5
SHOE_M: Final = 0.025

Value = TypeVar("Value")


@record(frozen=True, slots=True)
class Survey:
    """Which people a surveyed value stands for: the population, from which percentile to which, on what seat.

    `percentiles` is None where only the people are meant and no range of them; `women` their share; `seat_m` the
    height of a seat, or each person's own; soles of `shoe_m`, `slump_m` lower than upright.
    """

    population: str
    percentiles: tuple[float, float] | None
    seat_m: float | Literal["own"] = SEAT_M
    women: float = WOMEN
    shoe_m: float = SHOE_M
    slump_m: float = 0.0


ANYBODY: Final = Survey("women and men", None)
"""Whom shares are of where the spec names nobody."""


@record(frozen=True, slots=True)
class Given(Generic[Value]):
    """A value with its origin. A key that is written is the designer's own, also where it equals the default.

    `survey` says whom a value of a population stands for; None for every other origin.
    """

    value: Value
    origin: Origin = "given"
    survey: Survey | None = None

    @property
    def own(self) -> bool:
        """Whether the designer wrote it."""
        return self.origin == "given"

    @property
    def default(self) -> bool:
        """Whether it is a default of overtable's own."""
        return self.origin == "default"


def origin_of(model: Any, key: str) -> Origin:
    """Whether this key of a spec's model (pydantic) was written into the file, or left to its default.

    A key written as null says nothing, and counts as left out.
    """
    return "given" if key in model.model_fields_set and getattr(model, key) is not None else "default"


def as_written(model: Any, key: str) -> Given[Any]:
    """The value of this key of a spec's model, with its origin."""
    return Given(getattr(model, key), origin_of(model, key))


def written_or(model: Any, key: str, default: Value) -> Given[Value]:
    """The value of this key where the file gives it, else the default."""
    value = getattr(model, key)
    return Given(default, "default") if value is None else Given(value)
