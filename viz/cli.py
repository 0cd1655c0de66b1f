"""The command line: thin. Every command reads, asks, and hands the answer to a writer.

Exit status: 0 done and nothing failed; 1 done, and the review found a failure; 2 the input is wrong
(nothing written); 3 something on this machine is missing, with the way to get it. Heavy packages are
imported inside the commands that need them.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any, Literal

from cyclopts import App, Parameter

from scenes.building import build, require_places
from scenes.numbers import json_text
from scenes.reading import SpecMistakes
from scenes.scene import Scene
from scenes.spec import Spec, read_spec

app = App(
    name="overtable",
    help="Where over the table a ceiling-hung microphone array goes: placed, proven, drawn and explained.",
    version_flags=["--version"],
)

Json = Annotated[bool, Parameter(name="--json", negative="", help="Print JSON only.")]


class WrongUse(Exception):
    """The command was asked for something it cannot do; the text says what to do instead."""

    exit_status = 2


def placed_scene(path: Path) -> tuple[Spec, Scene]:
    """The spec and scene of a file whose arrays all have a place. Raises SpecMistakes."""
    spec = read_spec(path)
    scene = build(spec)
    require_places(spec, scene)
    return spec, scene


@app.command
def check(
    *specs: Path,
    json: Json = False,
    all: Annotated[bool, Parameter(negative="", help="List clear clearances too.")] = False,
) -> int:
    """Review rooms: who is covered, what is too near at the ceiling, and the verdict in plain words.

    Parameters
    ----------
    specs
        One spec file or more.
    """
    from scenes.review import as_json, review

    if not specs:
        raise WrongUse("check needs a spec file: overtable check ROOM.yaml")
    answers: list[Any] = []
    status = 0
    for path in specs:
        try:
            reviewed = review(placed_scene(path)[1])
        except SpecMistakes as mistakes:
            status = 2
            answers.append(mistakes.as_json())
            if not json:
                print(mistakes, file=sys.stderr)
            continue
        if reviewed.verdict == "fail":
            status = max(status, 1)
        answers.append(as_json(reviewed))
        if not json:
            from viz.tables import console, print_review

            print_review(console(), reviewed, all_of_them=all)
    if json:
        sys.stdout.write(json_text(answers[0] if len(answers) == 1 else answers))
    return status


@app.command
def heights(spec: Path, *, json: Json = False) -> int:
    """Hanging heights, band by band, for every array where it is on plan.

    Parameters
    ----------
    spec
        The room's spec file; arrays need a place on plan, not a height.
    """
    from scenes.hanging import hanging_heights, heights_as_json
    from scenes.review import review

    read = read_spec(spec)
    scene = build(read)
    for i, array in enumerate(scene.arrays):
        if array.at_m is None:
            assert read.source is not None
            allowed = f"a place on plan for array {array.id}: give its at, or run `overtable place`"
            raise SpecMistakes(read.source.file, [read.source.mistake(("arrays", i, "at"), allowed)])
    reviewed = review(scene) if all(array.placed for array in scene.arrays) else None
    rows = hanging_heights(scene, reviewed)
    if json:
        sys.stdout.write(json_text(heights_as_json(rows)))
    else:
        from viz.tables import console, print_heights

        print_heights(console(), rows, scene.units)
    return 1 if reviewed is not None and reviewed.verdict == "fail" else 0


@app.command
def place(
    spec: Path,
    *,
    aim: Literal["near", "tolerance", "centre"] = "near",
    enough: str = "0.10 m",
    hold: Annotated[tuple[Literal["at", "height", "band"], ...], Parameter(negative="")] = (),
    arrays: str | None = None,
    snap: str | None = None,
    ignore_clearances: Annotated[bool, Parameter(negative="")] = False,
    write: Annotated[bool, Parameter(negative="")] = False,
    certificate: Path | None = None,
    json: Json = False,
) -> int:
    """Find where the arrays should hang, and prove that no allowed place is better.

    Parameters
    ----------
    spec
        The room's spec file; places that are left open are filled.
    aim
        near: the smallest worst distance among places with enough margin. tolerance: the largest margin.
        centre: heads nearest the middle of the band.
    enough
        The margin that near keeps, a length such as "0.10 m".
    hold
        What stays as the spec has it.
    arrays
        How many: a number, or "fewest".
    snap
        "tile" for centres of the lay-in grid, or a length such as "50 mm".
    ignore_clearances
        Tell the best place without the ceiling's rules beside it.
    write
        Put the placement into the spec; the changed lines are shown first.
    certificate
        A file to write the search's proof to, for a stranger to check.
    """
    from viz.placing import PlaceOptions, run_place

    options = PlaceOptions(aim, enough, hold, arrays, snap, ignore_clearances, write, certificate, json)
    return run_place(spec, options)


@app.command
def schema() -> int:
    """Print the JSON schema of the spec file, so that an editor completes and checks it."""
    import json

    from scenes.spec import spec_schema

    print(json.dumps(spec_schema(), indent=2, ensure_ascii=False))
    return 0


def main(arguments: list[str] | None = None) -> None:
    """Run one command and exit with its status. No input leads to a traceback."""
    tokens = sys.argv[1:] if arguments is None else arguments
    try:
        status = app(tokens, result_action="return_value", exit_on_error=False, print_error=False)
    except Exception as error:
        status = _told(error, "--json" in tokens)
    sys.exit(status if isinstance(status, int) else 0)


def _told(error: Exception, as_json: bool) -> int:
    """Tell an expected error on the right stream; its exit status. Anything unexpected is raised again."""
    from cyclopts import CycloptsError

    if isinstance(error, SpecMistakes):
        if as_json:
            sys.stdout.write(json_text(error.as_json()))
        else:
            print(error, file=sys.stderr)
        return 2
    if isinstance(error, CycloptsError):
        print(f"overtable: {error}\nSee: overtable --help", file=sys.stderr)
        return 2
    status = getattr(error, "exit_status", None)
    if isinstance(status, int):
        print(f"overtable: {error}", file=sys.stderr)
        return status
    if isinstance(error, OSError):
        what = error.strerror or str(error)
        print(
            f"overtable: {error.filename}: {what}" if error.filename else f"overtable: {what}",
            file=sys.stderr,
        )
        return 2
    raise error


if __name__ == "__main__":
    main()
