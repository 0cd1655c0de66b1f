"""Everyone in one section: where each talker is drawn, and that nobody is left out or drawn twice."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from tests.viz.drawn import dossier_of
from tests.viz.rooms import staged
from viz import palette
from viz.section_svg import LEFT, SIGN, section_svg


def drawn(review, array):
    return ElementTree.fromstring(section_svg(review, array))


def figures(tree):
    return [part for part in tree.iter() if part.get("class") == "figure"]


@pytest.mark.parametrize("room", ["heron", "weir", "ferry", "loft"])
def test_everybody_is_drawn_with_their_sign_and_no_name_lies_on_another(room):
    review = dossier_of(room).review
    for array in review.scene.arrays:
        tree = drawn(review, array)
        served = [k for k, head in enumerate(review.heads) if head.array == array.id]
        bodies, signs = figures(tree)[: len(figures(tree)) // 2], figures(tree)[len(figures(tree)) // 2 :]
        for parts in (bodies, signs):
            assert sorted(int(k) for part in parts for k in part.get("data-figure").split()) == served
        for part in signs:
            first = review.heads[int(part.get("data-figure").split()[0])]
            fills = {one.get("fill") for one in part.iter()}
            assert palette.STATE_COLOURS[first.standing] in fills
        boxes = []
        for part in signs:
            for text in part.iter("{http://www.w3.org/2000/svg}text"):
                x, y, wide = float(text.get("x")), float(text.get("y")), 0.55 * 12 * len(text.text)
                left = x if text.get("text-anchor") == "start" else x - wide
                boxes.append((left, y - 9, left + wide, y + 1))
        for i, a in enumerate(boxes):
            assert not any(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for b in boxes[:i])


def test_a_mouth_is_drawn_at_its_level_distance_and_its_heights():
    review = dossier_of("heron").review
    array = review.scene.arrays[0]
    tree = drawn(review, array)
    view = [float(side) for side in tree.get("viewBox").split()]
    ticks = [
        (float(text.get("x")), float(text.text))
        for text in tree.iter("{http://www.w3.org/2000/svg}text")
        if text.get("text-anchor") == "middle" and re.fullmatch(r"[0-9.]+", text.text)
    ]
    (x0, _), (x1, one) = ticks[0], ticks[1]
    per_m = (x1 - x0) / one
    assert x0 == pytest.approx(LEFT, abs=0.1)
    for part in figures(tree):
        bars = [one for one in part if one.tag.endswith("rect") and float(one.get("width")) < 6]
        for bar in bars:
            head = review.heads[int(part.get("data-figure").split()[0])]
            away = math.dist(head.mouth_m[:2], array.centre_m[:2])
            middle = float(bar.get("x")) + float(bar.get("width")) / 2
            assert middle == pytest.approx(LEFT + away * per_m, abs=0.02 * per_m + 0.2)
            low, high = head.mouth_range_m
            assert float(bar.get("height")) == pytest.approx((high - low) * per_m, abs=0.2)
    assert view[2] > LEFT
    assert SIGN > 0


def test_several_arrays_have_a_drawing_each_with_clips_of_their_own():
    review = staged("nasty").review
    made = [section_svg(review, array, n) for n, array in enumerate(review.scene.arrays)]
    clips = [re.findall(r'clipPath id="([^"]+)"', one) for one in made]
    assert clips == [["section-0"], ["section-1"]]
