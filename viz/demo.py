"""A first room to try: copied into a folder, reviewed, drawn, with what to open and what to try next."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

ROOMS: dict[str, str] = {
    "heron": "a small room under a suspended ceiling: everybody is covered",
    "loft": "a workshop under an open ceiling: what the sprinklers are is not known yet",
    "weir": "a seminar room with a presenter who walks: one array is not enough",
    "ferry": "a boardroom in feet and inches, with an array flush in the ceiling: one seat is marginal",
}
PROFILES = "devices.yaml"


def room_text(name: str) -> str:
    """The spec of a demo room, or of the profiles they share. KeyError for another name."""
    if name not in ROOMS and name != PROFILES:
        raise KeyError(name)
    file = name if name == PROFILES else f"{name}.yaml"
    return files("scenes.rooms").joinpath(file).read_text("utf-8")


def copy_room(name: str, folder: Path) -> Path:
    """Copy a demo room and the profiles it names into a folder; the path of the room's spec."""
    spec = folder / f"{name}.yaml"
    spec.write_bytes(room_text(name).encode("utf-8"))
    (folder / PROFILES).write_bytes(room_text(PROFILES).encode("utf-8"))
    return spec
