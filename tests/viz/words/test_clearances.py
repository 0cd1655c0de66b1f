"""Clearances in words."""

from __future__ import annotations

from dataclasses import replace

from scenes.review.review import review
from scenes.rules.apply import clearances
from tests.scenes.ceiling_rooms import device, guessed, scene
from viz.words.clearances import notes, phrase, word
from viz.words.locale import Locale
from viz.words.verdict import whole as sentences

METRIC = Locale("m")


def test_what_a_clearances_figures_do_not_tell_is_told_once_for_all_it_is_about():
    heads = [device(f"SP{k}", "sprinkler", (1.0, 0.5 + 0.8 * k), spray="extended") for k in range(3)]
    rows = [row for row in clearances(scene(overhead=tuple(heads))) if row.kind == "sprinkler"]
    things = METRIC.listed([row.against for row in rows])
    assert notes(rows, METRIC) == (
        f"sprinkler-spray, A1 to {things}: extended-coverage heads have a table of their own: ask the fire "
        "protection designer.",
    )
    assert notes([replace(rows[0], note="")], METRIC) == ()


def test_a_clearance_below_advice_is_not_called_short_and_a_pierced_duct_is_named():
    duct = device("D1", "bulkhead", (3.0, 2.0), -0.2, size_m=(4.0, 0.3), round=False, depth_m=0.3)
    [row] = [row for row in clearances(scene(overhead=(duct,))) if row.rule == "hang-line"]
    assert word(row, METRIC) == "below advice"
    assert phrase(row, METRIC) == "the line up to the structure of A1 runs into D1"
    assert word(replace(row, binding=True), METRIC) == "short"
    assert word(replace(row, state="unjudged"), METRIC) == "unjudged"


def test_what_a_rule_only_advises_is_not_called_required():
    """1 m from a loudspeaker is our default; 2 m is what this device's designer asks for."""
    speaker = device("D", "loudspeaker", (3.5, 2.0), below_m=0.5)
    row = next(c for c in clearances(scene(overhead=(speaker,))) if c.rule == "loudspeaker")
    assert phrase(row, METRIC).endswith(", 1.00 m advised")
    own = replace(speaker, required_m=2.0)
    row = next(c for c in clearances(scene(overhead=(own,))) if c.rule == "loudspeaker")
    assert phrase(row, METRIC).endswith(", 2.00 m required")


def test_what_only_a_default_size_decides_is_asked_of_the_spec_and_not_of_a_designer():
    lamp = device("L1", "light", (3.25, 2.0), below_m=0.6, size_m=(0.6, 0.6), depth_m=0.1, round=False)
    told = " ".join(sentences(review(scene(overhead=(guessed(lamp, "size"),)))))
    assert (
        "Whether A1 runs into L1 cannot be judged: the size of L1 is our default, which decides here" in told
    )
    assert "ask their designer" not in told
