"""Documents from the page of a folder: each made by its command in a process of its own, beside the spec.

What a room's documents are made from is kept with them as a digest, so that they are known to be out of date when the
spec has changed, also after a restart.
"""

from __future__ import annotations

import hashlib
import json
import mimetypes
from collections.abc import Mapping, Sequence
from pathlib import Path, PurePosixPath
from typing import Any, Final, Literal, get_args
from urllib.parse import quote

from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_spec
from viz.live import Refused
from viz.outputs import write_file
from viz.start.rooms import command, inside, room_of
from viz.words import start as words
from viz.words.locale import Locale

Kind = Literal["sheets", "report", "page", "stills", "model", "ifc", "handover"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
PAPERS: Final = ("", "A4", "A3", "Letter", "Tabloid")
"""The papers to choose from; empty: as the command takes it."""
RECORD: Final = ".made.json"
WITH_PAPER: Final[frozenset[Kind]] = frozenset({"sheets", "report", "handover"})
COMMANDS: Final[Mapping[Kind, str]] = {"model": "export", "ifc": "export"}
"""The command that makes a kind, where it is not called the same."""
PLACES: Final[Mapping[Kind, str]] = {
    "sheets": "sheets",
    "report": "report.pdf",
    "page": "page.html",
    "stills": "pictures",
    "model": "room.glb",
    "ifc": "room.ifc",
    "handover": "handover",
}
"""Where in a room's documents each kind lies."""
FIRST: Final = ("index.html", ".pdf", ".html", ".png", ".svg", ".dxf")
MOST_FILES: Final = 60
SANDBOXED: Final = ("sandbox", "allow-scripts", "allow-downloads", "allow-popups")
RUNS_SCRIPTS: Final = (".html", ".htm", ".svg", ".xml", ".xhtml")


def folder_of(spec: Path) -> Path:
    """Where a room's documents lie: a folder beside its spec."""
    return spec.with_name(f"{spec.stem}-documents")


def arguments_for(kind: Kind, name: str, paper: str) -> list[str]:
    """The command that makes a kind of document of a room, without `overtable`. Paths are from the folder."""
    place = PurePosixPath(name).with_name(f"{PurePosixPath(name).stem}-documents") / PLACES[kind]
    out = [str(place)] if kind in COMMANDS else ["-o", str(place)]
    given = [COMMANDS.get(kind, kind), name, *out]
    if kind == "handover":
        given.append("--zip")
    return [*given, "--paper", paper] if paper and kind in WITH_PAPER else given


def digest_of(spec: Path) -> str | None:
    """What a room's files hold, as a digest; None for a spec with mistakes."""
    try:
        files = read_spec(spec).files
        return hashlib.sha256(b"\0".join(Path(file).read_bytes() for file in files)).hexdigest()
    except (SpecMistakes, OSError, ValueError):
        return None


def prepare(folder: Path, spec: Path) -> None:
    """The folder of a room's documents, made if it is not there. Raises Refused where a link has its name."""
    inside(folder, folder_of(spec).relative_to(folder).as_posix(), there=False).mkdir(exist_ok=True)


def record(spec: Path, kind: Kind, digest: str | None) -> None:
    """Keep what a kind of document was made from."""
    made = _record_of(spec)
    made[kind] = digest or ""
    write_file(folder_of(spec) / RECORD, json.dumps(made, indent=1) + "\n", force=True)


def _record_of(spec: Path) -> dict[str, str]:
    try:
        found = json.loads((folder_of(spec) / RECORD).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(kind): str(digest) for kind, digest in found.items()} if isinstance(found, dict) else {}


def overview(folder: Path, spec: Path, paper: str) -> dict[str, Any]:
    """Every kind of document of a room: what it is, its command, whether it is up to date, and its files."""
    locale = Locale("m")
    name = spec.relative_to(folder).as_posix()
    made, now = _record_of(spec), digest_of(spec)
    items = []
    for kind in KINDS:
        files = _files(folder, spec, kind)
        state = "none" if not files else "made" if made.get(kind) == now and now else "stale"
        items.append(
            {
                **words.document(kind, locale),
                "command": command(*arguments_for(kind, name, paper)),
                "state": state,
                "standing": locale.say(f"start.document.{state}"),
                "files": files,
            }
        )
    papers = [(one, one or locale.say("start.paper as usual")) for one in PAPERS]
    return {"kind": "documents", "room": name, "items": items, "papers": papers, "paper": paper}


def _files(folder: Path, spec: Path, kind: Kind) -> list[dict[str, str]]:
    """The files of a kind of document that are there, those that people open first in front."""
    place = folder_of(spec) / PLACES[kind]
    if place.is_symlink() or folder_of(spec).is_symlink():
        return []
    if kind == "handover":
        found = [place / "index.html", place.with_name("handover.zip")]
    elif place.is_dir():
        found = [path for path in place.iterdir() if not path.name.startswith(".")]
    else:
        found = [place]
    there = [path for path in found if path.is_file() and not path.is_symlink()]
    there.sort(key=lambda path: (_rank(path.name), path.name))
    return [
        {"name": path.name, "href": f"made/{quote(path.relative_to(folder).as_posix())}"}
        for path in there[:MOST_FILES]
    ]


def _rank(name: str) -> int:
    return next((i for i, end in enumerate(FIRST) if name.endswith(end)), len(FIRST))


def made_file(folder: Path, name: str) -> Path:
    """A file of some room's documents. Raises Refused for every other."""
    path = inside(folder, name)
    for above in path.relative_to(folder).parents:
        if above.name.endswith("-documents"):
            spec = above.name.removesuffix("-documents")
            for ending in (".yaml", ".yml"):
                beside = (above.parent / f"{spec}{ending}").as_posix()
                if (folder / beside).is_file():
                    room_of(folder, beside)
                    return path
    raise Refused("start.refused.outside", file=name[:80])


def headers_for(path: Path, *, download: bool) -> dict[str, str]:
    """What goes with a file of documents: pages among them may run, but are nobody's to this server."""
    headers = {
        "content-type": mimetypes.guess_type(path.name)[0] or "application/octet-stream",
        # pages of documents have no origin, so their own pictures come from another
        "cross-origin-resource-policy": "cross-origin",
    }
    if path.suffix.lower() in RUNS_SCRIPTS:
        headers["content-security-policy"] = " ".join(SANDBOXED)
    if download:
        headers["content-disposition"] = f"attachment; filename*=utf-8''{quote(path.name)}"
    return headers


def chosen(message: Mapping[str, Any]) -> tuple[list[Kind], str]:
    """What is asked to be made, in order, and the paper. Raises Refused."""
    asked, paper = message.get("what"), message.get("paper") or ""
    if not isinstance(asked, Sequence) or isinstance(asked, str) or paper not in PAPERS:
        raise Refused("live.refused.kind")
    kinds = [kind for kind in KINDS if kind in asked]
    if not kinds:
        raise Refused("start.refused.nothing chosen")
    return kinds, paper
