"""`overtable handover`: everything at once."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from scenes.spec.mistakes import SpecMistakes
from viz.commands.errors import WrongUse
from viz.commands.options import Output, Paper, day_of


def handover(
    *specs: Path,
    output: Output,
    paper: Paper = "A4",
    date: str | None = None,
    force: Annotated[bool, Parameter(negative="")] = False,
    zip: Annotated[bool, Parameter(negative="")] = False,
    pictures: bool = True,
) -> int:
    """Make everything at once: spec, review, tables, pictures, sheets, report, page, model and an index.

    Parameters
    ----------
    specs
        One spec file or more; of several each gets a folder, with an index and a table of all.
    output
        The folder; it appears when it is complete.
    paper
        The paper size of sheets and report.
    date
        The date of the documents, where a spec's document has none.
    force
        Replace a folder that holds other files.
    zip
        Write the folder as a zip file beside it too.
    pictures
        Draw the pictures.
    """
    from viz.handover import Settings, hand_over_many, zipped
    from viz.outputs import write_file
    from viz.terminal.console import console
    from viz.terminal.progress import progress_bar

    if not specs:
        raise WrongUse("handover needs a spec file: overtable handover ROOM.yaml -o FOLDER")
    for i, path in enumerate(specs):
        if path.resolve() in [other.resolve() for other in specs[:i]]:
            raise WrongUse(f"{path} is given twice; give each room once")
    told = console(stderr=True)
    with progress_bar(told) as progress:
        rooms, wrong = hand_over_many(
            specs, output, Settings(paper, day_of(date), pictures=pictures), progress, force=force
        )
    if zip:
        print(write_file(output.with_name(output.name + ".zip"), zipped(output, day_of(date))))
    for made in rooms:
        for line in made.left_out:
            print(f"{made.name}: {line}", file=sys.stderr)
        print(f"{made.name}: {made.sentence}" if len(rooms) > 1 else made.sentence)
        print(made.cautions)
    for path, error in wrong:
        print(error if isinstance(error, SpecMistakes) else f"{path}: {error}", file=sys.stderr)
    print(f"Open {output / 'index.html'}")
    if wrong:
        return max(int(getattr(error, "exit_status", 2)) for _, error in wrong)
    return 1 if any(made.verdict == "fail" for made in rooms) else 0
