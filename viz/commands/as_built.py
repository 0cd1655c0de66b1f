"""`overtable as-built`: the room as it hangs, from what was measured."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from viz.commands.inputs import placed_scene
from viz.commands.options import Force, Paper, day_of

if TYPE_CHECKING:
    from scenes.findings.as_built import AsBuilt


def as_built(
    spec: Path,
    measured: Path,
    /,
    *,
    output: Annotated[Path | None, Parameter(name=["-o", "--output"])] = None,
    paper: Paper = "A4",
    date: str | None = None,
    force: Force = False,
) -> int:
    """Judge the room as it hangs, from what was measured, and say what to correct first.

    MEASURED is a YAML file (overtable, units, arrays with id and what was measured: off_walls, underside, level, band,
    turn), or the schedule's CSV with its figures written over. What is left out is taken as designed.

    Parameters
    ----------
    spec
        The room's spec file.
    measured
        What was measured, as YAML or CSV.
    output
        Folder for sheets, hang cards and report of the room as it hangs.
    paper
        Paper size of the sheets.
    date
        Date of the measurement if its file has none, such as 2026-11-25.
    """
    from scenes.review.as_built import as_built as judged
    from scenes.spec.measured import read_measured
    from viz.outputs import protect
    from viz.words.as_built import lines

    _, scene = placed_scene(spec)
    told = read_measured(measured)
    protect(measured)
    found = judged(scene, told)
    print(*lines(found), sep="\n")
    if output is not None:
        _write(found, output, paper, told.date or day_of(date), force=force)
    return 0 if found.holds else 1


def _write(found: AsBuilt, output: Path, paper: str, date: str | None, *, force: bool) -> None:
    """Sheets, cards and report of the room as it hangs, marked so."""
    from scenes.dossier import Dossier
    from viz.cards import cards
    from viz.outputs import output_folder, unique_slugs, write_files
    from viz.report import report_pdf
    from viz.sheets import sheets
    from viz.words.locale import DASH, Locale

    scene = found.review.scene
    say, document = Locale.of(scene).say, scene.document
    day, purpose = date or document.date, say("as built.purpose")
    rows = (*document.revisions, (document.revision or DASH, day or DASH, purpose))
    marked = replace(document, date=day, purpose=purpose, revisions=rows)
    dossier = Dossier(replace(scene, document=marked))
    drawn, hung = sheets(dossier, paper=paper), cards(dossier)
    whole, *rest = unique_slugs([scene.name, "hang-cards", "report"])
    folder = output_folder(output)
    files: dict[Path, bytes | str] = {
        folder / f"{whole}.pdf": drawn.pdf,
        folder / f"{whole}.dxf": drawn.dxf,
        folder / f"{rest[0]}.pdf": hung.pdf,
        folder / f"{rest[1]}.pdf": report_pdf(dossier, paper=paper, drawn=drawn, hung=hung),
    }
    print(*write_files(files, force=force), sep="\n")
