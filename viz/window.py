"""The native window: the room turned by hand, the height moved, the sentence following at once.

The loop is ours: VTK handles what has happened, then the window draws if anything changed. Whatever is
seen comes from the stage, as in the stills; a change of height or band is reviewed again in full.
"""

from __future__ import annotations

import math
import os
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from scenes.review.review import review
from scenes.room.build import build
from scenes.room.scene import Scene
from scenes.room.spans import height_span_m
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.model import Spec
from scenes.spec.reading import read_spec
from scenes.spec.writing import NewPlace, check_again, keep, spliced
from viz import drawing, panel, stills, views
from viz import palette as ink
from viz.refusals import Refusal, refuse_layouts
from viz.saved import stamp
from viz.shown import shown
from viz.stage import LAYERS, Prop, Stage, stage
from viz.views import View
from viz.words import verdict
from viz.words.locale import Locale
from viz.words.mistakes import lines, text_of

SIZE = (1440, 900)
DPI = 108.0
FRAME_S = 1 / 60
LOOK_AT_FILE_EVERY_S = 0.25
PICK_PX = 16
CLICK_PX = 5
"""A press that moves less than this is a click, not a turn."""


class DisplayMissing(Refusal):
    """There is no display to open a window on; the text names the two other ways."""

    exit_status = 3

    def __init__(self, spec: Path, why: str) -> None:
        super().__init__("window.missing", why=why, spec=spec, stem=spec.stem)


def show(path: Path) -> None:
    """Open the window on a spec file and stay until it is closed. Raises DisplayMissing, SpecMistakes."""
    spec, scene = _read(path)
    _require_display(path)
    _Window(path, spec, scene).run()


def _read(path: Path) -> tuple[Spec, Scene]:
    spec = read_spec(path)
    return spec, refuse_layouts(build(spec), "view")


def _staged(scene: Scene) -> tuple[Scene, Stage]:
    """What is shown of a scene: of one in which an array has no place yet those that hang."""
    from scenes.dossier import Dossier

    dossier = Dossier.of(scene)
    return dossier.scene, stage(dossier.scene, dossier.review)


def _require_display(path: Path) -> None:
    if sys.platform != "linux":
        return
    display = os.environ.get("DISPLAY")
    if not display:
        raise DisplayMissing(path, Locale("m").say("window.no display"))
    # tried in a child, as VTK may end the process
    failure = drawing.probe("vtkXOpenGLRenderWindow")
    if failure is not None:
        why = Locale("m").say("window.dead display", display=display, failure=failure)
        raise DisplayMissing(path, why)
    os.environ[drawing.WINDOW_VARIABLE] = "vtkXOpenGLRenderWindow"


class _Window:
    """The state of the open window: what is shown, what is in hand, what has to be drawn again."""

    def __init__(self, path: Path, spec: Spec, scene: Scene) -> None:
        import pyvista

        self.path, self.spec = path, spec
        self.scene, self.stage = _staged(scene)
        self.array = self._first_array()
        self.picked: str | None = None
        self.message, self.message_until = "", 0.0
        self.asking = False
        self.allowed = panel.Allowed()
        self.stamp = stamp(spec, path)
        self.looked_at = time.monotonic()
        self.closed = False
        self.press: tuple[int, int] | None = None
        self.dragging: panel.Spot | None = None
        self.spots: list[panel.Spot] = []
        self.view = views.view(self.stage, "corner", 1.5)
        self.layers = set(self.view.layers)
        self.drawn_for: Any = None
        self.props: tuple[Prop, ...] = ()
        self.stale = self.overlay_stale = self.regions_stale = True

        plotter: Any = pyvista.Plotter(window_size=list(SIZE), lighting="none", title=self.title)
        self.plotter = plotter
        plotter.enable_anti_aliasing("msaa", multi_samples=8)
        plotter.renderer.SetUseOIT(False)
        plotter.set_background(ink.PAPER)
        self.actors: list[Any] = []
        self.films: Any = None
        self._make_overlay()
        plotter.enable_terrain_style(mouse_wheel_zooms=True, shift_pans=True)
        self._listen()

    @property
    def title(self) -> str:
        return f"overtable · {self.scene.name}"

    # ---------------------------------------------------------------- the loop

    def run(self) -> None:
        """Show the window and follow it until it is closed."""
        plotter = self.plotter
        self._apply_view("corner")
        plotter.show(interactive_update=True, auto_close=False)
        plotter.render_window.SetWindowName(self.title)
        interactor = plotter.iren.interactor
        interactor.AddObserver("ExitEvent", lambda *_: self._close())
        # while it turns VTK would draw each step itself, with signs and words still where they were
        interactor.EnableRenderOff()
        interactor.AddObserver("ExposeEvent", lambda *_: self._uncovered())
        while not self.closed and not interactor.GetDone():
            started = time.monotonic()
            interactor.ProcessEvents()
            if self.closed:
                break
            self._follow_file()
            if self.message and not self.asking and time.monotonic() > self.message_until:
                self.message, self.overlay_stale = "", True
            self._draw()
            time.sleep(max(0.0, FRAME_S - (time.monotonic() - started)))
        plotter.close()

    def _close(self) -> None:
        self.closed = True

    def _uncovered(self) -> None:
        self.overlay_stale = True

    def _draw(self) -> None:
        """Draw what has changed since the last time, if anything."""
        if self.regions_stale and "region" in self.layers and self.dragging is None and not self.stale:
            self._with_regions()
        width, height = self.plotter.window_size
        camera = self.plotter.camera
        seen = (camera.position, camera.focal_point, camera.parallel_scale, camera.view_angle, width, height)
        moved = seen != self.drawn_for
        if not (moved or self.stale or self.overlay_stale):
            return
        if moved:
            self.drawn_for = seen
            self.view = self._view_now()
            self.plotter.renderer.SetViewport(0, 0, max(1 - panel.WIDTH / width, 0.2), 1)
        if moved or self.stale:
            self._replay(self.stale)
        self._letter(width, height)
        self.stale = self.overlay_stale = False
        self.plotter.render_window.Render()

    def _view_now(self) -> View:
        """The view as the camera stands; turned out of a named view it is a free one, without its cut."""
        camera, view = self.plotter.camera, self.view
        now = replace(
            view,
            eye=tuple(camera.position),
            target=tuple(camera.focal_point),
            up=tuple(camera.up),
            half_height_m=float(camera.parallel_scale),
            angle_deg=float(camera.view_angle),
        )
        turned = float(now.basis[2] @ view.basis[2]) < math.cos(math.radians(0.5))
        if turned and view.kind != "free":
            now = replace(
                now, name="free", kind="free", cut=None, mirrored=False, without=(), shift=(0.0, 0.0)
            )
            self._mirror(False)
            camera.SetWindowCenter(0.0, 0.0)
            self.stale = True
        return now

    def _mirror(self, on: bool) -> None:
        import vtkmodules.vtkCommonTransforms as transforms

        flip = transforms.vtkTransform()
        flip.Scale(-1 if on else 1, 1, 1)
        self.plotter.camera.SetUserViewTransform(flip)

    def _replay(self, everything: bool) -> None:
        """Put the stage's props into the window; without `everything` only what the eye's place changes."""
        view = replace(self.view, layers=tuple(name for name in LAYERS if name in self.layers))
        self.view = view
        props = shown(self.stage, view)
        same = not everything and [p.id for p in props] == [p.id for p in self.props]
        self.props = props
        eye = np.asarray(view.eye)
        level = view.basis[2] if view.flat else None
        below = view.kind == "ceiling"
        films = drawing.translucent(props, eye, level=level, below=below)
        if same and self.films is not None and len(films.faces):
            data = drawing.as_polydata(films)
            self.films.copy_from(data)
        else:
            for actor in self.actors:
                self.plotter.remove_actor(actor, render=False)
            self.actors, self.films = stills.add_meshes(self.plotter, props, view, DPI, films)
        self.plotter.camera.clipping_range = stills.depth_range(props, view)

    # ---------------------------------------------------------------- the overlay

    def _make_overlay(self) -> None:
        import pyvista
        import vtkmodules.vtkRenderingCore as core

        self.overlay_image = pyvista.ImageData(dimensions=(2, 2, 1))
        self.overlay_image.point_data["rgba"] = np.zeros((4, 4), np.uint8)
        mapper = core.vtkImageMapper()
        mapper.SetInputData(self.overlay_image)
        mapper.SetColorWindow(255)
        mapper.SetColorLevel(127.5)
        self.overlay_mapper = mapper
        actor = core.vtkActor2D()
        actor.SetMapper(mapper)
        actor.SetPosition(0, 0)
        self.overlay_renderer = core.vtkRenderer()
        self.overlay_renderer.SetLayer(1)
        self.overlay_renderer.InteractiveOff()
        self.overlay_renderer.AddViewProp(actor)
        window = self.plotter.render_window
        window.SetNumberOfLayers(2)
        window.AddRenderer(self.overlay_renderer)

    def _letter(self, width: int, height: int) -> None:
        """Draw marks, labels and panel afresh and lay them over the render."""
        import pyvista

        image = Image.new("RGBA", (width, height), (255, 255, 255, 0))
        size = (max(width - panel.WIDTH, 64), height)
        ratio = height / (2 * self.view.half_height_m) if self.view.flat else None
        room = image.crop((0, 0, *size))
        self.labels = stills.letter(room, self.props, self.view, size, DPI, ratio, self.scene)
        image.paste(room, (0, 0))
        self.spots = panel.draw(image, self._shown())
        data = pyvista.ImageData(dimensions=(width, height, 1))
        pixels = np.asarray(image)[::-1].reshape(-1, 4)
        data.point_data["rgba"] = np.ascontiguousarray(pixels)
        data.point_data.active_scalars_name = "rgba"
        self.overlay_image = data
        self.overlay_mapper.SetInputData(data)

    def _shown(self) -> panel.Shown:
        judged = self.stage.review
        array = None if self.array is None else self.scene.array(self.array)
        picked = judged.head(self.picked) if self.picked is not None and judged.judged else None
        return panel.Shown(
            review=judged,
            array=array,
            span_m=(0.0, 0.0) if array is None else height_span_m(self.scene, array),
            allowed_m=() if array is None else self.allowed.of(self.scene, array.id),
            view_kind=self.view.kind,
            layers=frozenset(self.layers),
            picked=picked,
            message=self.message,
            asking=self.asking,
            changed=self._changed(),
            has_cameras=bool(self.scene.cameras),
        )

    def tell(self, message: str, seconds: float = 6.0) -> None:
        """Show a message at the foot of the window for a while."""
        self.message, self.message_until = message, time.monotonic() + seconds
        self.overlay_stale = True

    # ---------------------------------------------------------------- keys and mouse

    def _listen(self) -> None:
        interactor = self.plotter.iren.interactor

        def before(event: str, handle: Any) -> None:
            """Our handler first; where it takes the event VTK's own keys and turning do not see it."""

            def called(caller: Any, _: str) -> None:
                if handle():
                    caller.GetCommand(tag).SetAbortFlag(1)

            tag = interactor.AddObserver(event, called, 10.0)

        before("CharEvent", lambda: True)
        before("KeyPressEvent", self._key)
        before("LeftButtonPressEvent", self._pressed)
        before("MouseMoveEvent", self._dragged)
        before("LeftButtonReleaseEvent", self._released)
        before("MouseWheelForwardEvent", self._on_panel)
        before("MouseWheelBackwardEvent", self._on_panel)
        # a press beside the panel begins a turn, and VTK then gives the release to its own turning alone
        interactor.GetInteractorStyle().AddObserver("EndInteractionEvent", lambda *_: self._released())

    def _place(self) -> tuple[int, int]:
        """The pointer in pixels from the window's top left."""
        x, y = self.plotter.iren.interactor.GetEventPosition()
        return x, self.plotter.window_size[1] - 1 - y

    def _on_panel(self) -> bool:
        return bool(self._place()[0] > self.plotter.window_size[0] - panel.WIDTH)

    def _pressed(self) -> bool:
        self.press = self._place()
        if not self._on_panel():
            return False
        spot = panel.hit(self.spots, *self.press)
        if spot is not None:
            if spot.what == "height":
                self.dragging = spot
                self._dragged()
            else:
                self._choose(spot.what, spot.which)
        return True

    def _dragged(self) -> bool:
        if self.dragging is None or self.array is None:
            return False
        array = self.scene.array(self.array)
        self._set(height_m=panel.height_at(self.dragging, height_span_m(self.scene, array), self._place()[0]))
        return True

    def _released(self) -> bool:
        if self.dragging is not None:
            self.dragging = None
            return True
        press, self.press = self.press, None
        here = self._place()
        if press is not None and not self._on_panel() and math.dist(press, here) < CLICK_PX:
            self._pick(*here)
        return self._on_panel()

    def _pick(self, x: float, y: float) -> None:
        width, height = self.plotter.window_size
        size = (width - panel.WIDTH, height)
        best, nearest = None, float(PICK_PX)
        for prop in self.props:
            if prop.kind == "mark" and prop.layer == "people" and prop.anchor is not None:
                at = self.view.project(prop.anchor, *size)[0]
                if at[2] > 0 and math.dist(at[:2], (x, y)) < nearest:
                    best, nearest = prop.about, math.dist(at[:2], (x, y))
        self.picked = best
        self.overlay_stale = True

    def _choose(self, what: str, which: str) -> None:
        if what == "view":
            self._apply_view(which)
        elif what == "layer":
            self.layers ^= {which}
            self.stale = True
        elif what == "band":
            self._set(band_name=which)
        elif what == "array":
            self.array = which
            self.overlay_stale = True

    def _key(self) -> bool:
        interactor = self.plotter.iren.interactor
        key, shift = interactor.GetKeySym(), bool(interactor.GetShiftKey())
        low = key.lower()
        if self.asking:
            self._answer(key)
        elif key in panel.VIEW_KEYS:
            self._choose("view", panel.VIEW_KEYS[key])
        elif key in ("Up", "Down"):
            self._step(0.1 if shift else 0.01, 1 if key == "Up" else -1)
        elif low in self.keys:
            self.keys[low]()
        elif low in panel.LAYER_KEYS.values():
            self._choose("layer", next(name for name, k in panel.LAYER_KEYS.items() if k == low))
        return True

    @property
    def keys(self) -> dict[str, Callable[[], None]]:
        """What the keys do that choose neither view, layer nor height."""
        return {
            "b": self._next_band,
            "tab": self._next_array,
            "p": self._still,
            "w": self._ask_to_write,
            "z": self._back,
            "q": self._close,
            "escape": self._close,
        }

    # ---------------------------------------------------------------- what the keys do

    def _answer(self, key: str) -> None:
        """What was asked was whether to write: any key but yes is no."""
        self.asking, self.message = False, ""
        if key in ("y", "Y", "Return"):
            self._write()
        else:
            self.tell("Not written.")

    def _first_array(self) -> str | None:
        """The array in hand at first; none before every array has a place."""
        return self.scene.arrays[0].id if self.stage.review.judged else None

    def _step(self, step_m: float, way: int) -> None:
        if self.array is None:
            return
        array = self.scene.array(self.array)
        low_m, high_m = height_span_m(self.scene, array)
        self._set(height_m=min(max(round(array.centre_m[2] + step_m * way, 4), low_m), high_m))

    def _next_band(self) -> None:
        if self.array is None:
            return
        array = self.scene.array(self.array)
        bands = list(array.profile.bands)
        self._set(band_name=bands[(bands.index(str(array.band_name)) + 1) % len(bands)])

    def _next_array(self) -> None:
        if self.array is None:
            return
        ids = [a.id for a in self.scene.arrays]
        self._choose("array", ids[(ids.index(self.array) + 1) % len(ids)])

    def _back(self) -> None:
        self._take(self.spec, build(self.spec))
        self.tell(Locale.of(self.scene).say("window.back"))

    def _apply_view(self, kind: str) -> None:
        name = kind
        if kind in ("long", "cross", "array") and not self.scene.arrays:
            self.tell(verdict.paragraph(self.stage.review))
            return
        if kind in ("long", "cross", "array") and self.array is not None:
            name = f"{kind}:{self.array}"
        elif kind == "seat":
            name = f"seat:{self.picked or self.scene.heads[0].id}"
        elif kind == "camera" and not self.scene.cameras:
            self.tell(Locale.of(self.scene).say("window.no camera"))
            return
        elif kind == "camera":
            name = next_camera([camera.id for camera in self.scene.cameras], self.view.name)
        width, height = self.plotter.window_size
        view = views.view(self.stage, name, max(width - panel.WIDTH, 64) / height)
        camera = self.plotter.camera
        camera.position, camera.focal_point, camera.up = view.eye, view.target, view.up
        camera.parallel_projection = view.flat
        camera.parallel_scale, camera.view_angle = view.half_height_m, view.angle_deg
        camera.SetWindowCenter(*view.shift)
        self._mirror(view.mirrored)
        self.plotter.camera_set = True
        self.view, self.layers = view, set(view.layers)
        self.drawn_for, self.stale = None, True

    def _set(self, **changes: Any) -> None:
        """Change the array in hand and review again."""
        if self.array is None:
            return
        array = self.scene.array(self.array)
        if all(getattr(array, name) == value for name, value in changes.items()):
            return
        self.scene = self.scene.with_array(self.array, **changes)
        self.stage = stage(self.scene, review(self.scene), like=self.stage)
        self.regions_stale = self.stale = True

    def _with_regions(self) -> None:
        """Where the arrays may hang, added to the stage: asked only when it is shown and nothing is being dragged."""
        from scenes.dossier import Dossier

        dossier = Dossier(self.scene, None if self.stage.review.judged else self.stage.review)
        found, kept_out = tuple(dossier.regions.values()), dossier.kept_out
        self.stage = stage(self.scene, self.stage.review, regions=found, keep_outs=kept_out, like=self.stage)
        self.regions_stale, self.stale = False, True

    def _take(self, spec: Spec, scene: Scene) -> None:
        """Show another reading of the file, from where one looks now."""
        self.spec = spec
        self.scene, self.stage = _staged(scene)
        self.regions_stale = True
        if not self.stage.review.judged or self.array not in {array.id for array in scene.arrays}:
            self.array = self._first_array()
        if self.picked not in {head.id for head in scene.heads}:
            self.picked = None
        self.plotter.render_window.SetWindowName(self.title)
        self.stale = True

    def _follow_file(self) -> None:
        now = time.monotonic()
        if now - self.looked_at < LOOK_AT_FILE_EVERY_S:
            return
        self.looked_at = now
        now_saved = stamp(self.spec, self.path)
        if all(self.stamp.get(file) == saved for file, saved in now_saved.items()):
            return
        self.stamp = now_saved
        # a question about the room as it was is void
        self.asking = False
        try:
            spec, scene = _read(self.path)
        except SpecMistakes as mistakes:
            self.tell(Locale.of(self.scene).say("window.mistakes", lines=lines(mistakes)), 600)
        except OSError as error:
            self.tell(f"{self.path.name}: {error.strerror}", 600)
        else:
            self._take(spec, scene)
            # the spec may name another profiles file now; what was saved while it was read is read again
            self.stamp = stamp(spec, self.path) | now_saved
            self.tell(Locale.of(self.scene).say("window.read again"), 2)

    def _still(self) -> None:
        number = 1
        while (target := self.path.with_name(f"{self.path.stem}-{self.view.kind}-{number}.png")).exists():
            number += 1
        width, height = self.plotter.window_size
        across = 2400
        style = stills.Style(size=(across, round(across * height / max(width - panel.WIDTH, 64))))
        try:
            target.write_bytes(stills.draw_seen(self.stage, self.view, style).png)
        except OSError as error:
            self.tell(
                Locale.of(self.scene).say("window.no picture", file=target.name, why=str(error.strerror))
            )
        else:
            self.tell(Locale.of(self.scene).say("window.picture", file=target.name))

    def _changed(self) -> bool:
        return bool(self._moves())

    def _moves(self) -> dict[str, NewPlace]:
        """The arrays that are no longer where the file has them."""
        written = {array.id: array for array in build(self.spec).arrays} if self.scene is not None else {}
        moves = {}
        for array in self.scene.arrays:
            before = written[array.id]
            if (before.height_m, before.band_name) != (array.height_m, array.band_name):
                flush = array.profile.mount == "flush"
                assert array.at_m is not None
                assert array.band_name is not None
                moves[array.id] = NewPlace(array.at_m, None if flush else array.height_m, array.band_name)
        return moves

    def _ask_to_write(self) -> None:
        moves = self._moves()
        if not moves:
            self.tell(Locale.of(self.scene).say("window.nothing"))
            return
        locale = Locale.of(self.scene)
        said = [
            locale.say("window.write, flush", array=id, band=place.band_name)
            if place.height_m is None
            else locale.say(
                "window.write", array=id, height=locale.length(place.height_m), band=place.band_name
            )
            for id, place in moves.items()
        ]
        self.asking = True
        self.message = locale.say("window.ask", file=self.path.name, places="\n".join(said))
        self.overlay_stale = True

    def _write(self) -> None:
        moves = self._moves()
        assert self.spec.source is not None
        try:
            text = spliced(self.spec, moves)
            check_again(self.spec, text, moves)
            keep(self.path, text, self.spec.source.text)
        except (SpecMistakes, ValueError, OSError) as error:
            self.tell(Locale.of(self.scene).say("window.not written", why=text_of(error)), 20)
            return
        self.stamp = stamp(self.spec, self.path)
        self._take(*_read(self.path))
        self.tell(Locale.of(self.scene).say("window.written", file=self.path.name))


def next_camera(ids: Sequence[str], seen: str) -> str:
    """The camera's view to show: the first camera's, or the next one's where a camera's view is seen already."""
    kind, _, id = seen.partition(":")
    number = ids.index(id) + 1 if kind == "camera" and id in ids else 0
    return f"camera:{ids[number % len(ids)]}"
