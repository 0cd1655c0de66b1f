"""`overtable update`: a spec brought up to date with a new issue of the architect's model."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from viz.commands.errors import Missing, Unusable, WrongUse
from viz.commands.importing import relative, today
from viz.commands.options import day_of


def update(
    spec: Path,
    /,
    *,
    model: Annotated[
        list[Path] | None,
        Parameter(
            negative="", help="New model file, if it is not where the old one was. Repeat it for more."
        ),
    ] = None,
    date: Annotated[
        str | None, Parameter(help="Day of the update, such as 2026-11-25. Left out: today.")
    ] = None,
) -> int:
    """Update a spec from a new issue of the architect's model. Your own lines stay.

    Things are matched by their GlobalIds. A line that you changed stays as you have it and is listed. Arrays and rules
    stay too. Check what is listed under `unsure`: it is new, or you have not checked it yet.

    Parameters
    ----------
    spec
        A spec file written by `overtable import`.
    """
    from scenes.models.refusals import ModelRefused, ReaderMissing
    from viz.words.locale import Locale
    from viz.words.models import refusal

    taken = day_of(date) if date is not None else today()
    try:
        _update(spec, model, taken)
    except ModelRefused as error:
        raise Unusable(refusal(error, Locale("m"))) from None
    except ReaderMissing as error:
        raise Missing(refusal(error, Locale("m"))) from None
    return 0


def _update(path: Path, files: list[Path] | None, taken: str | None) -> None:
    from scenes.findings.model import FileFacts
    from scenes.models.rooms import Reading
    from scenes.models.updating import names_of, updated
    from scenes.models.writing import Written
    from scenes.room.build import build
    from scenes.spec.reading import read_spec, read_spec_text
    from scenes.spec.writing import keep
    from viz.words.locale import Locale
    from viz.words.models import remark, update_lines

    spec = read_spec(path)
    assert spec.source is not None
    if spec.model is None or spec.model.space is None:
        raise WrongUse("use.not imported", path=path)
    reading = Reading.of(files or [path.parent / one.file for one in spec.model.files])
    room = reading.room(reading.chosen(spec.model.space))
    locale = Locale(spec.units)
    facts = (
        FileFacts(relative(one.path, path.parent), one.schema, one.unit, one.sha256) for one in reading.files
    )
    about = Written(spec.units, tuple(facts), taken, spec.name, reading.files[0].map)
    before = spec.source.text
    found = updated(before, spec, room, about, lambda note: remark(note, locale))
    again = read_spec_text(found.text, str(path), path.parent)
    build(again)  # what is written can be read: a table that is now outside the room is said, not written
    if found.text != before:
        keep(path, found.text, before)
    for line in update_lines(list(names_of(found)), locale):
        print(line)
    print(locale.say("update.next", file=str(path)))
