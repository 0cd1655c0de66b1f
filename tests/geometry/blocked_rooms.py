"""Seeded rooms with people who may walk, things that hide them, and a rule: for the tests of sight and aims."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from geometry.band import Band
from geometry.constraint import Constraint, SearchBox
from geometry.coverage import Heads
from geometry.kind import ArrayKind
from geometry.shapes import Blocker, Box, Cylinder, Prism


def prism(dice: np.random.Generator, middle: np.ndarray, radius: float, low: float, high: float) -> Prism:
    """A prism over a few places on a circle, which are convex in any number."""
    turn = np.sort(dice.uniform(0, 2 * math.pi, int(dice.integers(3, 7))))
    ring = middle + radius * np.column_stack([np.cos(turn), np.sin(turn)])
    return Prism(tuple((float(x), float(y)) for x, y in ring), low, high)


def blockers(dice: np.random.Generator, count: int) -> tuple[Blocker, ...]:
    """Boxes, columns and prisms over a room of 7 by 5 m: at the ceiling, on the floor, between."""
    found: list[Blocker] = []
    for k in range(count):
        x, y = dice.uniform((0.5, 0.5), (6.5, 4.5))
        if k % 3 == 0:
            size = (float(dice.uniform(0.2, 1.2)), 0.3, float(dice.uniform(0.1, 1)))
            found.append(Box((float(x), float(y), 2.4), size, float(dice.uniform(0, 180))))
        elif k % 3 == 1:
            found.append(Cylinder((float(x), float(y), 1.35), float(dice.uniform(0.05, 0.3)), 2.7))
        else:
            found.append(prism(dice, np.array([x, y]), float(dice.uniform(0.1, 0.5)), 1.5, 2.3))
    return tuple(found)


def people(dice: np.random.Generator, count: int) -> Heads:
    """Seated and standing, the last of them walking as often as not; one with two heads where there are many."""
    mouths = np.column_stack(
        [dice.uniform(0.5, 6.5, count), dice.uniform(0.5, 4.5, count), dice.choice([1.2, 1.5], count)]
    )
    heads = Heads.at(mouths, sway_m=0.1, half_range_m=dice.choice([0.0, 0.085]))
    person, weight = np.arange(count), dice.choice([1.0, 3.0], count)
    if count > 4:
        person[1], weight[1] = person[0], weight[0]
    to = heads.to_m.copy()
    if dice.random() < 0.5:
        to[-1] += dice.uniform(-1.5, 1.5, 2)
    return replace(heads, person=person, weight=weight, to_m=to)


def blocked_room(seed: int) -> tuple[Heads, ArrayKind]:
    """People, bands, things in the way, a pillar to keep from and a lid; the height held now and then."""
    dice = np.random.default_rng(seed)
    heads = people(dice, int(dice.integers(2, 12)))
    bands = (Band(8, 29, 1, 3), Band(21, 66, 1, 3))[: int(dice.integers(1, 3))]
    middle, radius = dice.uniform((0, 0), (7, 5)), dice.uniform(0.2, 1.2)
    pillar = Constraint(("pillar",), lambda at: np.hypot(*(at[:, :2] - middle).T) - radius)
    lid = Constraint(("lid",), lambda at: 2.6 - at[:, 2], stop=True)
    box = SearchBox((0, 0, 1.0), (7, 5, 2.7))
    if dice.random() < 0.3:
        box = box.holding(z=2.5)
    return heads, ArrayKind(bands, box, (pillar, lid), blockers(dice, int(dice.integers(0, 5))))
