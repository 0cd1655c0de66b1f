"""The measures of every rule that has something to be asked of an array."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib import import_module

from scenes.room.ceiling import scene_under, with_room
from scenes.room.layouts import furnished
from scenes.rules.applied import AppliedRule
from scenes.rules.ceilings import ceilings
from scenes.rules.measure import Measure
from scenes.rules.surroundings import Site
from scenes.rules.under import Under, regions_of


def measures_of(site: Site) -> list[Measure]:
    """Every rule's measures at a site, in the order of the file.

    Under a ceiling in parts a pendant may hang under any of them: then a rule about the ceiling has measures for each.
    In a room of several layouts a rule has measures for each way in which it is furnished.
    """
    if site.scene.layouts:
        return [one for here in furnished(site.scene) for one in measures_of(Site(here, site.array))]
    if site.scene.room.parts and site.array.profile.mount == "flush":
        site = site.in_scene(scene_under(site.scene, site.array.at_m))
    if site.scene.room.parts:
        return list(_in_parts(site))
    measures = [measure for applied in site.rules.values() for measure in _measures(applied, site)]
    return [*measures, *_ceilings(site)]


def _in_parts(site: Site) -> Iterator[Measure]:
    regions = regions_of(site.scene.room)
    under = [site.in_scene(with_room(site.scene, region.room)) for region in regions]
    for applied in site.rules.values():
        if applied.rule.about == "room":
            yield from _measures(applied, site)
            continue
        for region, here in zip(regions, under, strict=True):
            yield from (Under(measure, region) for measure in _measures(applied, here))
    yield from _ceilings(site)


def _ceilings(site: Site) -> Iterator[Measure]:
    """What is above the ceiling's parts, by the rule that things are not in one place."""
    if site.scene.room.parts or site.scene.room.whole is not None:
        for applied in site.rules.values():
            if "structure" in applied.rule.applies_to:
                yield from ceilings(applied, site)


def _measures(applied: AppliedRule, site: Site) -> Sequence[Measure]:
    """The measures of one rule at a site; none where the room has nothing that it applies to.

    A rule that shares its measure with another has none of its own, nor has one between devices. What measures is
    imported only where there is something to measure.
    """
    rule = applied.rule
    if rule.shares is not None or rule.to is not None or not site.has(rule.applies_to):
        return []
    found: Sequence[Measure] = import_module(f"scenes.rules.measures.{rule.measure}").measures(applied, site)
    return found
