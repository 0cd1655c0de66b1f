"""The live page: what-ifs against the review, the file followed and written, and who is kept out."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from scenes.review.review import review
from scenes.room.build import read_scene
from scenes.spec.mistakes import WriteRefused
from scenes.spec.reading import read_spec
from tests.viz.browser.opening import opened
from tests.viz.browser.rooms import TWELVE_SEATS
from viz.live import MOST_ARRAYS, Desk, Refused, Server, now, read, table, whole_room
from viz.serving import LARGEST_MESSAGE
from viz.words import coverage
from viz.words.locale import Locale

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60


@pytest.fixture
def spec(tmp_path):
    """A copy of the twelve-seat room's spec."""
    path = tmp_path / "otter.yaml"
    path.write_text(TWELVE_SEATS, encoding="utf-8")
    return path


@pytest.fixture
def desk(spec):
    return Desk(read(spec))


class Running:
    """A server in a process of its own, as a designer would have it."""

    def __init__(self, spec: Path, module: str = "viz.live") -> None:
        code = f"import sys; from {module} import serve; serve(sys.argv[1], open_browser=False)"
        self.process = subprocess.Popen(
            [sys.executable, "-c", code, str(spec)], cwd=ROOT, stderr=subprocess.PIPE, text=True
        )
        line = self.process.stderr.readline()
        assert " at http://127.0.0.1:" in line, line
        self.address = line.split(" at ")[1].strip()
        self.port = int(self.address.split(":")[2].split("/")[0])
        self.origin = f"http://127.0.0.1:{self.port}"

    def line(self, origin: str | None = None, host: str | None = None, token: str | None = None):
        """A websocket to it, as its own page would open one unless told otherwise."""
        address = self.address if token is None else f"{self.origin}/{token}/"
        headers = {"Host": host} if host else None
        return connect(
            address.replace("http:", "ws:") + "talk", origin=origin, additional_headers=headers, max_size=None
        )

    def status(self, path: str = "", **headers: str) -> int:
        """The HTTP status of a path behind the token."""
        request = urllib.request.Request(self.address + path, headers=headers)
        try:
            with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
                return int(answer.status)
        except urllib.error.HTTPError as refused:
            return refused.code

    def stop(self) -> int:
        """Ctrl-C; the exit status."""
        self.process.send_signal(signal.SIGINT)
        status = self.process.wait(timeout=PATIENCE_S)
        self.process.stderr.close()
        return status


@pytest.fixture
def running(spec):
    server = Running(spec)
    yield server
    if server.process.poll() is None:
        server.stop()


def asked(line, **message) -> dict:
    """A message's answer."""
    line.send(json.dumps(message))
    return json.loads(line.recv(timeout=PATIENCE_S))


# ---------------------------------------------------------------- what-ifs, without a server


def test_a_what_if_is_what_the_review_says(desk, spec):
    desk.put({"array": "A1", "at_m": [3.1, 2.2], "height_m": 2.05, "band": "low"})
    expected = review(read_scene(spec).with_array("A1", at_m=(3.1, 2.2), height_m=2.05, band_name="low"))
    told = now(desk, 7)
    assert (told["seq"], told["changed"]) == (7, True)
    states = [(head.id, head.state, head.array) for head in expected.heads]
    assert [(h["id"], h["state"], h["array"]) for h in told["facts"]["heads"]] == states
    assert coverage.of_heads(expected.heads, Locale("m")) in told["html"]["part-verdict"]
    assert len(told["facts"]["clearances"]) == len(expected.clearances)


def test_the_height_stays_between_floor_and_ceiling(desk):
    desk.put({"array": "A1", "height_m": 99})
    assert desk.scene.arrays[0].top_m == pytest.approx(2.8)
    desk.put({"array": "A1", "height_m": -99})
    assert desk.scene.arrays[0].underside_m == pytest.approx(0)


@pytest.mark.parametrize(
    ("message", "said"),
    [
        ({"array": "A9", "at_m": [3, 2]}, "A9"),
        ({"array": "A1", "at_m": [30, 2]}, "outside the room"),
        ({"array": "A1", "at_m": [3]}, "x, y"),
        ({"array": "A1", "at_m": [3, "2"]}, "number"),
        ({"array": "A1", "at_m": [3, True]}, "number"),
        ({"array": "A1", "height_m": float("nan")}, "number"),
        ({"array": "A1", "height_m": 10**400}, "number"),
        ({"array": "A1", "band": "sideways"}, "low, mid and high"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(desk, message, said):
    before = desk.scene
    with pytest.raises(Refused, match=said):
        desk.put(message)
    assert desk.scene is before


def test_an_added_array_hangs_apart_and_can_be_taken_away(desk):
    id = desk.add()
    assert id == "A2"
    a, b = (array.centre_m for array in desk.scene.arrays)
    assert abs(a[0] - b[0]) + abs(a[1] - b[1]) > 1
    added = {
        array["id"]: array["added"] for array in whole_room(desk.scene, desk.reading.scene)["facts"]["arrays"]
    }
    assert added == {"A1": False, "A2": True}
    desk.remove({"array": "A2"})
    assert not desk.changed
    with pytest.raises(Refused, match="in the spec"):
        desk.remove({"array": "A1"})
    for _ in range(MOST_ARRAYS - 1):
        desk.add()
    with pytest.raises(Refused, match=str(MOST_ARRAYS)):
        desk.add()


def test_the_table_is_for_the_place_on_the_page(desk):
    desk.put({"array": "A1", "at_m": [3.0, 2.4]})
    told = table(desk)
    explore = told["explore"]
    entry = explore["arrays"][0]
    assert len(told["rings_over"]["A1"]["mid"]) == len(entry["heights_m"])
    mid = next(b for b in entry["bands"] if b["name"] == "mid")
    judged = review(desk.scene)
    said = [explore["standings"][int(head["standing"][entry["own"]])] for head in mid["heads"]]
    assert [one["state"] for one in said] == [head.standing for head in judged.heads]
    assert explore["verdicts"][int(mid["verdict"][entry["own"]])] == judged.verdict


def test_writing_asks_first_and_keeps_every_other_byte(desk, spec):
    desk.put({"array": "A1", "at_m": [3.4567, 2.4], "height_m": 2.31})
    with pytest.raises(Refused, match="Ask for the changed lines first"):
        desk.write()
    lines = desk.offer()
    assert [line[:2] for line in lines.splitlines()] == ["--", "++", "@@", "- ", "+ "]
    desk.write()
    expected = TWELVE_SEATS.replace(
        "at: [3.5, 2.5], height: 2.2, band", "at: [3.4567, 2.4], height: 2.31, band"
    )
    assert spec.read_text() == expected
    assert "# where we thought at first" in spec.read_text()


def test_a_change_after_the_question_has_to_be_asked_again(desk):
    desk.put({"array": "A1", "height_m": 2.31})
    desk.offer()
    desk.put({"array": "A1", "height_m": 2.32})
    with pytest.raises(Refused):
        desk.write()


def test_a_file_changed_meanwhile_is_not_overwritten(desk, spec):
    desk.put({"array": "A1", "height_m": 2.31})
    desk.offer()
    spec.write_text(TWELVE_SEATS + "# somebody else was here\n")
    with pytest.raises(WriteRefused, match="changed since"):
        desk.write()
    assert spec.read_text().endswith("was here\n")


@pytest.mark.parametrize("style", ["one line", "block", "windows"])
def test_an_added_array_is_written_as_a_line_of_its_own(tmp_path, style):
    text = TWELVE_SEATS
    if style == "block":
        text = text.replace(
            "  - {id: A1, profile: finch, at: [3.5, 2.5], height: 2.2, band: mid}  # where",
            "  - id: A1\n    profile: finch\n    at: [3.5, 2.5]\n    height: 2.2\n    band: mid  # where",
        )
    if style == "windows":
        text = text.replace("\n", "\r\n")
    path = tmp_path / "otter.yaml"
    path.write_bytes(text.encode())
    desk = Desk(read(path))
    desk.add()
    desk.put({"array": "A2", "at_m": [5.0, 2.5], "height_m": 2.4, "band": "low"})
    desk.offer()
    desk.write()
    after = path.read_bytes().decode()
    line = "  - {id: A2, profile: finch, at: [5, 2.5], height: 2.4, band: low}"
    end = "\r\n" if style == "windows" else "\n"
    assert after.replace(line + end, "") == text
    assert [array.id for array in read_spec(path).arrays] == ["A1", "A2"]


def test_an_added_array_takes_an_id_that_nothing_in_the_file_has(tmp_path):
    path = tmp_path / "otter.yaml"
    path.write_text(TWELVE_SEATS.replace("{id: SP2,", "{id: A2,"))
    desk = Desk(read(path))
    assert desk.add() == "A3"
    desk.offer()
    desk.write()
    assert [array.id for array in read_spec(path).arrays] == ["A1", "A3"]


def test_a_search_is_dropped_when_the_room_changed_meanwhile(spec):
    sent = []

    class Line:
        async def send_text(self, text: str) -> None:
            sent.append(json.loads(text))

    async def both() -> None:
        server = Server(spec, 1, "t")
        desk = Desk(server.reading)
        searching = asyncio.create_task(server.search(Line(), desk))
        await asyncio.sleep(0)
        desk.put({"array": "A1", "height_m": 2.5})
        await searching

    # in a thread of its own: the browser of other tests keeps an event loop running in this one
    thread = threading.Thread(target=lambda: asyncio.run(both()))
    thread.start()
    thread.join(PATIENCE_S)
    assert [message["kind"] for message in sent] == ["refused"]
    assert "changed during the search" in sent[0]["why"]


# ---------------------------------------------------------------- who is kept out


def test_only_this_machine_and_only_with_the_token(running):
    assert running.status() == 200
    assert len(running.address.rsplit("/", 2)[1]) >= 32
    with pytest.raises(urllib.error.HTTPError) as wrong:
        urllib.request.urlopen(f"{running.origin}/not-the-token/")
    assert wrong.value.code == 404
    with pytest.raises(urllib.error.HTTPError):
        urllib.request.urlopen(f"{running.origin}/")
    with pytest.raises(InvalidStatus):
        running.line(origin=running.origin, token="not-the-token")
    # the kernel's table of listening sockets, addresses in hexadecimal: this port on 127.0.0.1 and nowhere else
    listening = [
        row.split()[1]
        for table_ in ("/proc/net/tcp", "/proc/net/tcp6")
        if Path(table_).exists()
        for row in Path(table_).read_text().splitlines()[1:]
        if row.split()[3] == "0A" and row.split()[1].endswith(f":{running.port:04X}")
    ]
    assert listening == [f"0100007F:{running.port:04X}"]


def test_a_foreign_host_or_origin_is_refused(running):
    assert running.status(Host="evil.example") == 403
    assert running.status(Host=f"127.0.0.1:{running.port + 1}") == 403
    assert running.status(Origin="http://evil.example") == 403
    assert running.status(Host=f"localhost:{running.port}") == 200
    for origin in (
        None,
        "http://evil.example",
        "null",
        f"https://127.0.0.1:{running.port}",
        "http://127.0.0.1",
    ):
        with pytest.raises(InvalidStatus) as refused:
            running.line(origin=origin)
        assert refused.value.response.status_code == 403
    with pytest.raises(InvalidStatus):
        running.line(origin=running.origin, host="evil.example")
    with running.line(origin=running.origin) as line:
        assert asked(line, kind="put", array="A1", height_m=2.3)["kind"] == "now"


def test_no_message_ends_the_server(running):
    with running.line(origin=running.origin) as line:
        for bad in ("", "{", "[]", "null", "7", '"x"', "{}", '{"kind": 7}', '{"kind": "put"}', "[" * 5000):
            line.send(bad)
            assert json.loads(line.recv(timeout=PATIENCE_S))["kind"] == "refused", bad
        for bad in (
            {"kind": "put", "array": ["A1"]},
            {"kind": "put", "array": "A1", "at_m": {"x": 1}},
            {"kind": "put", "array": "A1", "band": ["mid"]},
            {"kind": "remove"},
            {"kind": "write"},
        ):
            assert asked(line, **bad)["kind"] == "refused", bad
        line.send(b"\x00\xff")
        with pytest.raises(ConnectionClosed):
            line.recv(timeout=PATIENCE_S)
    with running.line(origin=running.origin) as line:
        line.send(json.dumps({"kind": "put", "array": "A" * (LARGEST_MESSAGE + 1)}))
        with pytest.raises(ConnectionClosed) as closed:
            line.recv(timeout=PATIENCE_S)
    assert closed.value.rcvd.code == 1009
    with running.line(origin=running.origin) as line:
        assert asked(line, kind="put", array="A1", height_m=2.3)["kind"] == "now"


def test_ctrl_c_ends_it_cleanly_with_a_page_open_and_a_search_running(running):
    with running.line(origin=running.origin) as line:
        asked(line, kind="put", array="A1", at_m=[2.0, 1.0])
        line.send(json.dumps({"kind": "best"}))
        running.process.send_signal(signal.SIGINT)
        assert running.process.wait(timeout=PATIENCE_S) == 0
    assert "Traceback" not in running.process.stderr.read()


def test_a_port_in_use_is_told(spec):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code = "import sys; from viz.live import serve; serve(sys.argv[1], port=int(sys.argv[2]), open_browser=False)"
        ended = subprocess.run(
            [sys.executable, "-c", code, str(spec), str(taken.getsockname()[1])],
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
        )
    assert ended.returncode != 0
    assert os.strerror(98) in ended.stderr


# ---------------------------------------------------------------- in the browser


@pytest.fixture
def shown(running):
    watched = opened(running.address, offline=False)
    watched.until("() => document.body.classList.contains('connected')")
    yield watched
    watched.page.context.close()
    assert watched.said == []
    outside = [url for url in watched.asked_for if not url.startswith((running.origin, "data:", "blob:"))]
    assert outside == []


def sentence(watched) -> str:
    return watched.page.inner_text("#sentence")


def expected_sentence(scene) -> str:
    return coverage.sentence(review(scene))


def test_an_array_dragged_on_the_plan_is_reviewed_all_the_way(shown, spec):
    shown.page.click("[data-view=plan]")
    shown.settled()
    x, y = shown.point([3.5, 2.5, 2.2])
    to_x, to_y = shown.point([2.6, 2.0, 2.2])
    shown.page.mouse.move(x, y)
    shown.page.mouse.down()
    shown.page.mouse.move(to_x, to_y, steps=8)
    shown.page.mouse.up()
    shown.until("() => Math.abs(overtable.facts().arrays[0].at_m[0] - 2.6) < 0.02")
    at = shown.js("() => overtable.facts().arrays[0].at_m")
    assert at == pytest.approx([2.6, 2.0], abs=0.03)
    scene = read_scene(spec).with_array("A1", at_m=tuple(at))
    shown.until(
        f"() => document.querySelector('#sentence').textContent.includes({expected_sentence(scene)!r})"
    )
    states = [one.state for one in coverage.talkers_of(review(scene))]
    assert shown.page.locator(".word").all_inner_texts() == states
    assert shown.js("() => overtable.trips().length") >= 1


def test_an_array_dragged_in_a_section_goes_up_and_down(shown):
    shown.page.click("[data-view=long]")
    shown.settled()
    shown.page.mouse.move(*shown.point([3.5, 2.5, 2.2]))
    shown.page.mouse.down()
    shown.page.mouse.move(*shown.point([3.5, 2.5, 1.8]), steps=5)
    shown.page.mouse.up()
    shown.until("() => Math.abs(overtable.facts().arrays[0].height_m - 1.8) < 0.05")
    assert shown.js("() => overtable.facts().arrays[0].at_m") == pytest.approx([3.5, 2.5], abs=1e-6)
    # the slider follows once the table for the new place has come
    shown.until("() => document.querySelector('#dock output').textContent.startsWith('1.8')")


def test_slider_and_band_ask_the_server(shown, spec):
    shown.page.click("[data-band=low]")
    shown.until("() => overtable.facts().arrays[0].band === 'low'")
    shown.page.focus("#height")
    shown.page.keyboard.press("ArrowRight")
    shown.until("() => Math.abs(overtable.facts().arrays[0].height_m - 2.21) < 1e-6")
    scene = read_scene(spec).with_array("A1", height_m=2.21, band_name="low")
    assert expected_sentence(scene) in sentence(shown)
    shown.page.click("[data-do=reset]")
    shown.until("() => overtable.facts().arrays[0].band === 'mid'")
    shown.until("() => document.querySelector('[data-do=reset]').disabled")
    assert expected_sentence(read_scene(spec)) in sentence(shown)


def test_the_page_follows_the_file_and_tells_its_mistakes(shown, spec):
    spec.write_text(TWELVE_SEATS.replace("height: 2.2,", "height: 1.7,"))
    shown.until("() => overtable.facts().arrays[0].height_m === 1.7")
    assert expected_sentence(read_scene(spec)) in sentence(shown)
    spec.write_text(TWELVE_SEATS.replace("height: 2.2,", "hieght: 2.2,"))
    shown.until("() => !document.querySelector('#mistakes').hidden")
    assert "hieght" in shown.page.inner_text("#mistakes")
    assert shown.js("() => overtable.facts().arrays[0].height_m") == 1.7
    spec.write_text(TWELVE_SEATS.replace("Otter Room", "Stoat Room").replace("count: 12", "count: 8"))
    shown.until("() => document.querySelector('h1').textContent === 'Stoat Room'")
    assert shown.page.locator("#mistakes").is_hidden()
    assert shown.page.locator("[data-head]").count() == 8
    assert shown.page.locator("#seen-from option").count() == 1 + 8 + 1


def test_best_from_here_is_shown_then_written_with_comments_kept(shown, spec):
    shown.page.click("[data-do=best]")
    shown.until("() => document.querySelector('#live-said').textContent.startsWith('Proven')")
    best = shown.js("() => overtable.facts().arrays[0]")
    least = review(
        read_scene(spec).with_array("A1", at_m=tuple(best["at_m"]), height_m=best["height_m"])
    ).margin_m
    assert Locale("m").margin(least) in shown.page.inner_text("#live-said")
    shown.page.click("[data-do=offer]")
    shown.page.wait_for_selector("#ask[open]")
    assert "+  - {id: A1" in shown.page.inner_text("#ask-lines")
    shown.page.click("[data-do=close]")
    assert spec.read_text() == TWELVE_SEATS
    shown.page.click("[data-do=offer]")
    shown.page.click("[data-do=write]")
    shown.until("() => document.querySelector('[data-do=offer]').disabled")
    array = read_scene(spec).arrays[0]
    assert array.at_m == pytest.approx(best["at_m"], abs=1e-4)
    assert array.height_m == pytest.approx(best["height_m"], abs=1e-4)
    for metres in (*array.at_m, array.height_m):
        assert metres * 100 == pytest.approx(round(metres * 100), abs=1e-6)  # as `place` writes it
    assert "# where we thought at first" in spec.read_text()
    assert "# A comment that has to stay." in spec.read_text()


def test_another_array_is_added_and_taken_away(shown):
    shown.page.click("[data-do=add]")
    shown.until("() => overtable.facts().arrays.length === 2")
    shown.until("() => !document.querySelector('[data-do=remove]').hidden")
    assert shown.page.input_value("#dock select") == "A2"
    assert shown.page.get_by_role("columnheader", name="Array", exact=True).count() == 1
    shown.page.click("[data-do=remove]")
    shown.until("() => overtable.facts().arrays.length === 1")


def test_the_page_says_when_the_server_has_gone(spec):
    server = Running(spec)
    watched = opened(server.address, offline=False)
    watched.until("() => document.body.classList.contains('connected')")
    assert server.stop() == 0
    watched.until("() => document.querySelector('#live-said').textContent.includes('has stopped')")
    watched.page.context.close()
