"""YAML text into a tree whose every key and value knows where it stands, and mistakes that say so.

The tree is built from PyYAML's events, not by its constructors: no tag builds an object, no alias explodes,
depth is bounded, and a number is a number only where a person and YAML read the same one.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any, Final, Literal, NoReturn

import yaml

from geometry.records import record
from scenes.spec.lengths import NUMBER
from scenes.spec.mistakes import (
    NOTHING,
    Found,
    MisreadAs,
    Mistake,
    MistakeCode,
    Path,
    SpecMistakes,
    mistake_at,
    path_text,
    shown,
)

LARGEST_FILE: Final = (
    1 << 20
)  # bytes; a room of 2 000 heads and 5 000 devices, written one by one, is under 0.6 MB


DEEPEST: Final = 40  # nesting; the format itself needs eight


MOST_ALIASED: Final = 20_000  # values that aliases may repeat, all together


_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


_RESOLVERS: Final = yaml.resolver.Resolver.yaml_implicit_resolvers


_NULLS: Final = ("", "~", "null", "Null", "NULL")


_BOOLEANS: Final = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}


_PROPERTIES: Final = re.compile(r"(?:[&!][^\s,\[\]{}]*[ \t]*)+(?:#[^\n]*)?\s*")


_LOOSE_NUMBER: Final = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)


_UNPRINTABLE: Final = re.compile(
    # YAML 1.1, section 5.1, c-printable
    "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
)


class Misread(str):
    """A plain scalar that YAML reads as something else than what a person sees, as it is written.

    `because` is what YAML makes of it. Where text is wanted it belongs in quotes; where a number is, it is
    not written as numbers are, if it is meant for one (`numeric`).
    """

    because: MisreadAs
    numeric: bool

    def __new__(cls, written: str, because: MisreadAs, *, numeric: bool = False) -> Misread:
        self = super().__new__(cls, written)
        self.because = because
        self.numeric = numeric
        return self


def misread_as(value: object) -> str:
    """What a number was written as instead: a MisreadAs, `digits` for a number in another form, or nothing."""
    # YAML takes -.5 and quoted numbers for text; a person does not
    if isinstance(value, str) and (getattr(value, "numeric", False) or _LOOSE_NUMBER.fullmatch(value)):
        return "digits"
    return value.because if isinstance(value, Misread) else ""


@dataclass(slots=True, eq=False)
class Node:
    """One value of the file and where it stands. `start` and `end` are character offsets into the text."""

    kind: Literal["scalar", "list", "mapping"]
    start: int
    end: int
    line: int
    column: int
    value: Any = None
    flow: bool = False
    shared: bool = False  # an anchor that aliases repeat, or an alias
    finished: bool = True
    size: int = 1  # values in it, itself included
    height: int = 0  # levels below it
    keys: dict[str, Node] = field(default_factory=dict)  # of a mapping, the nodes of its keys
    merge: tuple[Node, Node] | None = None  # of a mapping, the key << and its value


@record(frozen=True, eq=False)
class Marks:
    """Where the keys and values of a file stand. Paths are tuples of keys and indices; offsets count
    characters.

    A path that goes through an alias leads to the anchor's text, where a change changes every use: ask
    `shared`.
    """

    text: str
    root: Node | None

    def node(self, path: Path) -> Node | None:
        """The node at a path; None where there is none."""
        at = self.root
        for key in path:
            at = _child(at, key)
            if at is None:
                return None
        return at

    def nearest(self, path: Path) -> tuple[Path, Node | None]:
        """The longest part of a path that exists, and its node."""
        at = self.root
        for i, key in enumerate(path):
            below = _child(at, key)
            if below is None:
                return path[:i], at
            at = below
        return path, at

    def value_span(self, path: Path) -> tuple[int, int]:
        """Offsets (start, end) of the value's own text, comments and line ends left out. KeyError if not
        there.

        The value of a key with nothing after it is empty, right behind the colon: start equals end.
        """
        node = self.node(path)
        if node is None:
            raise KeyError(path_text(path))
        return node.start, node.end

    def key_span(self, path: Path) -> tuple[int, int]:
        """Offsets (start, end) of the last key of a path, quotes included. KeyError if it is no key of a
        mapping."""
        key = self._key(path)
        if key is None:
            raise KeyError(path_text(path))
        return key.start, key.end

    def mapping_style(self, path: Path) -> Literal["flow", "block"]:
        """`flow` for {…} and […], `block` for indented lines. KeyError if the path is no mapping and no
        list."""
        node = self.node(path)
        if node is None or node.kind == "scalar":
            raise KeyError(path_text(path))
        return "flow" if node.flow else "block"

    def shared(self, path: Path) -> bool:
        """Whether the value, or something it stands in, is an alias or an anchor that an alias repeats."""
        return any((node := self.node(path[:i])) is not None and node.shared for i in range(len(path) + 1))

    def position(self, path: Path, *, of_key: bool = False) -> tuple[int, int]:
        """Line and column, from 1, of the value at a path, or of its key; where it is missing, of what it
        misses."""
        there, node = self.nearest(path)
        if of_key and there == path and (key := self._key(path)) is not None:
            node = key
        return (node.line, node.column) if node is not None else (1, 1)

    def found(self, path: Path) -> Found:
        """What stands at a path."""
        node = self.node(path)
        if node is None:
            return NOTHING
        written = self.text[node.start : node.end]
        if node.kind == "list":
            short = node.flow and len(written) <= 40 and "\n" not in written
            return Found("text", shown(written)) if short else Found("list", count=len(node.value))
        if node.kind == "mapping":
            return Found("mapping", shown(", ".join(node.value)), len(node.value))
        return Found("text", shown(written)) if written else NOTHING

    def mistake(
        self,
        path: Path,
        code: MistakeCode,
        *,
        of_key: bool = False,
        nearest: str | None = None,
        **allowed: Any,
    ) -> Mistake:
        """A mistake about the value (or the key) at a path; `allowed` by name."""
        line, column = self.position(path, of_key=of_key)
        found = Found("text", shown(str(path[-1]), 40)) if of_key else self.found(path)
        return mistake_at(line, column, path_text(path), code, found, nearest=nearest, **allowed)

    def _key(self, path: Path) -> Node | None:
        parent = self.node(path[:-1]) if path else None
        return parent.keys.get(str(path[-1])) if parent is not None and parent.kind == "mapping" else None


def _child(node: Node | None, key: str | int) -> Node | None:
    if node is None:
        return None
    if node.kind == "mapping":
        below: Node | None = node.value.get(key)
        return below
    if node.kind == "list" and isinstance(key, int) and 0 <= key < len(node.value):
        item: Node = node.value[key]
        return item
    return None


def decode(data: bytes, file: str) -> str:
    """The text of a file's bytes, without a byte order mark, line ends as they are.

    Raises `SpecMistakes` for more than 1 MiB, for anything but UTF-8 and for characters that YAML does not
    allow.
    """
    if len(data) > LARGEST_FILE:
        raise SpecMistakes(file, [mistake_at(1, 1, "", "file-too-large", most=LARGEST_FILE)])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8-sig", "replace")
        line, column = _line_and_column(before, len(before))
        byte = f"0x{data[error.start]:02x}"
        raise SpecMistakes(file, [mistake_at(line, column, "", "not-utf-8", byte)]) from None
    check_characters(text, file)
    return text


def check_characters(text: str, file: str) -> None:
    """Nothing; raises `SpecMistakes` at the first character that YAML does not allow, and for text over 1
    MiB."""
    if len(text) > LARGEST_FILE:
        raise SpecMistakes(file, [mistake_at(1, 1, "", "file-too-large", most=LARGEST_FILE)])
    if match := _UNPRINTABLE.search(text):
        line, column = _line_and_column(text, match.start())
        character = f"U+{ord(match[0]):04X}"
        raise SpecMistakes(file, [mistake_at(line, column, "", "control-character", character)])


def _line_and_column(text: str, offset: int) -> tuple[int, int]:
    before = re.split("\r\n|[\n\r\x85\u2028\u2029]", text[:offset])
    return len(before), len(before[-1]) + 1


def read_tree(text: str, file: str) -> tuple[Marks, list[Mistake]]:
    """The marks of a YAML text's tree, and the mistakes that do not hinder reading on.

    Repeated keys, tags, keys that are no text and aliases that explode are among the mistakes. Raises
    `SpecMistakes` where reading cannot go on: bad syntax, more than one document, nesting too deep, no
    mapping at the top.
    """
    check_characters(text, file)
    builder = _Builder(text, file)
    builder.build()
    marks = Marks(text, builder.root)
    if builder.root is None or builder.root.kind != "mapping":
        code: MistakeCode = "not-keys" if builder.root is not None else "empty-file"
        raise SpecMistakes(file, [*builder.mistakes, marks.mistake((), code)])
    return marks, builder.mistakes


def plain(node: Node) -> Any:
    """The tree as dicts, lists, text, numbers, true, false and None, with `Misread` where YAML misleads."""
    if node.kind == "mapping":
        return {key: plain(value) for key, value in node.value.items()}
    if node.kind == "list":
        return [plain(item) for item in node.value]
    return node.value


def read_scalar(written: str) -> str | int | float | bool | None:
    """What a scalar without quotes means: null, a boolean, a number, text, or a `Misread`."""
    if written in _NULLS:
        return None
    if written in _BOOLEANS:
        return _BOOLEANS[written]
    if len(written) <= 60 and NUMBER.fullmatch(written):
        if written.lstrip("+-").isdigit():
            return int(written)
        number = float(written)
        return number if math.isfinite(number) else Misread(written, "endless", numeric=True)
    for tag, pattern in _RESOLVERS.get(written[0], []):
        if pattern.match(written):
            kind = tag.rpartition(":")[2]
            if kind == "bool":
                return Misread(written, "truth")
            if kind == "timestamp":
                return Misread(written, "date")
            if kind in ("int", "float"):
                return Misread(written, "number", numeric=True)
            break
    return written


class _Builder:
    """Events into nodes, with a stack of its own: libyaml's events come one by one, so depth cannot hurt."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text
        self.file = file
        self.root: Node | None = None
        self.mistakes: list[Mistake] = []
        self.anchors: dict[str, Node] = {}
        self.stack: list[
            tuple[Node, list[Node]]
        ] = []  # a list or mapping being filled, its key without value yet
        self.aliased = 0

    def build(self) -> None:
        documents = 0
        try:
            for event in yaml.parse(self.text, Loader=_Loader):
                if isinstance(event, yaml.DocumentStartEvent):
                    documents += 1
                    if documents > 1:
                        self._stop(event.start_mark, "second-document")
                elif isinstance(event, yaml.NodeEvent):
                    self._take(event)
                elif isinstance(event, yaml.CollectionEndEvent):
                    self._close(event)
        except yaml.MarkedYAMLError as error:
            self._stop_at_syntax(error)
        except (
            yaml.YAMLError
        ) as error:  # none known to come without a mark; the promise is: never a traceback
            problem = shown(str(error), 120)
            wrong = mistake_at(1, 1, "", "bad-syntax", problem=problem, since=0)
            raise SpecMistakes(self.file, [*self.mistakes, wrong]) from None

    # What one event does.

    def _take(self, event: yaml.NodeEvent) -> None:
        if isinstance(event, yaml.AliasEvent):
            self._add(self._alias(event))
            return
        if (tag := getattr(event, "tag", None)) is not None:
            self._mistake(event.start_mark, "tag", shown(tag, 40))
        mark = event.start_mark
        node = Node("scalar", mark.index, event.end_mark.index, mark.line + 1, mark.column + 1)
        if event.anchor is not None:
            self.anchors[event.anchor] = node
        self._strip_properties(node)
        if isinstance(event, yaml.ScalarEvent):
            quoted = event.style in ("'", '"', "|", ">")
            node.value = str(event.value) if quoted else read_scalar(event.value)
            if event.style in ("|", ">"):
                # a block's mark stands behind its line ends, where the next key begins
                node.end = node.start + len(self.text[node.start : node.end].rstrip())
            self._add(node)
            return
        node.kind = "mapping" if isinstance(event, yaml.MappingStartEvent) else "list"
        node.flow = bool(event.flow_style)
        node.value = {} if node.kind == "mapping" else []
        node.finished = False
        node.end = node.start
        if len(self.stack) >= DEEPEST:
            self._stop(mark, "too-deep", most=DEEPEST)
        self._add(node)
        self.stack.append((node, []))

    def _strip_properties(self, node: Node) -> None:
        """The value's own text begins behind its anchor or tag."""
        if self.text[node.start : node.start + 1] in ("&", "!") and (
            match := _PROPERTIES.match(self.text, node.start, node.end)
        ):
            node.start = match.end()

    def _alias(self, event: yaml.AliasEvent) -> Node:
        mark = event.start_mark
        here = Node("scalar", mark.index, event.end_mark.index, mark.line + 1, mark.column + 1, shared=True)
        target = self.anchors.get(event.anchor)
        name = shown(event.anchor, 40)
        if target is None:
            self._mistake(mark, "alias-unknown", f"*{name}", name=name)
            return here
        if not target.finished:
            self._mistake(mark, "alias-inside", f"*{name}", name=name)
            return here
        self.aliased += target.size
        if self.aliased > MOST_ALIASED:
            self._stop(mark, "aliases-too-many", most=MOST_ALIASED)
        if len(self.stack) + target.height >= DEEPEST:
            self._stop(mark, "too-deep", most=DEEPEST)
        target.shared = True
        here.kind, here.value, here.flow = target.kind, target.value, target.flow
        here.keys, here.size, here.height = target.keys, target.size, target.height
        return here

    def _add(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        parent, pending = self.stack[-1]
        parent.end = max(parent.end, node.end)
        if parent.kind == "list":
            parent.value.append(node)
            return
        if not pending:
            pending.append(node)
            return
        key = pending[0]
        written = self.text[key.start : key.end]
        if written == "<<" and parent.merge is None:
            parent.merge = (key, node)
        else:
            name = self._key_name(key, written)
            if name in parent.value:
                first = parent.keys[name]
                path = path_text((*self._path(), name))
                wrong = mistake_at(
                    key.line, key.column, path, "repeated-key", shown(name, 40), first=first.line
                )
                self.mistakes.append(wrong)
            else:
                parent.value[name] = node
                parent.keys[name] = key
        # A list or mapping has still to be filled; its key is done with when it closes.
        if node.finished:
            pending.clear()

    def _key_name(self, key: Node, written: str) -> str:
        if key.kind == "scalar" and isinstance(key.value, str) and not isinstance(key.value, Misread):
            return key.value
        what = Found("text", shown(written, 40)) if key.kind == "scalar" and written else NOTHING
        because = key.value.because if isinstance(key.value, Misread) else ""
        self.mistakes.append(
            mistake_at(key.line, key.column, path_text(self._path()), "key-not-text", what, because=because)
        )
        return written

    def _merge(self, node: Node) -> None:
        if node.merge is None:
            return
        key, value = node.merge
        sources = value.value if value.kind == "list" else [value]
        if not sources or any(one.kind != "mapping" or not one.shared for one in sources):
            path = path_text((*self._path(), "<<"))
            self.mistakes.append(mistake_at(key.line, key.column, path, "merge"))
            return
        for (
            source
        ) in sources:  # a key written here wins over a merged one, an earlier merged one over a later
            for name, merged in source.value.items():
                if name not in node.value:
                    merged.shared = True
                    node.value[name] = merged
                    node.keys[name] = source.keys[name]

    def _close(self, event: Any) -> None:
        node = self.stack[-1][0]
        self._merge(node)
        self.stack.pop()
        if (
            node.flow
        ):  # libyaml ends a block where the next thing begins; its own text ends with its last value
            node.end = event.end_mark.index
        values = node.value.values() if node.kind == "mapping" else node.value
        node.size = 1 + sum(child.size for child in values)
        node.height = 1 + max((child.height for child in values), default=0)
        node.finished = True
        if self.stack:
            parent, pending = self.stack[-1]
            if pending and pending[0] is not node:  # it was the value of the pending key, not the key itself
                pending.clear()
            parent.end = max(parent.end, node.end)

    # Where it is, and what is wrong there.

    def _path(self) -> Path:
        """The path of the list or mapping now being filled."""
        path: list[str | int] = []
        for node, pending in self.stack[:-1]:
            if node.kind == "list":
                path.append(len(node.value) - 1)
            elif pending:
                name = pending[0].value
                path.append(name if isinstance(name, str) else self.text[pending[0].start : pending[0].end])
        return tuple(path)

    def _here(self) -> Path:
        """The path of the value that comes next."""
        if not self.stack:
            return ()
        node, pending = self.stack[-1]
        if node.kind == "list":
            return (*self._path(), len(node.value))
        return (*self._path(), str(pending[0].value)) if pending else self._path()

    def _mistake(self, mark: Any, code: MistakeCode, found: str | Found = NOTHING, **allowed: Any) -> None:
        here = path_text(self._here())
        self.mistakes.append(mistake_at(mark.line + 1, mark.column + 1, here, code, found, **allowed))

    def _stop(self, mark: Any, code: MistakeCode, **allowed: Any) -> NoReturn:
        self._mistake(mark, code, **allowed)
        raise SpecMistakes(self.file, self.mistakes)

    def _stop_at_syntax(self, error: yaml.MarkedYAMLError) -> None:
        mark = error.problem_mark or error.context_mark
        index = mark.index if mark is not None else 0
        line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
        lines = re.split("\r\n|[\n\r\x85\u2028\u2029]", self.text)
        here = lines[line - 1].strip() if line <= len(lines) else ""
        path = path_text(self._here())
        if self.text[index : index + 1] == "\t":
            wrong = mistake_at(line, column, path, "tab")
        else:
            since = error.context_mark.line + 1 if error.context_mark is not None else line
            problem = shown(str(error.problem or ""), 120)
            found = Found("text", shown(here)) if here else NOTHING
            wrong = mistake_at(
                line, column, path, "bad-syntax", found, problem=problem, since=0 if since == line else since
            )
        raise SpecMistakes(self.file, [*self.mistakes, wrong]) from None
