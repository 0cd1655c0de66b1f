"""Facts below, words above: no floor under viz/words says a sentence, and nothing beside it decides or formats.

Every walker has a test that it finds what it is for. An exception is named with its reason, and one that has nothing
left to excuse fails.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Final

import pytest

from viz.words.english import MESSAGES

ROOT = Path(__file__).parents[1]
WORDS = ROOT / "viz" / "words"

Walker = Callable[[ast.Module], Iterator[tuple[int, str]]]


def files(*folders: str, but: Path | None = None) -> list[Path]:
    """The Python files of these folders, those under `but` left out."""
    found = (path for folder in folders for path in sorted((ROOT / folder).rglob("*.py")))
    return [path for path in found if but is None or but not in path.parents]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def parsed(text: str) -> ast.Module:
    return ast.parse(text)


def within(nodes: Iterator[ast.AST]) -> set[int]:
    return {id(inner) for node in nodes for inner in ast.walk(node)}


def unread(tree: ast.Module) -> set[int]:
    """The nodes whose texts are not said by a program: docstrings, annotations, descriptions of a schema's fields, and
    what a programmer's error holds."""
    docstrings = {
        id(statement.value)
        for node in ast.walk(tree)
        for statement in (
            getattr(node, "body", None) if isinstance(getattr(node, "body", None), list) else ()
        )
        if isinstance(statement, ast.Expr)
    }

    def others() -> Iterator[ast.AST]:
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                called = (
                    node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                )
                if called in ERRORS:
                    yield node
                elif called in ("Field", "Parameter"):
                    yield from (k.value for k in node.keywords if k.arg in ("description", "title", "help"))
            elif isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "Literal":
                yield node.slice

    return docstrings | within(others())


ERRORS: Final = (
    "ValueError",
    "TypeError",
    "KeyError",
    "NotImplementedError",
    "RuntimeError",
    "AssertionError",
)


# ---------------------------------------------------------------- 3: no English below


def english(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Texts of three words or more, and f-strings with two letters in a row beside a space."""
    joined = (node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr))
    skipped = unread(tree) | {id(part) for node in joined for part in node.values}
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            if len(re.findall(r"[A-Za-z]{2,}(?=\s)", f"{node.value} ")) >= 3:
                yield node.lineno, node.value
        elif isinstance(node, ast.JoinedStr):
            texts = [str(part.value) for part in node.values if isinstance(part, ast.Constant)]
            if any(re.search(r"[A-Za-z]{2,}\s|\s[A-Za-z]{2,}", text) for text in texts):
                yield node.lineno, ast.unparse(node)


NO_ENGLISH: Final[Mapping[str, str]] = {
    "geometry/records.py": "the text of a constructor as Python, and what a program that assigns to a record is told",
    "scenes/models/kinds.py": "names that models give things, in several languages, looked for by a regular expression",
    "scenes/models/drawing.py": "a regular expression that matches nothing: no layer is of that kind",
    "scenes/place/problem.py": "an id of an array that stands for any other in a rule, never shown",
    "scenes/project/schema.py": "the schema's own title",
    "scenes/review/blockers.py": "names of walls as the contract gives them in JSON: wall 3",
    "scenes/room/populations.py": "names of surveyed people, as specs give them",
    "scenes/room/provenance.py": "a name of surveyed people, as specs give it",
    "scenes/spec/measured.py": "a table of measurements as the YAML that is read instead",
    "scenes/spec/undoing.py": "the mark in the copy of a spec's file, which is read again",
    "scenes/spec/writing.py": "a length of feet and inches as a spec's file has it",
    "scenes/spec/values.py": "descriptions in the schema that editors show",
    "scenes/spec/schema.py": "the schema's own title and descriptions",
    "scenes/starting.py": "lines of YAML that a first spec is written as, and the answers it understands",
}
"""Files below that hold texts of three words, each with its reason."""


def below() -> list[tuple[str, int, str]]:
    """The English of the floors below, names of findings left out: viz/words has a message for each of those."""
    names = names_of_findings()
    return [
        (name_of(path), line, text)
        for path in files("scenes", "geometry")
        for line, text in english(parsed(path.read_text("utf-8")))
        if text not in names
    ]


def names_of_findings() -> set[str]:
    """Every value of a Literal of `scenes` and `geometry`."""
    found = set()
    for path in files("scenes", "geometry"):
        for node in ast.walk(parsed(path.read_text("utf-8"))):
            if isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "Literal":
                inner = ast.walk(node.slice)
                found |= {n.value for n in inner if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return found


def test_no_floor_below_words_says_a_sentence() -> None:
    assert [one for one in below() if one[0] not in NO_ENGLISH] == []


def test_the_walk_finds_english() -> None:
    tree = parsed(
        '"""A doc string of words."""\n'
        'a = "the array is too near"\n'
        'b = f"too near by {x} metres"\n'
        'c = f"{id}-up"\n'
        'raise ValueError("not a thing that people read")\n'
        'd: Literal["far too many words here"]\n'
    )
    assert [line for line, _ in english(tree)] == [2, 3]


# ---------------------------------------------------------------- 3b: no sentence of viz beside viz/words

WORD = re.compile(r"(?:\0|[A-Za-z]?[a-z'’]+|[A-Z]{2,}|[a-z]+-[a-z]+)[.,:;?!]*$|-?-?$")
"""A word of a sentence, or (\\0) a value set into it. A name of a program or a file's format is none."""
FEWEST_WORDS: Final = 3
MARKUP = re.compile(r"</?[a-z?][^<>]*>")


def spoken(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Texts with three words in a row or more, at least two of them its own; an f-string's values are words too.

    Messages' names are none, nor are docstrings, a programmer's errors and help, which cyclopts reads.
    """
    joined = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    skipped = unread(tree) | {id(part) for node in joined for part in ast.walk(node) if part is not node}
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        elif isinstance(node, ast.JoinedStr):
            text = "".join(str(p.value) if isinstance(p, ast.Constant) else "\0" for p in node.values)
        else:
            continue
        if not {text, f"column.{text}"} & set(MESSAGES) and _is_sentence(MARKUP.sub(" ", text)):
            yield node.lineno, text.replace("\0", "…")


def _is_sentence(text: str) -> bool:
    run: list[str] = []
    for word in text.split():
        if WORD.match(word.strip('()[]"“”')):
            run.append(word)
            if len(run) >= FEWEST_WORDS and sum("\0" not in one for one in run) >= 2:
                return True
        else:
            run = []
    return False


SPEAKS: Final[Mapping[str, str]] = {
    "viz/cards/hanging_sketch.py": "the name of a finding: where a box is",
    "viz/commands/app.py": "a line of help for each command, beside the docstrings that are its help",
    "viz/commands/errors.py": "what cyclopts says, looked for by a regular expression",
    "viz/commands/examples.py": "command lines of the help, to type",
    "viz/commands/new.py": "an answer that the questions of scenes/starting understand",
    "viz/diagrams.py": "a page's setting as typst reads it",
    "viz/drawing.py": "a program that a child process runs to see whether it can draw",
    "viz/page/__init__.py": "a policy of the page as browsers read it",
    "viz/palette.py": "the name of a colour",
    "viz/stills.py": "the name of a field in a PNG, for programs that measure in it",
    "viz/sheets/chains.py": "an assertion for whoever changes the search for free places",
    "viz/sheets/drawing.py": "a size of paper: its two sides, in an error",
    "viz/sheets/heights.py": "the name of a line's look",
    "viz/sheets/legends.py": "the name of a sample in a legend",
    "viz/sheets/lettering.py": "the name of the typeface",
    "viz/sheets/render.py": "the layout of a sheet's PDF as typst reads it",
}
"""Files beside words that hold three words in a row, each with its reason."""


def test_no_sentence_of_viz_stands_beside_words() -> None:
    assert [one for one in beside_words(spoken) if one[0] not in SPEAKS] == []


def test_the_walk_finds_sentences() -> None:
    tree = parsed(
        '"""A doc string of words."""\n'
        'a = "the array may hang here"\n'
        'b = f"{path} is a folder"\n'
        'c = f"all {count} arrays"\n'
        'd = f"{id}/cut face"\n'
        'e = "elevation band"\n'
        'f = "use.room and all"\n'
        'g = \'<text class="a" x="1">\'\n'
        'raise ValueError("not a thing that people read")\n'
        'Parameter(help="The height above the floor.")\n'
        'h = "from vtkmodules.vtkCommonCore import vtkPoints"\n'
        'i = ("Not written: this cannot " + "be.")\n'
    )
    assert [line for line, _ in spoken(tree)] == [2, 3, 4, 12]


TYPST_TEXT = re.compile(r'^ *=+ +(?!#)\S.*$|"[A-Z][a-z][^"]*"|\[[A-Z][a-z]+ [^\]]*\]', re.MULTILINE)


def typst_texts(text: str) -> list[str]:
    """Headings and quoted or bracketed words of a typst file that come from no field of its data."""
    code = re.sub(r"(?m)^\s*//.*$", "", re.sub(r'font: "[^"]*"', "", text))
    return TYPST_TEXT.findall(code)


def test_the_report_s_layout_holds_no_text() -> None:
    assert typst_texts((ROOT / "viz" / "report.typ").read_text("utf-8")) == []


def test_the_walk_finds_texts_of_a_layout() -> None:
    layout = (
        '= At a glance\n== #told.title\n("Who", "Signs for")\n// A remark of words.\n[As installed on site]\n'
    )
    assert typst_texts(layout) == ["= At a glance", '"Who"', '"Signs for"', "[As installed on site]"]


# ---------------------------------------------------------------- 4: nothing outside words formats


def formatting(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Format specs, `%`, `.format`, a round() that becomes text, and units beside a value."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            yield node.lineno, ast.unparse(node)
        elif isinstance(node, ast.Call):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if (called == "format" and isinstance(node.func, ast.Attribute)) or (
                called == "str" and _rounds(node)
            ):
                yield node.lineno, ast.unparse(node)
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod):
            if isinstance(node.left, ast.Constant) and isinstance(node.left.value, str):
                yield node.lineno, ast.unparse(node)
        elif isinstance(node, ast.JoinedStr):
            parts = node.values
            if any(isinstance(part, ast.FormattedValue) and _rounds(part) for part in parts) or any(
                isinstance(before, ast.FormattedValue)
                and isinstance(after, ast.Constant)
                and re.match(r"\s?(°|′|″|cm|mm|m|ft|in|kg|dB|%)(?![\w-])", str(after.value))
                for before, after in pairwise(parts)
            ):
                yield node.lineno, ast.unparse(node)


def _rounds(node: ast.AST) -> bool:
    return any(isinstance(one, ast.Call) and getattr(one.func, "id", "") == "round" for one in ast.walk(node))


FORMATS: Final[Mapping[str, str]] = {
    "viz/sheets/render.py": "numbers of SVG, typst and PDF as those formats write them",
    "viz/sheets/symbols.py": "names of blocks in a DXF, which hold a digest and sizes",
    "viz/sheets/lettering.py": "code points of letters, as Unicode writes them",
    "viz/sheets/changes.py": "numbers of sheets of one set: CH-01",
    "viz/sheets/drawing.py": "numbers of sheets of one set: A-01; a size of paper in an error",
    "viz/sheets/draft.py": "a scale's number in the name of a block",
    "viz/exports.py": "numbers of OBJ and MTL as those formats write them",
    "viz/bcf.py": "numbers of BCF's XML",
    "viz/plan_svg.py": "numbers of SVG",
    "viz/section_svg.py": "numbers of SVG",
    "viz/diagrams.py": "numbers of SVG",
    "viz/page/__init__.py": "an escape of JavaScript in JSON",
    "viz/palette.py": "a colour as CSS and DXF write it",
    "viz/commands/new.py": "lines of YAML with their unit, in a first spec",
}
"""Files beside words that put numbers into a file format, each with its reason."""


def beside_words(walker: Walker) -> list[tuple[str, int, str]]:
    return [
        (name_of(path), line, text)
        for path in files("viz", but=WORDS)
        for line, text in walker(parsed(path.read_text("utf-8")))
    ]


def test_no_output_module_formats_a_number() -> None:
    assert [one for one in beside_words(formatting) if one[0] not in FORMATS] == []


def test_the_walk_finds_formatting() -> None:
    tree = parsed(
        'f"{x:.2f}"\n"%s m" % x\n"{} m".format(x)\nstr(round(x))\nf"{round(x)} of"\nf"{x} mm"\nf"{x}-{y}"\nf"{x} more"\n'
    )
    assert sorted(line for line, _ in formatting(tree)) == [1, 2, 3, 4, 5, 6]


# ---------------------------------------------------------------- 5: nothing outside words decides

DECIDED: Final = {"state", "verdict", "sight", "basis", "rule", "margin_m", "slack_m", "tolerance"}
"""Fields of findings that say how something stands."""
CHOOSING: Final = {"sum", "any", "all", "min", "max"}


def deciding(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Comprehensions that choose by how something stands, and sums, alls, least and most over it.

    A look or a text taken from a mapping by a state, and a message of one, is no choice.
    """
    for node in ast.walk(tree):
        if isinstance(node, ast.ListComp | ast.SetComp | ast.GeneratorExp | ast.DictComp):
            conditions = [condition for one in node.generators for condition in one.ifs]
            if any(_stands(condition) for condition in conditions):
                yield node.lineno, ast.unparse(node)
        elif (
            isinstance(node, ast.Call)
            and getattr(node.func, "id", "") in CHOOSING
            and any(map(_stands, node.args))
        ):
            yield node.lineno, ast.unparse(node)


def _stands(node: ast.AST) -> bool:
    return any(isinstance(one, ast.Attribute) and one.attr in DECIDED for one in ast.walk(node))


DECIDES: Final[Mapping[str, str]] = {
    "viz/stills.py": "which of two marks at one spot is drawn, and which states the legend explains",
}
"""Files beside words that choose by how something stands, each with its reason."""


def test_no_output_module_decides() -> None:
    assert [one for one in beside_words(deciding) if one[0] not in DECIDES] == []


def test_the_walk_finds_decisions() -> None:
    tree = parsed(
        'sum(c.state == "clear" for c in some)\n'
        "[c for c in some if c.margin_m < 0]\n"
        "any(made.verdict == 'fail' for made in rooms)\n"
        "max(a.slack_m for a in arrays)\n"
        "[LOOK[c.state] for c in some]\n"
        "[c for c in some if c.id]\n"
    )
    assert sorted({line for line, _ in deciding(tree)}) == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("excused", "found"),
    [
        (NO_ENGLISH, below),
        (SPEAKS, lambda: beside_words(spoken)),
        (FORMATS, lambda: beside_words(formatting)),
        (DECIDES, lambda: beside_words(deciding)),
    ],
    ids=["english", "speaks", "formats", "decides"],
)
def test_no_exception_is_without_use(
    excused: Mapping[str, str], found: Callable[[], list[tuple[str, int, str]]]
) -> None:
    assert set(excused) - {one[0] for one in found()} == set()
    assert all(len(reason.split()) > 1 for reason in excused.values())


# ---------------------------------------------------------------- 6: the page's script looks up, and says nothing

SCRIPTS = ROOT / "viz" / "page" / "source" / "src"
VERDICTS: Final = ("pass", "fail", "caution", "missed", "marginal", "covered", "blocked")


def page_faults(text: str) -> list[str]:
    """What makes a number a text, knows a verdict, or says a sentence, in a script without its comments."""
    code = re.sub(
        r"/\*.*?\*/|(?m:(?<![:\w])//.*$)", "", re.sub(r"/\* glsl \*/ `.*?`", "", text, flags=re.DOTALL)
    )
    code = re.sub(r"/\*.*?\*/", "", code, flags=re.DOTALL)
    found = re.findall(r"toFixed|\bIntl\b|toLocaleString|toPrecision", code)
    quoted = [a or b or c for a, b, c in re.findall(r'"([^"\n]*)"|\'([^\'\n]*)\'|`([^`]*)`', code)]
    found += [text for text in quoted if text in VERDICTS]
    said = (re.sub(r"\$\{[^}]*\}", "", text) for text in quoted)
    return found + [text for text in said if re.search(r"[A-Z][a-z]+ (?:[a-z]+ )+|[a-z] [a-z]+\.$", text)]


@pytest.mark.parametrize("path", sorted(SCRIPTS.glob("*.js")), ids=lambda path: path.stem)
def test_the_page_s_script_formats_judges_and_says_nothing(path: Path) -> None:
    assert page_faults(path.read_text("utf-8")) == []


def test_the_walk_finds_what_a_script_must_not_do() -> None:
    script = (
        "x.toFixed(2); new Intl.NumberFormat(); y.toLocaleString();\n"
        'if (v === "fail") tell(`Written to the ${file}.`);\n'
        'tell("The server has stopped"); $("#height"); // a comment of some words.\n'
    )
    assert len(page_faults(script)) == 6
