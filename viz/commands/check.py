"""`overtable check`: the review of one room or many, or what differs between two revisions."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from scenes.spec.mistakes import SpecMistakes
from viz.commands.errors import WrongUse
from viz.commands.inputs import placed_scene
from viz.commands.options import Json
from viz.commands.remarks import remark_other_room
from viz.commands.streams import print_json

if TYPE_CHECKING:
    from scenes.room.scene import Scene


def check(
    *specs: Path,
    json: Json = False,
    all: Annotated[bool, Parameter(negative="", help="Also list clearances that pass.")] = False,
    ceiling: Annotated[
        bool, Parameter(negative="", help="Also check devices of the ceiling against each other.")
    ] = False,
    changes: Annotated[
        bool, Parameter(negative="", help="Compare two revisions: check OLD NEW --changes.")
    ] = False,
) -> int:
    """Review rooms: who is covered, what is too close at the ceiling, and the verdict.

    Parameters
    ----------
    specs
        One or more spec files.
    """
    from scenes.review.review import review, with_ceiling
    from scenes.room.build import build
    from scenes.spec.reading import read_spec

    if not specs:
        raise WrongUse("use.no spec")
    if changes:
        return _changes(specs, json)
    answers: list[Any] = []
    status = 0
    for path in specs:
        try:
            scene = build(read_spec(path))
        except SpecMistakes as mistakes:
            status = 2
            if json:
                from viz.json_objects import mistakes as mistakes_object

                answers.append(mistakes_object(mistakes))
            else:
                from viz.words.mistakes import lines

                print(lines(mistakes), file=sys.stderr)
            continue
        if not scene.arrays or any(not array.placed for array in scene.arrays):
            _first_look(path, scene, ceiling, answers if json else None)
            continue
        reviewed = with_ceiling(review(scene)) if ceiling else review(scene)
        if reviewed.verdict == "fail":
            status = max(status, 1)
        if json:
            from viz.json_objects import review_object

            answers.append(review_object(reviewed))
        else:
            from viz.terminal.console import console
            from viz.terminal.review import print_review

            print_review(console(), reviewed, all_of_them=all)
    if json:
        print_json(answers[0] if len(answers) == 1 else answers)
    return status


def _first_look(path: Path, scene: Scene, ceiling: bool, answers: list[Any] | None) -> None:
    """Tell of a room before every array has a place: into the answers, or on the terminal."""
    from scenes.review.first_look import first_look

    look = first_look(scene, ceiling=ceiling)
    if answers is not None:
        from viz.json_objects import first_look_object

        answers.append(first_look_object(look))
        return
    from viz.terminal.console import console
    from viz.terminal.first_look import print_first_look

    print_first_look(console(), look.review, path)


def _changes(specs: tuple[Path, ...], json: bool) -> int:
    from scenes.review.review import review

    if len(specs) != 2:
        raise WrongUse("use.changes", given=len(specs))
    old, new = (review(placed_scene(path)[1]) for path in specs)
    remark_other_room(old.scene, new.scene)
    if json:
        from viz.json_changes import changes_object

        print_json(changes_object(old, new))
    else:
        from scenes.review.changes import changes
        from viz.terminal.changes import print_changes
        from viz.terminal.console import console

        print_changes(console(), changes(old, new), new)
    return 1 if new.verdict == "fail" else 0
