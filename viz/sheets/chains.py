"""Chains of dimensions: consecutive DIMENSION entities on one line whose letters never collide."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final, Literal

from viz.sheets import lettering
from viz.sheets.draft import TEXT_MM, Box, DimensionLetters, Point, View, overlap
from viz.words.locale import Locale

ROW_MM: Final = 8.5
"""From one chain to the next on paper."""
SHORTEST_M: Final = 0.0005
"""What is shorter is not dimensioned: it would read 0."""

SLIDES_MM: Final = (0.0, *(sign * 0.8 * step for step in range(1, 40) for sign in (1, -1)))
"""How far letters may stand along the line from the middle of their gap, the nearest first."""

CLEAR_MM: Final = 0.8
"""Kept free at either end of the letters of a dimension: two numbers never read as one."""
ACROSS: Final = 3.0
SLIDE_PER_MM: Final = 0.35
OUTSIDE: Final = 2.0
BELOW: Final = 2.5
ELSEWHERE: Final = 6.0
"""What letters cost that stand on an extension line, off the middle of their gap, beyond the end of the chain or of the
gap, below the line, and in another's gap."""

Station = tuple[str, Point]
"""What is measured to, in words, and the measured point in metres."""


def chain(
    view: View,
    stations: Sequence[Station],
    axis: Literal["x", "y"],
    line_m: float,
    *,
    names: Sequence[str] | None = None,
    through: Sequence[float] = (),
) -> None:
    """Dimensions between neighbouring stations, which are sorted along the axis here.

    `line_m`: where the dimension line lies (its y for a chain along x). `names` say what each one
    measures; without them it is "first to second". Letters stand above the line (left of it for y);
    where a gap is too short for them, below it, and else at the nearest free place along it. `through`: where
    along the axis (metres) the extension lines of chains farther out run through this one.
    """
    along, turn_deg = (0, 0.0) if axis == "x" else (1, 90.0)
    locale = view.draft.locale
    kept = _apart(stations, along, locale)
    crossing = [view.to_mm((at_m, at_m))[0] for at_m in through]
    ticks = [view.to_mm(station[1])[along] for station in kept]
    pairs = list(itertools.pairwise(kept))
    texts = locale.chained([second[1][along] - first[1][along] for first, second in pairs])
    for number, ((first, second), text) in enumerate(zip(pairs, texts, strict=True)):
        gap = view.to_mm(first[1])[along], view.to_mm(second[1])[along]
        box, at = _letters(view, axis, view.to_mm((line_m, line_m))[0], gap, text, (crossing, ticks))
        view.keep(box)
        view.dimension(
            names[number] if names else locale.say("sheet.dimension", first=first[0], second=second[0]),
            first[1],
            second[1],
            (first[1][0], line_m) if axis == "x" else (line_m, first[1][1]),
            turn_deg,
            DimensionLetters(text, at, turn_deg),
            suppress=(number > 0, False),
        )
    view._grow([(s[1][0], line_m) if axis == "x" else (line_m, s[1][1]) for s in kept])


def _letters(
    view: View,
    axis: Literal["x", "y"],
    line: float,
    gap: tuple[float, float],
    text: str,
    lines: tuple[Sequence[float], Sequence[float]],
) -> tuple[Box, Point]:
    """The box and the middle of a dimension's letters, where they cost least and overlap no others; on paper.

    `line`: where the dimension line lies. `gap`: from where to where it goes. `lines`: where extension lines of chains
    farther out run through, and where this chain's own ticks are.
    """
    length = lettering.width(text, TEXT_MM) + 2 * CLEAR_MM
    middle, (crossing, ticks) = (gap[0] + gap[1]) / 2, lines
    best: tuple[float, Box, Point] | None = None
    for slide in SLIDES_MM:
        for below in (False, True):
            box, at = _beside(axis, line, middle + slide, length, below=below)
            if any(overlap(box, other) for other in view.boxes):
                continue
            low, high = middle + slide - length / 2, middle + slide + length / 2
            crossed = sum(low < one < high for one in (*crossing, *ticks))
            cost = ACROSS * crossed + SLIDE_PER_MM * abs(slide) + (BELOW if below else 0.0)
            if low < gap[0] or high > gap[1]:
                cost += OUTSIDE
                # beyond the chain's end it is the end's own; between other ticks it would be theirs
                cost += ELSEWHERE if high > min(ticks) and low < max(ticks) and not crossed else 0.0
            if best is None or cost < best[0]:
                best = cost, box, at
        if best is not None and best[0] < SLIDE_PER_MM * abs(slide):
            break
    assert best is not None, "a chain of dimensions has no room for its letters"
    return best[1], best[2]


def _beside(
    axis: Literal["x", "y"], line: float, centre: float, length: float, *, below: bool
) -> tuple[Box, Point]:
    """The box and the middle of letters above a dimension line or below it (left of it, right of it for y)."""
    lift = (-1.0 if below else 1.0) * (0.9 + TEXT_MM / 2)
    half = TEXT_MM * 0.62
    if axis == "x":
        y = line + lift
        return (centre - length / 2, y - half, centre + length / 2, y + half), (centre, y)
    x = line - lift
    return (x - half, centre - length / 2, x + half, centre + length / 2), (x, centre)


def rise(
    view: View,
    stations: Sequence[Station],
    line_m: float,
    *,
    names: Sequence[str] | None = None,
    side: int = 1,
) -> None:
    """A vertical chain of a section with level letters beside the line, spread so that none overlap."""
    kept = _apart(stations, 1, view.draft.locale)
    pairs = list(itertools.pairwise(kept))
    line = view.to_mm((line_m, 0))[0]
    texts = view.draft.locale.risen([station[1][1] for station in kept])
    wanted = [view.to_mm((0, (first[1][1] + second[1][1]) / 2))[1] for first, second in pairs]
    heights = spread(wanted, TEXT_MM * 1.36)
    for number, ((first, second), text, want, got) in enumerate(
        zip(pairs, texts, wanted, heights, strict=True)
    ):
        length = lettering.width(text, TEXT_MM)
        moved = abs(got - want) > 0.8
        near = line + side * (3.2 if moved else 1.4)
        centre = near + side * length / 2
        box = (centre - length / 2 - 0.3, got - TEXT_MM * 0.6, centre + length / 2 + 0.3, got + TEXT_MM * 0.6)
        view.keep(box)
        if moved:
            view.line(
                "leader" + view.suffix,
                (view.to_m(line), view.to_m(want)),
                (view.to_m(near - side * 0.5), view.to_m(got)),
            )
        view.dimension(
            names[number]
            if names
            else view.draft.locale.say("sheet.dimension", first=first[0], second=second[0]),
            first[1],
            second[1],
            (line_m, first[1][1]),
            90.0,
            DimensionLetters(text, (centre, got), 0.0),
            suppress=(number > 0, False),
        )
    view._grow([(line_m, station[1][1]) for station in kept])


def _apart(stations: Sequence[Station], along: int, locale: Locale) -> list[Station]:
    """The stations in order; those at one place are one, which carries all their names."""
    kept: list[tuple[dict[str, None], Point]] = []
    for name, point in sorted(stations, key=lambda station: station[1][along]):
        if kept and point[along] - kept[-1][1][along] <= SHORTEST_M:
            kept[-1][0][name] = None
        else:
            kept.append(({name: None}, point))
    return [(locale.listed(list(names), len(names)), point) for names, point in kept]


def spread(wanted: Sequence[float], pitch: float) -> list[float]:
    """Places at least `pitch` apart in the same order, each as near its wanted one as that allows.

    Neighbours that would overlap are moved as one group about the mean of what they want: the least
    squares answer.
    """
    groups: list[tuple[float, int]] = []  # the sum of (wanted - its place in the group), and how many
    for value in wanted:
        total, count = value, 1
        while groups and groups[-1][0] / groups[-1][1] + groups[-1][1] * pitch > total / count:
            before, many = groups.pop()
            total, count = before + total - many * count * pitch, many + count
        groups.append((total, count))
    places: list[float] = []
    for total, count in groups:
        places.extend(total / count + i * pitch for i in range(count))
    return places
