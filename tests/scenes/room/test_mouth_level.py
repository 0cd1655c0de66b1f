"""At which height pictures and sheets show what is covered at the height of mouths: one, the median."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.room.mouths import mouth_level_m
from scenes.room.provenance import Given
from tests.viz.rooms import staged


def test_it_is_the_median_of_those_who_sit_and_none_where_nobody_stands():
    scene = staged("quiet").scene
    sitting = [head for head in scene.heads if head.posture == "seated"][:3]
    ranges = ((1.0, 1.2), (1.1, 1.3), (1.5, 1.9))
    heads = tuple(replace(head, mouth=Given(at)) for head, at in zip(sitting, ranges, strict=True))
    three = replace(scene, heads=heads)
    assert mouth_level_m(three, "seated") == pytest.approx(1.2)
    assert mouth_level_m(three, "standing") is None
