"""`overtable sheets`: the dimensioned sheets, or what changed since a revision."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from geometry.records import record
from viz.commands.errors import WrongUse
from viz.commands.inputs import dossier_of, drawn_dossier, say_hold, status_of
from viz.commands.options import Force, Layout, Output, Paper, UsualPaper, day_of
from viz.commands.remarks import remark_other_room, remark_unset

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.project.reading import RoomText
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
    for_coordination: Annotated[bool, Parameter(negative="")] = False,
    force: Force = False,
) -> int:
    """Draw the dimensioned sheets to scale, as DXF, SVG and PDF, and a hang card for each array.

    With --since OLD, only what changed from that revision is drawn, with clouds: changes.pdf, changes.dxf, and each
    sheet as DXF and SVG.

    Parameters
    ----------
    spec
        The room's spec file, or a project file.
    output
        Folder for the sheets; of a project it gets a folder for each room.
    since
        Spec file of an earlier revision. Changes get a cloud, a number and a line in a table.
    date
        Date to print if the spec has none, such as 2026-11-25.
    layers
        Your office's layer names (YAML).
    for_coordination
        Only the ceiling plan, as one DXF without paper. A room that came from a model lies where it lies there.
    """
    from scenes.project.reading import is_project
    from viz.commands.projects import each_room

    options = _Options(since, paper, date, layers, layout, for_coordination, force)
    if not is_project(spec):
        return _draw(spec, output, options)
    if since is not None:
        raise WrongUse("use.project since", path=spec)
    return each_room(spec, lambda room, name: _draw(room.readable, output / name, options))


@record(frozen=True)
class _Options:
    """The options of `overtable sheets`."""

    since: Path | None
    paper: Paper | None
    date: str | None
    layers: Path | None
    layout: str | None
    for_coordination: bool
    force: bool


def _draw(spec: Path | RoomText, output: Path, options: _Options) -> int:
    """Draw one room's sheets into a folder; the exit status."""
    from viz.cards import cards
    from viz.outputs import output_folder, protect, write_files
    from viz.sheets import sheets as draw_sheets
    from viz.sheets import usual_paper
    from viz.sheets.layers import read_layers

    # what changed is told of places and verdicts: both revisions need them
    since, date = options.since, day_of(options.date)
    read = drawn_dossier if since is None else dossier_of
    dossier = read(spec, layout=options.layout)
    own, size = None, options.paper or usual_paper(dossier.scene)
    if options.layers is not None:
        protect(options.layers)
        own = read_layers(options.layers)
    if options.for_coordination:
        if since is not None:
            raise WrongUse("use.coordination since")
        return _coordination(dossier, output_folder(output), size, date, own, force=options.force)
    made = None
    if since is None:
        drawn = draw_sheets(dossier, paper=size, date=date, own_layers=own)
        made = cards(dossier, date=date) if dossier.schedule else None
    else:
        drawn = _changes(dossier_of(since, layout=options.layout), dossier, size, date, own)
    remark_unset(dossier.scene)
    name = dossier.scene.name if since is None else "changes"
    print(*write_files(_files(drawn, made, output_folder(output), name), force=options.force), sep="\n")
    say_hold(dossier)
    return status_of(dossier)


def _changes(old: Dossier, new: Dossier, paper: str, date: str | None, own_layers: str | None) -> Sheets:
    """What changed since an earlier revision, and a remark where the two are not told apart or are two rooms."""
    from viz.sheets import changes_sheet
    from viz.words.changes import same_revision

    remark_other_room(old.scene, new.scene)
    drawn = changes_sheet(old, new, paper=paper, date=date, own_layers=own_layers)
    if old.scene.document.revision == new.scene.document.revision:
        print(same_revision(new.scene), file=sys.stderr)
    return drawn


def _coordination(
    dossier: Dossier, folder: Path, paper: str, date: str | None, own_layers: str | None, *, force: bool
) -> int:
    """The ceiling plan alone, for whoever coordinates it with others."""
    from viz.outputs import unique_slugs, write_files
    from viz.sheets import coordination_dxf

    text = coordination_dxf(dossier, paper=paper, date=date, own_layers=own_layers)
    name = unique_slugs([dossier.scene.name])[0]
    print(*write_files({folder / f"{name}-for-coordination.dxf": text}, force=force), sep="\n")
    remark_unset(dossier.scene)
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
