"""`overtable report`: the design document."""

from __future__ import annotations

import sys
from pathlib import Path

from viz.commands.inputs import dossier_of, say_hold, status_of
from viz.commands.options import Force, Output, Paper, day_of, require_ending
from viz.commands.remarks import remark_unset


def report(
    spec: Path, /, *, output: Output, paper: Paper = "A4", date: str | None = None, force: Force = False
) -> int:
    """Write the design report as PDF, from the verdict to the sources and cautions.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        PDF file to write.
    paper
        Paper size.
    date
        Date to print if the spec has none, such as 2026-11-25.
    """
    from viz.drawing import GraphicsMissing
    from viz.handover import cover_picture
    from viz.outputs import require_replaceable, write_file
    from viz.report import report_pdf
    from viz.stage import staged
    from viz.words.locale import Locale

    require_ending(output, ".pdf")
    dossier = dossier_of(spec, date)
    require_replaceable(output, force=force)
    pictures: dict[str, bytes] = {}
    try:
        pictures = {"corner": cover_picture(staged(dossier))}
    except GraphicsMissing as missing:
        print(Locale.of(dossier.scene).say("report.no cover", why=str(missing)), file=sys.stderr)
    print(
        write_file(
            output, report_pdf(dossier, pictures=pictures, paper=paper, date=day_of(date)), force=force
        )
    )
    remark_unset(dossier.scene)
    say_hold(dossier)
    return status_of(dossier)
