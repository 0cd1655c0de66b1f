"""What a thing of a room is called in a sentence: its kind and its id, or the name of a surface."""

from __future__ import annotations

from collections.abc import Sequence

from scenes.room.scene import Scene
from viz.words.locale import Locale

SURFACES = ("walls", "floor", "grid", "structure", "ceiling")
"""What a finding may be about that has no id of its own."""


def surface(id: str, locale: Locale) -> str:
    """A surface by its name, and any other id as it is."""
    return locale.say(f"thing.{id}") if id in SURFACES else id


def kind_name(kind: str, locale: Locale, count: int = 1) -> str:
    """What a kind of thing is called, one or several of it: `smoke detector`, `smoke detectors`."""
    return locale.say(f"kind.{kind}", count)


def of_a_kind(kind: str, id: str, locale: Locale) -> str:
    """A thing by its kind and its id: `sprinkler SP2`."""
    return locale.say("thing of a kind", kind=kind_name(kind, locale), id=id)


def named(id: str, scene: Scene) -> str:
    """`sprinkler SP2`, `talker T1-3`, `the grid`; an id that is no thing of the room as it is."""
    locale = Locale.of(scene)
    if id in SURFACES:
        return surface(id, locale)
    kinds = {id: kind for kind, id in scene.things}
    return of_a_kind(kinds[id], id, locale) if id in kinds else id


def all_named(ids: Sequence[str], scene: Scene) -> str:
    """Several things, of each kind together: `sprinklers SP1 and SP2 and the grid`."""
    locale = Locale.of(scene)
    kinds = {id: kind for kind, id in scene.things}
    alike: dict[str, list[str]] = {}
    for id in dict.fromkeys(ids):
        alike.setdefault(id if id in SURFACES else kinds.get(id, id), []).append(id)
    return locale.listed(
        [
            named(some[0], scene)
            if len(some) == 1
            else locale.say(
                "thing of a kind", kind=kind_name(kind, locale, len(some)), id=locale.listed(some)
            )
            for kind, some in alike.items()
        ]
    )


def people_of(scene: Scene, ids: Sequence[str]) -> set[str]:
    """Whose heads these are: who walks, or stands up too, is one talker."""
    return {scene.head(id).person for id in ids}
