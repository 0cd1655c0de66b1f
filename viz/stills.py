"""PNG pictures of a stage: named views, drawn without a screen, lettered, with their scale inside.

The same stage and style give the same bytes on the same machine.
"""

from __future__ import annotations

import io
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from PIL.PngImagePlugin import PngInfo

from geometry.records import record
from scenes.findings.review import STANDINGS
from scenes.room.scene import Scene
from viz import drawing, lettering, picture_legend, views
from viz import palette as ink
from viz.label_wishes import Picture, box_of, wishes
from viz.refusals import Refusal
from viz.shown import shown
from viz.stage import LAYERS, Prop, Stage
from viz.stage.areas import on_floor
from viz.stage.people import CROWN_M, STEM_M
from viz.views import View
from viz.words import cautions, pictures
from viz.words.locale import Locale, number, plain

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float64]
Background = Literal["white", "soft", "transparent"]
SIZE = (2400, 1500)


class NoSuchStyle(Refusal, ValueError):
    """A style that no still can have; the text says what it can be."""


@record(frozen=True)
class Style:
    """How stills are made. `dpi` None: 220 at 2400 px across, in proportion otherwise.

    `layers` shows exactly these; `on` and `off` change what a view shows by itself.
    """

    size: tuple[int, int] = SIZE
    dpi: float | None = None
    background: Background = "white"
    layers: tuple[str, ...] | None = None
    on: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    caption: bool = True
    legend: bool = True
    words: bool = True

    def __post_init__(self) -> None:
        if not all(64 <= side <= 16000 for side in self.size):
            size = "x".join(map(str, self.size))
            raise NoSuchStyle("style.size", size=size)
        if self.dpi is not None and not 20 <= self.dpi <= 2400:
            raise NoSuchStyle("style.dpi", dpi=plain(self.dpi))
        if self.background not in ("white", "soft", "transparent"):
            raise NoSuchStyle("style.background", text=repr(self.background))
        for name in (*(self.layers or ()), *self.on, *self.off):
            if name not in LAYERS:
                raise NoSuchStyle("style.layer", text=repr(name), layers=", ".join(LAYERS))

    @property
    def dots_per_inch(self) -> float:
        """The dpi the picture is made for."""
        return self.dpi if self.dpi is not None else 220 * self.size[0] / 2400

    def layers_of(self, kind: str) -> tuple[str, ...]:
        """The layers a view of that kind shows."""
        base = self.layers if self.layers is not None else views.LAYERS_OF[kind]
        return tuple(name for name in LAYERS if (name in base or name in self.on) and name not in self.off)


@record(frozen=True, eq=False)
class Still:
    """A picture: its PNG bytes, and where things are in it.

    `picture_size` is the part above legend and caption, which `view.project` is for. `pixels_per_metre` and
    `scale` (1 : scale at the picture's dpi) are None in perspective.
    """

    name: str
    png: bytes
    size: tuple[int, int]
    picture_size: tuple[int, int]
    view: View
    labels: tuple[lettering.Placed, ...]
    pixels_per_metre: float | None
    scale: float | None

    @property
    def file_name(self) -> str:
        """A file name for it: the view's name with a dash for the colon."""
        return self.name.replace(":", "-") + ".png"


def draw_stills(
    stage: Stage, names: Sequence[str] | None = None, style: Style | None = None
) -> tuple[Still, ...]:
    """The named views of a stage; without names those of `views.usual`. Raises NoSuchView, GraphicsMissing."""
    style = style or Style()
    chosen = list(dict.fromkeys(names)) if names is not None else list(views.usual(stage))
    # every name is checked before anything is drawn
    for name in chosen:
        views.view(stage, name, 1.0)
    return tuple(draw_still(stage, name, style) for name in chosen)


def draw_still(stage: Stage, name: str, style: Style | None = None) -> Still:
    """One view of a stage. Raises NoSuchView, GraphicsMissing."""
    style = style or Style()
    kind = name.partition(":")[0]
    if kind == "map" and stage.review.judged:
        stage = on_floor(stage, views.posture_of(stage.scene, name))
    layers = style.layers_of(kind) if kind in views.KINDS else ()
    everything = _asked(style, kind)

    def seen(tall: int) -> View:
        return views.view(stage, name, style.size[0] / tall, layers=layers)

    # legend and caption hang on what is in the picture, and its shape on what they leave for it
    layout = _layout(stage, seen(round(style.size[1] * 0.85)), style, everything)
    for _ in range(3):
        view = seen(layout.tall)
        before, layout = layout.tall, _layout(stage, view, style, everything)
        if layout.tall == before:
            break
    return _drawn(stage, seen(layout.tall), style, layout, everything)


def draw_seen(stage: Stage, view: View, style: Style | None = None) -> Still:
    """A still of exactly this view, whose layers stand. Raises GraphicsMissing."""
    style = style or Style()
    return _drawn(stage, view, style, _layout(stage, view, style, False), False)


@record(frozen=True)
class _Layout:
    """Legend and caption of a picture, and the pixels that they leave for it."""

    entries: tuple[picture_legend.Entry, ...]
    caption: lettering.Caption | None
    tall: int


def _layout(stage: Stage, view: View, style: Style, everything: bool) -> _Layout:
    dpi = style.dots_per_inch
    width, height = style.size
    caption = None
    if style.caption:
        caption = lettering.caption(stage.review, described(view, stage.scene), style.size, dpi)
    below = caption.height if caption else 0
    entries: list[picture_legend.Entry] = []
    if style.legend:
        props = shown(stage, view, all_lines=everything)
        guess = (width, max(height - below - round(15 * dpi / 72), height // 3))
        entries = legend(stage, props, view, guess)
    keys = picture_legend.legend_height(entries, width, dpi)
    return _Layout(tuple(entries), caption, max(height - below - keys, height // 3))


def _drawn(stage: Stage, view: View, style: Style, layout: _Layout, everything: bool) -> Still:
    drawing.ready()
    dpi = style.dots_per_inch
    width, height = style.size
    tall = layout.tall
    props = shown(stage, view, all_lines=everything)
    ground = ink.BACKDROP if style.background == "soft" else ink.PAPER
    # a transparent picture's words stand on paper of their own, so that they read on any slide
    image = Image.new("RGBA", (width, height), ground)
    picture = Image.fromarray(render(props, view, (width, tall), style.background, dpi))
    ratio = tall / (2 * view.half_height_m) if view.flat else None
    placed: list[lettering.Placed] = []
    if style.words:
        placed = letter(picture, props, view, (width, tall), dpi, ratio, stage.scene, style.background)
    if style.background == "transparent":
        picture = rimmed(picture, dpi)
    image.paste(picture, (0, 0))
    if layout.entries:
        picture_legend.draw_legend(image, layout.entries, tall, dpi)
    if layout.caption is not None:
        lettering.draw_caption(image, layout.caption, height - layout.caption.height)
    elif style.words:
        lettering.stamp(image, stage.review, dpi)
    scale = dpi / 0.0254 / ratio if ratio else None
    png = _png(image, style, view, dpi, ratio, scale, cautions.mark(stage.review))
    return Still(view.name, png, style.size, (width, tall), view, tuple(placed), ratio, scale)


def rimmed(picture: Image.Image, dpi: float) -> Image.Image:
    """A transparent picture with a thin white rim round all that is drawn, so that it reads on dark slides too."""
    reach = max(2, round(1.0 * dpi / 72))
    # a thin line is half clear itself; its rim is not
    alpha = picture.getchannel("A").point(lambda value: min(255, 2 * value))
    wide = alpha.filter(ImageFilter.MaxFilter(2 * reach + 1)).filter(ImageFilter.BoxBlur(reach / 3))
    rim = Image.merge("RGBA", [*Image.new("RGB", picture.size, "#FFFFFF").split(), wide])
    return Image.alpha_composite(rim, picture)


def described(view: View, scene: Scene) -> str:
    """The view in words, with whose it is where there are several, and how high the eye is that looks down."""
    named, _, id = view.name.partition(":")
    if named == "map":
        posture = views.posture_of(scene, view.name)
        floor = next(one for one in scene.floor if one.posture == posture)
        return pictures.floor_map(floor, Locale.of(scene))
    several = scene.cameras if view.kind == "camera" else scene.arrays
    if view.kind in ("long", "cross", "array", "camera") and len(several) > 1:
        id = id or several[0].id
    return pictures.view(view.kind, id, view.eye[2], Locale.of(scene))


def _asked(style: Style, kind: str) -> bool:
    """Whether clear clearances and free sightlines were asked for by name."""
    named = set(style.on) | set(style.layers or ())
    return bool(named & {"clearances", "sightlines"})


# ---------------------------------------------------------------- the render


def render(
    props: Sequence[Prop],
    view: View,
    size: tuple[int, int],
    background: Background = "white",
    dpi: float = 220.0,
) -> Pixels:
    """(height, width, 4) bytes: the props seen so, without words. Raises GraphicsMissing."""
    drawing.ready()
    if background == "transparent":
        # over white and over black: what differs is what shows through, exactly, films included
        white = _render(props, view, size, ink.PAPER, dpi).astype(float)
        black = _render(props, view, size, "#000000", dpi).astype(float)
        alpha = 255 - (white - black).max(axis=2)
        colour = np.where(alpha[..., None] > 0, black * 255 / np.maximum(alpha, 1)[..., None], 255)
        made = np.dstack([np.clip(colour, 0, 255), alpha])
        return np.ascontiguousarray(np.round(made).astype(np.uint8))
    colour = _render(props, view, size, ink.PAPER if background == "white" else ink.BACKDROP, dpi)
    return np.dstack([colour, np.full(colour.shape[:2], 255, np.uint8)])


def _render(props: Sequence[Prop], view: View, size: tuple[int, int], colour: str, dpi: float) -> Pixels:
    import pyvista

    plotter: Any = pyvista.Plotter(off_screen=True, window_size=list(size), lighting="none")
    try:
        plotter.enable_anti_aliasing("msaa", multi_samples=8)
        # films come sorted; VTK's own blending without order would also lose depth beside the antialiasing
        plotter.renderer.SetUseOIT(False)
        plotter.set_background(colour)
        add_props(plotter, props, view, dpi)
        plotter.show(auto_close=False, interactive=False)
        pixels = np.asarray(plotter.screenshot(return_img=True))[:, :, :3]
    finally:
        plotter.close()
    return np.ascontiguousarray(pixels[:, ::-1] if view.mirrored else pixels)


def add_props(plotter: Any, props: Sequence[Prop], view: View, dpi: float) -> None:
    """Put props and the view's camera into a plotter."""
    level = view.basis[2] if view.flat else None
    films = drawing.translucent(props, np.asarray(view.eye, float), level=level, below=view.kind == "ceiling")
    add_meshes(plotter, props, view, dpi, films)
    camera = plotter.camera
    camera.position, camera.focal_point, camera.up = view.eye, view.target, view.up
    camera.parallel_projection = view.flat
    camera.parallel_scale = view.half_height_m
    camera.view_angle = view.angle_deg
    camera.SetWindowCenter(*view.shift)
    camera.clipping_range = depth_range(props, view)


def add_meshes(
    plotter: Any, props: Sequence[Prop], view: View, dpi: float, films: drawing.Triangles
) -> tuple[list[Any], Any]:
    """Put props into a plotter, opaque first, then the sorted films, then strokes: all actors, and the films' data."""
    below = view.kind == "ceiling"
    toward = -view.basis[2] if view.kind in ("long", "cross") else None
    solid = drawing.opaque(props, below=below, toward=toward)
    look: dict[str, Any] = {
        "scalars": "rgba",
        "rgb": True,
        "lighting": False,
        "show_scalar_bar": False,
        "reset_camera": False,
        "copy_mesh": False,
        "render": False,
    }
    actors = []
    film_data = None
    if len(solid.faces):
        # bytes without alpha, so that it is drawn as opaque
        data = drawing.as_polydata(solid)
        data.point_data["rgba"] = np.ascontiguousarray(solid.colours[:, :3])
        actors.append(plotter.add_mesh(data, **look))
    if len(films.faces):
        film_data = drawing.as_polydata(films)
        actors.append(plotter.add_mesh(film_data, **look))
    for width, data in drawing.strokes_as_polydata(props).items():
        actor = plotter.add_mesh(data, line_width=max(1.0, width * dpi / 72), **look)
        actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
        actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, -3.0)
        actors.append(actor)
    return actors, film_data


def depth_range(props: Sequence[Prop], view: View) -> tuple[float, float]:
    """Nearest and farthest depth among the props, with a little room: depth is used where it is needed."""
    points = [prop.points for prop in props if len(prop.points)]
    if not points:
        return (0.1, 100.0)
    depth = (np.concatenate(points) - view.eye) @ view.basis[2]
    far = max(float(depth.max()) + 0.5, 1.0)
    near = float(depth.min()) - 0.1
    return (near if view.flat else max(near, 0.05, far / 2000), far)


# ---------------------------------------------------------------- words on it


def letter(
    image: Image.Image,
    props: Sequence[Prop],
    view: View,
    size: tuple[int, int],
    dpi: float,
    pixels_per_metre: float | None,
    scene: Scene,
    background: Background = "white",
) -> list[lettering.Placed]:
    """Draw marks, scale bar and labels on a picture; the labels that found a place."""
    point = dpi / 72
    taken: list[lettering.Rectangle] = []
    radius = (3.6 if view.kind not in ("camera", "seat") else 4.2) * point
    # the worst state first, then the nearest: it keeps its place where several would hide each other
    order = ("missed", "blocked", "marginal", "covered")
    marks = sorted(marks_in(props, view, size), key=lambda m: (order.index(m[0].state), m[2]))
    marks = _one_where_many(marks, 3 * radius)
    places = lettering.apart([at for _, at, _ in marks], 2.35 * radius)
    where_from = [(prop, at, place) for (prop, at, _), place in zip(marks, places, strict=True)]
    lettering.ties(image, [(at, place) for prop, at, place in where_from if not on_stem(prop, view)], point)
    feet = [
        (_foot(prop, view, size), place, prop.colour) for prop, _, place in where_from if on_stem(prop, view)
    ]
    lettering.stems(image, feet, point)
    where: dict[str, tuple[float, float]] = {}
    for (prop, _, _), at in zip(marks, places, strict=True):
        lettering.mark(image, prop.text, at, prop.colour, radius)
        reach = 1.26 * radius
        taken.append((at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach))
        if prop.layer == "people":
            where[prop.about] = at
    if pixels_per_metre is not None:
        place = (size[0] - 26 * point, size[1] - 8 * point)
        taken.append(lettering.scale_bar(image, pixels_per_metre, *place, dpi, Locale.of(scene)))
    north = scene.room.north_deg
    if view.kind in ("plan", "ceiling") and north is not None:
        taken.append(lettering.north_arrow(image, north, (size[0] - 34 * point, 30 * point), dpi))
    for prop in props:
        if _kept_free(prop, view):
            box = box_of(prop, view, size)
            # a large area is no thing to keep clear of: words stand in it
            if (box[2] - box[0]) * (box[3] - box[1]) < 0.02 * size[0] * size[1]:
                taken.append(box)
    wanted = wishes(Picture(props, view, size, point, where, 1.5 * radius))
    placed = lettering.place(wanted, size, dpi, taken)
    ground = ink.BACKDROP if background == "soft" else ink.PAPER
    lettering.write(image, placed, dpi, ground)
    return placed


Marked = tuple[Prop, tuple[float, float], float]
"""A sign, its place in pixels, and how far away it is."""


def _one_where_many(marks: Sequence[Marked], gap: float) -> list[Marked]:
    """The signs, but of blocked sightlines that end at one spot only the first: they are no count of anybody."""
    kept: list[Marked] = []
    for mark in marks:
        same = (m for m in kept if m[0].state == "blocked" and mark[0].state == "blocked")
        if all(math.dist(mark[1], other[1]) > gap for other in same):
            kept.append(mark)
    return kept


def on_stem(prop: Prop, view: View) -> bool:
    """Whether a sign stands on a stem over somebody's head: where one sees faces, it never lies on one."""
    return prop.layer == "people" and view.kind in ("corner", "free", "camera", "seat", "long", "cross")


def sign_place(prop: Prop, view: View) -> Floats:
    """Where a sign stands in the room."""
    rise = CROWN_M + STEM_M if on_stem(prop, view) else 0.0
    return np.asarray(np.asarray(prop.anchor, float) + np.array([0.0, 0.0, rise]))


def _foot(prop: Prop, view: View, size: tuple[int, int]) -> tuple[float, float]:
    x, y, _ = view.project(np.asarray(prop.anchor, float) + np.array([0.0, 0.0, CROWN_M]), *size)[0]
    return float(x), float(y)


def marks_in(props: Sequence[Prop], view: View, size: tuple[int, int]) -> list[Marked]:
    """The signs that are wholly in the picture."""
    found = []
    edge = 0.011 * size[1]
    for prop in props:
        if prop.kind == "mark" and prop.anchor is not None:
            x, y, depth = view.project(sign_place(prop, view), *size)[0]
            if depth > 0.05 and edge <= x < size[0] - edge and edge <= y < size[1] - edge:
                found.append((prop, (float(x), float(y)), float(depth)))
    return found


def _kept_free(prop: Prop, view: View) -> bool:
    """Whether no label may lie on a thing: orientation marks, and on plans the small things that have labels."""
    if prop.layer == "overhead" and prop.id.endswith("/symbol"):
        return True
    if prop.kind != "mesh":
        return False
    if prop.layer == "arrays" and prop.id.endswith("/mark"):
        return True
    if view.kind == "plan" and prop.layer == "shell":
        return prop.id.startswith(("display/", "camera/"))
    return view.kind in ("plan", "ceiling") and (
        prop.layer == "region" or (prop.layer == "overhead" and prop.id.endswith("/body"))
    )


def legend(
    stage: Stage, props: Sequence[Prop], view: View | None = None, size: tuple[int, int] = SIZE
) -> list[picture_legend.Entry]:
    """What is shown, each thing once, in a fixed order: states, band, and whatever else has a legend text.

    With a view only the signs that are in the picture are counted, and how many more there are is told.
    """
    marks = [prop for prop in props if prop.kind == "mark"]
    if view is not None:
        marks = [prop for prop, _, _ in marks_in(props, view, size)]
    entries = _states(stage, Counter(prop.state for prop in marks if prop.layer == "people"))
    seen: set[str] = set()
    for prop in props:
        if not prop.legend or prop.legend in seen or (prop.kind == "mark" and prop.layer == "people"):
            continue
        if prop.kind == "mark" and prop not in marks:
            continue
        seen.add(prop.legend)
        entries.append(_entry(prop))
    return entries


def _states(stage: Stage, count: Mapping[str, int]) -> list[picture_legend.Entry]:
    """The states that have a sign in the picture, with how many."""
    locale = Locale.of(stage.scene)
    entries = []
    for state in STANDINGS:
        if count[state]:
            positions = sum(head.standing == state for head in stage.review.heads)
            talkers = getattr(stage.review.counts, state)
            said = pictures.signs(state, count[state], positions, talkers, locale)
            entries.append(picture_legend.Entry(ink.STATE_MARKS[state], ink.STATE_COLOURS[state], said))
    return entries


SAMPLES = {
    "band": "film",
    "footprint": "fill",
    "region": "fill",
    "margins": "patch",
    "arrays": "wedge",
    "clearances": "hatch",
}
"""How a legend draws a layer's props; a line for others."""


def _entry(prop: Prop) -> picture_legend.Entry:
    """A prop's line in the legend."""
    if prop.layer == "overhead":
        ends = prop.points[prop.segments][:, :, :2].reshape(-1, 4).tolist()
        strokes = tuple((a, b, c, d) for a, b, c, d in ends)
        return picture_legend.Entry("symbol", ink.SYMBOL, prop.legend, strokes)
    clear = prop.layer == "clearances" and prop.state == "clear"
    if prop.kind == "mark":
        sample = prop.text
    elif clear or prop.state == "blocked" or prop.id.endswith("/ring"):
        sample = "dashes"
    elif prop.kind == "line" and prop.layer == "region":
        sample = "hatch"
    elif prop.layer == "footprint" and prop.id.endswith("/standing"):
        sample = "dashed fill"
    else:
        missed = prop.layer == "margins" and prop.state == "missed"
        sample = "hatched patch" if missed else SAMPLES.get(prop.layer, "line")
    return picture_legend.Entry(sample, prop.colour, prop.legend)


def _png(
    image: Image.Image,
    style: Style,
    view: View,
    dpi: float,
    ratio: float | None,
    scale: float | None,
    status: str | None,
) -> bytes:
    info = PngInfo()
    info.add_text("Software", "overtable")
    if status:
        info.add_text("Description", status)
    info.add_text("View", view.name)
    if ratio is not None and scale is not None:
        info.add_text("Pixels per metre", number(ratio, 3))
        info.add_text("Scale", Locale("m").say("picture.scale", scale=number(scale, 2), dpi=plain(dpi)))
    made = io.BytesIO()
    final = image if style.background == "transparent" else image.convert("RGB")
    final.save(made, "PNG", pnginfo=info, dpi=(dpi, dpi), compress_level=6)
    return made.getvalue()
