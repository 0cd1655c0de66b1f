"""The page of a room in several layouts: a switch between them, every word of each made before."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from scenes.dossier import Dossier
from scenes.room.build import build
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS
from tests.viz.browser.opening import opened
from viz.page import page


@pytest.fixture(scope="module")
def text() -> str:
    return page(Dossier.of(build(read_spec_text(LAYOUTS))))


def test_every_layout_is_in_the_page_with_its_own_words(text: str) -> None:
    found = re.search(r'<script type="application/json" id="layouts">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    layouts = json.loads(found[1])
    assert [one["name"] for one in layouts] == ["board", "rows", "halved"]
    assert [one["title"] for one in layouts] == [f"Alder Room ({one['name']})" for one in layouts]
    assert all('data-verdict="caution"' in one["html"]["part-verdict"] for one in layouts)  # that of all
    signs = re.findall(
        r'data-layout="(\w+)".*?data-state="(\w+)"', layouts[0]["html"]["part-layouts"], re.DOTALL
    )
    assert signs == [("board", "covered"), ("rows", "covered"), ("halved", "marginal")]
    for one in layouts:
        assert f'data-layout="{one["name"]}" aria-pressed="true"' in one["html"]["part-layouts"]
        assert {"facts", "explore", "glb"} <= one.keys()
    assert "R-2-3" in layouts[1]["html"]["part-heads"]


def test_at_every_height_the_sentence_and_the_tabs_are_of_all_layouts(text: str) -> None:
    found = re.search(r'<script type="application/json" id="layouts">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    seen = set()
    for layout in json.loads(found[1]):
        explore = layout["explore"]
        texts, lists = explore["texts"], explore["lists"]
        bands = explore["arrays"][0]["bands"]
        for band, k in ((one, k) for one in bands for k in range(len(one["verdict"]))):
            words = [texts[i] for i in lists[band["layouts"][k]]]
            states = {words[i]: words[i + 1] for i in range(0, len(words), 5)}
            fails = explore["verdicts"][int(band["verdict"][k])] == "fail"
            sentence = texts[band["sentence"][k]]
            another = fails and states[layout["name"]] != "missed"
            assert fails == ("missed" in states.values())
            assert sentence.startswith("All layouts: ") or not another
            assert " fails (" in sentence or not another
            seen.add(another)
    assert seen == {True, False}


def test_a_room_without_layouts_has_no_switch() -> None:
    spec = read_spec_text(LAYOUTS)
    made = page(Dossier.of(build(spec.in_layout("board"))))
    assert "data-layout" not in made.split("<script", 1)[0]
    assert 'id="layouts"' not in made


def test_the_switch_is_worked_by_keys_and_stays_under_them(text: str, tmp_path: Path) -> None:
    file = tmp_path / "alder.html"
    file.write_text(text, encoding="utf-8")
    seen = opened(f"{file.as_uri()}#layout=rows", webgl=False)
    seen.until("() => document.querySelector('h1').textContent === 'Alder Room (rows)'")
    seen.page.focus('[data-layout="halved"]')
    seen.page.keyboard.press("Enter")
    seen.until("() => document.querySelector('h1').textContent === 'Alder Room (halved)'")
    assert seen.js("() => document.activeElement.dataset.layout") == "halved"
    assert seen.js("() => document.activeElement.getAttribute('aria-pressed')") == "true"
    assert seen.js("() => new URLSearchParams(location.hash.slice(1)).get('layout')") == "halved"
    assert seen.js("() => document.querySelectorAll('[data-head]').length") == 4
    assert "W1 blocks the view" in seen.js("() => document.querySelector('#verdict').innerText")
    covered = "() => document.querySelector('[data-layout=\"board\"] small').textContent"
    assert seen.js(covered) == "7 of 7"
    seen.page.focus("#dock input[type=range]")
    seen.page.keyboard.press("Home")
    assert seen.js(covered) != "7 of 7"
    seen.page.click("#dock .today")
    assert seen.js(covered) == "7 of 7"
    assert seen.said == []
    seen.page.context.close()
