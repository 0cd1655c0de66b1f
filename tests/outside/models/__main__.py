"""Reads every model and drawing of a folder and prints what came out.

    .venv/bin/python -m tests.outside.models FOLDER

IFC files whose names begin alike up to an underscore or a hyphen make one building. Of each: rooms, what is left out,
how far areas and heights are from the model's own quantities, whether every room's spec can be read, and processor
time. Exits 1 if a room's spec cannot be read or an area is off by more than 1 %.
"""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from scenes.findings.model import ModelRoom
from scenes.models.drawing import Asked, Drawing
from scenes.models.refusals import ModelRefused
from scenes.models.rooms import Reading
from scenes.models.writing import Written, spec_text
from scenes.room.build import build
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec_text

AREA_SHARE = 0.01
"""How far an area may be from the model's own: those are of several measuring rules."""


def main(folder: Path) -> int:
    """The table on standard output; 1 if something is wrong."""
    wrong = 0
    names = sorted(folder.rglob("*.ifc"))
    for key, files in groupby(names, key=lambda path: re.split("[_-]", path.stem)[0]):
        wrong += _building(key, list(files))
    for path in sorted(folder.rglob("*.dxf")):
        _drawing(path)
    return 1 if wrong else 0


def _building(key: str, files: list[Path]) -> int:
    start = time.process_time()
    try:
        reading = Reading.of(files)
        building = reading.building()
    except ModelRefused as error:
        print(f"{key}: refused, {error.name}")
        return 0
    seconds = time.process_time() - start
    unread = [text for room in building.rooms if (text := _unread(room, building.files)) is not None]
    off = [one for one in _areas(reading, building.rooms) if abs(one[1] - one[2]) > AREA_SHARE * one[2]]
    known = len(list(_areas(reading, building.rooms)))
    print(
        f"{key}: {len(building.rooms)} rooms of {len(files)} files, {len(building.skipped)} left out, "
        f"{known - len(off)} of {known} areas as the model's own, {len(unread)} specs unread, {seconds:.1f} s"
    )
    for name, mine, own in off:
        print(f"    {name}: {mine:.2f} m², the model says {own:.2f}")
    for text in unread:
        print(f"    {text}")
    return len(off) + len(unread)


def _unread(room: ModelRoom, files: object) -> str | None:
    about = Written("m", files, None, room.name or room.guid)  # type: ignore[arg-type]
    try:
        build(read_spec_text(spec_text(room, about, lambda note: "")))
    except SpecMistakes as mistakes:
        return f"{room.number} {room.name}: {mistakes}"
    return None


def _areas(reading: Reading, rooms: tuple[ModelRoom, ...]) -> Iterator[tuple[str, float, float]]:
    """Rooms whose models have an area of their own: name, ours, theirs, square metres."""
    from ifcopenshell.util.element import get_psets
    from ifcopenshell.util.unit import calculate_unit_scale

    for room in rooms:
        for file in reading.files:
            try:
                space = file.handle.by_guid(room.guid)
            except RuntimeError:
                continue
            sets = get_psets(space, qtos_only=True)
            scale = calculate_unit_scale(file.handle, "AREAUNIT")
            own = [
                float(values[name]) * scale
                for values in sets.values()
                for name in ("NetFloorArea", "GrossFloorArea")
                if values.get(name)
            ]
            if own:
                # net and gross are both right: which of them the outline is depends on who drew it
                yield (
                    f"{room.number} {room.name}",
                    room.area_m2,
                    min(own, key=lambda one: abs(one - room.area_m2)),
                )


def _drawing(path: Path) -> None:
    start = time.process_time()
    try:
        found = Drawing.read(path).candidates(Asked(None, None))
    except ModelRefused as error:
        print(f"{path.name}: refused, {error.name}")
        return
    unit = found[0][2].name if found else "–"
    print(f"{path.name}: {len(found)} closed areas, unit {unit}, {time.process_time() - start:.1f} s")


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
