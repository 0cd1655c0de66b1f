"""Reading a spec file: its text, its profiles file, all its mistakes at once."""

from __future__ import annotations

import errno
import hashlib
import re
import stat
from pathlib import Path as FilePath
from typing import Any, Final, get_args

from pydantic import (
    TypeAdapter,
    ValidationError,
)

from scenes.spec.agreement import Parts, disagreements
from scenes.spec.equipment import Library, Profile, Suspension
from scenes.spec.layouts import FURNISHING, MOST_LAYOUTS
from scenes.spec.lengths import UNITS
from scenes.spec.mistakes import Mistake, MistakeCode, SpecMistakes, mistake_at, shown, within
from scenes.spec.model import Spec
from scenes.spec.occupants import People
from scenes.spec.shell import Room
from scenes.spec.source import Source
from scenes.spec.validation import sound, translated
from scenes.spec.values import MOST_ARRAYS, MOST_HEADS, MOST_OVERHEAD, MOST_PARTS
from scenes.spec.yaml_tree import LARGEST_FILE, Marks, Misread, decode, plain, read_tree

YAML_ENDINGS = (".yaml", ".yml")
SAYS_OVERTABLE = re.compile(rb"""^[ {\t\xef\xbb\xbf]*["']?overtable["']?[ \t]*:""", re.MULTILINE)
"""What a file must have, wherever in it, before anything it holds is repeated in a mistake."""

UNREADABLE: Final[dict[int, MistakeCode]] = {
    errno.ENOENT: "no-file",
    errno.ENOTDIR: "no-file",
    errno.EISDIR: "is-folder",
    errno.EACCES: "no-permission",
    errno.EPERM: "no-permission",
}
"""Why a file cannot be read; whatever else the machine says is told as it says it."""


def read_spec(path: str | FilePath) -> Spec:
    """The spec in a YAML file, checked throughout. Raises `SpecMistakes` with every mistake of the file."""
    file = str(path)
    where = FilePath(path)
    return read_spec_bytes(read_bytes(where, file), file, where.parent)


def read_spec_text(text: str, file: str = "spec.yaml", folder: str | FilePath | None = None) -> Spec:
    """The spec in a YAML text, checked throughout; `file` is its name in mistakes.

    A profiles file is looked for in `folder`; without one, naming a profiles file is a mistake. Raises
    `SpecMistakes` with every mistake of the text.
    """
    try:
        data = text.encode("utf-8")
    except UnicodeEncodeError as error:
        character = f"U+{ord(text[error.start]):04X}"
        raise SpecMistakes(file, [mistake_at(1, 1, "", "not-unicode", character)]) from None
    return read_spec_bytes(data, file, None if folder is None else FilePath(folder))


def read_profiles(path: str | FilePath) -> dict[str, Profile]:
    """The profiles of a profiles file, by name. Raises `SpecMistakes` with every mistake of the file."""
    file = str(path)
    data = read_bytes(FilePath(path), file)
    inner, found = read_tree(decode(data, file), file)
    assert inner.root is not None
    tree = plain(inner.root)
    profiles: dict[str, Profile] = {}
    try:
        context = {"unit": tree.get("units") if tree.get("units") in UNITS else "m"}
        profiles = dict(Library.model_validate(tree, context=context).profiles)
    except ValidationError as error:
        found += translated(error, inner, (), Library)
    if found:
        raise SpecMistakes(file, found)
    return profiles


def read_bytes(path: FilePath, file: str) -> bytes:
    """The bytes of a file, a little more than the most that is read. Raises `SpecMistakes` where it cannot be read."""
    try:
        mode = path.stat().st_mode
        if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
            # a pipe would be waited for without end, a device may have none
            raise SpecMistakes(file, [mistake_at(None, None, "", "not-a-file")])
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        code = UNREADABLE.get(getattr(error, "errno", None) or 0, "unreadable")
        because = shown(getattr(error, "strerror", None) or str(error))
        raise SpecMistakes(file, [mistake_at(None, None, "", code, because=because)]) from None


def read_spec_bytes(data: bytes, file: str, folder: FilePath | None) -> Spec:
    """The spec in the bytes of a file. Raises `SpecMistakes` with every mistake of it."""
    text = decode(data, file)
    marks, mistakes = read_tree(text, file)
    assert marks.root is not None  # read_tree raises otherwise
    tree = plain(marks.root)
    if isinstance(tree.get("profiles"), dict) and set(tree) <= set(Library.model_fields):
        raise SpecMistakes(file, [marks.mistake((), "profiles-alone", file=FilePath(file).name)])
    mistakes += _too_many(tree, marks)
    units = tree.get("units") if tree.get("units") in UNITS else "m"
    if any(one.code == "too-many" for one in mistakes):
        raise SpecMistakes(file, mistakes, units)  # fast: five thousand more would not help

    library, library_data = None, None
    if isinstance(tree.get("profiles"), str):
        library = str(tree["profiles"])
        tree["profiles"], library_data, more = _read_library(library, folder, marks)
        mistakes += more
        if not tree["profiles"] and more:
            del tree["profiles"]

    context = {"unit": units}
    spec: Spec | None = None
    try:
        spec = Spec.model_validate(tree, context=context)
        parts = Parts.of(spec, tree)
    except ValidationError as error:
        # A tag or an alias is told once, not as a wrong value too.
        told = {(one.line, one.column) for one in mistakes}
        wrong = translated(error, marks, (), Spec)
        mistakes += [
            one for one in wrong if (one.line, one.column) not in told or one.found.kind == "nothing"
        ]
        parts = _sound_parts(tree, context)
    mistakes += disagreements(parts, marks)
    if mistakes or spec is None:
        raise SpecMistakes(file, mistakes, units)
    spec._source = Source(
        file, folder, text, data, hashlib.sha256(data).hexdigest(), marks, library, library_data
    )
    return spec


def _too_many(tree: dict[str, Any], marks: Marks) -> list[Mistake]:
    limits = {"arrays": MOST_ARRAYS, "overhead": MOST_OVERHEAD, "seats": MOST_HEADS, "standing": MOST_HEADS}
    limits |= dict.fromkeys(("tables", "obstacles", "cameras", "displays"), MOST_HEADS)
    limits["areas"] = limits["keep_away"] = MOST_PARTS
    layouts = tree["layouts"] if isinstance(tree.get("layouts"), dict) else {}
    if len(layouts) > MOST_LAYOUTS:
        return [marks.mistake(("layouts",), "too-many", most=MOST_LAYOUTS)]
    inside = [(("layouts", name), one) for name, one in layouts.items() if isinstance(one, dict)]
    return [
        marks.mistake((*path, key), "too-many", most=most)
        for path, some in (((), tree), *inside)
        for key, most in limits.items()
        if isinstance(some.get(key), list) and len(some[key]) > most
    ]


def _read_library(
    name: str, folder: FilePath | None, marks: Marks
) -> tuple[dict[str, Profile | None], bytes | None, list[Mistake]]:
    """Profiles by name (None where one is wrong), the file's bytes, and mistakes at the spec's key
    `profiles`.

    Nothing of a file that does not say it is one of overtable's is repeated: a spec of a stranger may name any.
    """

    def wrong(code: MistakeCode, **allowed: Any) -> tuple[dict[str, Profile | None], None, list[Mistake]]:
        return {}, None, [marks.mistake(("profiles",), code, **allowed)]

    path = _library_path(name, folder)
    if isinstance(path, str):
        looked = {"looked": shown(str(folder / name), 300)} if folder and path == "library-missing" else {}
        return wrong(path, **looked)
    found: list[Mistake] = []
    profiles: dict[str, Profile | None] = {}
    try:
        data = read_bytes(path, name)
        if not SAYS_OVERTABLE.search(data):
            return wrong("library-not-one")
        text = decode(data, name)
        inner, found = read_tree(text, name)
        assert inner.root is not None
        tree = plain(inner.root)
        context = {"unit": tree.get("units") if tree.get("units") in UNITS else "m"}
        try:
            profiles = dict(Library.model_validate(tree, context=context).profiles)
        except ValidationError as error:
            found += translated(error, inner, (), Library)
            written = tree.get("profiles")
            for key, value in written.items() if isinstance(written, dict) else ():
                profiles[key] = sound(TypeAdapter(Profile), value, context)
    except SpecMistakes as mistakes:
        return {}, None, [_in_library(one, name, marks) for one in mistakes.mistakes]
    return profiles, data, [_in_library(one, name, marks) for one in found]


def _library_path(name: str, folder: FilePath | None) -> FilePath | MistakeCode:
    """Where the profiles file lies that a spec names, or why it may not be that."""
    if isinstance(name, Misread):
        return "library-name"
    if folder is None:
        return "library-no-folder"
    if FilePath(name).is_absolute():
        return "library-absolute"
    path = folder / name
    try:
        if not path.is_file():
            return "library-missing"
        if any(one.suffix.lower() not in YAML_ENDINGS for one in (path, path.resolve())):
            return "library-ending"
    except (OSError, ValueError, RuntimeError):  # a link to itself is a RuntimeError before Python 3.13
        return "library-bad-name"
    return path


def _in_library(one: Mistake, name: str, marks: Marks) -> Mistake:
    line, column = marks.position(("profiles",))
    return within(one, line, column, shown(name, 100))


def _sound_parts(tree: dict[str, Any], context: dict[str, Any]) -> Any:
    """Those parts of a file that are right in themselves, so that all its mistakes can be told at once."""

    def listed(key: str, of: dict[str, Any]) -> list[tuple[int, Any]]:
        if not isinstance(of.get(key), list):
            return []
        annotation = get_args(Spec.model_fields[key].annotation)[0]
        adapter: TypeAdapter[Any] = TypeAdapter(annotation)
        made = [(i, sound(adapter, raw, context)) for i, raw in enumerate(of[key])]
        return [(i, one) for i, one in made if one is not None]

    room = sound(TypeAdapter(Room), tree.get("room"), context)
    raw = tree.get("profiles")
    profiles = {
        str(name): value if isinstance(value, Profile) else sound(TypeAdapter(Profile), value, context)
        for name, value in (raw.items() if isinstance(raw, dict) else ())
    }
    keys = ("tables", "seats", "standing", "areas", "keep_away", "arrays", "overhead", "obstacles")
    lists = {key: listed(key, tree) for key in keys}
    layouts = tree["layouts"] if isinstance(tree.get("layouts"), dict) else {}
    in_layouts = {
        str(name): {key: listed(key, one) for key in FURNISHING}
        for name, one in layouts.items()
        if isinstance(one, dict)
    }
    people = sound(TypeAdapter(People), tree.get("people", {}), context)
    suspension = sound(TypeAdapter(Suspension), tree.get("suspension", {}), context)
    return Parts(
        tree=tree,
        room=room,
        profiles=profiles,
        people=people,
        suspension=suspension,
        layouts=in_layouts,
        **lists,
    )
