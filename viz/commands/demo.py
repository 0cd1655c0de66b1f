"""`overtable demo`: a first room to try, copied, reviewed, drawn, with what to open and what to try next."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from viz.commands.inputs import status_of
from viz.commands.options import Force

if TYPE_CHECKING:
    from scenes.dossier import Dossier

ROOMS = ("heron", "wharf", "loft", "weir", "ferry")
PROFILES = "devices.yaml"


def demo(
    folder: Path = Path("overtable-demo"),
    /,
    *,
    room: Literal["heron", "wharf", "loft", "weir", "ferry"] = "heron",
    force: Force = False,
) -> int:
    """Start here: copy a demo room, review it, draw it, and see what to try next.

    Parameters
    ----------
    folder
        Folder to create.
    room
        heron: everyone is covered. wharf: a bulkhead and a sloped ceiling. loft: an open ceiling. weir: a walking
        presenter, and one array is not enough. ferry: feet and inches, with a flush array.
    """
    from scenes.numbers import json_text
    from viz.drawing import GraphicsMissing
    from viz.folders import whole_folder
    from viz.handover import read_dossier
    from viz.json_objects import review_object
    from viz.outputs import write_file
    from viz.terminal.console import console
    from viz.terminal.review import print_review
    from viz.words.locale import Locale

    pictures: list[str] = []
    missing = ""
    with whole_folder(folder, force=force) as aside:
        dossier = read_dossier(copy_room(room, aside))[1]
        write_file(aside / f"{room}.json", json_text(review_object(dossier.review)))
        try:
            pictures = _draw(dossier, room, aside)
        except GraphicsMissing as error:
            missing = str(error)
    out = console()
    locale = Locale.of(dossier.scene)
    out.print(locale.say("demo.room", room=room, what=locale.say(f"demo.{room}")))
    print_review(out, dossier.review, cautions_in_full=True)
    out.print()
    if missing:
        print(locale.say("demo.no pictures", why=missing), file=sys.stderr)
    for name in [*pictures, f"{room}.json"]:
        out.print(locale.say("open file", file=str(folder / name)), soft_wrap=True)
    others = ", ".join(name for name in ROOMS if name != room)
    out.print(locale.say("demo.next", folder=str(folder), room=room, others=others), soft_wrap=True)
    return status_of(dossier)


def room_text(name: str) -> str:
    """The spec of a demo room, or of the profiles they share. KeyError for another name."""
    from importlib.resources import files

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


def _draw(dossier: Dossier, room: str, folder: Path) -> list[str]:
    """Draws the room into a folder; the names of the files. Raises GraphicsMissing."""
    from viz.outputs import write_file
    from viz.stage import staged
    from viz.stills import Style, draw_stills

    return [
        write_file(folder / f"{room}-{still.name}.png", still.png).name
        for still in draw_stills(staged(dossier), ["corner", "plan"], Style())
    ]
