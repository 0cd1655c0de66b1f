"""What is said on standard error beside the answer."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scenes.room.scene import Scene


def remark_unset(scene: Scene, mark: str | None = None) -> None:
    """Say which letters of the room's names the drawings cannot set, if there are any."""
    from viz.sheets.lettering import MARK, unset

    if said := unset(scene, mark or MARK):
        print(said, file=sys.stderr)


def remark_unplaced(path: Path) -> None:
    """Read a spec, and say what to type next if an array of it has no place yet. Raises SpecMistakes."""
    from scenes.dossier import Dossier
    from scenes.room.build import read_scene
    from viz.commands.inputs import say_first_look

    look = Dossier.of(read_scene(path)).first
    if look is not None:
        say_first_look(look)


def remark_other_room(old: Scene, new: Scene) -> None:
    """Say that two files are hardly revisions of one room, if so."""
    from viz.words.changes import two_rooms

    if said := two_rooms(old, new):
        print(said, file=sys.stderr)
