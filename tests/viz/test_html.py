"""HTML comes out of templates: escaped, complete, without a sentence of their own, and loaded only where it is made."""

from __future__ import annotations

import html
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from scenes.dossier import Dossier
from scenes.project.reading import ProjectRoom
from scenes.room.scene import Scene
from scenes.spec.lengths import UNITS
from tests.viz.rooms import demo_scene
from viz import building_index
from viz.handover import Made, index_html, summary_of
from viz.html import environment, rendered
from viz.page import fragments
from viz.words import projects, verdict
from viz.words.cautions import CautionText
from viz.words.locale import Locale

TEMPLATES = Path(__file__).parents[2] / "viz" / "templates"
LOCALE = Locale(UNITS[0])
HOSTILE = "<script>alert('x')</script> \"&amp; </title>"
"""A name that would run, close a title, end an attribute and read as another if it went through as it is."""


@pytest.fixture(scope="module")
def hostile() -> Dossier:
    """A demo room in which room, project and talkers have hostile names."""
    scene = demo_scene("heron")
    heads = tuple(replace(head, id=f"{head.id}{HOSTILE}") for head in scene.heads)
    return Dossier(replace(scene, name=HOSTILE, project=HOSTILE, heads=heads))


class _Tags(HTMLParser):
    """The tags, attributes and texts of a page, unescaped."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.texts: list[str] = []
        self.attributes: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [value for _, value in attrs if value is not None]

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def read(text: str) -> _Tags:
    tags = _Tags()
    tags.feed(text)
    return tags


def made(dossier: Dossier) -> Made:
    return Made(
        name=dossier.scene.name,
        slug="room",
        verdict=dossier.review.verdict,
        sentence=verdict.paragraph(dossier.review),
        files=(("pictures/corner.png", HOSTILE), ("a.dxf", HOSTILE), ("a.svg", HOSTILE)),
        left_out=(HOSTILE,),
        cautions=(CautionText("load", HOSTILE, HOSTILE, "", HOSTILE, HOSTILE, None),),
        mark=HOSTILE,
        line=HOSTILE,
        advice=HOSTILE,
        summary=summary_of(dossier),
        row=projects.line(dossier.review),
    )


def test_a_hostile_name_stays_a_name_on_the_index_of_a_room(hostile: Dossier) -> None:
    page = read(index_html(hostile, made(hostile)))
    assert "script" not in page.tags
    assert page.texts.count(HOSTILE) >= 4
    assert any(value.startswith(f"{HOSTILE} from a corner") for value in page.attributes)


def test_a_hostile_name_stays_a_name_on_the_index_of_a_project(hostile: Dossier) -> None:
    why = f"{HOSTILE}:1:1"
    unread = ProjectRoom(1, HOSTILE, HOSTILE, HOSTILE, HOSTILE, None)
    room = building_index.Listed(replace(unread, index=0), made(hostile), "a")
    listed = [room, building_index.Listed(unread, ValueError(why), None, why)]
    page = read(building_index.index_html(HOSTILE, listed, [(HOSTILE, ["a.csv"])], why))
    # one script, known by its digest; nothing of a name gets into it
    assert page.tags.count("script") == 1
    assert page.texts.count(why) == 2
    assert page.texts.count(HOSTILE) >= 6


def test_a_hostile_name_stays_a_name_in_the_fragments_of_the_page(hostile: Dossier) -> None:
    scene, review = hostile.scene, hostile.review
    parts = (
        fragments.heads(scene, review),
        fragments.arrays(scene, review),
        fragments.verdict(review),
        fragments.clearances(scene, review),
        fragments.live_bar(HOSTILE, LOCALE),
        fragments.cautions([(HOSTILE, HOSTILE, HOSTILE)], LOCALE),
        fragments.tools([{"name": HOSTILE, "title": HOSTILE}], ("shell",), LOCALE),
    )
    for part in parts:
        assert "script" not in read(part).tags
    assert f"{scene.heads[0].id}" in read(parts[0]).texts
    assert HOSTILE in read(parts[6]).attributes
    assert any(text.endswith(HOSTILE) for text in read(parts[4]).texts)


def test_markup_goes_into_another_template_as_it_is() -> None:
    assert html.unescape("&lt;") == "<"
    inner = rendered("page/hold.html", LOCALE, kind="open", mark="<b>")
    assert "&lt;b&gt;" in inner
    assert "&amp;lt;" not in rendered("page/cautions.html", LOCALE, cautions=[(inner, "", "")])


def test_a_field_that_is_not_given_is_an_error() -> None:
    with pytest.raises(UndefinedError, match="mark"):
        rendered("page/hold.html", LOCALE, kind="open")


def words_of(template: str) -> list[str]:
    """The words a reader would see of a template that are not what a value or a message says."""
    page = _Tags()
    page.feed(re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}|<style>.*?</style>", " ", template, flags=re.DOTALL))
    labels = re.findall(r'(?:title|alt|aria-label|placeholder)="([^"{]*[A-Za-z][^"{]*)"', template)
    return [*re.findall(r"[A-Za-z]{2,}", " ".join(page.texts)), *labels]


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: path.stem)
def test_no_template_says_a_word_of_its_own(path: Path) -> None:
    text = path.read_text("utf-8")
    assert words_of(text) == []
    assert not re.search(r"\|\s*(safe|format|round)\b|autoescape", text)
    environment().parse(text)


def test_the_walk_over_templates_finds_words_and_labels() -> None:
    assert words_of('<p>{{ name }} Hello there</p><a title="To the top">{% if x %}</a>') == [
        *("Hello", "there", "To the top")
    ]


def test_a_check_loads_no_jinja() -> None:
    code = (
        "import sys; from viz.commands.main import main; sys.argv=['overtable','check','scenes/rooms/heron.yaml'];\n"
        "try: main()\nexcept SystemExit: pass\n"
        "print('jinja2' in sys.modules, 'markupsafe' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=TEMPLATES.parents[1], check=False
    )
    assert done.stderr.split()[-2:] == ["False", "False"]
    assert "Heron" in done.stdout


def test_every_room_has_its_own_language_on_the_page() -> None:
    american = Locale("ft", "en-US")
    assert "center" in american.say("column.from centre").lower()
    scene: Scene = demo_scene("heron")
    assert "From a corner" in fragments.tools([], (), Locale.of(scene))
