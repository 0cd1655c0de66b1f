"""The command line: thin. Every command reads, asks, and hands the answer to a writer.

Exit status: 0 done and nothing failed; 1 done, and the review found a failure; 2 the input is wrong
(nothing written); 3 something on this machine is missing, with the way to get it. Heavy packages are
imported inside the commands that need them.
"""

from __future__ import annotations

import gc
import io
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import App, Parameter

from scenes.numbers import json_text
from scenes.spec.mistakes import SpecMistakes

# Other modules are imported inside the commands. Not only is `--help` quick so: where cyclopts finds pydantic
# imported, it has pydantic check each argument once more and builds a schema for it, 15 ms of a cold `check`.
if TYPE_CHECKING:
    from scenes.room.scene import Scene
    from scenes.spec.model import Spec


def _version() -> str:
    from importlib.metadata import version

    return version("overtable")


app = App(
    name="overtable",
    help="Where over the table a ceiling-hung microphone array goes: placed, proven, drawn and explained.",
    version=_version,
    version_flags=["--version"],
)

Json = Annotated[bool, Parameter(name="--json", negative="", help="Print JSON only.")]


class WrongUse(Exception):
    """The command was asked for something it cannot do; the text says what to do instead."""

    exit_status = 2


def placed_scene(path: Path) -> tuple[Spec, Scene]:
    """The spec and scene of a file whose arrays all have a place. Raises SpecMistakes."""
    from scenes.room.build import build, require_places
    from scenes.spec.reading import read_spec

    spec = read_spec(path)
    scene = build(spec)
    require_places(spec, scene)
    return spec, scene


@app.command
def check(
    *specs: Path,
    json: Json = False,
    all: Annotated[bool, Parameter(negative="", help="List clear clearances too.")] = False,
    changes: Annotated[
        bool, Parameter(negative="", help="Of two revisions, OLD and NEW: what differs.")
    ] = False,
) -> int:
    """Review rooms: who is covered, what is too near at the ceiling, and the verdict in plain words.

    Parameters
    ----------
    specs
        One spec file or more.
    """
    from scenes.review.as_json import as_json
    from scenes.review.review import review

    if not specs:
        raise WrongUse("check needs a spec file: overtable check ROOM.yaml")
    if changes:
        return _changes(specs, json)
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


def _changes(specs: tuple[Path, ...], json: bool) -> int:
    from scenes.review.changes import as_json, changes
    from scenes.review.review import review

    if len(specs) != 2:
        raise WrongUse(f"check --changes compares two files, OLD and NEW; {len(specs)} given")
    old, new = (review(placed_scene(path)[1]) for path in specs)
    tell_other_room(old.scene, new.scene)
    if json:
        sys.stdout.write(json_text(as_json(old, new)))
    else:
        from viz.tables import console, print_changes

        print_changes(console(), changes(old, new), new)
    return 1 if new.verdict == "fail" else 0


@app.command
def heights(spec: Path, *, json: Json = False, picture: Path | None = None) -> int:
    """Hanging heights, band by band, for every array where it is on plan.

    Parameters
    ----------
    spec
        The room's spec file; arrays need a place on plan, not a height.
    picture
        A .svg or .png file to draw the bands into, side by side.
    """
    from scenes.review.cautions import with_cautions
    from scenes.review.heights import hanging_heights, heights_as_json
    from scenes.review.review import review
    from scenes.room.build import build
    from scenes.spec.reading import read_spec

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
        sys.stdout.write(json_text(with_cautions(heights_as_json(rows), scene)))
    else:
        from viz.tables import console, print_cautions, print_heights

        out = console()
        print_heights(out, rows, scene.units)
        print_cautions(out, scene)
    if picture is not None:
        from viz.diagrams import heights_picture
        from viz.outputs import protect, write_file

        protect(*read.files)
        ending: Literal["svg", "png"]
        if picture.suffix.lower() == ".svg":
            ending = "svg"
        elif picture.suffix.lower() == ".png":
            ending = "png"
        else:
            raise WrongUse(f"{picture}: found the ending {picture.suffix or 'none'}; allowed are .svg, .png")
        states = None if reviewed is None else {head.id: head.state for head in reviewed.heads}
        write_file(picture, heights_picture(scene, rows, ending, states=states))
        tell_unset(scene)
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
    even_if_worse: Annotated[bool, Parameter(negative="")] = False,
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
        "tile" for centres of the lay-in grid, or a length such as "50 mm"; the place told and written is the best of
        that lattice.
    ignore_clearances
        Tell the best place without the ceiling's rules beside it.
    write
        Put the placement into the spec; the changed lines are shown first. Arrays it does not have are added. What
        covers fewer talkers than the file's own places, or has a worse verdict, is refused.
    even_if_worse
        Write it even so.
    certificate
        A file to write the search's proof to, for a stranger to check.
    """
    from viz.placing import PlaceOptions, run_place

    options = PlaceOptions(
        aim, enough, hold, arrays, snap, ignore_clearances, write, even_if_worse, certificate, json
    )
    return run_place(spec, options)


@app.command
def schema() -> int:
    """Print the JSON schema of the spec file, so that an editor completes and checks it."""
    import json

    from scenes.spec.schema import spec_schema

    print(json.dumps(spec_schema(), indent=2, ensure_ascii=False))
    return 0


Size = Annotated[str, Parameter(help="Pixels across and down, such as 2400x1500.")]
Paper = Literal["A4", "A3", "Letter", "Tabloid"]
Output = Annotated[Path, Parameter(name=["-o", "--output"])]


def dossier_of(path: Path, date: str | None = None) -> Any:
    """The dossier of a spec whose arrays all have a place, dated so if the spec is not. Raises SpecMistakes."""
    from viz.handover import read_dossier

    return read_dossier(path, _day(date))[1]


def tell_unset(scene: Scene, mark: str | None = None) -> None:
    """Say on standard error which letters of the room's names the drawings cannot set, if there are any."""
    from viz.sheets.lettering import MARK, unset

    if told := unset(scene, mark or MARK):
        print(told, file=sys.stderr)


def tell_other_room(old: Scene, new: Scene) -> None:
    """Say on standard error that two files are hardly revisions of one room, if so."""
    from scenes.review.changes import other_room

    if told := other_room(old, new):
        print(told, file=sys.stderr)


def status_of(dossier: Any) -> int:
    """1 if the review found a failure, else 0."""
    return 1 if dossier.review.verdict == "fail" else 0


def folder_of(path: Path) -> Path:
    """The folder to write pictures or sheets into, made if it is not there. Raises OutputInTheWay."""
    from viz.outputs import OutputInTheWay

    if path.exists() and not path.is_dir():
        raise OutputInTheWay(f"{path} exists and is no folder; give another name")
    path.mkdir(parents=True, exist_ok=True)
    return path


def _size(text: str) -> tuple[int, int]:
    across, cross, down = text.lower().replace("×", "x").partition("x")
    if not cross or not across.strip().isdigit() or not down.strip().isdigit():
        raise WrongUse(f"--size: found {text!r}, allowed is pixels across and down, such as 2400x1500")
    return int(across), int(down)


@app.command
def stills(
    spec: Path,
    *,
    output: Output,
    view: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    size: Size = "2400x1500",
    dpi: float | None = None,
    background: Literal["white", "soft", "transparent"] = "white",
    on: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    off: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    caption: bool = True,
    legend: bool = True,
) -> int:
    """Draw pictures of the room: corner, plan, ceiling, sections, array, cameras, seats.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        The folder for the PNG files.
    view
        Which views, such as corner, plan, ceiling, long:A1, cross:A1, array:A1, camera:CAM1, seat:T1-3; may be
        repeated. All the usual ones if left out.
    dpi
        Dots per inch of the print; sets the size of words and lines.
    background
        Paper white, a soft grey, or none.
    on
        Layers to show besides those of the view.
    off
        Layers to leave out.
    caption
        The strip with room, array and verdict.
    legend
        The legend of what is shown.
    """
    from viz.handover import slug_of
    from viz.outputs import write_file
    from viz.stage import staged
    from viz.stills import Style, draw_stills

    dossier = dossier_of(spec)
    try:
        style = Style(
            size=_size(size), dpi=dpi, background=background, on=on, off=off, caption=caption, legend=legend
        )
    except ValueError as wrong:
        raise WrongUse(f"--{wrong}" if str(wrong).startswith(("size", "dpi")) else str(wrong)) from None
    drawn = draw_stills(staged(dossier), list(view) or None, style)
    tell_unset(dossier.scene, "an empty box")
    folder = folder_of(output)
    for still in drawn:
        print(write_file(folder / f"{slug_of(still.name)}.png", still.png))
    return status_of(dossier)


@app.command
def page(spec: Path, *, output: Output, date: str | None = None) -> int:
    """Write one HTML file in which a client turns the room: no installation, no network.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        The HTML file.
    date
        The date told on the page, where the spec's document has none.
    """
    from viz.drawing import GraphicsMissing
    from viz.handover import small
    from viz.outputs import write_file
    from viz.page import page as page_text
    from viz.stage import staged
    from viz.stills import Style, draw_still

    dossier = dossier_of(spec, date)
    still = None
    try:
        still = small(draw_still(staged(dossier), "corner", Style(size=(1200, 750))).png)
    except GraphicsMissing:
        print(
            "The picture for browsers without WebGL is left out: this machine cannot draw.", file=sys.stderr
        )
    text = page_text(dossier, still_png=still, made_on=dossier.scene.document.date)
    print(write_file(output, text))
    return status_of(dossier)


@app.command
def live(spec: Path, *, port: int = 0, browser: bool = True) -> int:
    """Serve the page on this machine only, following the spec file; what-ifs are answered exactly.

    Parameters
    ----------
    spec
        The room's spec file.
    port
        A port of 127.0.0.1; 0 takes a free one.
    browser
        Open the browser.
    """
    from viz.live import serve

    if not 0 <= port <= 65535:
        raise WrongUse(f"--port: found {port}, allowed is 0 to 65535")
    placed_scene(spec)
    serve(spec, port=port, open_browser=browser)
    return 0


@app.command
def view(spec: Path) -> int:
    """Turn the room in a native window; it follows the spec file.

    Parameters
    ----------
    spec
        The room's spec file.
    """
    from viz.window import show

    placed_scene(spec)
    show(spec)
    return 0


@app.command
def sheets(
    spec: Path,
    *,
    output: Output,
    since: Path | None = None,
    paper: Paper = "A4",
    date: str | None = None,
    layers: Path | None = None,
) -> int:
    """Draw the dimensioned sheets, to scale: DXF, SVG and PDF of one drawing.

    With --since OLD: clouded plans of what changed from that revision instead, as changes.pdf, changes.dxf and each
    sheet as DXF and SVG.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        The folder for the sheets.
    since
        The spec file of an earlier revision: draw what changed since, with a cloud and a number round each place and a
        table of all changes.
    paper
        The paper size; the scale is chosen to fit.
    date
        The date on the sheets, where the spec's document has none.
    layers
        A file that names the layers otherwise.
    """
    from viz.handover import slug_of
    from viz.outputs import write_file
    from viz.sheets import changes_sheet
    from viz.sheets import sheets as draw_sheets

    dossier = dossier_of(spec)
    own = None if layers is None else layers.read_text("utf-8")
    if since is None:
        drawn = draw_sheets(dossier, paper=paper, date=_day(date), own_layers=own)
    else:
        old = dossier_of(since)
        tell_other_room(old.scene, dossier.scene)
        drawn = changes_sheet(old, dossier, paper=paper, date=_day(date), own_layers=own)
        if old.scene.document.revision == dossier.scene.document.revision:
            print(
                f"Both files say revision {dossier.scene.document.revision or '–'}: give the new one its own, "
                "document: {revision: …}.",
                file=sys.stderr,
            )
    tell_unset(dossier.scene)
    pdf, slug = drawn.pdf, slug_of(dossier.scene.name) if since is None else "changes"
    folder = folder_of(output)
    print(write_file(folder / f"{slug}.pdf", pdf))
    print(write_file(folder / f"{slug}.dxf", drawn.dxf))
    for sheet in drawn.sheets:
        print(write_file(folder / f"{sheet.slug}.dxf", sheet.dxf))
        print(write_file(folder / f"{sheet.slug}.svg", sheet.svg))
    return status_of(dossier)


@app.command
def report(spec: Path, *, output: Output, paper: Paper = "A4", date: str | None = None) -> int:
    """Write the design report as PDF: verdict, placement, talkers, clearances, schedule, sheets, sources, cautions.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        The PDF file.
    paper
        The paper size.
    date
        The date of the report, where the spec's document has none.
    """
    from viz.drawing import GraphicsMissing
    from viz.handover import cover_picture
    from viz.outputs import write_file
    from viz.report import report_pdf
    from viz.stage import staged

    dossier = dossier_of(spec, date)
    pictures: dict[str, bytes] = {}
    try:
        pictures = {"corner": cover_picture(staged(dossier))}
    except GraphicsMissing as missing:
        print(f"The cover's picture is left out: {missing}", file=sys.stderr)
    print(write_file(output, report_pdf(dossier, pictures=pictures, paper=paper, date=_day(date))))
    tell_unset(dossier.scene)
    return status_of(dossier)


@app.command
def export(spec: Path, file: Path) -> int:
    """Write the room as a model or its numbers as a table: the ending of FILE says which.

    Parameters
    ----------
    spec
        The room's spec file.
    file
        What to write: .glb, .obj, .stl (the model), .dxf (the sheets), .csv (every talker) or .json (the review).
    """
    from viz.exports import EXPORTERS
    from viz.outputs import write_file

    ending = file.suffix.lower().removeprefix(".")
    if ending not in EXPORTERS:
        raise WrongUse(
            f"{file}: found the ending {file.suffix or 'none'}; allowed are .{', .'.join(EXPORTERS)}"
        )
    dossier = dossier_of(spec)
    print(write_file(file, EXPORTERS[ending](dossier)))
    if ending in ("csv", "stl"):
        # a bare table and a bare mesh have no room for the cautions
        from viz.tables import console, print_cautions

        print_cautions(console(stderr=True), dossier.scene)
    return status_of(dossier)


@app.command
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
    from viz.tables import console, progress_bar

    if not specs:
        raise WrongUse("handover needs a spec file: overtable handover ROOM.yaml -o FOLDER")
    for i, path in enumerate(specs):
        if path.resolve() in [other.resolve() for other in specs[:i]]:
            raise WrongUse(f"{path} is given twice; give each room once")
    told = console(stderr=True)
    with progress_bar(told) as progress:
        rooms, wrong = hand_over_many(
            specs, output, Settings(paper, _day(date), pictures=pictures), progress, force=force
        )
    if zip:
        print(write_file(output.with_name(output.name + ".zip"), zipped(output, _day(date))))
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


@app.command
def demo(
    folder: Path = Path("overtable-demo"),
    *,
    room: Literal["heron", "loft", "weir", "ferry"] = "heron",
    force: Annotated[bool, Parameter(negative="")] = False,
) -> int:
    """Copy a demo room into a folder, review it, draw it, and say what to try next.

    Parameters
    ----------
    folder
        Where to; it is made.
    room
        heron (everybody is covered), loft (open ceiling, a caution), weir (a walking presenter, a failure),
        ferry (feet and inches, a flush array, a caution).
    force
        Replace a folder that holds other files.
    """
    from viz.demo import run_demo

    return run_demo(folder, room, force=force)


def _day(text: str | None) -> str | None:
    """A date as year-month-day, or None. Raises WrongUse."""
    import datetime

    if text is None:
        return None
    try:
        if len(text) != 10:
            raise ValueError
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise WrongUse(f"--date: found {text!r}, allowed is year-month-day, such as 2026-11-25") from None


def main(arguments: list[str] | None = None) -> None:
    """Run one command and exit with its status. No input leads to a traceback."""
    tokens = sys.argv[1:] if arguments is None else arguments
    if arguments is None:
        # The process is the command's own. Nearly all that it makes lives to its end, so the collector looks
        # seldom, and not at all (frozen, below) on the way out: together a fifth of a cold `check`.
        gc.set_threshold(100_000)
        sys.stdout, sys.stderr = (_unbroken(stream) for stream in (sys.stdout, sys.stderr))
        # Plugins of pydantic have no business in a spec; to look for them reads every installed package's list.
        os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        status = app(tokens, result_action="return_value", exit_on_error=False, print_error=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except Exception as error:
        status = _told(error, "--json" in tokens)
    if arguments is None:
        gc.freeze()
    sys.exit(status if isinstance(status, int) else 0)


class _Unbroken(io.FileIO):
    """A stream whose reader may leave before the end (`| head`): what nobody reads is dropped, the command goes on."""

    def write(self, data: Any) -> int:
        """How many bytes were taken."""
        try:
            return super().write(data)
        except OSError as error:
            os.dup2(os.open(os.devnull, os.O_WRONLY), self.fileno())
            if isinstance(error, BrokenPipeError):
                return len(data)
            raise  # once: a disk that is full is told, not told again on the way out


def _unbroken(stream: Any) -> Any:
    """The stream, from now on without broken pipes; as it is where it is no stream of the process's own."""
    try:
        raw = _Unbroken(stream.fileno(), "w", closefd=False)
    except (AttributeError, OSError):
        return stream
    stream.flush()
    return io.TextIOWrapper(
        io.BufferedWriter(raw),
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
    )


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
        # cyclopts says: unable to convert "x" into float
        told = re.sub(
            r'unable to convert (".*?") into (int|float)',
            lambda found: f"found {found[1]}, allowed is a {'whole ' if found[2] == 'int' else ''}number",
            str(error),
        )
        print(f"overtable: {told}\nSee: overtable --help", file=sys.stderr)
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
