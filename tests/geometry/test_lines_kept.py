"""How far off until a line is hidden: against places asked one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.lines_kept import disc_to_hidden, hides_in_box, straight_to_hidden, swept
from geometry.off_by import OffBy
from geometry.shadow import Sight
from geometry.shapes import Box, Cylinder
from geometry.sight import crossings
from tests.geometry.blocked_rooms import blockers, people


def room(seed: int) -> tuple[Sight, np.ndarray, np.random.Generator]:
    """Heads and solids with a place that sees everybody."""
    dice = np.random.default_rng(seed)
    while True:
        sight = Sight(people(dice, 3), blockers(dice, 3))
        places = dice.uniform((0.0, 0.0, 1.8), (6.0, 5.0, 2.6), (50, 3))
        seeing = places[sight.sees(places).all(axis=1)]
        if len(seeing):
            return sight, seeing[0], dice


@pytest.mark.parametrize("seed", range(12))
def test_a_box_that_holds_hides_nobody_and_one_that_does_not_hides_somebody_near(seed: int) -> None:
    sight, at, dice = room(seed)
    for _ in range(4):
        a, up, down = dice.uniform(0, 0.5, 3)
        places = at + dice.uniform((-a, -a, -down), (a, a, up), (2000, 3))
        seen = sight.sees(places).all()
        if hides_in_box(sight, at, OffBy(a, up, down)) is None:
            assert seen
        elif seen:
            # what 2000 places miss is found a little outside: 2 cm
            more = a + 0.02, up + 0.02, down + 0.02
            low, high = (-more[0], -more[0], -more[2]), (more[0], more[0], more[1])
            assert not sight.sees(at + dice.uniform(low, high, (20000, 3))).all()


@pytest.mark.parametrize("seed", range(12))
def test_disc_and_plumb_line_end_where_somebody_is_hidden(seed: int) -> None:
    sight, at, _ = room(seed)
    turn = np.linspace(0, 2 * math.pi, 720, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(720)])
    radius, ends = disc_to_hidden(sight, at, 3.0)
    for share in (0.25, 0.5, 0.75, 0.999):
        assert sight.sees(at + share * radius * ring).all()
    if ends is not None:
        assert not sight.sees(at + (radius + 0.02) * ring).all()
    for way in (1.0, -1.0):
        far, ends = straight_to_hidden(sight, at, way * 1.5)
        steps = np.linspace(0, far, 200)[:, None] * np.array([0.0, 0.0, way])
        assert sight.sees(at + steps[:-1]).all()
        if ends is not None:
            assert not sight.sees(at + np.array([[0.0, 0.0, way * (far + 1e-3)]])).all()


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(
    "solid",
    [
        Box((0.0, 0.0, 2.0), (0.4, 0.2, 0.1), 25.0),
        Cylinder((0.0, 0.0, 2.0), 0.15, 0.1),
    ],
)
def test_what_hangs_somewhere_in_a_box_or_disc_covers_its_swept_solid(
    seed: int, solid: Box | Cylinder
) -> None:
    dice = np.random.default_rng(seed)
    starts, ends = dice.uniform(-1, 1, (2, 4000, 3)) + np.array([0.0, 0.0, 2.0])
    for off, disc in ((OffBy(0.2, 0.1, 0.15), 0.0), (OffBy(), 0.25)):
        whole = crossings(starts, ends, [swept(solid, off, disc)]).blocked[:, 0]
        assert whole.any()
        assert not whole.all()
        some = np.zeros(len(starts), bool)
        a = off.sideways_m
        for k in range(400):
            # every other one at a corner
            share = dice.choice([0.0, 1.0], 3) if k % 2 else dice.uniform(0, 1, 3)
            by = np.array([-a, -a, -off.down_m]) + share * np.array([2 * a, 2 * a, off.up_m + off.down_m])
            by[:2] += disc * np.array([math.cos(turn := dice.uniform(0, 7)), math.sin(turn)])
            x, y, z = (solid.middle_m + by).tolist()
            moved = (
                Box((x, y, z), solid.size_m, solid.turn_deg)
                if isinstance(solid, Box)
                else Cylinder((x, y, z), solid.radius_m, solid.height_m)
            )
            some |= crossings(starts, ends, [moved]).blocked[:, 0]
        assert not np.any(some & ~whole)
        # and hardly more
        assert np.mean(whole & ~some) < 0.03
