"""What stops a command: the name of a message of viz/words and its values, said where it is read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from scenes.room.scene import Scene


class Refusal(Exception):
    """Something that cannot be done: a message's name and its values. `str()` says it, and `others` below it."""

    exit_status = 2

    def __init__(self, message: str, **values: object) -> None:
        super().__init__(message)
        self.message = message
        self.values = {
            name: value if isinstance(value, int) else str(value) for name, value in values.items()
        }
        self.others: tuple[Refusal, ...] = ()

    def with_others(self, others: Sequence[Refusal]) -> Self:
        """The same refusal, said together with others."""
        self.others = tuple(others)
        return self

    def __str__(self) -> str:
        # here, as most runs are refused nothing
        from viz.words.locale import Locale

        return "\n".join((Locale("m").say(self.message, None, **self.values), *map(str, self.others)))


def refuse_layouts(scene: Scene, command: str) -> Scene:
    """The scene. Raises Refusal where a room has layouts: what the command makes is of one room as it is."""
    if scene.layouts:
        raise Refusal("layouts.not yet", command=command)
    return scene
