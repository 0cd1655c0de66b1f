"""The trade's usual bands, 30° wide from 0, 15, 30 or 45°, stand in the test of common practice and nowhere else.

What is near one of them counts as one: no profile of ours, of a demo or of a test, is a nudged copy.
"""

from __future__ import annotations

import re

import pytest

from tests.tree import ROOT, tracked

WHERE_THEY_ARE = ("tests/outside/test_common_practice.py", "tests/test_bands.py")
USUAL_STARTS_DEG, USUAL_WIDTH_DEG = (0, 15, 30, 45), 30
NEAR_DEG = 3.5
"""House rule, no source: a start or a width this little beside the usual one is a nudge."""
NUMBER = r"(\d+(?:\.\d+)?)"
PAIRS = [
    re.compile(form)
    for form in (
        rf"(?<!\w)[(\[]\s*{NUMBER}\s*,\s*{NUMBER}\s*[)\]]",  # a pair by itself, not what a function is called with
        rf"(?<!\w)[(\[]\s*{NUMBER}\s*,\s*{NUMBER}(?:\s*,\s*\d(?:\.\d+)?){{2}}\s*[)\]]",  # with a reach
        rf"Band\(\s*{NUMBER}\s*,\s*{NUMBER}",
        rf"low_deg\W+{NUMBER}\s*,\s*\W?high_deg\W+{NUMBER}",
        rf"{NUMBER}\s?°?\s?(?:-|–|to)\s?{NUMBER}(?:\s?°| degrees)",
    )
]


def usual(text: str) -> list[str]:
    """Whatever in a text reads like one of the usual bands, or nearly."""
    found = []
    for pair in PAIRS:
        for match in pair.finditer(text):
            low, high = float(match[1]), float(match[2])
            start = min(abs(low - usual_deg) for usual_deg in USUAL_STARTS_DEG)
            if start <= NEAR_DEG and abs(high - low - USUAL_WIDTH_DEG) <= NEAR_DEG:
                found.append(match[0])
    return found


@pytest.mark.parametrize(
    "text",
    ["bands: {low: [1, 30], up: [9, 47]}", "Band(45.5, 75, 1, 3)", "(14,\n 45)", "(30, 60, 3, 1)", "a 30-60° band",
     "30 to 60 degrees", '"low_deg": 16, "high_deg": 44', "low_deg=28.0, high_deg=60"],
)  # fmt: skip
def test_a_usual_band_is_seen_in_each_form(text: str) -> None:
    assert len(usual(text)) == 1


@pytest.mark.parametrize(
    "text", ["[17, 43]", "Band(21, 66, 1, 3)", "uniform(0, 30)", "(0, 30, -30, 60)", "[0, 45]"]
)
def test_other_numbers_are_let_be(text: str) -> None:
    assert usual(text) == []


def test_they_stand_in_the_test_of_common_practice_only() -> None:
    found = {}
    for name in tracked("*.py", "*.yaml", "*.md", "*.js", "*.typ", "*.html"):
        if name not in WHERE_THEY_ARE and "/bundle/" not in name:
            some = usual((ROOT / name).read_text(encoding="utf-8", errors="replace"))
            if some:
                found[name] = some
    assert found == {}
    assert usual((ROOT / WHERE_THEY_ARE[0]).read_text(encoding="utf-8"))
