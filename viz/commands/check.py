"""`overtable check`: the review of one room or many, or what differs between two revisions."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from scenes.spec.mistakes import SpecMistakes
from viz.commands.errors import WRONG, WrongUse
from viz.commands.inputs import placed_scene
from viz.commands.options import Json
from viz.commands.remarks import remark_other_room
from viz.commands.streams import print_json

if TYPE_CHECKING:
    from scenes.findings.first_look import FirstLook
    from scenes.findings.review import Review
    from scenes.spec.model import Spec


def check(
    *specs: Path,
    json: Json = False,
    all: Annotated[bool, Parameter(negative="", help="Also list clearances that pass.")] = False,
    ceiling: Annotated[
        bool, Parameter(negative="", help="Also check devices of the ceiling against each other.")
    ] = False,
    sound: Annotated[
        bool, Parameter(negative="", help="Also list the sound of each talker at the array.")
    ] = False,
    changes: Annotated[
        bool, Parameter(negative="", help="Compare two revisions: check OLD NEW --changes.")
    ] = False,
) -> int:
    """Review rooms: who is covered, what is too close at the ceiling, and the verdict.

    Parameters
    ----------
    specs
        One or more spec files, or a project file: its rooms in a table, those that need you first.
    """
    from scenes.project.reading import is_project

    if not specs:
        raise WrongUse("use.no spec")
    if changes:
        return _changes(specs, json)
    answers: list[Any] = []
    into, status, alone = answers if json else None, 0, len(specs) == 1
    for path in specs:
        if is_project(path):
            alone = False
            status = max(status, _project(path, into, ceiling=ceiling))
        else:
            status = max(status, _room(path, into, ceiling=ceiling, all_of_them=all, sound=sound))
    if json:
        print_json(answers[0] if alone else answers)
    return status


def _room(path: Path, answers: list[Any] | None, *, ceiling: bool, all_of_them: bool, sound: bool) -> int:
    """Review the room of a spec file, into the answers or on the terminal; the exit status."""
    from scenes.findings.review import Review
    from scenes.spec.reading import read_spec

    try:
        found = _reviewed(read_spec(path), ceiling)
    except SpecMistakes as mistakes:
        _tell_mistakes([mistakes], answers)
        return WRONG
    if answers is not None:
        answers.append(_object(found))
    elif isinstance(found, Review):
        from viz.terminal.console import console
        from viz.terminal.review import print_review

        print_review(console(), found, all_of_them=all_of_them, with_sound=sound)
    else:
        from viz.terminal.console import console
        from viz.terminal.first_look import print_first_look

        print_first_look(console(), found.review, path)
    return 1 if isinstance(found, Review) and found.verdict == "fail" else 0


def _project(path: Path, answers: list[Any] | None, *, ceiling: bool) -> int:
    """Review every room of a project, each into the answers or in a line of its table; the exit status.

    A room with a mistake stops no other one.
    """
    from scenes.findings.review import Review
    from scenes.project.reading import read_project, untold
    from viz.words import projects

    try:
        project = read_project(path)
    except SpecMistakes as mistakes:
        _tell_mistakes([mistakes], answers)
        return WRONG
    lines, failed = [], False
    wrong = [] if project.mistakes is None else [project.mistakes]
    for room in project.rooms:
        try:
            with room.telling():
                found = _reviewed(room.spec(), ceiling)
        except SpecMistakes as mistakes:
            wrong.append(mistakes)
            lines.append(projects.unread(room.number, room.name or room.file, room.storey, mistakes))
            if answers is not None:
                _tell_mistakes([mistakes], answers)
            continue
        if answers is not None:
            answers.append(_object(found))
        looked = found if isinstance(found, Review) else found.review
        lines.append(projects.line(looked))
        failed = failed or looked.verdict == "fail"
    if answers is None:
        from viz.terminal.console import console
        from viz.terminal.project import print_project

        print_project(console(), project.name, lines)
        _tell_mistakes(untold(wrong), None)
    elif project.mistakes is not None:
        _tell_mistakes([project.mistakes], None)
    return WRONG if wrong else int(failed)


def _reviewed(spec: Spec, ceiling: bool) -> Review | FirstLook:
    """The review of a spec's room; the first look at it before every array has a place."""
    from scenes.review.first_look import first_look
    from scenes.review.review import review, with_ceiling
    from scenes.room.build import build

    scene = build(spec)
    if not scene.arrays or any(not array.placed for array in scene.arrays):
        return first_look(scene, ceiling=ceiling)
    return with_ceiling(review(scene)) if ceiling else review(scene)


def _object(found: Review | FirstLook) -> dict[str, Any]:
    """What --json says of a room."""
    from scenes.findings.review import Review
    from viz.json_objects import first_look_object, review_object

    return review_object(found) if isinstance(found, Review) else first_look_object(found)


def _tell_mistakes(some: Sequence[SpecMistakes], answers: list[Any] | None) -> None:
    """Tell mistakes: each file's into the answers, or line by line on standard error."""
    if answers is not None:
        from viz.json_objects import mistakes as mistakes_object

        answers += [mistakes_object(one) for one in some]
        return
    from viz.words.mistakes import lines

    for one in some:
        print(lines(one), file=sys.stderr)


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
