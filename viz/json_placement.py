"""The `overtable/placement/1` object: apart from the others, for a review needs no search."""

from __future__ import annotations

from typing import Any

from scenes.place.placement import Placement
from viz.words import conflict
from viz.words import placement as placement_words
from viz.words.locale import Locale


def placement_object(placement: Placement) -> dict[str, Any]:
    """The `overtable/placement/1` object."""
    found, locale = placement.as_json(), Locale.of(placement.scene)
    found["note"] = " ".join(placement_words.remarks(placement, locale))
    found["arrays_needed"] = placement_words.needed(placement.count, locale)
    if placement.conflict is not None:
        found["conflict"]["because"] = conflict.because(placement.conflict, locale)
    return found
