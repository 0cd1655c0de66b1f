"""The window under a virtual screen: real keys, real pointer, a file that changes; the screen is looked at."""

from __future__ import annotations

import io
import math
import os
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageGrab

from scenes.review.review import review
from scenes.room.build import build, read_scene
from scenes.spec.reading import read_spec
from tests.viz.rooms import PROFILES, QUIET, scene_of, staged
from viz import palette, panel, views
from viz.panel import LAYER_KEYS, VIEW_KEYS, Shown, Spot
from viz.saved import stamp
from viz.stage import LAYERS
from viz.stage.people import CROWN_M, STEM_M
from viz.window import SIZE, next_camera
from viz.words import cautions
from viz.words.locale import Locale

PATIENCE_S = 40
VIEW = "from viz.commands.main import main; main(['view', {path!r}])"


def colour(text):
    return np.round(255 * np.array(palette.rgb(text)))


# ---------------------------------------------------------------- the panel, without a screen


def panel_of(scene, *, view="corner", picked=None):
    image = Image.new("RGBA", SIZE, (255, 255, 255, 0))
    judged = review(scene)
    from scenes.review.allowed import allowed_on_offer
    from scenes.room.spans import height_span_m

    array = scene.arrays[0]
    shown = Shown(
        review=judged,
        array=array,
        span_m=height_span_m(scene, array),
        allowed_m=allowed_on_offer(scene, array),
        view_kind=view,
        layers=frozenset(views.LAYERS_OF[view]),
        picked=judged.head(picked) if picked else None,
        message="",
        asking=False,
        changed=False,
        has_cameras=bool(scene.cameras),
    )
    return image, panel.draw(image, shown), shown


def test_the_panel_says_what_is_open_or_at_least_that_it_is_advice():
    judged = review(scene_of("nasty"))
    whole = panel.cautions_lines(judged, 264, 40)
    assert " ".join(whole) == cautions.line(judged)
    short = panel.cautions_lines(judged, 264, len(whole) - 1)
    assert " ".join(short) == cautions.advice(Locale.of(judged.scene))
    assert panel.cautions_lines(judged, 264, 1) == []


def test_every_layer_and_view_has_a_switch_and_a_key_of_its_own():
    _, spots, _ = panel_of(scene_of("quiet"))
    assert {spot.which for spot in spots if spot.what == "layer"} == set(LAYERS)
    assert {spot.which for spot in spots if spot.what == "view"} == set(VIEW_KEYS.values())
    assert {spot.which for spot in spots if spot.what == "band"} == {"flat", "mid", "deep"}
    keys = [*LAYER_KEYS.values(), *VIEW_KEYS, "b", "p", "w", "z", "q"]
    assert len(keys) == len(set(keys))
    for spot in spots:
        x, y = (spot.box[0] + spot.box[2]) / 2, (spot.box[1] + spot.box[3]) / 2
        assert panel.hit(spots, x, y) == spot
    assert panel.hit(spots, 10, 10) is None


@pytest.fixture
def told(monkeypatch):
    """The words drawn, each with its height in the window."""
    told = []
    real = ImageDraw.ImageDraw.text

    def noted(self, xy, text, **look):
        told.append((xy[1], text))
        real(self, xy, text, **look)

    monkeypatch.setattr(ImageDraw.ImageDraw, "text", noted)
    return told


def test_every_key_is_told_on_the_panel(told):
    scene = scene_of("quiet")
    (camera, *_) = scene.cameras
    panel_of(replace(scene, cameras=(camera, replace(camera, id="CAM2"))))
    words = [text for _, text in told]
    said = "\n".join(words)
    for text in ("Up, Down: 1 cm", "B: next band", "7 again: next camera"):
        assert text in said, text
    for text in ("P  picture", "W  write", "Z  back", "Q  close"):
        assert text in said, text
    for layer, key in LAYER_KEYS.items():
        assert any(text.endswith(f"  {key.upper()}") for text in words), layer
    for key, view in VIEW_KEYS.items():
        assert f"{key}  {view}" in words


@pytest.mark.parametrize("sentences", [4, 9])
def test_the_keys_are_told_beside_a_long_verdict_and_a_picked_talker(told, monkeypatch, sentences):
    long = ["Nobody here is covered, and why takes words."] * sentences
    monkeypatch.setattr(panel.verdict, "whole", lambda review: long)
    scene = scene_of("quiet")
    five = tuple(replace(scene.arrays[0], id=f"A{n}") for n in range(1, 6))
    panel_of(replace(scene, arrays=five), picked="P1")
    (low,) = [y for y, text in told if text == "Q  close"]
    assert low < SIZE[1] - 10
    assert any(text.startswith("…") for _, text in told)


def test_the_cameras_key_goes_from_camera_to_camera():
    assert next_camera(["C1", "C2"], "plan") == "camera:C1"
    assert next_camera(["C1", "C2"], "camera:C1") == "camera:C2"
    assert next_camera(["C1", "C2"], "camera:C2") == "camera:C1"
    assert next_camera(["C1"], "camera:gone") == "camera:C1"


def test_the_slider_means_heights_within_its_span_to_the_centimetre():
    spot = Spot((100, 10, 300, 30), "height", "A1")
    assert panel.height_at(spot, (0.5, 2.7), 0) == 0.5
    assert panel.height_at(spot, (0.5, 2.7), 999) == 2.7
    assert panel.height_at(spot, (0.5, 2.5), 200) == 1.5
    assert panel.height_at(spot, (0.5, 2.7), 163) == round(panel.height_at(spot, (0.5, 2.7), 163), 2)


def test_a_picked_talkers_numbers_are_told():
    plain, _, _ = panel_of(scene_of("quiet"))
    told, _, _ = panel_of(scene_of("quiet"), picked="P1")
    assert plain.tobytes() != told.tobytes()


# ---------------------------------------------------------------- without a display


@pytest.mark.parametrize("display", [None, ":987"])
def test_without_a_display_it_ends_with_3_and_names_the_two_other_ways(tmp_path, display):
    spec = tmp_path / "quiet.yaml"
    spec.write_text(QUIET + PROFILES)
    environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "VTK_DEFAULT_OPENGL_WINDOW")}
    if display:
        environment["DISPLAY"] = display
    told = subprocess.run(
        [sys.executable, "-c", VIEW.format(path=str(spec))],
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert told.returncode == 3
    assert "overtable page" in told.stderr
    assert "overtable stills" in told.stderr
    assert "Traceback" not in told.stderr


# ---------------------------------------------------------------- on a virtual screen


def virtual_screen() -> tuple[subprocess.Popen[bytes], str]:
    """A virtual screen that answers, at a number of its own.

    Not the first free number: a screen that just closes there takes the new one's socket away with it.
    """
    environment = dict(os.environ)
    for number in range(100 + os.getpid() % 5000, 100 + os.getpid() % 5000 + 20):
        display = f":{number}"
        size = f"{SIZE[0]}x{SIZE[1]}x24"
        server = subprocess.Popen(
            ["Xvfb", display, "-screen", "0", size, "-nolisten", "tcp", "-noreset"], stderr=subprocess.DEVNULL
        )
        for _ in range(100):
            if server.poll() is not None:
                break
            asked = subprocess.run(
                ["xdotool", "getdisplaygeometry"],
                env={**environment, "DISPLAY": display},
                capture_output=True,
            )
            if asked.returncode == 0:
                return server, display
            time.sleep(0.1)
        if server.poll() is None:
            server.terminate()
            server.wait(20)
    raise AssertionError("no virtual screen came up in 20 tries")


class Screen:
    """A virtual screen and the window on it."""

    def __init__(self, folder: Path) -> None:
        for tool in ("Xvfb", "xdotool"):
            assert shutil.which(tool), f"{tool} is needed to test the window: apt install xvfb xdotool"
        self.server, self.display = virtual_screen()
        self.spec = folder / "quiet.yaml"
        self.spec.write_text(QUIET + PROFILES)
        self.log = folder / "log"
        environment = {k: v for k, v in os.environ.items() if k != "VTK_DEFAULT_OPENGL_WINDOW"}
        self.environment = {**environment, "DISPLAY": self.display}
        self.window = subprocess.Popen(
            [sys.executable, "-c", VIEW.format(path=str(self.spec))],
            env=self.environment, stdout=self.log.open("w"), stderr=subprocess.STDOUT,
        )  # fmt: skip

    def tool(self, *arguments: object) -> None:
        told = subprocess.run(
            ["xdotool", *map(str, arguments)],
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=30,
        )
        assert told.returncode == 0, told.stderr

    def key(self, *keys: str) -> None:
        for key in keys:
            self.tool("key", key)

    def seen(self):
        return np.asarray(ImageGrab.grab(xdisplay=self.display).convert("RGB")).astype(int)

    def until(self, true, what: str):
        """Wait until something is true of the screen; the screen."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            assert self.window.poll() is None, self.log.read_text()
            pixels = self.seen()
            if true(pixels):
                return pixels
            time.sleep(0.1)
        raise AssertionError(f"not seen within {PATIENCE_S} s: {what}\n{self.log.read_text()}")

    def close(self) -> None:
        for process in (self.window, self.server):
            if process.poll() is None:
                process.terminate()
                process.wait(20)


@pytest.fixture
def screen(tmp_path):
    made = Screen(tmp_path)
    yield made
    made.close()


def shows_states(scene, view):
    """A test of pixels: each talker's sign has its state's colour where the view projects it."""
    judged = review(scene)
    size = (SIZE[0] - panel.WIDTH, SIZE[1])
    rise = np.array([0.0, 0.0, CROWN_M + STEM_M if view.kind == "corner" else 0.0])
    places = [view.project(head.middle_m + rise, *size)[0] for head in scene.heads]

    def true(pixels):
        for head, (x, y, _) in zip(judged.heads, places, strict=True):
            if head.state == "marginal":
                continue
            patch = pixels[round(y) - 5 : round(y) + 6, round(x) - 5 : round(x) + 6]
            if not (np.abs(patch - colour(palette.STATE_COLOURS[head.state])).max(axis=-1) < 40).any():
                return False
        return True

    return true


def plan_of():
    return views.view(staged("quiet"), "plan", (SIZE[0] - panel.WIDTH) / SIZE[1])


def test_the_window_follows_keys_pointer_and_file(screen):
    scene = scene_of("quiet")
    corner = views.view(staged("quiet"), "corner", (SIZE[0] - panel.WIDTH) / SIZE[1])
    screen.until(shows_states(scene, corner), "the room from a corner")

    # a key for a view
    screen.key("2")
    first = screen.until(shows_states(scene, plan_of()), "the plan")

    # keys for the height: five times ten centimetres down, and everybody is lost
    low = scene.with_array("A1", height_m=1.8)
    assert review(low).verdict == "fail"
    assert [h.state for h in review(low).heads] != [h.state for h in review(scene).heads]
    screen.key(*["shift+Down"] * 5)
    screen.until(shows_states(low, plan_of()), "the states at 1.80 m")
    screen.key("z")
    screen.until(shows_states(scene, plan_of()), "the states of the file again")

    # a layer's switch
    screen.key(LAYER_KEYS["tables"])
    x, y, _ = (round(v) for v in plan_of().project((4.9, 4.3, 0.74), SIZE[0] - panel.WIDTH, SIZE[1])[0])
    screen.until(lambda p: np.abs(p[y, x] - colour(palette.TABLE_TOP)).max() > 30, "the table gone")
    screen.key(LAYER_KEYS["tables"])
    screen.until(lambda p: np.abs(p[y, x] - colour(palette.TABLE_TOP)).max() < 30, "the table back")

    # the slider, dragged with the pointer to 1.5 m
    _, spots, shown = panel_of(scene, view="plan")
    slider = next(spot for spot in spots if spot.what == "height")
    left, top, right, bottom = slider.box

    def along(height_m):
        share = (height_m - shown.span_m[0]) / (shown.span_m[1] - shown.span_m[0])
        return round(left + 8 + share * (right - left - 16)), round((top + bottom) / 2)

    reached = panel.height_at(slider, shown.span_m, along(1.5)[0])
    screen.tool("mousemove", *along(2.3), "mousedown", 1)
    screen.tool("mousemove", *along(1.9))
    screen.tool("mousemove", *along(1.5))
    screen.tool("mouseup", 1)
    dragged = scene.with_array("A1", height_m=reached)
    assert [h.state for h in review(dragged).heads] != [h.state for h in review(scene).heads]
    screen.until(shows_states(dragged, plan_of()), "the states at the slider's height")

    # write it back: asked first, and not written until yes is said
    before = screen.spec.read_text()
    screen.key("w", "n")
    time.sleep(0.5)
    assert screen.spec.read_text() == before
    screen.key("w", "y")
    screen.until(lambda _: screen.spec.read_text() != before, "the file written")
    assert read_scene(screen.spec).array("A1").height_m == pytest.approx(reached, abs=1e-3)
    assert len(before.splitlines()) == len(screen.spec.read_text().splitlines())

    # the file saved by another program: the window follows, and a question it had asked is void
    screen.key("shift+Down", "w")
    time.sleep(0.5)
    screen.spec.write_text(before)
    screen.until(shows_states(scene, plan_of()), "the file's room")
    screen.key("1")
    screen.until(shows_states(scene, corner), "a view's key, not an answer")
    screen.key("2")
    screen.until(shows_states(scene, plan_of()), "the plan again")
    assert screen.spec.read_text() == before

    # a mistake is told, and the last good room stays
    screen.spec.write_text(before.replace("ceiling:", "cieling:", 1))
    foot = (slice(SIZE[1] - 60, SIZE[1] - 20), slice(20, 500))
    calm = first[foot]
    screen.until(lambda p: np.abs(p[foot] - calm).max() > 100, "the mistake told")
    assert shows_states(scene, plan_of())(screen.seen())
    screen.spec.write_text(before)
    screen.until(lambda p: np.abs(p[foot] - calm).max() < 100, "the mistake gone")

    # pick a talker
    head = scene.head("T1-1")
    x, y, _ = plan_of().project(head.middle_m, SIZE[0] - panel.WIDTH, SIZE[1])[0]
    unpicked = screen.seen()[:, SIZE[0] - panel.WIDTH :]
    screen.tool("mousemove", round(x), round(y), "click", 1)
    screen.until(
        lambda p: (np.abs(p[:, SIZE[0] - panel.WIDTH :] - unpicked).max(axis=-1) > 60).sum() > 300, "numbers"
    )

    # a picture of what is seen
    screen.key("p")
    picture = screen.spec.with_name("quiet-plan-1.png")
    screen.until(lambda _: picture.exists() and picture.stat().st_size > 0, "the picture written")
    assert Image.open(io.BytesIO(picture.read_bytes())).size[0] == 2400

    # turned with the pointer it is another view, and it stays on its feet
    screen.key("1")
    still = screen.until(shows_states(scene, corner), "the corner again")
    screen.tool("mousemove", 400, 500, "mousedown", 1)
    for step in range(1, 7):
        screen.tool("mousemove", 400 + 25 * step, 500)
        time.sleep(0.05)
    screen.tool("mouseup", 1)
    turned = screen.until(
        lambda p: (np.abs(p[:, :1100] - still[:, :1100]).max(axis=-1) > 40).mean() > 0.05, "turned"
    )
    # signs turn with the room: none is left where it was, not even in the first picture of the turn
    assert not shows_states(scene, corner)(turned)
    assert (np.abs(turned[:, :1100] - 255).max(axis=-1) > 20).mean() > 0.2

    screen.key("q")
    assert screen.window.wait(20) == 0
    assert "Traceback" not in screen.log.read_text()


def in_two_files(folder: Path) -> tuple[Path, Path]:
    """The quiet room with its profiles in a file of their own: the spec's path, and the profiles'."""
    spec, devices = folder / "quiet.yaml", folder / "devices.yaml"
    devices.write_text("overtable: 1\nunits: m\n" + PROFILES)
    spec.write_text(QUIET + "\nprofiles: devices.yaml\n")
    return spec, devices


def test_a_saved_profiles_file_is_a_change_as_much_as_the_specs_own(tmp_path):
    spec, devices = in_two_files(tmp_path)
    read = read_spec(spec)
    before = stamp(read, spec)
    assert set(before) == {spec, devices}
    assert stamp(read, spec) == before
    devices.write_text(devices.read_text() + "# as the data sheet of May has it\n")
    assert stamp(read, spec) != before
    devices.unlink()
    assert stamp(read, spec)[devices] is None
    assert stamp(read, spec)[spec] == before[spec]


def test_the_window_follows_the_profiles_file_alone(screen):
    spec, devices = in_two_files(screen.spec.parent)
    scene = scene_of("quiet")
    corner = views.view(staged("quiet"), "corner", (SIZE[0] - panel.WIDTH) / SIZE[1])
    screen.until(shows_states(scene, corner), "the room from a corner")
    changed = devices.read_text().replace("mid: [21, 68]", "mid: [50, 68]")
    # the spec names another profiles file only now: it is followed too
    time.sleep(1)
    devices.write_text(changed)
    narrow = build(read_spec(spec))
    assert [h.state for h in review(narrow).heads] != [h.state for h in review(scene).heads]
    screen.until(shows_states(narrow, corner), "the states in the narrower band")
    screen.key("q")
    assert screen.window.wait(20) == 0


def test_a_spec_with_mistakes_opens_no_window(tmp_path):
    spec = tmp_path / "quiet.yaml"
    spec.write_text((QUIET + PROFILES).replace("units: m", "units: parsec"))
    told = subprocess.run(
        [sys.executable, "-c", VIEW.format(path=str(spec))], capture_output=True, text=True, timeout=120
    )
    assert told.returncode == 2
    assert "units" in told.stderr


def test_the_tests_room_is_read_the_same_from_a_file(tmp_path):
    spec = tmp_path / "quiet.yaml"
    spec.write_text(QUIET + PROFILES)
    assert build(read_spec(spec)).heads == scene_of("quiet").heads
    assert math.isclose(scene_of("quiet").array("A1").centre_m[2], 2.3)
