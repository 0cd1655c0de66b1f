"""The contract's JSON objects: numbers and names as the findings have them, texts beside them as people read them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scenes.findings.clearance import Clearance
from scenes.findings.first_look import FirstLook
from scenes.findings.review import Review
from scenes.review.as_json import as_json
from scenes.review.first_look import first_look_as_json
from scenes.room.scene import Scene
from scenes.spec.mistakes import SpecMistakes
from viz.words import cautions, clearances, first_look, sight
from viz.words import mistakes as words
from viz.words.locale import Locale


def with_cautions(found: dict[str, Any], scene: Scene) -> dict[str, Any]:
    """The same object with the codes its room is checked by, its cautions, whole, and what a clearance check is not."""
    code = {"set": scene.code.value, "from": scene.code.origin}
    return {**found, "code": code, **cautions.as_json(scene)}


def review_object(review: Review) -> dict[str, Any]:
    """The `overtable/review/1` object. `hold` says why a room that fails is not for installation, else null;
    `open` what is open in any room."""
    locale = Locale.of(review.scene)
    found = {**as_json(review), "hold": cautions.hold(review), "open": cautions.still_open(review)}
    _tell(found["clearances"], review.clearances, locale)
    for told, line in zip(found["sightlines"], review.sightlines, strict=True):
        told["advice"] = sight.advice_for(line, review)
    return with_cautions(found, review.scene)


def first_look_object(look: FirstLook) -> dict[str, Any]:
    """The `overtable/review/1` object of a room before every array has a place: no verdict, no hold."""
    locale = Locale.of(look.scene)
    found = {**first_look_as_json(look), "hold": None, "open": " ".join(first_look.sentences(look.review))}
    _tell(found["clearances"], look.review.clearances, locale)
    return with_cautions(found, look.scene)


def _tell(rows: Sequence[dict[str, Any]], some: Sequence[Clearance], locale: Locale) -> None:
    """Note and source, as people read them, beside the clearances' figures."""
    for row, one in zip(rows, some, strict=True):
        row |= {"note": clearances.note(one, locale) or None, "source": clearances.source(one, locale)}


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
