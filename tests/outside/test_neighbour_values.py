"""Heads in the way, against values worked out from survey means and read in public code."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.neighbours import HALF_HEAD_M, edge_loss_dB, needed_deg
from scenes.room.populations import crown_above_mouth_m, mouth_range_m
from scenes.room.provenance import Survey


@pytest.mark.parametrize(
    ("who", "needed"),
    # ANSUR II means, sitting height - eye height sitting + eye to mouth: 0.1836 m (men), 0.1729 m (women);
    # atan(height / spacing) at 0.6, 0.762 and 1.0 m. Computed.
    [("men", (17.014, 13.547, 10.404)), ("women", (16.075, 12.784, 9.809))],
)
def test_people_alike_clear_each_other(who, needed):
    crown = crown_above_mouth_m(Survey(who, (5, 95), women=float(who == "women")))
    assert needed_deg(crown, np.array([0.6, 0.762, 1.0])) == pytest.approx(needed, abs=0.01)


def test_the_smallest_woman_behind_the_tallest_man():
    # seat 0.45: her mouth at the 5th percentile 1.086 m, his crown at the 95th 1.427 m (empirical). Computed.
    angles = needed_deg(1.427 - 1.086, np.array([0.6, 0.7, 0.762, 1.0]))
    assert angles == pytest.approx([29.611, 25.973, 24.109, 18.829], abs=0.01)
    # the same from the range of mouths, with the mean crown above them, not its own percentile: within 0.5°
    both = Survey("women and men", (5, 95), 0.45)
    low, high = mouth_range_m(both, "seated")
    ours = needed_deg(high + crown_above_mouth_m(both) - low, np.array([0.762]))
    assert ours == pytest.approx([24.109], abs=0.5)


def test_a_head_is_in_line_only_within_a_few_degrees():
    # a head 0.155 m wide at 0.7 m: half angle 6.36°. Computed.
    assert np.degrees(np.arctan(HALF_HEAD_M / 0.7)) == pytest.approx(6.36, abs=0.2)


def test_an_edge_takes_what_maekawas_formula_says():
    # 10 lg(3 + 20 N), Maekawa in the form of ISO 9613-2, read in public code: 4.77, 13.62, 23.07 dB at N = 0, 1, 10
    assert edge_loss_dB(np.array([0, 1, 10])) == pytest.approx([4.77, 13.62, 23.07], abs=0.02)
    # Kurze and Anderson, 5 + 20 lg(sqrt(2πN)/tanh sqrt(2πN)): 5.0, 13.1, 22.98 (read in public code); within 0.6 dB
    assert edge_loss_dB(np.array([0, 1, 10])) == pytest.approx([5.0, 13.1, 22.98], abs=0.6)
