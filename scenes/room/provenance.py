"""Where a value of a scene comes from: told as data beside the value, never found out by comparing it."""

from __future__ import annotations

from typing import Any, Generic, Literal, TypeVar

from geometry.records import record

Origin = Literal["given", "population", "default"]
"""Written into the spec; taken from a surveyed population that the spec names; a default of overtable's own."""

Value = TypeVar("Value")


@record(frozen=True, slots=True)
class Survey:
    """Which people a surveyed value stands for: the population, from which percentile to which, on what seat."""

    population: str
    percentiles: tuple[float, float]
    seat_m: float


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
