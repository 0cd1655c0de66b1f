"""A first room to try: copied into a folder, reviewed, drawn, with what to open and what to try next."""

from __future__ import annotations

import sys
from importlib.resources import files
from pathlib import Path

from scenes.numbers import json_text
from scenes.review.as_json import as_json
from viz.drawing import GraphicsMissing
from viz.handover import read_dossier
from viz.outputs import whole_folder, write_file
from viz.stage import staged

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


def run_demo(folder: Path, room: str, *, force: bool = False) -> int:
    """Copy a demo room, review it, write picture and JSON, tell all; exit status as for every command."""
    from viz.tables import console, print_review

    pictures: list[str] = []
    missing = ""
    with whole_folder(folder, force=force) as aside:
        spec = copy_room(room, aside)
        dossier = read_dossier(spec)[1]
        review = dossier.review
        told = as_json(review)
        write_file(aside / f"{room}.json", json_text(told))
        try:
            from viz.stills import Style, draw_stills

            for still in draw_stills(staged(dossier), ["corner", "plan"], Style()):
                write_file(aside / f"{room}-{still.name}.png", still.png)
                pictures.append(f"{room}-{still.name}.png")
        except GraphicsMissing as error:
            missing = str(error)
    out = console()
    out.print(f"{room}: {ROOMS[room]}.")
    print_review(out, review)
    out.print()
    if missing:
        print(f"Pictures were left out: {missing}", file=sys.stderr)
    for name in [*pictures, f"{room}.json"]:
        out.print(f"Open {folder / name}", soft_wrap=True)
    others = ", ".join(name for name in ROOMS if name != room)
    out.print(
        f"Try next, in {folder}:\n"
        f"  overtable place {room}.yaml              find the best place, with a proof\n"
        f"  overtable live {room}.yaml               turn the room, drag the array, edit the file\n"
        f"  overtable handover {room}.yaml -o out    everything at once\n"
        f"Other rooms: overtable demo other --room NAME, with NAME one of {others}.",
        soft_wrap=True,
    )
    return 1 if review.verdict == "fail" else 0
