"""The contract's JSON objects: numbers and names as the findings have them, texts beside them as people read them."""

from __future__ import annotations

from typing import Any

from scenes.findings.review import Review
from scenes.place.placement import Placement
from scenes.review.as_json import as_json
from scenes.review.changes import changes
from scenes.room.scene import Scene
from scenes.spec.mistakes import SpecMistakes
from viz.words import cautions, clearances, conflict, sight
from viz.words import changes as change_words
from viz.words import mistakes as words
from viz.words import placement as placement_words
from viz.words.locale import Locale


def with_cautions(found: dict[str, Any], scene: Scene) -> dict[str, Any]:
    """The same object with the cautions of its room, whole, and what a clearance check is not."""
    return {**found, **cautions.as_json(scene)}


def review_object(review: Review) -> dict[str, Any]:
    """The `overtable/review/1` object. `hold` says why a room that fails is not for installation, else null."""
    locale = Locale.of(review.scene)
    found = {**as_json(review), "hold": cautions.hold(review)}
    for row, one in zip(found["clearances"], review.clearances, strict=True):
        row |= {
            "note": clearances.note(one, locale) or None,
            "source": clearances.source(one, locale),
        }
    for told, line in zip(found["sightlines"], review.sightlines, strict=True):
        told["advice"] = sight.advice_for(line, review)
    return with_cautions(found, review.scene)


def changes_object(old: Review, new: Review) -> dict[str, Any]:
    """The `overtable/changes/1` object: each change with its kind and field by name, and the values in words."""
    locale = Locale.of(new.scene)
    found = {
        "format": "overtable/changes/1",
        "old": _revision(old),
        "new": _revision(new),
        "changes": [
            {
                "kind": change.kind,
                "id": change.id,
                "field": change.what,
                "what": text.what,
                "before": None if change.before is None and change.clearances is None else text.before,
                "after": None if change.after is None and change.clearances is None else text.after,
                "at_m": change.at_m,
            }
            for change in changes(old, new)
            for text in (change_words.row(change, locale),)
        ],
    }
    return with_cautions(found, new.scene)


def _revision(review: Review) -> dict[str, Any]:
    scene = review.scene
    return {"file": scene.source.file, "revision": scene.document.revision, "verdict": review.verdict}


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
    found, locale = placement.as_json(), Locale.of(placement.scene)
    found["note"] = " ".join(placement_words.remarks(placement, locale))
    found["arrays_needed"] = placement_words.needed(placement.count, locale)
    if placement.conflict is not None:
        found["conflict"]["because"] = conflict.because(placement.conflict, locale)
    return found
