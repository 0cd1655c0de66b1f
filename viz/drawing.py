"""Whether and how this machine can draw, found out without risk, and the stage as drawable arrays.

On a machine without graphics libraries VTK does not raise, it ends the process. So a child process
draws 8 × 8 pixels first and reads one back, with each way of drawing in turn; the first that works is
set in the environment before VTK makes its first window here.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.records import record
from viz.palette import rgb
from viz.refusals import Refusal
from viz.stage import Prop
from viz.words.locale import Locale

Floats = NDArray[np.float64]

WINDOW_VARIABLE = "VTK_DEFAULT_OPENGL_WINDOW"
WAYS = ("", "vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")
"""Ways of drawing: VTK's own choice, then without a display on the graphics driver, then in memory."""

_PROBE = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.SetSize(8, 8)
renderer = vtkRenderer()
renderer.SetBackground(0.2, 0.4, 0.6)
window.AddRenderer(renderer)
window.Render()
pixels = vtkUnsignedCharArray()
window.GetRGBACharPixelData(4, 4, 4, 4, 0, pixels)
print(window.GetClassName(), "drew", [pixels.GetValue(i) for i in range(3)])
"""


class GraphicsMissing(Refusal):
    """This machine cannot draw. Nothing was written; the text says what to install and what works without."""

    exit_status = 3

    def __init__(self, tried: str = "") -> None:
        super().__init__("graphics, tried" if tried else "graphics", **{"tried": tried} if tried else {})
        self.tried = tried

    def __reduce__(self) -> tuple[type[GraphicsMissing], tuple[str]]:
        return GraphicsMissing, (self.tried,)


@lru_cache(maxsize=1)
def ready() -> str:
    """The way of drawing that works here, set in the environment; "" is VTK's own choice.

    Raises GraphicsMissing where none does. Asked once per process; costs a child process of about half
    a second.
    """
    chosen = os.environ.get(WINDOW_VARIABLE)
    if chosen is not None:
        ways: tuple[str, ...] = (chosen,)
    elif os.environ.get("DISPLAY") or sys.platform != "linux":
        ways = WAYS
    else:  # without a display VTK's own choice works too, but complains on the way there
        ways = (WAYS[1], WAYS[0], WAYS[2])
    tried, locale = [], Locale("m")
    for way in ways:
        failure = probe(way)
        if failure is None:
            if way:
                os.environ[WINDOW_VARIABLE] = way
            return way
        tried.append(locale.say("graphics.way", way=way or locale.say("graphics.own way"), failure=failure))
    raise GraphicsMissing("; ".join(tried))


def probe(way: str) -> str | None:
    """None if a child process drew that way, else what became of it, in words."""
    locale = Locale("m")
    environment = {key: value for key, value in os.environ.items() if key != WINDOW_VARIABLE}
    if way:
        environment[WINDOW_VARIABLE] = way
    try:
        child = subprocess.run(
            [sys.executable, "-c", _PROBE], env=environment, capture_output=True, text=True, timeout=60
        )
    except subprocess.TimeoutExpired:
        return locale.say("graphics.no answer")
    # VTK falls back on another kind of window by itself, which is not what was asked for
    if child.returncode == 0 and way in child.stdout and "drew [51, 102, 153]" in child.stdout:
        return None
    if child.returncode == -11:
        return locale.say("graphics.no driver")
    if child.returncode == 0:
        return locale.say("graphics.nothing")
    return locale.say("graphics.status", status=child.returncode)


# ---------------------------------------------------------------- light

KEY_LIGHT = np.array([-0.36, -0.52, 0.78])
"""Where the light comes from: high, from the front left of the plan. A convention, not the room's lamps."""
FROM_BELOW = np.array([1.0, 1.0, -1.0])


def lit(
    colour: str, normals: Floats, *, below: bool = False, toward: Floats | None = None, shine: float = 0.0
) -> Floats:
    """(n, 3) colours 0 to 1 under a broad soft light from above and a gentler one from the side.

    A level face keeps its palette colour; faces turned away darken towards a cool grey. `below` lights a
    ceiling as seen by somebody looking up; `toward`, the direction to the viewer, lights what a section
    shows as a drawing does: what faces the viewer is bright.
    """
    facing = normals * FROM_BELOW if below else normals
    sky = 0.5 + 0.5 * facing[:, 2]
    if toward is not None:
        sky = 0.35 * sky + 0.65 * np.maximum(facing @ toward, 0.0)
        light = toward + np.array([0.0, 0.0, 0.7]) - 0.35 * np.cross(toward, (0.0, 0.0, 1.0))
        key = 1.15 * np.maximum(facing @ (light / np.linalg.norm(light)), 0.0)
    else:
        key = np.maximum(facing @ KEY_LIGHT, 0.0)
    back = np.maximum(facing @ np.array([0.7, 0.5, 0.1]), 0.0)
    bounce = 0.10 * np.maximum(-facing[:, 2], 0.0)
    brightness = 0.70 + 0.13 * sky + 0.22 * key + 0.06 * back + bounce
    base = np.array(rgb(colour))
    shade = np.minimum(brightness, 1.0)[:, None]
    cool = np.array([0.93, 0.96, 1.0])
    tinted = base * (shade * 1.0 + (1 - shade) * 0.30 * cool)
    gloss = shine * np.maximum(facing @ (KEY_LIGHT / np.linalg.norm(KEY_LIGHT)), 0.0) ** 12
    return np.asarray(np.clip(tinted + 0.35 * gloss[:, None], 0.0, 1.0))


# ---------------------------------------------------------------- props as arrays


@record(frozen=True, eq=False)
class Triangles:
    """Many props as one list of triangles: points (n, 3), colours (n, 4) as bytes, faces (m, 3)."""

    points: Floats
    colours: NDArray[np.uint8]
    faces: NDArray[np.int64]


def opaque(props: Iterable[Prop], *, below: bool = False, toward: Floats | None = None) -> Triangles:
    """The opaque meshes among the props, lit."""
    return _gathered((p for p in props if p.kind == "mesh" and not p.translucent), None, below, toward=toward)


def translucent(
    props: Iterable[Prop], eye: Floats, *, level: Floats | None = None, below: bool = False
) -> Triangles:
    """The translucent meshes among the props, lit, their triangles sorted from far to near.

    Sorting all triangles of all props together draws them in the right order wherever they do not cross,
    which costs a millisecond, and leaves the antialiasing on that peeling would take away. `level` is the
    direction of view of an orthographic picture; else they are seen from `eye`.
    """
    found = _gathered((p for p in props if p.kind == "mesh" and p.translucent), eye, below, level)
    if not len(found.faces):
        return found
    middle = found.points[found.faces].mean(axis=1)
    # the viewer's distance along the view, or from the eye
    away = middle @ level if level is not None else np.linalg.norm(middle - eye, axis=1)
    return Triangles(found.points, found.colours, found.faces[np.argsort(-away, kind="stable")])


def _gathered(
    props: Iterable[Prop],
    eye: Floats | None,
    below: bool,
    level: Floats | None = None,
    toward: Floats | None = None,
) -> Triangles:
    points, colours, faces, start = [np.zeros((0, 3))], [np.zeros((0, 4))], [np.zeros((0, 3), np.int64)], 0
    for prop in props:
        if not len(prop.faces):
            continue
        at, normals, index = prop.shaded()
        if eye is not None and prop.solid and prop.layer != "band":
            # of a faint closed thing only the front is drawn, so that it looks like one thing
            corners = at[index]
            facing = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
            look = level if level is not None else corners[:, 0] - eye
            index = index[(facing * look).sum(axis=1) < 0]
        colour = np.ones((len(at), 4))
        flat = prop.flat or prop.fade is not None or prop.layer in ("footprint", "region", "margins")
        colour[:, :3] = (
            rgb(prop.colour)
            if flat
            else lit(prop.colour, normals, below=below, toward=toward, shine=prop.shine)
        )
        alpha: Any = prop.opacity
        if prop.fade is not None:
            alpha = prop.opacity * prop.fade
        elif prop.layer == "band" and eye is not None:
            # a thin coloured film: it hides more the flatter one looks along it, which draws its outline
            look = np.broadcast_to(level, at.shape) if level is not None else at - eye
            look = look / np.maximum(np.linalg.norm(look, axis=1), 1e-9)[:, None]
            grazing = 1 - np.abs(np.einsum("ij,ij->i", look, normals))
            alpha = np.clip(prop.opacity * (0.72 + 1.25 * grazing**2), 0, 1)
            colour[:, :3] = rgb(prop.colour)
        colour[:, 3] = alpha
        points.append(at)
        colours.append(colour)
        faces.append(index + start)
        start += len(at)
    return Triangles(
        np.concatenate(points),
        np.round(np.concatenate(colours) * 255).astype(np.uint8),
        np.concatenate(faces),
    )


def as_polydata(triangles: Triangles) -> Any:
    """The triangles as pyvista.PolyData with point scalars `rgba`."""
    import pyvista

    faces = np.column_stack([np.full(len(triangles.faces), 3), triangles.faces]).ravel()
    data = pyvista.PolyData(triangles.points.astype(np.float32), faces)
    data.point_data["rgba"] = triangles.colours
    return data


def strokes_as_polydata(props: Iterable[Prop]) -> dict[float, Any]:
    """The strokes among the props, as one pyvista.PolyData with cell scalars `rgba` per width in points."""
    import pyvista

    by_width: dict[float, list[Prop]] = {}
    for prop in props:
        if prop.kind == "line" and len(prop.segments):
            by_width.setdefault(prop.width_pt, []).append(prop)
    made = {}
    for width, several in sorted(by_width.items()):
        starts = np.cumsum([0] + [len(prop.points) for prop in several])
        points = np.concatenate([prop.points for prop in several])
        segments = np.concatenate([p.segments + s for p, s in zip(several, starts, strict=False)])
        lines = np.column_stack([np.full(len(segments), 2), segments]).ravel()
        data = pyvista.PolyData(points.astype(np.float32), lines=lines)
        colour = np.concatenate([np.tile((*rgb(p.colour), p.opacity), (len(p.segments), 1)) for p in several])
        data.cell_data["rgba"] = np.round(colour * 255).astype(np.uint8)
        made[width] = data
    return made
