"""`overtable sheets`: the dimensioned sheets, or what changed since a revision."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from viz.commands.inputs import dossier_of, drawn_dossier, say_hold, status_of
from viz.commands.options import Force, Layout, Output, UsualPaper, day_of
from viz.commands.remarks import remark_other_room, remark_unset

if TYPE_CHECKING:
    from viz.cards import Cards
    from viz.sheets import Sheets


def sheets(
    spec: Path,
    /,
    *,
    output: Output,
    since: Path | None = None,
    paper: UsualPaper = None,
    date: str | None = None,
    layers: Path | None = None,
    layout: Layout = None,
    force: Force = False,
) -> int:
    """Draw the dimensioned sheets to scale, as DXF, SVG and PDF, and a hang card for each array.

    With --since OLD, only what changed from that revision is drawn, with clouds: changes.pdf, changes.dxf, and each
    sheet as DXF and SVG.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        Folder for the sheets.
    since
        Spec file of an earlier revision. Changes get a cloud, a number and a line in a table.
    date
        Date to print if the spec has none, such as 2026-11-25.
    layers
        Your office's layer names (YAML).
    """
    from viz.cards import cards
    from viz.outputs import output_folder, protect, write_files
    from viz.sheets import changes_sheet, usual_paper
    from viz.sheets import sheets as draw_sheets
    from viz.sheets.layers import read_layers
    from viz.words.changes import same_revision

    # what changed is told of places and verdicts: both revisions need them
    dossier = drawn_dossier(spec, layout=layout) if since is None else dossier_of(spec, layout=layout)
    own, size = None, paper or usual_paper(dossier.scene)
    if layers is not None:
        protect(layers)
        own = read_layers(layers)
    if since is None:
        drawn = draw_sheets(dossier, paper=size, date=day_of(date), own_layers=own)
    else:
        old = dossier_of(since, layout=layout)
        remark_other_room(old.scene, dossier.scene)
        drawn = changes_sheet(old, dossier, paper=size, date=day_of(date), own_layers=own)
        if old.scene.document.revision == dossier.scene.document.revision:
            print(same_revision(dossier.scene), file=sys.stderr)
    remark_unset(dossier.scene)
    name = dossier.scene.name if since is None else "changes"
    made = cards(dossier, date=day_of(date)) if since is None and dossier.schedule else None
    files = _files(drawn, made, output_folder(output), name)
    print(*write_files(files, force=force), sep="\n")
    say_hold(dossier)
    return status_of(dossier)


def _files(drawn: Sheets, made: Cards | None, folder: Path, name: str) -> dict[Path, bytes | str]:
    """What is written: sheets and cards together as PDF, the sheets as DXF, each by itself as SVG, a sheet as DXF."""
    from viz.outputs import unique_slugs

    each_card = made.cards if made is not None else ()
    names = [name, "hang-cards", *(sheet.slug for sheet in drawn.sheets), *(card.slug for card in each_card)]
    whole, together, *each = unique_slugs(names)
    files: dict[Path, bytes | str] = {folder / f"{whole}.pdf": drawn.pdf, folder / f"{whole}.dxf": drawn.dxf}
    for sheet, slug in zip(drawn.sheets, each, strict=False):
        files[folder / f"{slug}.dxf"] = sheet.dxf
        files[folder / f"{slug}.svg"] = sheet.svg
    if made is not None:
        files[folder / f"{together}.pdf"] = made.pdf
        for card, slug in zip(each_card, each[len(drawn.sheets) :], strict=True):
            files[folder / f"{slug}.svg"] = card.svg
    return files
