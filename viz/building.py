"""Many rooms handed over: a folder each, made only where something of it changed, and an index over all.

Every finished room is moved in by itself, with a manifest of its own and what it was made of (its key). A run that
is cut off, a dead worker or a full disk lose the room in hand and nothing else; the next run makes what is missing.
One room's mistake stops no other.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import asdict, fields, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from geometry.records import record
from scenes.numbers import json_text
from scenes.project.reading import Project, ProjectRoom, RoomText, read_project
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.model import Spec
from scenes.spec.reading import read_bytes, read_spec
from viz import drawing, folders
from viz.building_index import Listed, index_html
from viz.csvs import materials_csv, open_csv, schedules_csv
from viz.drawing import GraphicsMissing
from viz.drawing_list import RoomSheets, drawing_list_pdf
from viz.folders import MANIFEST, clear_stale, is_whole, put_beside, require_own, whole_folder
from viz.handover import Made, Progress, Settings, dossier_of_spec, fill, hand_over
from viz.outputs import protect, slug_of, told_as, unique_slugs, write_file
from viz.schedule_sheet import schedule_pdf
from viz.words.cautions import CautionText
from viz.words.locale import Locale
from viz.words.mistakes import of_file
from viz.words.projects import RoomLine

STATE: Final = ".overtable.json"
"""In a room's folder: what it was made of, and what the index says of it."""


@record(frozen=True)
class Rooms:
    """What a handover of many rooms came to, in the order of the project."""

    made: list[Made]
    wrong: list[tuple[Path, Exception]]
    lines: list[RoomLine]
    kept: list[str]
    new: int
    """How many were made; the others are as they were."""


@record(frozen=True)
class _Job:
    """A room to make: carried to another process."""

    text: RoomText
    folder: Path
    settings: Settings
    slug: str
    key: str
    force: bool


def hand_over_many(
    paths: Sequence[Path],
    folder: Path,
    settings: Settings,
    progress: Progress,
    *,
    force: bool = False,
    kept: Callable[[Sequence[str]], None] = lambda names: None,
) -> tuple[list[Made], list[tuple[Path, Exception]]]:
    """The rooms of spec files: of one its own folder, of several a folder each and an index, on all cores.

    Returns what was made and what could not be, in order; `kept` is called with the names of a person's files that
    stay in the folder, if there are any.
    """
    for path in paths:
        # a room's mistakes are told when it is made; whatever they are, its file must not be replaced
        protect(path)
        with suppress(SpecMistakes):
            protect(*read_spec(path).files)
    if len(paths) == 1:
        with whole_folder(folder, force=force, kept=kept) as aside:
            made = hand_over(paths[0], aside, settings, progress)
        return [made], []
    rooms = hand_over_rooms(_of_files(paths), folder, settings, progress, force=force)
    if rooms.kept:
        kept(rooms.kept)
    return rooms.made, rooms.wrong


def hand_over_project(
    path: Path, folder: Path, settings: Settings, progress: Progress, *, force: bool = False
) -> tuple[Project, Rooms]:
    """All rooms of a project file. Raises SpecMistakes where no room of it can be named."""
    protect(path)
    project = read_project(path)
    protect(*project.files)
    return project, hand_over_rooms(project, folder, settings, progress, force=force)


def hand_over_rooms(
    project: Project, folder: Path, settings: Settings, progress: Progress, *, force: bool = False
) -> Rooms:
    """A folder a room, each moved in when it is whole, then the index and the tables over all.

    Raises the first room's error where no room could be made, and leaves nothing then that was not there.
    """
    folder = folder.absolute()
    require_own(folder, OF_ALL, force=force)
    slugs = folder_names(project.rooms)
    outcomes, jobs = _planned(project, folder, slugs, settings, force)
    kept: list[str] = []
    with _begun(folder):
        for k, outcome in zip(jobs, _all_made(list(jobs.values()), progress), strict=True):
            if isinstance(outcome, Exception):
                outcomes[k] = project.rooms[k].told(outcome) if isinstance(outcome, SpecMistakes) else outcome
            else:
                outcomes[k], names = outcome
                kept += [f"{slugs[k]}/{name}" for name in names]
        listed = [_listed(room, outcomes[k], slugs[k]) for k, room in enumerate(project.rooms)]
        rooms, wrong = _parted(listed)
        if not rooms:
            raise wrong[0][1]
        # what an earlier run made of a room that cannot be read now stays
        there = [slug for slug in slugs if (folder / slug / MANIFEST).exists()]
        put_beside(folder, _of_all(project, listed, rooms, settings), there, force=force)
    new = sum(isinstance(outcomes[k], Made) for k in jobs)
    return Rooms(rooms, wrong, [one.line for one in listed], kept, new)


def _planned(
    project: Project, folder: Path, slugs: Sequence[str], settings: Settings, force: bool
) -> tuple[dict[int, Made | Exception], dict[int, _Job]]:
    """What is known of rooms already, because they are as they were or cannot be read, and what is to be made."""
    outcomes: dict[int, Made | Exception] = {}
    jobs: dict[int, _Job] = {}
    for k, (room, slug) in enumerate(zip(project.rooms, slugs, strict=True)):
        try:
            job = _job(room, folder / slug, settings, slug, force)
        except SpecMistakes as mistakes:
            outcomes[k] = mistakes
            continue
        if (found := _made_before(job)) is None:
            jobs[k] = job
        else:
            outcomes[k] = found
    return outcomes, jobs


def _parted(listed: Sequence[Listed]) -> tuple[list[Made], list[tuple[Path, Exception]]]:
    """The rooms that are there, and why the others are not."""
    rooms = [one.outcome for one in listed if isinstance(one.outcome, Made)]
    wrong = [(Path(_told_as(one.room)), one.outcome) for one in listed if isinstance(one.outcome, Exception)]
    return rooms, wrong


def _listed(room: ProjectRoom, outcome: Made | Exception, slug: str) -> Listed:
    """A room for the index; of one that could not be made what is wrong, and no link to what an earlier run made."""
    if isinstance(outcome, Made):
        return Listed(room, outcome, slug)
    file = outcome.file if isinstance(outcome, SpecMistakes) else _told_as(room)
    return Listed(room, outcome, None, of_file(Path(file).name, outcome))


def folder_names(rooms: Sequence[ProjectRoom]) -> list[str]:
    """What the folders of rooms are called, each by a name of its own."""
    return unique_slugs([_called(room) for room in rooms])


def _called(room: ProjectRoom) -> str:
    """What a room's folder is called: by number and name in a project, else by its file."""
    file = Path(room.file or "").stem
    name = room.name or file
    if room.number is None or slug_of(room.number) == slug_of(name):
        return name
    return f"{room.number} {name}"


def _told_as(room: ProjectRoom) -> str:
    return room.file or room.number or room.name or ""


def _of_files(paths: Sequence[Path]) -> Project:
    """Spec files as the rooms of a project that has no file."""
    rooms = []
    for k, path in enumerate(paths):
        room = ProjectRoom(k, None, None, None, str(path), None)
        try:
            text = RoomText(str(path), path.parent, read_bytes(path, str(path)))
            rooms.append(replace(room, text=text))
        except SpecMistakes as mistakes:
            rooms.append(replace(room, wrong=mistakes))
    return Project("", "", tuple(rooms), None, ())


# ---- what a room is made of


def _job(room: ProjectRoom, folder: Path, settings: Settings, slug: str, force: bool) -> _Job:
    """Raises SpecMistakes of a room without a text."""
    text = room.readable
    return _Job(text, folder, settings, slug, _key(text, settings), force)


def _key(text: RoomText, settings: Settings) -> str:
    """What a room's files depend on: its text, the files of profiles beside it, the options, and the program itself."""
    digest = hashlib.sha256(_program())
    digest.update(json.dumps([Path(text.file).name, asdict(settings)], sort_keys=True).encode())
    digest.update(hashlib.sha256(text.data).digest())
    with suppress(SpecMistakes):
        # without profiles of its own a text names a file, whose bytes count too
        spec = text.spec()
        protect(*spec.files)
        library = spec.source.library_data if spec.source is not None else None
        digest.update(hashlib.sha256(library or b"").digest())
    return digest.hexdigest()


@cache
def _program() -> bytes:
    """A digest of overtable itself: every file of its three packages, rules and templates among them."""
    digest = hashlib.sha256()
    for package in ("geometry", "scenes", "viz"):
        root = Path(str(files(package)))
        for here, inside, names in os.walk(root):
            inside[:] = sorted(
                name for name in inside if name not in ("__pycache__", "node_modules", "source")
            )
            for name in sorted(names):
                digest.update(f"{Path(here, name).relative_to(root)}\n".encode())
                digest.update(hashlib.sha256(Path(here, name).read_bytes()).digest())
    return digest.digest()


def _made_before(job: _Job) -> Made | None:
    """What an earlier run left of a room, if it was made of the same and is whole."""
    try:
        state = json.loads((job.folder / STATE).read_bytes())
        if state["key"] != job.key or not is_whole(job.folder):
            return None
        made = _read_made(state["made"])
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return None if job.settings.pictures and not made.drawn and _can_draw() else made


def _read_made(told: dict[str, Any]) -> Made:
    named = {one.name: told[one.name] for one in fields(Made)}
    return Made(
        **named
        | {
            "files": tuple((name, title) for name, title in told["files"]),
            "left_out": tuple(told["left_out"]),
            "document": tuple(told["document"]),
            "cautions": tuple(CautionText(**one) for one in told["cautions"]),
            "row": RoomLine(**told["row"]),
        }
    )


@cache
def _can_draw() -> bool:
    try:
        drawing.ready()
    except GraphicsMissing:
        return False
    return True


# ---- rooms made


def _all_made(jobs: Sequence[_Job], progress: Progress) -> list[tuple[Made, list[str]] | Exception]:
    from viz import parallel

    try:
        return parallel.each(_one_room, jobs, progress) if jobs else []
    except BaseException:
        # Ctrl-C: what the workers had in hand goes; what they finished stays
        for job in jobs:
            clear_stale(job.folder)
        raise


def _one_room(job: _Job) -> tuple[Made, list[str]]:
    """Make a room and move it in, in whatever process: what was made, and a person's files that stayed."""
    spec: Spec = job.text.spec()
    spec, dossier = dossier_of_spec(spec, job.settings.date)
    protect(*spec.files)
    kept: list[str] = []
    with whole_folder(job.folder, force=job.force, kept=kept.extend) as aside:
        made = replace(fill(spec, dossier, aside, job.settings, lambda what, share: None), slug=job.slug)
        write_file(aside / STATE, json_text({"key": job.key, "made": asdict(made)}))
    return made, kept


class _begun:
    """The folder of all, marked as overtable's own from the start; gone again where nothing came of it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.new = folders.read_manifest(folder) is None

    def __enter__(self) -> None:
        if self.new:
            with told_as(self.folder):
                self.folder.mkdir(parents=True, exist_ok=True)
                folders.write_manifest(self.folder, {})

    def __exit__(self, *_: object) -> None:
        if self.new and {path.name for path in self.folder.iterdir()} <= {MANIFEST}:
            with suppress(OSError):
                if not folders.read_manifest(self.folder):
                    (self.folder / MANIFEST).unlink()
                    self.folder.rmdir()


# ---- what is over all rooms

OF_ALL: Final = (
    "cover.pdf",
    "index.html",
    "rooms.json",
    "schedule.csv",
    "schedule.pdf",
    "clearances.csv",
    "materials.csv",
)


def _of_all(
    project: Project, listed: Sequence[Listed], rooms: Sequence[Made], settings: Settings
) -> dict[str, bytes | str]:
    """The index, the rooms' figures and the schedule of all, by the names in `OF_ALL`."""
    every = [row for made in rooms for row in made.schedule]
    advice = list(dict.fromkeys(made.advice for made in rooms))
    wrong = of_file(Path(project.file).name, project.mistakes) if project.mistakes is not None else ""
    say = Locale("m").say
    documents = [
        (say("rooms.cover"), ("cover.pdf",)),
        (say("handover.schedules"), ("schedule.pdf", "schedule.csv")),
        (say("rooms.clearances"), ("clearances.csv",)),
        (say("rooms.materials"), ("materials.csv",)),
    ]
    return {
        "index.html": index_html(project.name, listed, documents, wrong),
        "cover.pdf": drawing_list_pdf(
            project.name,
            [_drawings(made) for made in rooms],
            arrays=len(every),
            paper=settings.paper or "A4",
            date=settings.date,
        ),
        "rooms.json": json_text([made.summary for made in rooms]),
        "schedule.csv": schedules_csv(every),
        "clearances.csv": open_csv(row for made in rooms for row in made.open_rows),
        "materials.csv": materials_csv(row for made in rooms for row in made.materials),
        "schedule.pdf": schedule_pdf(every, paper=settings.paper or "A4", date=settings.date, advice=advice),
    }


def _drawings(made: Made) -> RoomSheets:
    """A room's drawings for the list on the cover sheet: what is a sheet by itself, in its order."""
    assert made.row is not None
    titles = [title for name, title in made.files if name.startswith("sheets/") and name.endswith(".svg")]
    return RoomSheets(made.row, *made.document, f"{made.slug}/sheets", tuple(titles))
