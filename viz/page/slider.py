"""The texts of the page's height slider, finished: the script looks them up."""

from __future__ import annotations

from typing import Any

from scenes.room.scene import Scene
from viz.words import coverage
from viz.words.locale import Locale


def with_sentences(exploration: dict[str, Any], scene: Scene) -> dict[str, Any]:
    """The table of `explore` with the sentence of every height in place of the figures it is made of.

    `sentences` of a band are indices into the table's own list of sentences.
    """
    ids, people = zip(*((head.id, head.person) for head in scene.heads), strict=True)
    locale = Locale.of(scene)
    places: dict[str, int] = {}

    def band(one: dict[str, Any]) -> dict[str, Any]:
        texts = (coverage.of_figures(coverage.Figures(ids, people, *each), locale) for each in one["figures"])
        found = [places.setdefault(text, len(places)) for text in texts]
        return {**{key: value for key, value in one.items() if key != "figures"}, "sentences": found}

    arrays = [{**array, "bands": [band(one) for one in array["bands"]]} for array in exploration["arrays"]]
    return {**exploration, "arrays": arrays, "sentences": list(places)}
