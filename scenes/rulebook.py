"""The clearance rules as data: `rules.yaml`, read and checked."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Final, Literal, Self

import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

Basis = Literal["fact", "code", "own", "default"]
"""What a value rests on: plain geometry, a published code, the designer's own, a default of overtable's."""

Sureness = Literal["seen", "copy", "mention", "memory", "geometry", "default", "own"]
"""How sure a value is: see the head of `rules.yaml`; own: the spec gives it."""

About = Literal["room", "ceiling", "arrays"]
"""What a rule is about: walls, floor and tables; whatever else is at the ceiling; arrays among themselves."""

Profession = Literal["fire", "mechanical", "electrical", "ceiling", "structure", "architect"]
"""Who has to agree where a rule is not kept."""

Limit = Literal["wall", "headroom", "free_over_table"]
"""The limits of a spec that a rule may take its value from."""

CodeSet = Literal["us", "uk", "eu"]
"""Whose published values and cautions apply: United States, United Kingdom, the rest of Europe."""

DEFAULT_CODE: Final[CodeSet] = "us"

Text = Annotated[str, Field(min_length=1)]


class InSet(BaseModel):
    """What a rule says in a set of codes that has another value than the rule itself, or none that is known.

    `lacks` is the code or standard whose value is to be asked for; without it `required` is the set's own value.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    required: Annotated[float, Field(ge=0)] | None = None
    lacks: Text | None = None
    sureness: Literal["seen", "copy", "mention", "memory"]
    source: Text
    standard: Text | None = None

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if (self.required is None) == (self.lacks is None):
            raise ValueError("a set of codes has a value for a rule, or lacks it")
        return self


class Rule(BaseModel):
    """One clearance rule as `rules.yaml` has it. Values are metres; `table` holds (distance, value) rows."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    id: Text
    number: str = Field(pattern=r"^R[1-9]\d*$")
    title: Text
    measure: str = Field(pattern="^[a-z_]+$", description="the file of rules/measures that decides it")
    shares: Text | None = Field(None, description="the rule with which one measure decides both")
    applies_to: tuple[Text, ...] = Field(min_length=1)
    to: Text | None = Field(
        None, description="the kind devices are kept from, not arrays; ceiling: their own place"
    )
    about: About
    basis: Literal["fact", "code", "default"]
    binds_search: bool = True
    values: dict[str, Annotated[float, Field(ge=0)]] = {}
    table: tuple[tuple[float, float], ...] = ()
    limit: Limit | None = None
    sureness: Literal["seen", "copy", "mention", "memory", "geometry", "default"]
    source: Text
    standard: Text | None = Field(None, description="the code or standard by its short name")
    signs: tuple[Profession, ...] = Field(min_length=1)
    in_sets: dict[CodeSet, InSet] = {}
    code: CodeSet = Field(DEFAULT_CODE, description="the set of codes it stands for here")
    lacks: Text | None = Field(None, description="whose value is not known here: then it does not judge")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if not (self.values or self.limit):
            raise ValueError("a rule has values, or takes its value from a limit of the spec")
        if any(a >= c or b > d for (a, b), (c, d) in itertools.pairwise(self.table)):
            raise ValueError("its table must rise from row to row")
        if (self.basis == "default") != (self.sureness == "default"):
            raise ValueError("a basis default is as sure as a default, and nothing else is")
        if (self.basis == "code") != (self.standard is not None):
            raise ValueError("a rule of a code names its standard, and no other does")
        return self

    def under(self, code: CodeSet) -> Rule:
        """The rule as it is under that set of codes: with its value, or lacking one, and what that rests on."""
        there = self.in_sets.get(code)
        if there is None:
            return self.model_copy(update={"code": code})
        update = there.model_dump(include={"lacks", "sureness", "source"}) | {"code": code}
        if there.required is not None:
            update["values"] = {**self.values, "required": there.required}
        if there.standard is not None:
            update["standard"] = there.standard
        return self.model_copy(update=update)


@cache
def rules(code: CodeSet = DEFAULT_CODE) -> Mapping[str, Rule]:
    """All rules by id as they are under a set of codes, in the order of `rules.yaml`.

    ValueError if the file breaks its own form.
    """
    if code != DEFAULT_CODE:
        return MappingProxyType({id: rule.under(code) for id, rule in rules().items()})
    # Beside this module, as importlib.resources would say too, after 5 ms of importing.
    return read_rules(Path(__file__).with_name("rules.yaml").read_text(encoding="utf-8"))


def rule_ids() -> tuple[str, ...]:
    """The ids of all rules, in the order of the file."""
    return tuple(rules())


def read_rules(text: str) -> Mapping[str, Rule]:
    """The rules in this YAML text, by id. ValueError names the rule and what is wrong with it."""
    entries = yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    if not isinstance(entries, list):
        raise ValueError("rules: found no list; allowed is a list of rules")
    found: dict[str, Rule] = {}
    for entry in entries:
        name = entry.get("id") if isinstance(entry, dict) else None
        try:
            rule = Rule.model_validate(entry)
        except ValidationError as error:
            raise ValueError(f"rule {name}: {error}") from None
        if rule.id in found or rule.number in {other.number for other in found.values()}:
            raise ValueError(f"rule {rule.id}: its id or its number {rule.number} is given twice")
        if rule.shares is not None and rule.shares not in found:
            raise ValueError(f"rule {rule.id}: shares {rule.shares}, which is no rule before it")
        found[rule.id] = rule
    return MappingProxyType(found)
