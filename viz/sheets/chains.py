"""Chains of dimensions: consecutive DIMENSION entities on one line whose letters never collide."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final, Literal

from viz.sheets import lettering
from viz.sheets.draft import TEXT_MM, Box, Point, View, overlap
from viz.words.locale import Locale

ROW_MM: Final = 8.5
"""From one chain to the next on paper."""
SHORTEST_M: Final = 0.0005
"""What is shorter is not dimensioned: it would read 0."""

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
    along = 0 if axis == "x" else 1
    kept = _apart(stations, along, view.draft.locale)
    line = view.to_mm((line_m, line_m))[0]
    for number, (first, second) in enumerate(itertools.pairwise(kept)):
        text = view.draft.locale.dimension(second[1][along] - first[1][along])
        length = lettering.width(text, TEXT_MM) + 0.3
        start, end = view.to_mm(first[1])[along], view.to_mm(second[1])[along]
        middle = (start + end) / 2
        slides = [0.0]
        for step in range(1, 40):
            slides += [0.8 * step, -0.8 * step]
        best: tuple[float, Box, Point] | None = None
        for slide in slides:
            for level, side in ((0, 1.0), (1, -1.0)):
                lift = side * (0.9 + TEXT_MM / 2)
                centre = middle + slide
                if axis == "x":
                    at = (centre, line + lift)
                    box = (
                        centre - length / 2,
                        at[1] - TEXT_MM * 0.62,
                        centre + length / 2,
                        at[1] + TEXT_MM * 0.62,
                    )
                else:
                    at = (line - lift, centre)
                    box = (
                        at[0] - TEXT_MM * 0.62,
                        centre - length / 2,
                        at[0] + TEXT_MM * 0.62,
                        centre + length / 2,
                    )
                if any(overlap(box, other) for other in view.boxes):
                    continue
                # inside its own gap it needs no second look; outside, below the line reads better
                outside = max(0.0, length / 2 + abs(slide) - (end - start) / 2)
                low, high = (box[0], box[2]) if axis == "x" else (box[1], box[3])
                crossed = sum(low < view.to_mm((at_m, at_m))[0] < high for at_m in through)
                cost = (
                    3.0 * crossed
                    + abs(slide)
                    + 1.5 * outside
                    + (1.0 if level else 0.0)
                    + (2.0 if outside and not level else 0.0)
                )
                if best is None or cost < best[0]:
                    best = cost, box, at
            if best is not None and best[0] < abs(slide):
                break
        assert best is not None, "a chain of dimensions has no room for its letters"
        _, box, at = best
        view.keep(box)
        base = (first[1][0], line_m) if axis == "x" else (line_m, first[1][1])
        view.dimension(
            names[number]
            if names
            else view.draft.locale.say("sheet.dimension", first=first[0], second=second[0]),
            first[1],
            second[1],
            base,
            0.0 if axis == "x" else 90.0,
            centre_mm=at,
            turn_deg=0.0 if axis == "x" else 90.0,
            text=text,
            suppress=(number > 0, False),
        )
    view._grow([(s[1][0], line_m) if axis == "x" else (line_m, s[1][1]) for s in kept])


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
    texts = [view.draft.locale.dimension(second[1][1] - first[1][1]) for first, second in pairs]
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
            centre_mm=(centre, got),
            turn_deg=0.0,
            text=text,
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
