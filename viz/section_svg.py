"""Everyone in one section: each talker at the true distance from the array and the true height, as SVG.

All directions are turned into one, so the zone is its own section and whether a mouth lies in it is seen at once.
Nothing is judged here: states, margins and names are the review's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from geometry.records import record
from geometry.shapes import Point2
from scenes.findings.review import HeadReview, Review
from scenes.room.ceiling import ceiling_over_m
from scenes.room.scene import Array, Scene
from viz import palette as ink
from viz.stage.band import band_sides
from viz.words import coverage
from viz.words.locale import Locale

WIDE: Final = 460.0
"""As wide as a column beside the picture, so that letters keep their size there."""
LEFT, RIGHT, TOP, BOTTOM = 34.0, 8.0, 26.0, 44.0
MOST_PER_M: Final = 230.0
SAME_M: Final = 0.02
"""Talkers this near to the same distance are drawn as one."""
TIER, SIGN, NAME, SMALL = 17.0, 8.0, 13.0, 11.5
NAMED: Final = 3
"""So many talkers at one distance are named before the rest is counted."""
WORSE: Final = ("missed", "blocked", "marginal", "covered")
TINTED: Final = {
    "covered": ink.STATE_COLOURS["covered"],
    "marginal": "#7D5100",
    "blocked": ink.STATE_COLOURS["blocked"],
    "missed": ink.STATE_COLOURS["missed"],
}
"""The colour of names by state, dark enough to be read."""

Box = tuple[float, float, float, float]


@record(frozen=True)
class _Figure:
    """Talkers at one distance: from where to where, their mouths' heights, how far they lean, how they stand."""

    near_m: float
    far_m: float
    mouth_m: tuple[float, float]
    sway_m: float
    state: str
    heads: tuple[int, ...]
    name: str
    margin: str


class _Paper:
    """Metres from the array and above the floor, to the picture's units; and what is taken there already."""

    def __init__(self, per_m: float, tall_m: float) -> None:
        self.per_m, self.tall_m = per_m, tall_m
        self.taken: list[Box] = []
        self.stems: list[Box] = []
        self.bodies = 0

    def x(self, metres: float) -> float:
        return LEFT + metres * self.per_m

    def y(self, metres: float) -> float:
        return TOP + (self.tall_m - metres) * self.per_m

    def path(self, points: Sequence[Sequence[float]]) -> str:
        return " ".join(f"{self.x(u):.1f},{self.y(z):.1f}" for u, z in points)


def section_svg(review: Review, array: Array, number: int = 0, letters: str = "system-ui, sans-serif") -> str:
    """The section of one array with everybody it serves; `number` keeps its clip apart from others' on one page.

    `letters`: the font family, as CSS names it.
    """
    scene, locale = review.scene, Locale.of(review.scene)
    figures = _figures(review, array)
    tall = ceiling_over_m(scene.room, array.at_m)
    widest = max([one.far_m + one.sway_m for one in figures] + [array.band.far_m * 0.6]) + 0.35
    paper = _Paper(min(MOST_PER_M, (WIDE - LEFT - RIGHT) / widest), tall)
    parts = [*_ground(paper, widest, array, scene, locale), *_zone(paper, array, number, widest, locale)]
    parts += _array(paper, array, locale)
    parts += [part for one in figures for part in _body(paper, array, one)]
    paper.bodies = len(paper.taken)
    parts += [part for one in sorted(figures, key=_weight) for part in _named(paper, one, widest)]
    high = TOP + tall * paper.per_m + BOTTOM
    title = locale.say("section.title of", array=array.id)
    return (
        f'<svg class="section" viewBox="0 0 {WIDE:g} {high:.0f}" role="img" aria-label="{escape(title)}" '
        f'xmlns="http://www.w3.org/2000/svg" font-family="{letters}" font-size="{NAME}">'
        + "".join(parts)
        + "</svg>"
    )


def _figures(review: Review, array: Array) -> list[_Figure]:
    """Who is where in the section, those at one distance together."""
    groups: dict[object, list[tuple[int, HeadReview, float, float]]] = {}
    for index, judged in enumerate(review.heads):
        if judged.array != array.id:
            continue
        near, far = _reach(review.scene, judged, array)
        key = (
            round(near / SAME_M),
            round(far / SAME_M),
            judged.mouth_range_m,
            judged.sway_m,
            judged.standing,
        )
        groups.setdefault(key, []).append((index, judged, near, far))
    locale = Locale.of(review.scene)
    found = []
    for some in groups.values():
        _, first, near, far = some[0]
        worst = min((judged for _, judged, _, _ in some), key=lambda one: one.margin_m)
        names = locale.listed([judged.id for _, judged, _, _ in some], NAMED)
        margin = coverage.talker(worst, review.scene).margin
        indices = tuple(index for index, *_ in some)
        found.append(
            _Figure(near, far, first.mouth_range_m, first.sway_m, first.standing, indices, names, margin)
        )
    return found


def _reach(scene: Scene, judged: HeadReview, array: Array) -> tuple[float, float]:
    """From which distance to which somebody may be, level from the array: one place, or a stretch that is walked."""
    head = scene.head(judged.id)
    return _from_to(head.stretch_m if len(head.stretch_m) > 1 else (head.at_m, head.at_m), array)


def _from_to(corners: Sequence[Point2], array: Array, *, holds: bool = False) -> tuple[float, float]:
    """From which distance to which a line through these corners lies, level from the array, metres.

    With `holds` it is an outline, whose inside is nearest where the array is over it.
    """
    import shapely

    at = shapely.Point(array.centre_m[:2])
    shape = shapely.Polygon(corners) if holds else shapely.LineString(corners)
    return float(shape.distance(at)), max(math.dist(corner, array.centre_m[:2]) for corner in corners)


def _ground(paper: _Paper, widest: float, array: Array, scene: Scene, locale: Locale) -> Iterator[str]:
    """Floor, ceiling, the tables' height, and the scales."""
    right, floor, ceiling = paper.x(widest), paper.y(0), paper.y(paper.tall_m)
    yield _rect((LEFT, ceiling, right, floor), ink.SOFT)
    step = locale.unit_m * (2 if locale.imperial else 1)
    for k in range(1, math.ceil(paper.tall_m / step)):
        yield _line((LEFT, paper.y(k * step)), (right, paper.y(k * step)), "#FFFFFF", 1)
        yield _words(
            (LEFT - 8, paper.y(k * step) + 4), locale.tick(k * step / locale.unit_m), ink.INK_SOFT, "end"
        )
    for k in range(int(widest / step) + 1):
        yield _line((paper.x(k * step), floor), (paper.x(k * step), floor + 5), ink.INK_SOFT, 1)
        yield _words(
            (paper.x(k * step), floor + 18), locale.tick(k * step / locale.unit_m), ink.INK_SOFT, "middle"
        )
    for table in scene.tables:
        near, far = _from_to([*table.outline_m, table.outline_m[0]], array, holds=True)
        if near < widest:
            top = paper.y(table.height_m)
            yield _rect((paper.x(near), top, min(paper.x(far), right), top + 7), ink.TABLE_TOP)
    yield _line((LEFT, floor), (right, floor), ink.CUT_THROUGH, 4)
    yield _line((LEFT, ceiling), (right, ceiling), ink.CUT_THROUGH, 4)
    said = locale.say("section.ceiling", height=locale.height(paper.tall_m))
    yield _words((right, ceiling - 8), said, ink.INK_SOFT, "end")
    yield _words((right, floor + 36), locale.say("section.across", unit=locale.unit), ink.INK_SOFT, "end")
    yield _words((0, ceiling - 8), locale.say("section.up", unit=locale.unit), ink.INK_SOFT)


def _zone(paper: _Paper, array: Array, number: int, widest: float, locale: Locale) -> Iterator[str]:
    """The band's section within the room, its edges named, and the rays to where it begins."""
    band, z = array.band, array.centre_m[2]
    profile = [(r, z + up) for side in band_sides(band) for r, up in side]
    clip = f"section-{number}"
    yield (
        f'<clipPath id="{clip}"><rect x="{LEFT}" y="{TOP}" width="{widest * paper.per_m:.1f}" '
        f'height="{paper.tall_m * paper.per_m:.1f}"/></clipPath><g clip-path="url(#{clip})">'
    )
    yield (
        f'<polygon points="{paper.path(profile)}" fill="{ink.BAND}" fill-opacity="0.3" stroke="{ink.BAND_EDGE}" '
        'stroke-width="2.4"/>'
    )
    for angle in (band.low_deg, band.high_deg):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        begins = (band.near_m * c, z - band.near_m * s)
        yield (
            f'<polyline points="{paper.path([(0, z), begins])}" fill="none" stroke="{ink.BAND_EDGE}" '
            'stroke-width="1.3" stroke-dasharray="5 4"/>'
        )
    yield "</g>"
    yield from _edges_named(paper, array, locale)


def _edges_named(paper: _Paper, array: Array, locale: Locale) -> Iterator[str]:
    band, z = array.band, array.centre_m[2]
    named: set[float] = set()
    for angle, share, lift in (
        *((band.low_deg, share, -7.0) for share in (0.72, 0.5, 0.3)),
        (band.high_deg, 0.62, 15.0),
    ):
        if angle >= 90 or angle in named:
            continue
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        far = min(band.far_m, z / s if s > 0 else band.far_m)
        r = band.near_m + share * (far - band.near_m)
        x, y = paper.x(r * c), paper.y(z - r * s)
        if y < TOP + 10 or x > WIDE - 40:
            continue
        named.add(angle)
        yield (
            f'<text x="{x:.1f}" y="{y + lift:.1f}" transform="rotate({angle:.1f} {x:.1f} {y:.1f})" '
            f'fill="{ink.BAND_EDGE}" font-size="{SMALL}" font-weight="600" text-anchor="middle" {HALO}>'
            f"{escape(locale.edge(angle))}</text>"
        )


def _array(paper: _Paper, array: Array, locale: Locale) -> Iterator[str]:
    """The array where it hangs, and its name."""
    x, y = paper.x(0), paper.y(array.centre_m[2])
    half = array.profile.plan_radius_m * paper.per_m
    yield _line((x, TOP), (x, y), ink.INK, 1.6)
    yield _rect((x - half, paper.y(array.top_m), x + half, paper.y(array.underside_m)), ink.ARRAY_BODY, 2)
    yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.4" fill="{ink.BAND_EDGE}" stroke="#FFFFFF" stroke-width="1.6"/>'
    said = locale.say("stage.array", array=array.id, height=locale.height(array.centre_m[2]))
    left, top = x + half + 10, y - 24
    wide = _length(said, NAME) + 16
    box = (left, top, left + wide, top + 21)
    paper.taken.append(box)
    yield _rect(box, ink.INK, 4)
    yield _words((left + 8, top + 15), said, "#FFFFFF", weight=600)


def _body(paper: _Paper, array: Array, one: _Figure) -> Iterator[str]:
    """Where mouths may be: their range as a bar, leaning round it, and how far outside of the zone the worst is."""
    low, high = one.mouth_m
    sway, colour = one.sway_m, TINTED[one.state]
    box = (
        paper.x(one.near_m - sway),
        paper.y(high + sway),
        paper.x(one.far_m + sway),
        paper.y(low - sway),
    )
    paper.taken.append(box)
    dashed = "" if one.state == "covered" else ' stroke-dasharray="4 3"'
    figures = " ".join(map(str, one.heads))
    yield f'<g class="figure" data-figure="{figures}">'
    yield _rect(
        box,
        "#FFFFFF",
        sway * paper.per_m,
        f'fill-opacity="0.55" stroke="{colour}" stroke-width="1.4"{dashed}',
    )
    thick = 2.2
    bar = (paper.x(one.near_m) - thick, paper.y(high), paper.x(one.far_m) + thick, paper.y(low))
    yield _rect(bar, colour, thick)
    yield from _outside(paper, array, one)
    yield "</g>"


def _outside(paper: _Paper, array: Array, one: _Figure) -> Iterator[str]:
    """The shortest way from the worst end of those not covered to the zone."""
    import shapely

    if one.state != "missed":
        return
    z = array.centre_m[2]
    zone = shapely.Polygon([(r, z + up) for side in band_sides(array.band) for r, up in side]).buffer(0)
    ends = [shapely.Point(u, v) for u in (one.near_m, one.far_m) for v in one.mouth_m]
    worst = max(ends, key=zone.distance)
    if zone.distance(worst) < 0.01:
        return
    foot = shapely.Point(shapely.shortest_line(worst, zone).coords[-1])
    start, end = (paper.x(worst.x), paper.y(worst.y)), (paper.x(foot.x), paper.y(foot.y))
    yield _line(start, end, TINTED["missed"], 1.6)
    yield f'<circle cx="{end[0]:.1f}" cy="{end[1]:.1f}" r="2.8" fill="{TINTED["missed"]}"/>'


def _weight(one: _Figure) -> tuple[int, float]:
    return (WORSE.index(one.state), -one.near_m)


@record(frozen=True)
class _Spot:
    """Where a sign with its name stands: how low, to which side the name goes, what it takes, and its stem."""

    y: float
    side: int
    box: Box
    stem: Box


def _named(paper: _Paper, one: _Figure, widest: float) -> Iterator[str]:
    """The sign of somebody on a stem, over them or below, with name and margin; the sign alone where no name fits."""
    middle = paper.x((one.near_m + one.far_m) / 2)
    top, low = paper.y(one.mouth_m[1] + one.sway_m), paper.y(one.mouth_m[0] - one.sway_m)
    spot = _spot(paper, one, middle, (top, low), paper.x(widest))
    y = spot.y if spot else _alone(paper, middle, top, low)
    colour = TINTED[one.state]
    figures = " ".join(map(str, one.heads))
    yield f'<g class="figure" data-figure="{figures}">'
    yield _line((middle, top if y < top else low), (middle, y), colour, 1.4)
    yield from _sign(one.state, middle, y)
    if spot:
        paper.taken.append(spot.box)
        paper.stems.append(spot.stem)
        at, anchor = middle + spot.side * (SIGN + 5), "start" if spot.side > 0 else "end"
        name = ink.INK if one.state == "covered" else colour
        yield _words((at, y + 2), one.name, name, anchor, 650, halo=True)
        yield _words((at, y + 14), one.margin, colour, anchor, 550, SMALL, halo=True)
    yield "</g>"


def _spot(
    paper: _Paper, one: _Figure, middle: float, ends: tuple[float, float], right: float
) -> _Spot | None:
    """The nearest place for sign and name where nothing is yet: better below than with a stem through a name."""
    top, low = ends
    wide = max(_length(one.name, NAME), _length(one.margin, SMALL)) + 6
    ways = [(top - TIER * (tier + 0.3), side) for tier in range(1, 24) for side in (1, -1)]
    ways += [(low + TIER * (tier - 0.2), side) for tier in range(1, 12) for side in (1, -1)]
    struck = None
    for y, side in ways:
        a, b = sorted((middle - side * SIGN, middle + side * (SIGN + 4 + wide)))
        spot = _Spot(y, side, (a, y - 11, b, y + 17), (middle - 2, min(y, low), middle + 2, max(y, top)))
        inside = a >= LEFT + 2 and b <= right and y - 11 >= TOP and y + 17 <= paper.y(0)
        if not inside or any(_meet(spot.box, other) for other in (*paper.taken, *paper.stems)):
            continue
        if not _struck(paper, spot.stem):
            return spot
        struck = struck or spot
    return struck


def _alone(paper: _Paper, middle: float, top: float, low: float) -> float:
    """How low a sign stands whose name has no room: over somebody, or below where a name is there already."""
    over = (middle - SIGN, top - TIER - SIGN, middle + SIGN, top - TIER + SIGN)
    covered = any(_meet(over, other) for other in paper.taken[paper.bodies :])
    return low + TIER if covered else top - TIER


def _struck(paper: _Paper, stem: Box) -> bool:
    """Whether a stem would go through a name that stands already."""
    return any(_meet(stem, box) for box in (paper.taken[0], *paper.taken[paper.bodies :]))


def _sign(state: str, x: float, y: float) -> Iterator[str]:
    """A disc with a tick, a ring, a square with a cross, a diamond: as everywhere."""
    colour, r = ink.STATE_COLOURS[state], SIGN - 0.8
    rim = 'stroke="#FFFFFF" stroke-width="1.6"'
    if state in ("covered", "marginal"):
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r}" fill="{colour}" {rim}/>'
    else:
        turn = f' transform="rotate(45 {x:.1f} {y:.1f})"' if state == "blocked" else ""
        yield _rect((x - r, y - r, x + r, y + r), colour, 2, f"{rim}{turn}")
    if state == "marginal":
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r * 0.5:.1f}" fill="#FFFFFF"/>'
    strokes = {
        "covered": ["M -0.45 0.02 L -0.12 0.38 L 0.48 -0.36"],
        "missed": ["M -0.42 -0.42 L 0.42 0.42", "M 0.42 -0.42 L -0.42 0.42"],
    }
    for path in strokes.get(state, ()):
        yield (
            f'<path d="{path}" transform="translate({x:.1f} {y:.1f}) scale({r})" fill="none" stroke="#FFFFFF" '
            'stroke-width="0.28" stroke-linecap="round"/>'
        )


# ---------------------------------------------------------------- pieces of SVG

HALO: Final = 'stroke="#FFFFFF" stroke-width="3" stroke-linejoin="round" paint-order="stroke"'


def _length(words: str, size: float) -> float:
    """About how wide words are, on the safe side."""
    return 0.62 * size * len(words)


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _rect(box: Box, fill: str, round_by: float = 0.0, more: str = "") -> str:
    x, y, right, low = box
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{right - x:.1f}" height="{low - y:.1f}" rx="{round_by:.1f}" '
        f'fill="{fill}" {more}/>'
    )


def _line(start: tuple[float, float], end: tuple[float, float], colour: str, width: float) -> str:
    (a, b), (c, d) = start, end
    return (
        f'<path d="M{a:.1f} {b:.1f}L{c:.1f} {d:.1f}" stroke="{colour}" stroke-width="{width}" fill="none"/>'
    )


def _words(
    at: tuple[float, float],
    words: str,
    colour: str,
    anchor: str = "start",
    weight: int = 400,
    size: float = 12.0,
    *,
    halo: bool = False,
) -> str:
    return (
        f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" fill="{colour}" text-anchor="{anchor}" font-weight="{weight}" '
        f'font-size="{size}" {HALO if halo else ""}>{escape(words)}</text>'
    )
