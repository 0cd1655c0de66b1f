"""The `overtable/comparison/1` object: two rooms or placements side by side, with what differs in words."""

from __future__ import annotations

from typing import Any

from scenes.findings.comparison import Comparison
from scenes.review.comparison import comparison_as_json
from viz.json_objects import with_cautions
from viz.words import cautions, comparison


def comparison_object(found: Comparison) -> dict[str, Any]:
    """Figures, talkers and what is too close as facts; `differences` in words, and why a room that fails is held."""
    told = {
        **comparison_as_json(found),
        "differences": list(comparison.sentences(found)),
        "hold": {side: cautions.hold(review) for side, review in zip("AB", found.reviews, strict=True)},
    }
    return with_cautions(told, found.first.scene)
