"""YAML with marks: what is refused, where it stands, and what a later change may be spliced into."""

from __future__ import annotations

import json
import pickle
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from scenes.spec.mistakes import MOST_TOLD, Mistake, SpecMistakes, mistake_at, path_text, shown
from scenes.spec.yaml_tree import LARGEST_FILE, Marks, Misread, decode, plain, read_scalar, read_tree
from viz.words.mistakes import lines

TREE = """\
# a room
name: Ünïcode 😀 room   # and a comment
size: [1, 2.5,  x y]
base: &base
  k: 1
  l: [1]
made:
  <<: *base
  k: 2
quoted: &z "zz"
again: *z
list:
- id: A   # comment
  at:
  h: 7'-10 1/2"

- {id: "B", 'odd key': {}}
last: 1e3
"""


def read(text: str) -> tuple[Marks, object]:
    marks, mistakes = read_tree(text, "room.yaml")
    assert mistakes == []
    assert marks.root is not None
    return marks, plain(marks.root)


def refused(text: str) -> list[Mistake]:
    """All mistakes of a text, whether reading went on or not."""
    try:
        return read_tree(text, "room.yaml")[1]
    except SpecMistakes as mistakes:
        return list(mistakes.mistakes)


def test_reads_the_tree() -> None:
    _, tree = read(TREE)
    assert tree == {
        "name": "Ünïcode 😀 room",
        "size": [1, 2.5, "x y"],
        "base": {"k": 1, "l": [1]},
        "made": {"k": 2, "l": [1]},
        "quoted": "zz",
        "again": "zz",
        "list": [{"id": "A", "at": None, "h": "7'-10 1/2\""}, {"id": "B", "odd key": {}}],
        "last": 1000.0,
    }


@pytest.mark.parametrize(
    ("path", "text", "line", "column"),
    [
        (("name",), "Ünïcode 😀 room", 2, 7),
        (("size",), "[1, 2.5,  x y]", 3, 7),
        (("size", 2), "x y", 3, 17),
        (("base",), "k: 1\n  l: [1]", 4, 7),
        (("made",), "<<: *base\n  k: 2", 8, 3),
        (("quoted",), '"zz"', 10, 9),
        (("again",), "*z", 11, 8),
        (("list", 0), "id: A   # comment\n  at:\n  h: 7'-10 1/2\"", 13, 3),
        (("list", 0, "at"), "", 14, 6),
        (("list", 1), "{id: \"B\", 'odd key': {}}", 17, 3),
        (("last",), "1e3", 18, 7),
    ],
)
def test_a_value_knows_its_own_text(path: tuple[str | int, ...], text: str, line: int, column: int) -> None:
    marks, _ = read(TREE)
    start, end = marks.value_span(path)
    assert TREE[start:end] == text
    assert marks.position(path) == (line, column)


def test_spans_hold_after_windows_line_ends() -> None:
    text = TREE.replace("\n", "\r\n")
    marks, _ = read(text)
    assert text[slice(*marks.value_span(("last",)))] == "1e3"
    assert text[slice(*marks.key_span(("list", 1, "odd key")))] == "'odd key'"


def test_keys_styles_and_sharing() -> None:
    marks, _ = read(TREE)
    assert TREE[slice(*marks.key_span(("list", 1, "odd key")))] == "'odd key'"
    assert marks.mapping_style(("list", 1)) == "flow"
    assert marks.mapping_style(("list", 0)) == "block"
    assert marks.mapping_style(("size",)) == "flow"
    assert [path for path in ("base", "made", "again", "size") if marks.shared((path,))] == ["base", "again"]
    assert marks.shared(("made", "l"))
    assert not marks.shared(("made", "k"))
    for ask in (marks.value_span, marks.key_span, marks.mapping_style):
        with pytest.raises(KeyError):
            ask(("made", "nothing"))
    # What is missing is missing from somewhere.
    assert marks.position(("list", 0, "band")) == (13, 3)


@pytest.mark.parametrize(
    ("text", "line", "path", "found", "code"),
    [
        ("a: 1\nb: 2\na: 3", 3, "a", "a", "repeated-key"),
        ("a: {b: 1, c: [x, {y: 1, y: 2}]}", 1, "a.c[1].y", "y", "repeated-key"),
        ("a: [1, 2", 1, "a[2]", "", "bad-syntax"),
        ("a: 'x", 1, "a", "a: 'x", "bad-syntax"),
        ("a: b: c", 1, "", "a: b: c", "bad-syntax"),
        ("a:\n\tb: 1", 2, "a", "", "tab"),
        ("a: 1\n---\nb: 2", 2, "", "", "second-document"),
        ("", 1, "", "", "empty-file"),
        ("- a\n- b", 1, "", "", "not-keys"),
        ("just text", 1, "", "just text", "not-keys"),
        (
            "a: !!python/object/apply:os.system [ls]",
            1,
            "a",
            "tag:yaml.org,2002:python/object/apply:o…",
            "tag",
        ),
        ("a: !!str 1", 1, "a", "tag:yaml.org,2002:str", "tag"),
        ("a: &x [*x]", 1, "a[0]", "*x", "alias-inside"),
        ("a: *b", 1, "a", "*b", "alias-unknown"),
        ("yes: 1", 1, "", "yes", "key-not-text"),
        ("1: 2", 1, "", "1", "key-not-text"),
        ("? [a]\n: 1", 1, "", "", "key-not-text"),
        ("<<: 1", 1, '["<<"]', "", "merge"),
        ('a: "\\ud800"', 1, "a", 'a: "\\ud800"', "bad-syntax"),
        ("%YAML 9.0\n---\na: 1", 1, "", "%YAML 9.0", "bad-syntax"),
    ],
)
def test_refuses(text: str, line: int, path: str, found: str, code: str) -> None:
    first = refused(text)[0]
    assert (first.path, first.found.text, first.code) == (path, found, code)
    assert first.line in (line, line + 1 if not found and code == "bad-syntax" else line)


@pytest.mark.parametrize(
    ("written", "because"),
    [
        ("010", "number"),
        ("1_000", "number"),
        ("0x1f", "number"),
        ("0b11", "number"),
        ("1:30", "number"),
        (".5", "number"),
        ("5.", "number"),
        (".nan", "number"),
        ("-.inf", "number"),
        ("1e999", "endless"),
        ("yes", "truth"),
        ("No", "truth"),
        ("off", "truth"),
        ("2026-11-25", "date"),
    ],
)
def test_what_yaml_reads_otherwise_than_people_is_marked(written: str, because: str) -> None:
    value = read_scalar(written)
    assert isinstance(value, Misread)
    assert value == written
    assert value.because == because


@pytest.mark.parametrize(
    ("written", "value"),
    [("0", 0), ("-12", -12), ("+3.50", 3.5), ("1e3", 1000.0), ("1.5E-2", 0.015), ("~", None), ("", None)],
)
def test_numbers_are_what_they_seem(written: str, value: object) -> None:
    assert read_scalar(written) == value
    assert type(read_scalar(written)) is type(value)


def test_aliases_cannot_explode() -> None:
    lines = ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 30)]
    started = time.perf_counter()
    assert refused("\n".join(lines))[0].code == "aliases-too-many"
    assert time.perf_counter() - started < 5  # exponential growth would take for ever


def test_chained_aliases_cannot_grow_deep() -> None:
    lines = ["a0: &a0 [1]"] + [f"a{i}: &a{i} [*a{i - 1}]" for i in range(1, 2000)]
    assert refused("\n".join(lines))[0].code == "too-deep"


@pytest.mark.parametrize("opening", ["[", "- ", "{a: ", "? "])
def test_depth_is_refused_not_crashed_into(opening: str) -> None:
    for depth in (60, 100_000):
        first = refused(opening * depth)[0]
        # libyaml has a limit of its own on brackets
        assert first.code == "too-deep" or dict(first.allowed)["problem"] == "exceeded maximum nesting depth"


def test_modest_anchors_are_fine() -> None:
    _, tree = read("a: &a {x: 1}\nb: [*a, *a]\nc: {<<: [*a], y: 2}")
    assert tree == {"a": {"x": 1}, "b": [{"x": 1}, {"x": 1}], "c": {"x": 1, "y": 2}}


def test_bytes_that_are_no_text() -> None:
    for data, line, column, code in [
        (b"a: 1\nb: \xff", 2, 4, "not-utf-8"),
        ("a: ä".encode("utf-16"), 1, 1, "not-utf-8"),
        (b"a: 1\nb: \x00", 2, 4, "control-character"),
        (b"a" * (LARGEST_FILE + 1), 1, 1, "file-too-large"),
    ]:
        with pytest.raises(SpecMistakes) as mistakes:
            decode(data, "room.yaml")
        (one,) = mistakes.value.mistakes
        assert (one.line, one.column) == (line, column)
        assert one.code == code
    assert decode(b"\xef\xbb\xbfa: 1", "room.yaml") == "a: 1"


def test_mistakes_come_in_the_order_of_the_file_and_survive_a_process_pool() -> None:
    wrong = [mistake_at(3, 2, "b", "length", "2"), mistake_at(1, 9, "", "tab")]
    mistakes = SpecMistakes("room.yaml", wrong, "ft")
    assert [one.line for one in mistakes.mistakes] == [1, 3]
    assert mistakes.exit_status == 2
    again = pickle.loads(pickle.dumps(mistakes))
    assert (again.file, again.mistakes, again.units) == (mistakes.file, mistakes.mistakes, "ft")


def test_a_flood_of_mistakes_is_cut_and_counted() -> None:
    mistakes = SpecMistakes("room.yaml", [mistake_at(i, 1, "a", "length", "b") for i in range(1, 1001)])
    assert len(mistakes.mistakes) == MOST_TOLD + 1
    last = mistakes.mistakes[-1]
    assert (last.code, dict(last.allowed)) == ("more-mistakes", {"number": 800})


def test_paths_and_found_values_are_printable() -> None:
    assert path_text(("arrays", 0, "my key", "height")) == "arrays[0].my key.height"
    assert path_text(("a.b", 'c"\n')) == '["a.b"]["c"\\n"]'
    assert shown("a\x1b[31m\ud800\u202e") == "a\\x1b[31m\\ud800\\u202e"


def harmless(text: str) -> None:
    """Whatever is read ends in a tree or in mistakes that stand in the file and can be printed."""
    raised: SpecMistakes | None = None
    try:
        marks, mistakes = read_tree(text, "room.yaml")
    except SpecMistakes as error:
        raised, mistakes = error, list(error.mistakes)
    else:
        assert marks.root is not None
        plain(marks.root)
    if raised is not None:
        assert mistakes
        assert lines(raised).encode("utf-8")
    count = text.count("\n") + text.count("\r") + sum(map(text.count, "\x85\u2028\u2029")) + 2
    assert all(1 <= one.line <= count and one.column >= 1 for one in mistakes)
    json.dumps([one.found.text + one.path for one in mistakes]).encode("utf-8")


@settings(max_examples=100)
@given(st.binary(max_size=200))
@example(b"\xef\xbb\xbf\xef\xbb\xbf")
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        text = decode(data, "room.yaml")
    except SpecMistakes:
        return
    harmless(text)


@settings(max_examples=100)
@given(st.text(st.sampled_from("ab1:-?,[]{}&*!|>'\"%@#\n \t<=.~\x85é\u2028"), max_size=60))
@example("\ud800")
def test_any_yaml_like_text_is_read_or_refused(text: str) -> None:
    harmless(text)


_scalars = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x2FFF, categories=["L", "N", "P", "S"]), max_size=8
)


@settings(max_examples=60)
@given(st.dictionaries(_scalars, st.lists(_scalars | st.integers() | st.booleans(), max_size=4), max_size=5))
def test_values_found_at_their_spans_read_back(tree: dict[str, list[object]]) -> None:
    text = json.dumps(tree, ensure_ascii=False, indent=1)  # flow YAML
    marks, mistakes = read_tree(text, "room.yaml")
    assert mistakes == []
    for key, items in tree.items():
        assert json.loads(text[slice(*marks.key_span((key,)))]) == key
        assert json.loads(text[slice(*marks.value_span((key,)))]) == items
        for i, item in enumerate(items):
            assert json.loads(text[slice(*marks.value_span((key, i)))]) == item
