"""`overtable report`: the design document."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from viz.commands.inputs import dossier_of, say_hold, status_of
from viz.commands.options import Force, Layout, Output, UsualPaper, day_of, require_ending, rungs_of
from viz.commands.remarks import remark_unset


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
        The room's spec file.
    output
        PDF file to write.
    date
        Date to print if the spec has none, such as 2026-11-25.
    ladder
        Add a table of one array up to this many (4 if left out): anywhere, in a row, in a grid, and on tiles.
    """
    from scenes.place.ladder import ladder_of
    from viz.drawing import GraphicsMissing
    from viz.handover import cover_picture
    from viz.outputs import require_replaceable, write_file
    from viz.report import report_pdf
    from viz.sheets import usual_paper
    from viz.stage import staged
    from viz.words.locale import Locale

    require_ending(output, ".pdf")
    most = rungs_of(ladder)
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
