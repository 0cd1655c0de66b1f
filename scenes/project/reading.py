"""Reading a project file: its rooms, each as the text of a spec of its own, and its mistakes.

A mistake of a room stays with the room. What is wrong with the project itself is told beside the rooms that can be
read all the same.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from geometry.records import record
from scenes.project.merging import merged, with_given
from scenes.project.model import ProjectFile, RoomEntry
from scenes.spec.mistakes import (
    Inside,
    Mistake,
    MistakeCode,
    Path,
    SpecMistakes,
    nearest_of,
    path_text,
    shown,
)
from scenes.spec.model import Spec
from scenes.spec.reading import SAYS_OVERTABLE, YAML_ENDINGS, read_bytes, read_spec_bytes
from scenes.spec.validation import sound, translated
from scenes.spec.yaml_tree import Marks, Misread, Node, decode, plain, read_tree

SAYS_ROOMS: Final = re.compile(
    rb"""^[ {\t\xef\xbb\xbf]*["']?rooms["']?[ \t]*:|[{,][ \t]*["']?rooms["']?[ \t]*:""", re.M
)
"""What the text of a project has, and that of a room nowhere at its top."""
TOP_KEYS: Final = re.compile(r"""^["']?(overtable|project|profiles|<<)["']?[ \t]*:""", re.MULTILINE)


@record(frozen=True)
class RoomText:
    """A room as the bytes of a spec: the file that it is told as, and the folder its profiles are looked for from."""

    file: str
    folder: FilePath
    data: bytes
    added: str = ""
    """Lines of it that its file does not have: what the project says of the room."""

    def spec(self) -> Spec:
        """The spec. Raises SpecMistakes, of a room of a template with lines of the text that was made."""
        return read_spec_bytes(self.data, self.file, self.folder)


@record(frozen=True, eq=False)
class ProjectRoom:
    """A room of a project: what the project says of it, its text, or the mistakes that leave it without one."""

    index: int
    number: str | None
    name: str | None
    storey: str | None
    file: str | None
    """What the project names: the room's file, or the template."""
    text: RoomText | None
    wrong: SpecMistakes | None = None
    writable: RoomText | None = None
    """The room's own file with lines added to it and nothing else changed; None of a room made of a template."""
    made_of: _MadeOf | None = None

    @property
    def readable(self) -> RoomText:
        """The room's text. Raises SpecMistakes where there is none."""
        if self.text is None:
            assert self.wrong is not None
            raise self.wrong
        return self.text

    def spec(self) -> Spec:
        """The room's spec. Raises SpecMistakes; of a room of a template of the text that was made (see `telling`)."""
        return self.readable.spec()

    @contextmanager
    def telling(self) -> Iterator[None]:
        """Mistakes of the room's text, raised inside, where people can mend them: see `told`."""
        try:
            yield
        except SpecMistakes as mistakes:
            raise self.told(mistakes) from None

    def told(self, mistakes: SpecMistakes) -> SpecMistakes:
        """Mistakes of the room's text where they stand: of a template's room in the project or in the template."""
        if self.made_of is None or mistakes is self.wrong:
            return mistakes
        return self.made_of.told(self.index, mistakes)


@record(frozen=True, eq=False)
class Project:
    """A project file as read: its rooms in its order, and what is wrong with the file beside them."""

    file: str
    name: str
    rooms: tuple[ProjectRoom, ...]
    mistakes: SpecMistakes | None
    files: tuple[FilePath, ...]
    """What was read, and must not be written over: the project, profiles, templates, the rooms' files."""


@record(frozen=True, eq=False)
class _MadeOf:
    """What a room of a template was made of: the project's marks, the template's name and marks."""

    file: str
    marks: Marks
    template: str
    template_marks: Marks

    def told(self, index: int, mistakes: SpecMistakes) -> SpecMistakes:
        change: Path = ("rooms", index, "change")
        node = self.marks.node(change)
        changed = {} if node is None else dict(_places(node))
        made = {} if self.template_marks.root is None else dict(_places(self.template_marks.root))
        line, column = self.marks.position(("rooms", index, "use"))
        use = path_text(("rooms", index, "use"))

        def placed(one: Mistake) -> Mistake:
            # a list and a value of the change stand in place of the template's, a mapping beside it
            near = next(
                (
                    path
                    for path in _shorter(one.path)
                    if path in changed and (path not in made or changed[path].kind != "mapping")
                ),
                None,
            )
            if near is not None:
                at, path = changed[near], f"{path_text(change)}.{one.path}"
                return replace(one, line=at.line, column=at.column, path=path)
            if one.inside is not None:
                return replace(one, line=line, column=column, path=use)
            there = next(
                (made[path] for path in _shorter(one.path) if path in made), self.template_marks.root
            )
            assert there is not None
            inside = Inside(self.template, there.line, there.column, one.path)
            return replace(one, line=line, column=column, path=use, inside=inside)

        return SpecMistakes(self.file, [placed(one) for one in mistakes.mistakes], mistakes.units)


def _places(node: Node, path: Path = ()) -> Iterator[tuple[str, Node]]:
    """Every value below a node by its path as people write it."""
    if path:
        yield path_text(path), node
    if node.kind == "mapping":
        for key, value in node.value.items():
            yield from _places(value, (*path, key))
    elif node.kind == "list":
        for k, value in enumerate(node.value):
            yield from _places(value, (*path, k))


def _shorter(path: str) -> Iterator[str]:
    """A path and those above it, the longest first."""
    while path:
        yield path
        path = path[: max(path.rfind("."), path.rfind("["), 0)]


def is_project(path: FilePath) -> bool:
    """Whether a file says that it is a project. What cannot be read is none: who reads it as a spec says why."""
    try:
        data = read_bytes(path, str(path))
        if not SAYS_ROOMS.search(data):
            return False
        marks, _ = read_tree(decode(data, str(path)), str(path))
    except SpecMistakes:
        return False
    return marks.root is not None and "rooms" in marks.root.value


def read_project(path: str | FilePath) -> Project:
    """The project of a file. Raises SpecMistakes where no room of it can be named; other mistakes are in it."""
    where = FilePath(path)
    return _Reader(where, str(path)).project()


class _Reader:
    def __init__(self, path: FilePath, file: str) -> None:
        self.path, self.file, self.folder = path, file, path.parent
        self.marks, self.wrong = read_tree(decode(read_bytes(path, file), file), file)
        assert self.marks.root is not None
        self.tree: dict[str, Any] = plain(self.marks.root)
        self.read: list[FilePath] = [path]
        self.library: str | None = None
        self.library_wrong: SpecMistakes | None = None
        self.templates: dict[str, tuple[FilePath, Marks] | SpecMistakes] = {}
        self.in_rooms: dict[int, list[Mistake]] = {}

    def project(self) -> Project:
        if "room" in self.tree:
            self.wrong.append(self.marks.mistake(("room",), "room-and-rooms", of_key=True))
        entries = self._entries()
        if not any(entries) or "room" in self.tree:
            raise SpecMistakes(
                self.file, [*self.wrong, *(one for some in self.in_rooms.values() for one in some)]
            )
        self._read_library()
        self._look_for_models()
        self._numbers_once(entries)
        rooms = tuple(self._room(k, entry) for k, entry in enumerate(entries))
        mistakes = SpecMistakes(self.file, self.wrong) if self.wrong else None
        return Project(self.file, str(self.tree.get("project") or ""), rooms, mistakes, tuple(self.read))

    def _entries(self) -> list[RoomEntry | None]:
        """The rooms as entries, None where one is wrong; mistakes go to the room or the project that they are of."""
        try:
            return list(ProjectFile.model_validate(self.tree).rooms)
        except ValidationError as error:
            for one in translated(error, self.marks, (), ProjectFile):
                of_room = re.match(r"rooms\[(\d+)\]", one.path)
                (self.in_rooms.setdefault(int(of_room[1]), []) if of_room else self.wrong).append(one)
        raw = self.tree.get("rooms")
        adapter = TypeAdapter(RoomEntry)
        listed = raw if isinstance(raw, list) else []
        return [None if k in self.in_rooms else sound(adapter, one, {}) for k, one in enumerate(listed)]

    def _numbers_once(self, entries: Iterable[RoomEntry | None]) -> None:
        taken: dict[str, int] = {}
        for k, entry in enumerate(entries):
            if entry is None or entry.number is None:
                continue
            first = taken.setdefault(entry.number, k)
            if first != k:
                other, _ = self.marks.position(("rooms", first, "number"))
                wrong = self.marks.mistake(("rooms", k, "number"), "number-twice", other=other)
                self.in_rooms.setdefault(k, []).append(wrong)

    # ---- other files

    def _inside(self, name: Any, at: Path, endings: tuple[str, ...] = YAML_ENDINGS) -> FilePath | Mistake:
        """Where a file lies that the project names: in its folder or below it. What may not be is a mistake."""
        code: MistakeCode
        if not isinstance(name, str) or isinstance(name, Misread):
            return self.marks.mistake(at, "file-name")
        try:
            path = self.folder / name
            if FilePath(name).is_absolute() or not path.resolve().is_relative_to(self.folder.resolve()):
                code = "file-outside"
            elif not path.is_file():
                return self.marks.mistake(at, "file-missing", looked=shown(str(path), 300))
            elif any(one.suffix.lower() not in endings for one in (path, path.resolve()) if endings):
                code = "file-ending"
            else:
                return path
        except (OSError, ValueError, RuntimeError):
            code = "file-name"
        return self.marks.mistake(at, code)

    def _text_of(self, name: Any, at: Path) -> tuple[FilePath, bytes, str] | SpecMistakes:
        """A file of overtable's with its bytes and text: of one that does not say so nothing is repeated."""
        path = self._inside(name, at)
        if isinstance(path, Mistake):
            return SpecMistakes(self.file, [path])
        self.read.append(path)
        try:
            data = read_bytes(path, str(path))
            if not SAYS_OVERTABLE.search(data):
                return SpecMistakes(self.file, [self.marks.mistake(at, "file-not-one")])
            return path, data, decode(data, str(path))
        except SpecMistakes as mistakes:
            return mistakes

    def _read_library(self) -> None:
        name = self.tree.get("profiles")
        if name is None:
            return
        found = self._text_of(name, ("profiles",))
        if isinstance(found, SpecMistakes):
            self.library_wrong = found
            self.wrong += found.mistakes if found.file == self.file else ()
            return
        self.library = str(name)

    def _look_for_models(self) -> None:
        for k, name in enumerate(self.tree.get("models") or ()):
            found = self._inside(name, ("models", k), endings=())
            if isinstance(found, Mistake):
                self.wrong.append(found)
            else:
                self.read.append(found)

    def _template(self, name: str) -> tuple[FilePath, Marks] | SpecMistakes:
        if name not in self.templates:
            found = self._text_of(self.tree["templates"][name], ("templates", name))
            if not isinstance(found, SpecMistakes):
                path, _, text = found
                try:
                    marks, wrong = read_tree(text, str(path))
                    self.templates[name] = SpecMistakes(str(path), wrong) if wrong else (path, marks)
                except SpecMistakes as mistakes:
                    self.templates[name] = mistakes
            else:
                self.templates[name] = found
        return self.templates[name]

    # ---- a room

    def _room(self, k: int, entry: RoomEntry | None) -> ProjectRoom:
        if entry is None or k in self.in_rooms:
            raw = self.tree["rooms"][k]
            number, name, storey, file, use = (
                shown(raw[key]) if isinstance(raw, dict) and isinstance(raw.get(key), str) else None
                for key in ("number", "name", "storey", "file", "use")
            )
            wrong = SpecMistakes(self.file, self.in_rooms.get(k, ()))
            return ProjectRoom(k, number, name, storey, file or use, None, wrong)
        room = ProjectRoom(k, entry.number, entry.name, entry.storey, entry.file or entry.use, None)
        try:
            return self._of_template(room, entry) if entry.use is not None else self._of_file(room, entry)
        except SpecMistakes as mistakes:
            return replace(room, wrong=mistakes)

    def _of_file(self, room: ProjectRoom, entry: RoomEntry) -> ProjectRoom:
        found = self._text_of(entry.file, ("rooms", room.index, "file"))
        if isinstance(found, SpecMistakes):
            raise found
        path, data, text = found
        given, written = self._given(entry), set(TOP_KEYS.findall(text))
        whole = RoomText(str(path), path.parent, data)
        if not given and "<<" not in written and {"overtable", "project", "profiles"} <= written:
            return replace(room, text=whole, writable=whole)
        marks, wrong = read_tree(text, str(path))
        if wrong:
            raise SpecMistakes(str(path), wrong)
        assert marks.root is not None
        wanted = self._wanted(path, has_profiles="profiles" in marks.root.value)
        made, longer = with_given(marks, given, wanted), with_given(marks, {}, {**wanted, **given})
        texts = [
            whole if new == text else RoomText(str(path), path.parent, new.encode("utf-8"), new[len(text) :])
            for new in (made, longer)
        ]
        return replace(room, text=texts[0], writable=texts[1] if longer.startswith(text) else None)

    def _of_template(self, room: ProjectRoom, entry: RoomEntry) -> ProjectRoom:
        assert entry.use is not None
        known = self.tree.get("templates")
        names = tuple(known) if isinstance(known, dict) else ()
        at: Path = ("rooms", room.index, "use")
        if entry.use not in names:
            nearest, few = nearest_of(entry.use, names), tuple(shown(one, 40) for one in names)
            code: MistakeCode = "no-template" if names else "no-templates"
            raise SpecMistakes(self.file, [self.marks.mistake(at, code, nearest=nearest, names=few)])
        found = self._template(entry.use)
        if isinstance(found, SpecMistakes):
            raise found
        path, marks = found
        node = self.marks.node(("rooms", room.index, "change"))
        assert marks.root is not None
        own = {*marks.root.value, *(node.value if node is not None and node.kind == "mapping" else ())}
        wanted = self._wanted(path, has_profiles="profiles" in own)
        given = {**{key: value for key, value in wanted.items() if key not in own}, **self._given(entry)}
        text = merged(marks, None if node is None else (node, self.marks.text), given)
        made_of = _MadeOf(self.file, self.marks, str(self.tree["templates"][entry.use]), marks)
        return replace(room, text=RoomText(str(path), path.parent, text.encode("utf-8")), made_of=made_of)

    def _given(self, entry: RoomEntry) -> dict[str, str]:
        some = {"name": entry.name, "number": entry.number, "storey": entry.storey}
        return {key: value for key, value in some.items() if value is not None}

    def _wanted(self, path: FilePath, *, has_profiles: bool) -> Mapping[str, str]:
        """What a room has of the project where it says nothing itself. Raises SpecMistakes where that is wrong."""
        project = self.tree.get("project")
        wanted = {"project": project} if isinstance(project, str) and project else {}
        if has_profiles or self.tree.get("profiles") is None:
            return wanted
        if self.library_wrong is not None:
            raise self.library_wrong
        assert self.library is not None
        there = os.path.relpath((self.folder / self.library).absolute(), path.parent.absolute())
        return {**wanted, "profiles": FilePath(there).as_posix()}


def untold(some: Iterable[SpecMistakes]) -> list[SpecMistakes]:
    """Mistakes of several rooms, each once: a library or a template that is wrong is wrong for all."""
    told: set[tuple[str, Mistake]] = set()
    kept = []
    for one in some:
        new = [wrong for wrong in one.mistakes if (one.file, wrong) not in told]
        told |= {(one.file, wrong) for wrong in new}
        if new:
            kept.append(SpecMistakes(one.file, new, one.units))
    return kept
