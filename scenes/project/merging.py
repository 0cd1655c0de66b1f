"""The spec text of a project's room: its file's text, or a template's, with what the project says of it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, Final

from scenes.spec.yaml_tree import Marks, Node

PLAIN_KEY: Final = re.compile(r"[A-Za-z_]\w*")
MISREAD_KEYS: Final = frozenset(("y", "n", "yes", "no", "on", "off", "true", "false", "null"))


class Scalar(str):
    """A value as it is written, ready to stand between brackets."""


def with_given(marks: Marks, given: Mapping[str, str], wanted: Mapping[str, str]) -> str:
    """A spec's text with these keys at its top: `given` in place of its own, `wanted` where it has none.

    What is added stands behind the text, so that every line of it keeps its number. A text that this cannot be done to
    is written anew.
    """
    root, text = marks.root, marks.text
    assert root is not None
    here = {key: value for key, value in given.items() if key in root.value}
    more = {key: value for key, value in {**wanted, **given}.items() if key not in root.value}
    ended = re.search(r"^\.\.\.", text, re.MULTILINE) is not None
    # what was merged by << stands elsewhere in the text, and so does what an alias repeats
    if root.flow or ended or any(marks.shared((key,)) or _block(marks, (key,)) for key in here):
        return merged(marks, None, {**more, **here})
    for key in sorted(here, key=lambda key: -marks.value_span((key,))[0]):
        start, end = marks.value_span((key,))
        text = f"{text[:start]}{quoted(here[key])}{text[end:]}"
    indent = " " * (root.column - 1)
    lines = "".join(f"{indent}{key}: {quoted(value)}\n" for key, value in more.items())
    return text if not lines else f"{text}{'' if text.endswith(chr(10)) else chr(10)}{lines}"


def merged(marks: Marks, change: tuple[Node, str] | None, given: Mapping[str, str]) -> str:
    """A spec's text written anew: a template's tree, with the changes (a node and the text it stands in), and keys
    given at the top."""
    assert marks.root is not None
    tree = _tree(marks.root, marks.text)
    if change is not None:
        tree = _over(tree, _tree(*change))
    tree |= {key: Scalar(quoted(value)) for key, value in given.items()}
    return "".join(_lines(key, value) for key, value in tree.items())


def quoted(text: str) -> str:
    """A text as YAML and JSON both write it."""
    return json.dumps(text, ensure_ascii=False)


def _block(marks: Marks, path: tuple[str, ...]) -> bool:
    """Whether a value is none that can be replaced in its line."""
    node = marks.node(path)
    return node is None or node.kind != "scalar" or "\n" in marks.text[node.start : node.end]


def _tree(node: Node, text: str) -> Any:
    """A node as dicts, lists and scalars as they are written."""
    if node.kind == "mapping":
        return {key: _tree(value, text) for key, value in node.value.items()}
    if node.kind == "list":
        return [_tree(item, text) for item in node.value]
    written = text[node.start : node.end]
    if not written or node.value is None:
        return Scalar("~")
    # of an alias, of a block and of lines that go on only what they say can be moved
    if isinstance(node.value, str) and (written[0] in "*|>" or "\n" in written or _breaks(written)):
        return Scalar(quoted(node.value))
    return Scalar(json.dumps(node.value) if written[0] == "*" else written)


def _breaks(written: str) -> bool:
    """Whether a plain text is none between brackets."""
    return written[0] not in "\"'" and re.search(r"[,\[\]{}]|:$", written) is not None


def _over(tree: Any, change: Any) -> Any:
    """A tree with a change laid over it."""
    if not isinstance(tree, dict) or not isinstance(change, dict):
        return change
    both = {**tree, **{key: _over(tree.get(key), value) for key, value in change.items()}}
    return {key: value for key, value in both.items() if key not in change or value != "~"}


def _lines(key: str, value: Any) -> str:
    """A key of the top with its value: of a list an item a line, of a mapping a key a line."""
    if isinstance(value, list) and value:
        return "".join([f"{_key(key)}:\n", *(f"  - {_inline(item)}\n" for item in value)])
    if isinstance(value, dict) and value:
        return "".join([f"{_key(key)}:\n", *(f"  {_key(k)}: {_inline(v)}\n" for k, v in value.items())])
    return f"{_key(key)}: {_inline(value)}\n"


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return "".join(["{", ", ".join(f"{_key(k)}: {_inline(v)}" for k, v in value.items()), "}"])
    if isinstance(value, list):
        return "".join(["[", ", ".join(map(_inline, value)), "]"])
    return str(value)


def _key(key: str) -> str:
    return key if PLAIN_KEY.fullmatch(key) and key.lower() not in MISREAD_KEYS else quoted(key)
