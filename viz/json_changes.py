"""The `overtable/changes/1` object: apart from the others, for only a comparison asks for it."""

from __future__ import annotations

from typing import Any

from scenes.findings.review import Review
from scenes.review.changes import changes
from viz.json_objects import with_cautions
from viz.words import changes as change_words
from viz.words.locale import Locale


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
