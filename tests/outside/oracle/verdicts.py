"""Verdict, counts and the exact states of clearances, as the contract words them, against a review of the product."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.outside.oracle.judging import Found, Judged
from tests.outside.oracle.reading import read

BASES = {"headroom": {"fact", "code"}}
"""The contract calls headroom a solid fact, and what a code asks for it is: both will do."""
TIGHT_M = 1e-6


def verdict_differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of a review's states, counts and verdict is not so; of a room that leaves no size to a default."""
    judged = Judged(read(path))
    assert not judged.room.guesses, "what a default decides the oracle cannot know"
    found = list(_states(judged, told))
    mine = judged.counts
    if told["counts"] != mine:
        found.append(f"counts {told['counts']}, oracle {mine}")
    verdict = judged.verdict([row["state"] for row in _others(judged, told)])
    if told["verdict"] != verdict and not any(abs(one.spare) < TIGHT_M for one in judged.clearances):
        found.append(f"verdict {told['verdict']}, oracle {verdict}")
    return found


def _key(one: Found) -> tuple[str, str, str]:
    return one.array, one.demand.against, one.demand.rule


def _others(judged: Judged, told: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Rows of rules that the oracle has none for."""
    known = {_key(one) for one in judged.clearances}
    known |= {(against, array, rule) for array, against, rule in known}
    return [row for row in told["clearances"] if (row["array"], row["against"], row["rule"]) not in known]


def _states(judged: Judged, told: Mapping[str, Any]) -> Iterator[str]:
    groups: dict[tuple[str, str, str], list[Found]] = {}
    for found in judged.clearances:
        groups.setdefault(_key(found), []).append(found)
    for row in told["clearances"]:
        several = groups.get((row["array"], row["against"], row["rule"]), [])
        if not several:
            continue
        worst = min(several, key=lambda one: one.spare)
        if abs(worst.spare) < TIGHT_M:
            continue
        name = f"{row['array']} to {row['against']} by {row['rule']}"
        if row["state"] != worst.state:
            yield f"{name}: {row['state']}, oracle {worst.state} ({worst.actual:.4f} of {worst.required})"
        elif row["basis"] not in BASES.get(worst.demand.rule, set()) | {worst.demand.basis}:
            yield f"{name}: basis {row['basis']}, oracle {worst.demand.basis}"
