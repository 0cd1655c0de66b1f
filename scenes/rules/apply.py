"""The measures of every rule that has something to be asked of an array."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module

from scenes.rules.applied import AppliedRule
from scenes.rules.measure import Measure
from scenes.rules.surroundings import Site


def measures_of(site: Site) -> list[Measure]:
    """Every rule's measures at a site, in the order of the file."""
    return [measure for applied in site.rules.values() for measure in _measures(applied, site)]


def _measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The measures of one rule at a site; none where the room has nothing that it applies to.

    A rule that shares its measure with another has none of its own. What measures is imported only where there
    is something to measure.
    """
    rule = applied.rule
    if rule.shares is not None or not site.has(rule.applies_to):
        return []
    found: Sequence[Measure] = import_module(f"scenes.rules.measures.{rule.measure}").measures(applied, site)
    return found
