"""A head between a mouth and an array."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.neighbours import beside_the_way, edge_loss_dB, over_edge


def test_how_far_along_and_aside_of_a_way():
    along, aside = beside_the_way(
        np.array([[0.0, 0.0]]), np.array([[0.0, 4.0]]), np.array([[0.5, 1.0], [-0.1, 3.0], [0.0, -1.0]])
    )
    assert along.tolist() == [[1.0, 3.0, -1.0]]
    assert aside == pytest.approx(np.array([[0.5, 0.1, 0.0]]))


def test_the_detour_starts_from_nothing_where_the_crown_touches_the_way():
    touching = 1.1 + (2.4 - 1.1) * 0.75 / 3
    assert over_edge(1.1, 2.4, 3.0, touching, 0.75) == 0
    assert over_edge(1.1, 2.4, 3.0, touching - 0.1, 0.75) == 0
    # a crown 0.1 m into the way, by the two triangles: 2 × (over - straight) / 0.343 m
    over = np.hypot(0.75, touching + 0.1 - 1.1) + np.hypot(2.25, 2.4 - touching - 0.1)
    assert over_edge(1.1, 2.4, 3.0, touching + 0.1, 0.75) == pytest.approx(
        2 * (over - np.hypot(3, 1.3)) / 0.343
    )
    losses = [
        float(edge_loss_dB(over_edge(1.1, 2.4, 3.0, touching + rise, 0.75))) for rise in (0, 0.05, 0.1, 0.2)
    ]
    assert losses == sorted(losses)
