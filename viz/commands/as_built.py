"""`overtable as-built`: the room as it hangs, from what was measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from viz.commands.inputs import placed_scene
from viz.commands.options import Force, UsualPaper, day_of

if TYPE_CHECKING:
    from scenes.findings.as_built import AsBuilt
    from scenes.room.scene import Scene
    from scenes.spec.measured import Measured


def as_built(
    spec: Path,
    measured: Path,
    /,
    *,
    output: Annotated[Path | None, Parameter(name=["-o", "--output"])] = None,
    paper: UsualPaper = None,
    date: str | None = None,
    force: Force = False,
) -> int:
    """Judge the room as it hangs, from what was measured, and say what to correct first.

    MEASURED is a YAML file (overtable, units, arrays with id and what was measured: off_walls, underside, level, band,
    turn), or the handover's schedule.csv with its measured columns filled in. What was not measured is taken as
    designed, a level as the most that is allowed.

    Parameters
    ----------
    spec
        The room's spec file.
    measured
        What was measured, as YAML or CSV.
    output
        Folder for sheets, as-hung cards and report of the room as it hangs.
    date
        Date of the measurement if its file has none, such as 2026-11-25.
    """
    from scenes.review.as_built import as_built as judged
    from scenes.spec.measured import read_measured
    from viz.outputs import protect
    from viz.refusals import refuse_layouts
    from viz.words.as_built import lines

    _, scene = placed_scene(spec)
    if output is not None:
        refuse_layouts(scene, "as-built -o")
    told = read_measured(measured, scene.name)
    protect(measured)
    if told.rows:
        _require_design(scene, told)
    found = judged(scene, told)
    print(*lines(found), sep="\n")
    if output is not None:
        _write(found, output, paper, day_of(date), force=force)
    return 0 if found.holds else 1


def _require_design(scene: Scene, told: Measured) -> None:
    """Raises SpecMistakes where a schedule's table says something else of the design than the spec does."""
    from scenes.dossier import Dossier
    from scenes.spec.mistakes import SpecMistakes
    from viz.csvs import written_over

    wrong = written_over(Dossier.of(scene), told.rows)
    if wrong:
        raise SpecMistakes(told.file, wrong, told.units)


def _write(found: AsBuilt, output: Path, paper: str | None, date: str | None, *, force: bool) -> None:
    """Sheets, as-hung cards and report of the room as it hangs, each page of them marked so."""
    from scenes.dossier import Dossier
    from viz.cards.as_hung import as_hung_cards
    from viz.outputs import output_folder, unique_slugs, write_files
    from viz.report_as_hung import report_as_hung
    from viz.sheets import sheets, usual_paper
    from viz.words.as_hung import scene_as_hung, stamp

    scene = scene_as_hung(found, date)
    dossier = Dossier(scene)
    paper = paper or usual_paper(scene)
    drawn, hung = sheets(dossier, paper=paper, stamp=stamp(found)), as_hung_cards(found, dossier, date)
    whole, *rest = unique_slugs([scene.name, "as-hung-cards", "as-hung-report"])
    folder = output_folder(output)
    files: dict[Path, bytes | str] = {
        folder / f"{whole}.pdf": drawn.pdf,
        folder / f"{whole}.dxf": drawn.dxf,
        folder / f"{rest[0]}.pdf": hung.pdf,
        folder / f"{rest[1]}.pdf": report_as_hung(found, dossier, paper, drawn, hung),
    }
    print(*write_files(files, force=force), sep="\n")
