"""GlobalIds of what is new in a model: the same for the same room and thing, every time, and known without a reader."""

from __future__ import annotations

import uuid
from typing import Final

from scenes.room.scene import Scene

LETTERS: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"
"""IFC's sixty-four letters, in the order of their value."""
LENGTH: Final = 22
NAMESPACE: Final = uuid.UUID("5d3a3a3e-2f5c-4c44-9c1f-6f1de4a7c7d2")


def uuid_of(scene: Scene, key: str) -> uuid.UUID:
    """The UUID of something about a room: by the model's space where the room came from one, else by its name."""
    origin = scene.origin
    room = scene.name if origin is None or origin.space is None else origin.space
    return uuid.uuid5(NAMESPACE, f"{room}/{key}")


def guid_of(scene: Scene, key: str) -> str:
    """The GlobalId of something that is new in a model."""
    return compressed(uuid_of(scene, key))


def thing_guid(scene: Scene, id: str) -> str:
    """The GlobalId of a thing of the spec: the one it has in the architect's model, else one of its own."""
    known = None if scene.origin is None else scene.origin.things.get(id)
    return known or guid_of(scene, f"thing/{id}")


def compressed(value: uuid.UUID) -> str:
    """A UUID as IFC writes it: 22 letters of six bits, the first of two."""
    number, letters = value.int, []
    for _ in range(LENGTH):
        number, digit = divmod(number, 64)
        letters.append(LETTERS[digit])
    return "".join(reversed(letters))
