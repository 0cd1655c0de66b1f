"""One voice: what people read about a room has none of the words that make it a dialect."""

from __future__ import annotations

import io
import json
import re
import shlex
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import ezdxf
import pypdf
import pytest

from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.never import found
from tests.viz.handed import Store
from viz.commands.app import COMMANDS, app_for, run
from viz.commands.demo import copy_room
from viz.commands.examples import EXAMPLES

ROOT = Path(__file__).parents[2]
PAGES = ("README.md", "viz/commands/README.md", "scenes/spec/README.md", "scenes/models/README.md")
"""The README and the pages of reference it links to."""
ROOMS = ("heron", "weir", "ferry", "loft")


def test_forbidden_words_are_found_whatever_their_case_and_only_whole() -> None:
    assert found("Told\nwith --all")
    assert found("Our default: 0.9 m")
    assert found("anybody is\n lost")
    assert not found("a certificate, a tolled bell, `swayed`, unsettled")
    assert not found("--even-so-placed-x")


class _Visible(HTMLParser):
    """What a reader of a page sees: text, texts of attributes, and the texts in its data."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.within: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.texts += [
            named[name] or "" for name in ("title", "alt", "aria-label", "placeholder") if name in named
        ]
        if tag in ("script", "style"):
            self.within = f"{tag} {named.get('type', '')}"

    def handle_endtag(self, tag: str) -> None:
        if tag in ("script", "style"):
            self.within = None

    def handle_data(self, data: str) -> None:
        if self.within is None:
            self.texts.append(data)
        elif "json" in self.within:
            self.texts += strings(json.loads(data))


def strings(value: Any) -> Iterator[str]:
    """Every text of some JSON, its keys left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from strings(part)


def visible(html: str) -> str:
    """What a reader of a page sees."""
    parser = _Visible()
    parser.feed(html)
    return "\n".join(parser.texts)


def pdf_text(pdf: bytes) -> str:
    """The text of a PDF."""
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def dxf_text(path: Path) -> str:
    """Every text of a DXF drawing, attributes too."""
    texts = []
    for entity in ezdxf.readfile(path).entitydb.values():
        if entity.dxftype() in ("TEXT", "ATTRIB", "ATTDEF"):
            texts.append(entity.dxf.text)
        elif entity.dxftype() == "MTEXT":
            texts.append(entity.plain_text())
    return "\n".join(texts)


@pytest.mark.parametrize("command", COMMANDS)
def test_help_speaks_plainly_and_ends_with_examples(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    text = capsys.readouterr().out
    assert not found(text)
    for default in ("False", "True", "None", "()"):
        assert f"[default: {default}]" not in text
    for example in EXAMPLES[command]:
        assert example in " ".join(text.split()).replace(" │ │ ", " "), example


def test_overview_speaks_plainly(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    assert not found(capsys.readouterr().out)


def tokens(example: str) -> list[str]:
    """What a shell would give overtable of an example."""
    program, *rest = shlex.split(example.partition(" > ")[0])
    assert program == "overtable"
    return rest


@pytest.mark.parametrize(
    ("command", "example"), [(name, example) for name in COMMANDS for example in EXAMPLES[name]]
)
def test_examples_can_be_read_by_their_command(command: str, example: str) -> None:
    given = tokens(example)
    assert given[0] == command
    app_for(command).parse_args(given, exit_on_error=False, print_error=False)


QUICK = ("check", "heights", "schema", "new")


@pytest.mark.parametrize("example", [example for name in QUICK for example in EXAMPLES[name]])
def test_examples_run_on_the_demo_rooms(
    example: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for room in ("heron", "weir"):
        copy_room(room, tmp_path)
    (tmp_path / "heron-b.yaml").write_bytes((tmp_path / "heron.yaml").read_bytes())
    monkeypatch.chdir(tmp_path)
    # 1: weir fails, as it is meant to
    assert run(tokens(example)) == ("weir" in example)
    assert not found(capsys.readouterr().err)


@pytest.mark.parametrize("room", ROOMS)
def test_a_review_on_the_terminal_speaks_plainly(
    room: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spec = str(copy_room(room, tmp_path))
    run(["check", spec, "--all"])
    run(["check", spec])
    run(["heights", spec])
    assert not found(capsys.readouterr().out)


@pytest.mark.parametrize("example", EXAMPLES["place"])
def test_a_placement_on_the_terminal_speaks_plainly(
    example: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for room in ("heron", "weir"):
        copy_room(room, tmp_path)
    monkeypatch.chdir(tmp_path)
    assert run(tokens(example)) in (0, 1)
    said = capsys.readouterr()
    assert said.out
    assert not found(said.out + said.err)


@pytest.mark.parametrize("room", ROOMS)
def test_documents_speak_plainly(room: str, handed_over: Store) -> None:
    done = handed_over(room)
    assert done.code in (0, 1)
    read = 0
    wrong = {"terminal": found(done.out + done.err)}
    for path in sorted(done.folder.rglob("*")):
        match path.suffix:
            case ".html":
                text = visible(path.read_text(encoding="utf-8"))
            case ".pdf":
                text = pdf_text(path.read_bytes())
            case ".dxf":
                text = dxf_text(path)
            case ".csv":
                text = path.read_text(encoding="utf-8")
            case _:
                continue
        assert text.strip(), path
        read += 1
        wrong[path.name] = found(text)
    assert read >= 10
    assert not {name: words for name, words in wrong.items() if words}


def prose(markdown: str) -> str:
    """A page without its code: keys of a spec are what they are."""
    return re.sub(r"`[^`\n]+`", "", re.sub(r"```.*?```|(?m:^    [^\n]*$)", "", markdown, flags=re.DOTALL))


@pytest.mark.parametrize("page", PAGES)
def test_pages_of_reference_speak_plainly_and_their_links_lead_somewhere(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    assert not found(prose(text))
    links = re.findall(r"\]\(([^)]+)\)", text)
    assert all((ROOT / page).parent.joinpath(link).is_file() for link in links)
    if page == "README.md":
        assert set(PAGES) - {page} <= set(links)


@pytest.mark.parametrize("page", PAGES)
def test_commands_on_pages_of_reference_can_be_read(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    lines = [
        line.strip().partition("  #")[0] for line in text.splitlines() if line.startswith("    overtable ")
    ]
    assert lines or page in ("viz/commands/README.md", "scenes/spec/README.md")
    for line in lines:
        given = tokens(line)
        app_for(given[0]).parse_args(given, exit_on_error=False, print_error=False)


def test_the_room_on_the_page_about_the_spec_file_is_one() -> None:
    text = (ROOT / "scenes/spec/README.md").read_text(encoding="utf-8")
    (room,) = re.findall(r"```yaml\n(overtable: 1\n.*?)```", text, re.DOTALL)
    assert len(build(read_spec_text(room)).heads) == 8
