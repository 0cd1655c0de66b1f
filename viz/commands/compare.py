"""`overtable compare`: two rooms, or two placements of one, side by side."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from viz.commands.inputs import dossier_of, say_hold, status_of
from viz.commands.options import Force, Json, Layout, Paper, day_of, require_ending
from viz.commands.remarks import remark_unset

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.comparison import Comparison


def compare(
    a: Path,
    b: Path,
    /,
    *,
    output: Annotated[Path | None, Parameter(name=["-o", "--output"])] = None,
    paper: Paper = "A4",
    date: str | None = None,
    json: Json = False,
    layout: Layout = None,
    force: Force = False,
) -> int:
    """Compare two rooms, or two placements of one: figures, what differs, and both in 3D.

    Parameters
    ----------
    a
        Spec file of the first.
    b
        Spec file of the second.
    output
        FILE.html for a page with both rooms, one view and one height slider; FILE.pdf for a sheet. Left out: the
        figures here.
    paper
        Paper size of the sheet.
    date
        Date to print if a spec has none, such as 2026-11-25.
    """
    from scenes.review.comparison import comparison

    if output is not None:
        require_ending(output, ".html", ".htm", ".pdf")
    dossiers = dossier_of(a, date, layout), dossier_of(b, date, layout)
    found = comparison(*(dossier.review for dossier in dossiers))
    if output is not None:
        _write(output, dossiers, found, paper, date, force=force, quietly=json)
    if json:
        from viz.commands.streams import print_json
        from viz.json_comparison import comparison_object

        print_json(comparison_object(found))
    elif output is None:
        from viz.terminal.comparison import print_comparison
        from viz.terminal.console import console

        print_comparison(console(), found)
    if output is not None:
        for dossier in dossiers:
            say_hold(dossier)
    return max(status_of(dossier) for dossier in dossiers)


def _write(
    output: Path,
    dossiers: tuple[Dossier, Dossier],
    found: Comparison,
    paper: Paper,
    date: str | None,
    *,
    force: bool,
    quietly: bool,
) -> None:
    """Write the page or the sheet; its name on standard output, unless only JSON stands there."""
    from viz.drawing import GraphicsMissing
    from viz.handover import cover_picture, small
    from viz.outputs import require_replaceable, write_file
    from viz.stage import staged
    from viz.words.locale import Locale

    require_replaceable(output, force=force)
    stages = staged(dossiers[0]), staged(dossiers[1])
    pictures: list[bytes] = []
    made: bytes | str
    try:
        pictures = [cover_picture(stage, (1200, 750)) for stage in stages]
    except GraphicsMissing:
        print(Locale.of(found.first.scene).say("page.no fallback"), file=sys.stderr)
    if output.suffix.lower() == ".pdf":
        from viz.compare_sheet import compare_pdf

        made = compare_pdf(found, pictures, paper=paper, date=day_of(date))
        for dossier in dossiers:
            remark_unset(dossier.scene)
    else:
        from viz.page.compare import compare_page

        tables = dossiers[0].height_table, dossiers[1].height_table
        made = compare_page(found, stages, tables, [small(one) for one in pictures], day_of(date))
    written = write_file(output, made, force=force)
    print(written, file=sys.stderr if quietly else sys.stdout)
