"""What a command does with every room of a project: one room's mistake stops no other."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from scenes.spec.mistakes import SpecMistakes
from viz.commands.errors import WRONG, status_of, text_of

if TYPE_CHECKING:
    from scenes.project.reading import ProjectRoom


def each_room(path: Path, work: Callable[[ProjectRoom, str], int]) -> int:
    """Do the work for every room of a project, with the name of its folder; the exit status.

    Mistakes are told on standard error when all rooms are done, each once.
    """
    from scenes.project.reading import read_project, untold
    from viz.building import folder_names
    from viz.outputs import protect
    from viz.words.locale import Locale
    from viz.words.mistakes import lines

    protect(path)
    project = read_project(path)
    protect(*project.files)
    status, wrong = 0, [] if project.mistakes is None else [project.mistakes]
    for room, name in zip(project.rooms, folder_names(project.rooms), strict=True):
        try:
            with room.telling():
                status = max(status, work(room, name))
        except SpecMistakes as mistakes:
            wrong.append(mistakes)
        except Exception as error:
            if (its := status_of(error)) is None:
                raise
            status = max(status, its)
            print(Locale("m").say("handover.of", room=name, text=text_of(error)), file=sys.stderr)
    for one in untold(wrong):
        print(lines(one), file=sys.stderr)
    return max(status, WRONG) if wrong else status
