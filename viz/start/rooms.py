"""The rooms of a folder: which files are specs, and each as a card. Nothing outside the folder is listed or read."""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from geometry.records import record
from scenes.dossier import Dossier
from scenes.findings.review import Review
from scenes.room.build import build
from scenes.spec import undoing
from scenes.spec.mistakes import SpecMistakes, WriteRefused
from scenes.spec.reading import read_spec
from viz.folders import MANIFEST
from viz.live import Refused
from viz.plan_svg import standing_svg
from viz.words import cautions, mistakes, verdict
from viz.words import start as words
from viz.words.locale import Locale

ENDINGS: Final = (".yaml", ".yml")
MOST_ROOMS: Final = 200
DEEPEST: Final = 3
"""Folders below the one given that are looked into."""
LARGEST_SPEC: Final = 4_000_000
_ROOM: Final = re.compile(rb"^[\"']?room[\"']?[ \t]*:", re.MULTILINE)
_OURS: Final = re.compile(rb"^overtable[ \t]*:", re.MULTILINE)
_IN_A_ROOM: Final = re.compile(rb"^(people|seats|tables|arrays|overhead|heads)[ \t]*:", re.MULTILINE)
_PROFILES: Final = re.compile(rb"^profiles[ \t]*:", re.MULTILINE)


def specs_of(folder: Path) -> list[str]:
    """The spec files of a folder and the folders in it, by their path from it."""
    return files_of(folder, rooms=True)


def files_of(folder: Path, *, rooms: bool) -> list[str]:
    """The specs of a folder and the folders in it, or its files of profiles, by their path from it.

    Links are not followed; hidden folders, and folders that overtable made, are left out.
    """
    found = []
    for place, folders, files in os.walk(folder, followlinks=False):
        here = Path(place)
        depth = len(here.relative_to(folder).parts)
        folders[:] = sorted(name for name in folders if depth < DEEPEST and _is_searched(here / name))
        for name in sorted(files):
            path = here / name
            if path.suffix.lower() in ENDINGS and not name.startswith(".") and _is_of(path, rooms):
                found.append(path.relative_to(folder).as_posix())
        if len(found) >= MOST_ROOMS:
            break
    return found[:MOST_ROOMS]


def _is_searched(folder: Path) -> bool:
    return not folder.name.startswith(".") and not folder.is_symlink() and not (folder / MANIFEST).exists()


def _is_of(path: Path, rooms: bool) -> bool:
    """Whether a file says that it is a room's, a broken one too; or else that it is a file of profiles."""
    if path.is_symlink() or not path.is_file():
        return False
    try:
        text = path.read_bytes() if path.stat().st_size <= LARGEST_SPEC else b""
    except OSError:
        return False
    is_room = bool(_ROOM.search(text)) or bool(_OURS.search(text) and _IN_A_ROOM.search(text))
    return is_room if rooms else not is_room and bool(_OURS.search(text) and _PROFILES.search(text))


def inside(folder: Path, name: object, *, there: bool = True) -> Path:
    """The file of that name in the folder. Raises Refused where it lies outside, by any way there is, or is a link."""
    if not isinstance(name, str) or not name or "\0" in name or "\\" in name:
        raise Refused("start.refused.outside", file=str(name)[:80])
    path = Path(os.path.normpath(folder / name))
    try:
        real, is_file = path.resolve(), path.is_file()
    except (OSError, RuntimeError, ValueError):
        real, is_file = None, False
    if real is None or real != path or real == folder or not real.is_relative_to(folder):
        raise Refused("start.refused.outside", file=name[:80])
    if there and not is_file:
        raise Refused("start.refused.gone", file=name[:80])
    return real


def room_of(folder: Path, name: object) -> Path:
    """A spec of the folder. Raises Refused for every other file."""
    path = inside(folder, name)
    if path.relative_to(folder).as_posix() not in specs_of(folder):
        raise Refused("start.refused.no room", file=str(name)[:80])
    return path


@record(frozen=True)
class Known:
    """A card, and the files it was made from as they were then."""

    card: dict[str, Any]
    stamps: tuple[object, ...]
    files: tuple[Path, ...]

    @property
    def fresh(self) -> bool:
        """Whether none of its files has changed since."""
        return self.stamps == tuple(map(_stamp, self.files))


def known(folder: Path, name: str) -> Known:
    """A spec's card as its files are now."""
    path = folder / name
    before = _stamp(path)
    made, used = card(folder, name)
    others = tuple({*used, undoing.place_of(path)} - {path})
    return Known(made, (before, *map(_stamp, others)), (path, *others))


def _stamp(path: Path) -> object:
    try:
        about = path.stat()
    except OSError:
        return None
    return about.st_mtime_ns, about.st_size, about.st_ino


def waiting(name: str) -> dict[str, Any]:
    """The card of a room that is being reviewed."""
    return {"file": name, "title": name, "look": "waiting"}


def card(folder: Path, name: str) -> tuple[dict[str, Any], tuple[Path, ...]]:
    """A spec as a card: the room as it stands in the words of `check`, or the file's mistakes; and the files read."""
    path = folder / name
    common = {
        "file": name,
        "href": f"room/{quote(name)}/",
        "commands": {what: command(what, name) for what in ("live", "place", "undo", "check")},
        "undo": _can_undo(path),
    }
    try:
        spec = read_spec(path)
        if not all(Path(file).resolve().is_relative_to(folder) for file in spec.files):
            raise Refused("start.refused.profiles outside")
        judged = Dossier.of(build(spec)).whole_review
    except (SpecMistakes, Refused, OSError, ValueError) as error:
        broken = {
            **common,
            "title": name,
            "look": "broken",
            "word": words.broken(error),
            "mistakes": mistakes.of_file(name, error),
        }
        return broken, tuple(path.parent.glob("*.yaml"))
    return {**common, **standing(judged), "svg": standing_svg(judged)}, tuple(map(Path, spec.files))


def standing(judged: Review) -> dict[str, Any]:
    """How a room stands, in the words of `check`: title, verdict, counts, what is open."""
    locale = Locale.of(judged.scene)
    title, rest = verdict.heading(judged.scene)
    return {
        "title": title,
        "about": rest.lstrip(",: "),
        "look": judged.verdict or "none",
        "word": verdict.word(judged.verdict, locale),
        "counts": words.counted(judged, locale),
        "sentences": list(verdict.whole(judged)),
        "open": cautions.still_open(judged),
    }


def command(what: str, *rest: str) -> str:
    """A command as one would type it in the folder."""
    return shlex.join(("overtable", what, *rest))


def _can_undo(path: Path) -> bool:
    try:
        undoing.before(path)
    except (WriteRefused, OSError):
        return False
    return True
