"""The contract's JSON objects: numbers and names as the findings have them, texts beside them as people read them."""

from __future__ import annotations

from typing import Any

from scenes.findings.review import Review
from scenes.place.placement import Placement
from scenes.review.as_json import as_json
from scenes.spec.mistakes import SpecMistakes
from viz.words import clearances, conflict, sight
from viz.words import mistakes as words
from viz.words.locale import Locale


def review_object(review: Review) -> dict[str, Any]:
    """The `overtable/review/1` object."""
    found, locale = as_json(review), Locale.of(review.scene)
    for row, one in zip(found["clearances"], review.clearances, strict=True):
        row |= {
            "note": clearances.note(one, locale) or None,
            "source": clearances.source(one, locale),
        }
    for told, line in zip(found["sightlines"], review.sightlines, strict=True):
        told["advice"] = sight.advice_for(line, review)
    return found


def mistakes(wrong: SpecMistakes) -> dict[str, Any]:
    """The `overtable/mistakes/1` object."""
    locale = Locale(wrong.units)
    return {
        "format": "overtable/mistakes/1",
        "file": wrong.file,
        "mistakes": [
            {
                "line": one.line,
                "column": one.column,
                "path": one.path,
                "code": one.code,
                "found": words.found(one, locale),
                "allowed": words.allowed(one, wrong.file, locale),
                "nearest": one.nearest,
            }
            for one in wrong.mistakes
        ],
    }


def placement_object(placement: Placement) -> dict[str, Any]:
    """The `overtable/placement/1` object."""
    found = placement.as_json()
    if placement.conflict is not None:
        found["conflict"]["because"] = conflict.because(placement.conflict, Locale.of(placement.scene))
    return found
