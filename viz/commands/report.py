"""`overtable report`: the design document."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from viz.commands.inputs import dossier_of, say_hold, status_of
from viz.commands.options import Force, Layout, Output, Paper, UsualPaper, day_of, require_ending, rungs_of
from viz.commands.remarks import remark_unset

if TYPE_CHECKING:
    from scenes.project.reading import RoomText


def report(
    spec: Path,
    /,
    *,
    output: Output,
    paper: UsualPaper = None,
    date: str | None = None,
    ladder: Annotated[tuple[int, ...] | None, Parameter(consume_multiple=True, negative="")] = None,
    layout: Layout = None,
    force: Force = False,
) -> int:
    """Write the design report as PDF, from the verdict to the sources and cautions.

    Parameters
    ----------
    spec
        The room's spec file, or a project file.
    output
        PDF file to write; of a project the folder for a file a room.
    date
        Date to print if the spec has none, such as 2026-11-25.
    ladder
        Add a table of one array up to this many (4 if left out): anywhere, in a row, in a grid, and on tiles.
    """
    from scenes.project.reading import is_project
    from viz.commands.projects import each_room
    from viz.outputs import output_folder

    most = rungs_of(ladder)

    def write(source: Path | RoomText, file: Path) -> int:
        return _write(source, file, most, paper=paper, date=date, layout=layout, force=force)

    if not is_project(spec):
        require_ending(output, ".pdf")
        return write(spec, output)
    folder = output_folder(output)
    return each_room(spec, lambda room, name: write(room.readable, folder / f"{name}.pdf"))


def _write(
    spec: Path | RoomText,
    output: Path,
    most: int | None,
    *,
    paper: Paper | None,
    date: str | None,
    layout: str | None,
    force: bool,
) -> int:
    """Write one room's report; the exit status."""
    from scenes.place.ladder import ladder_of
    from viz.drawing import GraphicsMissing
    from viz.handover import cover_picture
    from viz.outputs import require_replaceable, write_file
    from viz.report import report_pdf
    from viz.sheets import usual_paper
    from viz.stage import staged
    from viz.words.locale import Locale

    dossier = dossier_of(spec, date, layout)
    require_replaceable(output, force=force)
    pictures: dict[str, bytes] = {}
    try:
        pictures = {"corner": cover_picture(staged(dossier))}
    except GraphicsMissing as missing:
        print(Locale.of(dossier.scene).say("report.no cover", why=str(missing)), file=sys.stderr)
    rungs = None if most is None else ladder_of(dossier.whole, most)
    made = report_pdf(
        dossier, pictures=pictures, paper=paper or usual_paper(dossier.scene), date=day_of(date), ladder=rungs
    )
    print(write_file(output, made, force=force))
    remark_unset(dossier.scene)
    say_hold(dossier)
    return status_of(dossier)
