"""`overtable handover`: everything at once."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from scenes.spec.mistakes import SpecMistakes
from viz.commands.errors import WRONG, WrongUse, status_of, text_of
from viz.commands.options import Force, Output, UsualPaper, day_of
from viz.words.locale import Locale
from viz.words.mistakes import lines

if TYPE_CHECKING:
    from viz.handover import Made, Settings


def handover(
    *specs: Path,
    output: Output,
    paper: UsualPaper = None,
    date: str | None = None,
    force: Force = False,
    zip: Annotated[bool, Parameter(negative="")] = False,
    pictures: bool = True,
    since: Path | None = None,
) -> int:
    """Make all documents of one room or several, in one folder with an index.

    You get spec, review, tables, pictures, sheets, report, page and model.

    Parameters
    ----------
    specs
        One or more spec files, or a project file. Several rooms get one folder each and an index. Rooms that did
        not change since the last run are not made again.
    output
        Output folder. One room's is created only if everything succeeds; of several, each finished room stays.
    date
        Date to print if a spec has none, such as 2026-11-25.
    zip
        Also write the folder as a zip file.
    pictures
        Draw the pictures. It is on by default.
    since
        Spec file of an earlier revision of the room: sheets of what changed join the others.
    """
    from scenes.project.reading import is_project
    from viz.handover import Settings, zipped
    from viz.outputs import require_replaceable, write_file

    _require_specs(specs)
    zip_file = output.parent / f"{output.absolute().name}.zip"
    if zip:
        require_replaceable(zip_file, force=force)
    settings = Settings(paper, day_of(date), pictures=pictures, since=None if since is None else str(since))
    projects = [path for path in specs if is_project(path)]
    if projects and len(specs) > 1:
        raise WrongUse("use.project and more", path=projects[0])
    if since is not None and (projects or len(specs) > 1):
        raise WrongUse("use.since one room")
    make = _project if projects else _rooms
    status = make(specs, output, settings, force=force)
    if zip:
        print(write_file(zip_file, zipped(output, day_of(date)), force=force))
    print(Locale("m").say("open file", file=str(output / "index.html")))
    return status


def _rooms(specs: tuple[Path, ...], output: Path, settings: Settings, *, force: bool) -> int:
    """Make one room or several from their specs; the exit status."""
    from viz.building import hand_over_many
    from viz.folders import shortly
    from viz.terminal.console import console
    from viz.terminal.progress import progress_bar

    kept: list[str] = []
    with progress_bar(console(stderr=True)) as progress, _stopping(output, many=len(specs) > 1):
        rooms, wrong = hand_over_many(specs, output, settings, progress, force=force, kept=kept.extend)
    _tell(rooms, wrong)
    if kept:
        print(Locale("m").say("handover.kept", files=shortly(kept)), file=sys.stderr)
    if wrong:
        return max(status_of(error) or WRONG for _, error in wrong)
    return 1 if "fail" in {made.verdict for made in rooms} else 0


def _project(specs: tuple[Path, ...], output: Path, settings: Settings, *, force: bool) -> int:
    """Make what changed of a project's rooms, and tell them in a table; the exit status."""
    from scenes.project.reading import untold
    from viz.building import hand_over_project
    from viz.folders import shortly
    from viz.terminal.console import console
    from viz.terminal.progress import progress_bar
    from viz.terminal.project import print_project

    with progress_bar(console(stderr=True)) as progress, _stopping(output, many=True):
        project, rooms = hand_over_project(specs[0], output, settings, progress, force=force)
    print_project(console(), project.name, rooms.lines)
    locale = Locale("m")
    made = locale.say("rooms.new", rooms.new)
    same = len(rooms.made) - rooms.new
    print(locale.say("rooms.as before", same, made=made))
    mistakes = [error for _, error in rooms.wrong if isinstance(error, SpecMistakes)]
    for one in untold([*([project.mistakes] if project.mistakes else []), *mistakes]):
        print(lines(one), file=sys.stderr)
    for path, error in rooms.wrong:
        if not isinstance(error, SpecMistakes):
            print(f"{path}: {text_of(error)}", file=sys.stderr)
    for line in dict.fromkeys(line for one in rooms.made for line in one.left_out):
        print(line, file=sys.stderr)
    if rooms.kept:
        print(locale.say("handover.kept", files=shortly(rooms.kept)), file=sys.stderr)
    statuses = [status_of(error) or WRONG for _, error in rooms.wrong]
    failed = int("fail" in {one.verdict for one in rooms.made})
    return max([failed, *statuses, *([WRONG] if project.mistakes else [])])


@contextmanager
def _stopping(output: Path, *, many: bool) -> Iterator[None]:
    """Say on Ctrl-C that what is finished of many rooms stays."""
    try:
        yield
    except KeyboardInterrupt:
        if many and output.is_dir():
            print(Locale("m").say("rooms.stopped", folder=str(output)), file=sys.stderr)
        raise


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
