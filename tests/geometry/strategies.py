"""Bounded hypothesis strategies for bands, places and heads, shared by the geometry tests.

Lengths stay within a few metres, as in a room, so that an absolute tolerance means the same everywhere;
the special cases (a band from 0°, one that reaches 90°, near = 0) come up often, not once in a million.
"""

import numpy as np
from hypothesis import strategies as st

from geometry.band import Band
from geometry.coverage import Heads

plan = st.floats(-4, 4)
"""A coordinate on plan, metres."""

places = st.tuples(plan, plan, st.floats(-1, 4))
"""Any point about a room, as (x, y, z)."""

shifts = st.tuples(*[st.floats(-0.5, 0.5)] * 3)
"""A small movement."""


def posts(people: Heads, parts: int = 200) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Heads by the plain way: points (e, 3) close together on every way and mouth range, their sways, their heads.

    Between two posts of a way lies its length over `parts`, and the end posts are its ends.
    """
    at, whose = [], []
    share = np.linspace(0, 1, parts + 1)[:, None]
    for row, head in enumerate(people.row_head):
        way = people.xy_m[row] + share * (people.to_m[row] - people.xy_m[row])
        way = way if np.any(people.xy_m[row] != people.to_m[row]) else way[:1]
        for mouth in (people.low_m[row], people.high_m[row]):
            at.append(np.column_stack([way, np.full(len(way), mouth)]))
            whose.append(np.full(len(way), head))
    head = np.concatenate(whose)
    return np.concatenate(at), people.sway_m[head], head


def between_posts_m(people: Heads, parts: int = 200) -> float:
    """No point of a way is farther than this from one of the `posts`."""
    return float(np.hypot(*(people.to_m - people.xy_m).T).max()) / parts / 2


@st.composite
def bands(draw: st.DrawFn) -> Band:
    """Any band at least 1° wide with at least 0.1 m of reach."""
    low = draw(st.just(0.0) | st.floats(0, 89))
    high = draw(st.just(90.0) | st.floats(min(low + 1, 90), 90))
    near = draw(st.just(0.0) | st.floats(0.01, 2))
    return Band(low, high, near, near + draw(st.floats(0.1, 4)))


@st.composite
def mouths_about(draw: st.DrawFn, most: int = 6) -> list[tuple[float, float, float]]:
    """Mouths round a table at the origin."""
    spot = st.tuples(st.floats(-2, 2), st.floats(-1.5, 1.5), st.floats(1.0, 1.7))
    return draw(st.lists(spot, min_size=1, max_size=most))


@st.composite
def heads(draw: st.DrawFn, most: int = 6) -> Heads:
    """Heads with sway and mouth range; the first of them may walk (three legs with a corner)."""
    mouths = draw(mouths_about(most))
    count = len(mouths)
    still = Heads.at(
        mouths,
        sway_m=draw(st.lists(st.floats(0, 0.2), min_size=count, max_size=count)),
        half_range_m=draw(st.lists(st.just(0.0) | st.floats(0, 0.15), min_size=count, max_size=count)),
    )
    if not draw(st.booleans()):
        return still
    step = draw(st.floats(-0.3, 0.3))
    way = np.add(mouths[0][:2], [[step, 0.1], [2 * step, 0.2], [2 * step, draw(st.floats(-1.5, 1.5))]])
    return Heads(
        at_m=still.at_m,
        sway_m=still.sway_m,
        xy_m=np.concatenate([still.xy_m[:1], way[:2], still.xy_m[1:]]),
        to_m=np.concatenate([way, still.xy_m[1:]]),
        low_m=np.concatenate([[still.low_m[0]] * 2, still.low_m]),
        high_m=np.concatenate([[still.high_m[0]] * 2, still.high_m]),
        start=np.concatenate([[0], np.arange(3, count + 2)]).astype(np.int64),
    )
