"""The page of a folder's rooms: who is kept out, what follows the files, and the page in a real browser."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import expect
from websockets.exceptions import InvalidStatus

from tests.viz.browser.opening import PATIENCE_MS, chromium
from tests.viz.browser.rooms import TWELVE_SEATS
from tests.viz.test_live import PATIENCE_S, Running

SOURCE = Path(__file__).parents[3] / "viz" / "start" / "source"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with one room."""
    here = tmp_path_factory.mktemp("rooms")
    (here / "otter.yaml").write_text(TWELVE_SEATS)
    (here / "private.txt").write_text("nobody's business")
    return here


@pytest.fixture(scope="module")
def running(folder):
    server = Running(folder, "viz.start.server")
    yield server
    assert server.stop() == 0


@pytest.fixture
def line(running):
    """A tab's line, its cards received."""
    with running.line(origin=running.origin) as line:
        heard(line, "card")
        yield line


def heard(line, kind: str) -> dict:
    """The next message of a kind."""
    while True:
        message = json.loads(line.recv(timeout=PATIENCE_S))
        if message["kind"] == kind:
            return message


def answered(line, **message) -> dict:
    """A message's answer."""
    line.send(json.dumps({**message, "seq": 1}))
    while (answer := json.loads(line.recv(timeout=PATIENCE_S))).get("seq") != 1:
        pass
    return answer


def test_only_with_the_token_from_this_server_and_from_its_own_page(running):
    assert running.status() == 200
    assert running.status("../") == 404
    for path in ("private.txt", "room/private.txt/", "room/../otter.yaml/", "room/%2e%2e/otter.yaml/"):
        assert running.status(path) == 404, path
    assert running.status(Host="evil.example") == 403
    assert running.status(Origin="http://evil.example") == 403
    assert running.status("room/otter.yaml/", Host="evil.example") == 403
    for origin in (None, "null", "http://evil.example"):
        with pytest.raises(InvalidStatus) as refused:
            running.line(origin=origin)
        assert refused.value.response.status_code == 403


def test_a_room_is_live_under_its_own_path(running):
    assert running.status("room/otter.yaml/") == 200
    address = running.address
    running.address += "room/otter.yaml/"
    try:
        with running.line(origin=running.origin) as line:
            line.send(json.dumps({"kind": "put", "array": "A1", "height_m": 2.3}))
            assert heard(line, "now")["changed"]
    finally:
        running.address = address


def test_no_message_ends_the_line(line):
    for bad in ("", "[]", "{", '{"kind": 7}', '{"kind": "remove the folder"}', "[" * 5000):
        line.send(bad)
        assert heard(line, "refused")["why"], bad


def test_cards_follow_the_files(running, folder, line):
    (folder / "vole.yaml").write_text(TWELVE_SEATS.replace("Otter Room", "Vole Room"))
    assert [card["file"] for card in heard(line, "folder")["cards"]] == ["otter.yaml", "vole.yaml"]
    while (found := heard(line, "card")["card"])["file"] != "vole.yaml":
        pass
    assert found["title"] == "Vole Room"
    (folder / "vole.yaml").unlink()
    assert [card["file"] for card in heard(line, "folder")["cards"]] == ["otter.yaml"]


def test_the_bundle_is_what_its_source_builds(tmp_path):
    copy, built = tmp_path / "source", tmp_path / "built"
    shutil.copytree(SOURCE, copy, ignore=shutil.ignore_patterns("node_modules"))
    if (SOURCE / "node_modules" / "preact").is_dir():  # who works on the page has it already
        (copy / "node_modules").symlink_to(SOURCE / "node_modules")
    else:
        npm = shutil.which("npm")
        assert npm, "npm is missing: apt-get install npm"
        subprocess.run([npm, "ci", "--ignore-scripts"], cwd=copy, check=True, capture_output=True)
    subprocess.run(["node", "build.mjs", str(built)], cwd=copy, check=True, capture_output=True)
    there = {file.name: file.read_bytes() for file in (SOURCE.parent / "bundle").iterdir()}
    assert there == {file.name: file.read_bytes() for file in built.iterdir()}


def test_the_script_says_nothing_of_its_own():
    """What is shown is text of viz/words: no verdict, no number, no sentence in the source."""
    sources = [path.read_text("utf-8") for path in (SOURCE / "src").glob("*.js*")]
    assert len(sources) > 3
    for word in (
        "toFixed",
        "Intl",
        "toLocaleString",
        '"pass"',
        '"fail"',
        '"caution"',
        '"missed"',
        '"covered"',
    ):
        assert not any(word in source for source in sources), word


def test_a_card_is_opened_by_keys_alone(running):
    page = chromium().new_page(viewport={"width": 1280, "height": 800})
    try:
        page.goto(running.address)
        page.wait_for_selector(".card[data-look] .plan svg")
        assert page.locator(".card h2").all_inner_texts() == ["Otter Room"]
        page.locator(".card .whole").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/room/otter.yaml/")
        assert page.title().startswith("Otter Room")
        page.locator("#live a").click()
        page.wait_for_selector(".card[data-look] .plan svg")
    finally:
        page.close()


def test_a_room_is_made_by_keys_alone(running, folder):
    page = chromium().new_page(viewport={"width": 1280, "height": 800})
    try:
        page.goto(f"{running.address}#/new")
        page.wait_for_selector(".drawing svg")
        page.locator("#field-name").focus()
        page.keyboard.press("Control+A")
        page.keyboard.type("Marten Room")
        page.locator("#field-size").fill("7.2 furlongs")
        page.wait_for_selector("#field-size[aria-invalid=true]")
        assert "7.2 furlongs" in page.locator("#field-size-wrong").inner_text()
        page.locator("#field-size").fill("7.2 x 4.8")
        page.wait_for_selector("#field-size:not([aria-invalid])")
        expect(page.locator("#field-file")).to_have_value("marten-room.yaml", timeout=PATIENCE_MS)
        page.keyboard.press("Enter")
        page.wait_for_url("**#/place/marten-room.yaml")
        expect(page.locator("h1")).to_have_text("Marten Room", timeout=PATIENCE_MS)
        # what it opens with can be searched, and the heading has the focus
        assert page.locator("h1").evaluate("node => node === document.activeElement")
        assert page.locator(".found .act").is_enabled()
    finally:
        page.close()
    assert "size: [7.2, 4.8]" in (folder / "marten-room.yaml").read_text()
    assert (folder / "marten-room.svg").exists()
