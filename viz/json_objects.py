"""Findings as the objects of the contract, with the text beside the data where the contract has text."""

from __future__ import annotations

from typing import Any

from scenes.findings.review import Review
from scenes.review.as_json import as_json
from viz.words import clearances, sight
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
