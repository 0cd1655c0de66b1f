"""`overtable import`: rooms out of the architect's model, listed or written as specs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from geometry.records import record
from viz.commands.errors import Missing, Unusable, WrongUse
from viz.commands.importing import DrawingOptions, RoomChoice, profile_of, relative, today
from viz.commands.options import Force, Json, day_of
from viz.commands.streams import print_json

if TYPE_CHECKING:
    from scenes.findings.model import Building, ModelRoom
    from scenes.models.rooms import Reading
    from viz.words.locale import Locale

FEET = ("ft", "in")
"""Units of a model whose specs are written in feet."""


def import_(
    *files: Path,
    choice: RoomChoice | None = None,
    output: Annotated[
        Path | None,
        Parameter(name=["-o", "--output"], help="Spec file to write, or the folder with --all."),
    ] = None,
    drawing: DrawingOptions | None = None,
    json: Json = False,
    force: Force = False,
) -> int:
    """List the rooms of the architect's model or drawing, or write their specs.

    Give all models of the building together: architecture, services, structure. Without --room or --all the rooms
    are listed and nothing is written. For a drawing (DXF), the closed areas are listed, and --at picks one.

    Parameters
    ----------
    files
        One or more IFC files, or one DXF file.
    """
    from scenes.models.refusals import ModelRefused, ReaderMissing
    from viz.words.locale import Locale
    from viz.words.models import refusal

    if not files:
        raise WrongUse("use.no model")
    asked = choice or RoomChoice()
    try:
        if files[0].suffix.lower() == ".dxf":
            from viz.commands.drawings import import_drawing

            import_drawing(files, drawing or DrawingOptions(), asked, output, force=force)
        else:
            if drawing is not None:
                raise WrongUse("use.for drawings")
            _import_models(files, asked, output, json=json, force=force)
    except ModelRefused as error:
        raise Unusable(refusal(error, Locale("m"))) from None
    except ReaderMissing as error:
        raise Missing(refusal(error, Locale("m"))) from None
    return 0


def _import_models(
    files: Sequence[Path], asked: RoomChoice, output: Path | None, *, json: bool, force: bool
) -> None:
    """The rooms of models listed, or written."""
    from viz.words.locale import Locale

    if (asked.room is not None or asked.all) and output is None:
        raise WrongUse("use.no output")
    if asked.room is not None and asked.all:
        raise WrongUse("use.room and all")
    if output is not None and asked.room is None and not asked.all:
        raise WrongUse("use.which room", output=output)
    taken = day_of(asked.date) if asked.date is not None else today()
    reading = _opened(files)
    locale = Locale(_units(reading))
    if output is None:
        _list(reading, files, locale, json)
        return
    chosen = profile_of(asked.profiles, asked.profile)
    _write(reading, _Choice(asked.room, output, asked.profiles, chosen, taken), locale, force)


@record(frozen=True, slots=True)
class _Choice:
    """What is to be written, and where."""

    room: str | None
    output: Path
    profiles: Path | None
    profile: str | None
    taken: str | None


def _opened(files: Sequence[Path]) -> Reading:
    from scenes.models.rooms import Reading
    from viz.outputs import protect

    protect(*files)
    return Reading.of(files)


def _list(reading: Reading, files: Sequence[Path], locale: Locale, json: bool) -> None:
    building = reading.building(whole=False)
    if json:
        from scenes.models.as_json import as_json

        print_json(as_json(building))
        return
    from viz.terminal.console import console
    from viz.terminal.models import print_rooms

    print_rooms(console(), building, [str(file) for file in files], locale)


def _write(reading: Reading, choice: _Choice, locale: Locale, force: bool) -> None:
    from scenes.findings.model import Building
    from viz.outputs import output_folder, protect, write_files

    if choice.profiles is not None:
        protect(choice.profiles)
    if choice.room is not None:
        found = reading.room(reading.chosen(choice.room))
        rooms = {choice.output: found}
        building = Building(reading.facts(), (found,), ())
    else:
        building = reading.building()
        output_folder(choice.output)
        rooms = _named(choice.output, building)
    texts = {path: _spec(reading, building, found, path, choice, locale) for path, found in rooms.items()}
    for path in write_files(texts, force=force):
        print(path)
    from viz.words.models import after_import

    print(
        after_import([str(path) for path in rooms], list(rooms.values()), choice.profile is not None, locale)
    )


def _named(folder: Path, building: Building) -> dict[Path, ModelRoom]:
    """A file for each room, named by number and name, each name once."""
    from viz.outputs import unique_slugs

    names = [" ".join(one for one in (room.number, room.name) if one) or room.guid for room in building.rooms]
    slugs = unique_slugs(names)
    return {folder / f"{slug}.yaml": room for slug, room in zip(slugs, building.rooms, strict=True)}


def _spec(
    reading: Reading, building: Building, room: ModelRoom, path: Path, choice: _Choice, locale: Locale
) -> str:
    from scenes.findings.model import FileFacts
    from scenes.models.writing import Written, spec_text
    from viz.words.models import remark

    folder = path.parent
    files = tuple(
        FileFacts(relative(file.path, folder), file.schema, file.unit, file.sha256) for file in reading.files
    )
    name = " ".join(one for one in (room.number, room.name) if one) or room.guid
    about = Written(
        units=locale.units,
        files=files,
        taken=choice.taken,
        name=name,
        map=reading.files[0].map,
        profiles=None if choice.profiles is None else relative(choice.profiles, folder),
        profile=choice.profile,
    )
    return spec_text(room, about, lambda note: remark(note, locale))


def _units(reading: Reading) -> str:
    return "ft" if reading.files[0].unit in FEET else "m"
