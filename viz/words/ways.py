"""How far each array may move each way, whom it does not cover, and what hanging out of level leaves."""

from __future__ import annotations

import math
from typing import NamedTuple

from geometry.constraint import Key
from geometry.tolerance import RoomToMove
from scenes.place.everybody import ids_of_everybody
from scenes.place.placement import PlacedArray, Placement
from scenes.room.scene import Scene
from scenes.rulebook import rules
from viz.words.locale import DASH, Locale
from viz.words.things import people_of


class WayText(NamedTuple):
    """How far an array may move one way: while everybody stays covered, while every rule holds; and what ends each."""

    way: str
    covered_for: str
    first_out: str
    clear_for: str
    rule: str


def way(room: RoomToMove, first_out: str | None, locale: Locale, *, all_out: bool = False) -> WayText:
    """One way an array may move, rounded down; `first_out` is the id of the talker who then is not covered.

    `all_out`: nobody is covered where it hangs.
    """
    nobody = "ways.all out" if all_out else "ways.nobody"
    return WayText(
        way=locale.say(f"ways.{room.direction}"),
        covered_for=locale.tolerance(room.distance_m) if math.isfinite(room.distance_m) else DASH,
        first_out=locale.say(nobody) if first_out is None else first_out,
        clear_for=locale.tolerance(room.clear_distance_m) if math.isfinite(room.clear_distance_m) else DASH,
        rule=DASH if room.constraint is None else rule_title(room.constraint, locale),
    )


def rule_title(key: Key, locale: Locale) -> str:
    """A rule by its title, a stop and lines of sight by their names."""
    rule = rules().get(str(key[0]))
    return locale.say(f"ways.stop.{key[0]}") if rule is None else rule.title


def ways(placement: Placement, locale: Locale) -> list[tuple[str, WayText]]:
    """Each array's id with each way it may move."""
    ids = ids_of_everybody(placement.scene)
    return [
        (
            array.id,
            way(
                room,
                None if room.head is None else ids[room.head],
                locale,
                all_out=array.not_covered == array.heads != (),
            ),
        )
        for array in placement.arrays
        for room in array.rooms
    ]


def below_the_ways(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """Whom an array does not cover where it hangs, and what is left of its margin when it hangs out of level.

    Then how this, the margin and the installation tolerance differ.
    """
    each = [
        sentence for array in placement.arrays for sentence in _below_the_ways(array, placement.scene, locale)
    ]
    return (*each, *([locale.say("ways.differ")] if any(array.rooms for array in placement.arrays) else []))


def _below_the_ways(array: PlacedArray, scene: Scene, locale: Locale) -> list[str]:
    told = []
    missed, served = len(people_of(scene, array.not_covered)), len(people_of(scene, array.heads))
    if 0 < missed < served:
        talkers = locale.counted(served, "talker")
        told.append(locale.say("ways.some", array=array.id, missed=missed, talkers=talkers))
    level = scene.array(array.id).profile.level_deg
    # of what is not covered nothing is left either way
    if array.margin_left_m is not None and (array.margin_m or 0.0) >= 0 and level > 0:
        angle, left = locale.edge(level), array.margin_left_m
        if left >= locale.least_m:
            told.append(locale.say("level.left", angle=angle, array=array.id, left=locale.spare(left)))
        else:
            told.append(locale.say("level.none", angle=angle, array=array.id))
    return told
