"""The clearance rules as data: `rules.yaml`, read and checked."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal, get_args

import yaml

if TYPE_CHECKING:
    pass


Sureness = Literal["seen", "seen in a copy", "from memory", "designer's input", "geometry"]


LIMITS = ("wall", "headroom", "free_over_table")
"""The limits of a spec that a rule may take its value from."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One clearance rule as `rules.yaml` has it. Values are metres; `table` holds (distance, value) rows."""

    id: str
    title: str
    applies_to: tuple[str, ...]
    measures: str
    values: Mapping[str, float]
    table: tuple[tuple[float, float], ...]
    limit: str | None
    unit: str
    source: str
    sureness: Sureness
    sentence: str

    @property
    def can_fail(self) -> bool:
        """Whether its own value can fail a room: it was seen in its source, or is plain geometry."""
        return self.sureness in ("seen", "geometry")


@cache
def rules() -> Mapping[str, Rule]:
    """All rules by id, in the order of `rules.yaml`. ValueError if the file breaks its own form."""
    # Beside this module, as importlib.resources would say too, after 5 ms of importing.
    return read_rules(Path(__file__).with_name("rules.yaml").read_text(encoding="utf-8"))


def rule_ids() -> tuple[str, ...]:
    """The ids of all rules, in the order of the file."""
    return tuple(rules())


def check_rule_ids(names: Iterable[str]) -> list[tuple[str, str | None]]:
    """The names that are no rule, each with the id that comes nearest to it (None if none is near)."""
    from difflib import get_close_matches  # a spec that names no unknown rule does not wait for it

    known = rule_ids()
    unknown = [name for name in names if name not in known]
    return [(name, next(iter(get_close_matches(name, known, 1)), None)) for name in unknown]


def read_rules(text: str) -> Mapping[str, Rule]:
    """The rules in this YAML text, by id. ValueError names the rule and what is wrong with it."""
    entries = yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    if not isinstance(entries, list):
        raise ValueError("rules: found no list; allowed is a list of rules")
    found: dict[str, Rule] = {}
    for entry in entries:
        rule = _rule(entry)
        if rule.id in found:
            raise ValueError(f"rule {rule.id}: found twice; every id is given once")
        found[rule.id] = rule
    return MappingProxyType(found)


def _rule(entry: Any) -> Rule:
    keys = set(Rule.__slots__) - {"table", "limit"}
    name = entry.get("id") if isinstance(entry, dict) else None
    if not isinstance(entry, dict) or set(entry) != keys:
        raise ValueError(f"rule {name}: found {entry!r:.80}; allowed are exactly the keys {sorted(keys)}")
    for key in keys - {"values", "applies_to"}:
        if not isinstance(entry[key], str) or not entry[key].strip():
            raise ValueError(f"rule {name}: {key} is {entry[key]!r}; it must be text")
    if entry["sureness"] not in get_args(Sureness):
        raise ValueError(
            f"rule {name}: sureness is {entry['sureness']!r}; allowed is one of {get_args(Sureness)}"
        )
    kinds = entry["applies_to"]
    if not isinstance(kinds, list) or not kinds or not all(isinstance(kind, str) for kind in kinds):
        raise ValueError(f"rule {name}: applies_to is {kinds!r}; allowed is a list of kinds")
    values = dict(entry["values"]) if isinstance(entry["values"], dict) else {}
    table = tuple((float(a), float(b)) for a, b in values.pop("table", ()))
    limit = values.pop("limit", None)
    if limit is not None and limit not in LIMITS:
        raise ValueError(f"rule {name}: limit is {limit!r}; allowed is a limit of the spec")
    numbers = {key: float(value) for key, value in values.items() if isinstance(value, int | float)}
    if len(numbers) < len(values) or not (numbers or limit) or any(not v >= 0 for v in numbers.values()):
        raise ValueError(f"rule {name}: values are {entry['values']!r}; allowed are numbers of 0 or more")
    if any(a >= c or b > d for (a, b), (c, d) in itertools.pairwise(table)):
        raise ValueError(f"rule {name}: its table does not rise from row to row")
    said = {key: " ".join(entry[key].split()) for key in keys - {"values", "applies_to"}}
    return Rule(
        applies_to=tuple(kinds),
        values=MappingProxyType(numbers),
        table=table,
        limit=limit,
        **said,  # type: ignore[arg-type]  # sureness was checked above
    )
