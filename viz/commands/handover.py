"""`overtable handover`: everything at once."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from scenes.spec.mistakes import SpecMistakes
from viz.commands.errors import WRONG, WrongUse, status_of, text_of
from viz.commands.options import Force, Output, UsualPaper, day_of
from viz.words.locale import Locale
from viz.words.mistakes import lines

if TYPE_CHECKING:
    from viz.handover import Made


def handover(
    *specs: Path,
    output: Output,
    paper: UsualPaper = None,
    date: str | None = None,
    force: Force = False,
    zip: Annotated[bool, Parameter(negative="")] = False,
    pictures: bool = True,
) -> int:
    """Make all documents of one room or several, in one folder with an index.

    You get spec, review, tables, pictures, sheets, report, page and model.

    Parameters
    ----------
    specs
        One or more spec files. Several get one folder each and a project index.
    output
        Output folder (created only if everything succeeds).
    date
        Date to print if a spec has none, such as 2026-11-25.
    zip
        Also write the folder as a zip file.
    pictures
        Draw the pictures. It is on by default.
    """
    from viz.folders import shortly
    from viz.handover import Settings, hand_over_many, zipped
    from viz.outputs import require_replaceable, write_file
    from viz.terminal.console import console
    from viz.terminal.progress import progress_bar

    _require_specs(specs)
    zip_file = output.parent / f"{output.absolute().name}.zip"
    if zip:
        require_replaceable(zip_file, force=force)
    locale = Locale("m")
    told = console(stderr=True)
    kept: list[str] = []
    with progress_bar(told) as progress:
        rooms, wrong = hand_over_many(
            specs,
            output,
            Settings(paper, day_of(date), pictures=pictures),
            progress,
            force=force,
            kept=kept.extend,
        )
    if zip:
        print(write_file(zip_file, zipped(output, day_of(date)), force=force))
    _tell(rooms, wrong)
    if kept:
        print(locale.say("handover.kept", files=shortly(kept)), file=sys.stderr)
    print(locale.say("open file", file=str(output / "index.html")))
    if wrong:
        return max(status_of(error) or WRONG for _, error in wrong)
    return 1 if "fail" in {made.verdict for made in rooms} else 0


def _require_specs(specs: tuple[Path, ...]) -> None:
    """Raises WrongUse if there is none, or one twice."""
    if not specs:
        raise WrongUse("use.no spec, handover")
    for i, path in enumerate(specs):
        if path.resolve() in [other.resolve() for other in specs[:i]]:
            raise WrongUse("use.twice", path=path)


def _tell(rooms: list[Made], wrong: list[tuple[Path, Exception]]) -> None:
    """What was made of each room, and what could not be."""
    locale = Locale("m")
    for made in rooms:
        for line in made.left_out:
            print(locale.say("handover.of", room=made.name, text=line), file=sys.stderr)
        several = len(rooms) > 1
        print(locale.say("handover.of", room=made.name, text=made.sentence) if several else made.sentence)
        print(made.line)
    from viz.handover import together

    for caution, where in together(rooms):
        print(locale.say("handover.caution", where=where, title=caution.title, text=caution.text))
    for said in dict.fromkeys(made.advice for made in rooms):
        print(said)
    for path, error in wrong:
        print(
            lines(error) if isinstance(error, SpecMistakes) else f"{path}: {text_of(error)}", file=sys.stderr
        )
