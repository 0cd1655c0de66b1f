"""Legends of the sheets: the mark of everything drawn on one, and what it means."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scenes.findings.review import STANDINGS
from scenes.review.maps import area_maps
from scenes.room.ceiling import highest_m, room_under
from scenes.room.scene import Scene
from viz.sheets import plan_clearances, rose, symbols
from viz.sheets.draft import Draft
from viz.sheets.paper import Legend, Paper
from viz.sheets.plan_areas import steps_of
from viz.words import areas as area_words
from viz.words import verdict
from viz.words.locale import Locale
from viz.words.things import kind_name

if TYPE_CHECKING:
    from scenes.dossier import Dossier


def _symbol(draft: Draft, block: str, role: str, text: str, scale: float = 1.0) -> Legend:
    return Legend(lambda page, x, y: page.insert(block, role, x, y, scale=scale), text)


def _stroke(role: str, text: str) -> Legend:
    return Legend(lambda page, x, y: page.line(role, x - 4, y, x + 4, y), text)


def _patch(fill: str | None, edge: str, text: str, hatch: tuple[str, float, float] | None = None) -> Legend:
    def draw(page: Paper, x: float, y: float) -> None:
        box = (x - 4, y - 1.4, x + 4, y + 1.4)
        if fill:
            page.fill(fill, [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])])
        if hatch:
            page.hatch(hatch[0], box, hatch[1], hatch[2])
        page.box(edge, box)

    return Legend(draw, text)


def _array_legend(draft: Draft, scene: Scene) -> list[Legend]:
    made = []
    for array in {array.profile.name: array for array in scene.arrays}.values():
        block = symbols.array_block(draft, array)
        size = max(array.profile.size_m[:2]) * draft.per_m * 1.25
        mount = draft.locale.say(f"mount.{array.profile.mount}")
        text = draft.locale.say("sheet.legend.array", profile=array.profile.name, mount=mount)
        made.append(_symbol(draft, block, "array", text, 4.2 / size))
    if made:
        text = draft.locale.say("sheet.legend.orientation")
        made.append(_symbol(draft, symbols.orientation_block(draft), "sector", text))
    return made


def _state_legend(draft: Draft, dossier: Dossier) -> list[Legend]:
    standings, locale = {head.standing for head in dossier.review.heads}, Locale.of(dossier.scene)
    return [
        _symbol(draft, symbols.head_block(draft, one), one, verdict.standing(one, locale))
        for one in STANDINGS
        if one in standings
    ]


def plan_legend(draft: Draft, dossier: Dossier, *, bare: bool = False) -> list[Legend]:
    """The marks of a floor plan; of a `bare` one, which has no grid, without it."""
    scene, say = dossier.scene, draft.locale.say
    made = [*_state_legend(draft, dossier), *_array_legend(draft, scene)]
    if scene.areas and not dossier.review.judged:
        made.append(_patch(None, "area", say("sheet.legend.area")))
    maps = area_maps(scene) if dossier.review.judged else ()
    for role, step in steps_of(maps).items():
        hatch = ("margin hatch", 1.4, 45.0) if step.state == "missed" else None
        made.append(_patch(role, "area", area_words.step(step, draft.locale), hatch))
    postures = {head.posture for head in scene.heads}
    if not scene.arrays:
        postures = set()
    if "seated" in postures:
        made.append(_patch("band hatch", "band", say("sheet.legend.seated")))
    if "standing" in postures:
        made.append(_stroke("band standing", say("sheet.legend.standing")))
    if "seated" in postures:
        made.append(_stroke("reach", say("sheet.legend.reach")))
    if scene.cameras:
        made.append(_symbol(draft, symbols.camera_block(draft), "camera", say("sheet.legend.camera")))
    if scene.displays:
        made.append(_stroke("display", say("sheet.legend.display")))
    if scene.room.grid is not None and not bare:
        made.append(_stroke("grid", say("sheet.legend.grid")))
    return made


def ceiling_legend(draft: Draft, dossier: Dossier, *, bare: bool = False) -> list[Legend]:
    """The marks of a reflected ceiling plan; of a `bare` one without tiles, figures and notes."""
    scene, say = dossier.scene, draft.locale.say
    made = _array_legend(draft, scene)
    for kind in dict.fromkeys(device.kind for device in scene.overhead):
        made.append(_symbol(draft, symbols.symbol_block(draft, kind), kind, kind_name(kind, draft.locale)))
    made += _parts_legend(scene, draft)
    if any(region.polygons for region in dossier.regions.values()):
        made.append(_patch(None, "region", say("sheet.legend.region"), ("region hatch", 1.6, 45)))
    if not bare and any(room_under(scene.room, array.at_m).grid for array in scene.arrays):
        made.append(_patch("tile", "grid", say("sheet.legend.tile")))
    if dossier.review.short or dossier.review.advised:
        made.append(_patch(None, "clash", say("sheet.legend.clash"), ("clash", 1.0, 45)))
    for part in plan_clearances.edges(dossier.review, dossier.keep_outs):
        hatch = ("keep-out hatch", plan_clearances.SPACING_MM[part], -45.0)
        made.append(_patch(None, "keep-out", say(f"sheet.legend.keep-out.{part}"), hatch))
    if not bare:
        made += _figures_legend(draft, dossier)
    if scene.tables:
        made.append(_stroke("table above", say("sheet.legend.table")))
    return [*made, *rose.legend(dossier.review)]


def _figures_legend(draft: Draft, dossier: Dossier) -> list[Legend]:
    """What figures at a device are, and the cloud round what a note is about."""
    say, review, made = draft.locale.say, dossier.review, []
    if draft.figured:
        made.append(_letters(say("sheet.legend.figures"), say("sheet.legend.clearance")))
    if plan_clearances.keys(review):
        made.append(_cloud(say("sheet.legend.cloud")))
    return made


def _letters(text: str, meaning: str) -> Legend:
    """Letters as they stand on the drawing, in place of a mark."""
    return Legend(lambda page, x, y: page.text(text, x, y - 0.9, height=1.8, align="centre"), meaning)


def _cloud(text: str) -> Legend:
    def draw(page: Paper, x: float, y: float) -> None:
        ring = [(x - 3, y - 1), (x, y - 1), (x + 3, y - 1), (x + 3, y + 1), (x, y + 1), (x - 3, y + 1)]
        page.layout.add_lwpolyline(
            [(*point, 0.55) for point in ring],
            format="xyb",
            close=True,
            dxfattribs={"layer": page.layer("clash")},
        )

    return Legend(draw, text)


def _parts_legend(scene: Scene, draft: Draft) -> list[Legend]:
    """The marks of a ceiling in parts: its edges, and the arrow up a slope."""
    say, made = draft.locale.say, []
    if scene.room.parts:
        made.append(_stroke("ceiling", say("sheet.legend.edge")))
    if any(not part.surface.flat for part in scene.room.parts):

        def arrow(page: Paper, x: float, y: float) -> None:
            for ax, ay in ((x - 4, y), (x + 2.6, y + 0.7), (x + 2.6, y - 0.7)):
                page.line("symbol", ax, ay, x + 4, y)

        made.append(Legend(arrow, say("sheet.legend.slope")))
    return made


def section_legend(draft: Draft, dossier: Dossier) -> list[Legend]:
    """The marks of a section."""
    scene, say = dossier.scene, draft.locale.say
    made = [*_state_legend(draft, dossier), _patch("band hatch", "band", say("sheet.legend.band"))]
    made.append(
        Legend(lambda page, x, y: page.line("covered", x, y - 1.6, x, y + 1.6), say("sheet.legend.mouths"))
    )
    if any(
        array.profile.mount == "pendant" or room_under(scene.room, array.at_m).structure_m is not None
        for array in scene.arrays
    ):
        made.append(_stroke("safety", say("sheet.legend.safety")))
    if scene.suspension.swing is not None and any(one.profile.mount == "pendant" for one in scene.arrays):
        made.append(_stroke("swing", say("sheet.legend.swing")))
    return [*made, *rose.legend(dossier.review)]


def heights_legend(draft: Draft, dossier: Dossier) -> list[Legend]:
    """The marks of heights and bands."""
    say = draft.locale.say
    low_enough = dossier.scene.limits.headroom_m < highest_m(dossier.scene.room)
    return [
        _patch("chart best hatch", "chart best", say("sheet.legend.best")),
        _patch(None, "chart reach", say("sheet.legend.upright")),
        _patch(None, "chart ruled out", say("sheet.legend.ruled out"), ("chart ruled out", 1.0, 45)),
        _stroke("chart", say("sheet.legend.tick")),
        Legend(
            lambda page, x, y: page.insert(symbols.level_block(draft), "array", x - 1, y, turn_deg=-90),
            say("sheet.legend.hangs"),
        ),
        _patch("band hatch", "band", say("sheet.legend.current band")),
        _patch("band hatch", "band standing", say("sheet.legend.other band")),
        *([_stroke("headroom", say("sheet.legend.headroom"))] if low_enough else []),
        *_state_legend(draft, dossier),
    ]
