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
    """Heads with sway and mouth range; the first of them may walk (three rows with a spare)."""
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
    along = np.add(mouths[0][:2], [[step, 0.1], [2 * step, 0.2]])
    return Heads(
        at_m=still.at_m,
        sway_m=still.sway_m,
        xy_m=np.concatenate([still.xy_m[:1], along, still.xy_m[1:]]),
        low_m=np.concatenate([[still.low_m[0]] * 2, still.low_m]),
        high_m=np.concatenate([[still.high_m[0]] * 2, still.high_m]),
        spare_m=np.concatenate([[draw(st.floats(0, 0.1))] * 3, np.zeros(count - 1)]),
        start=np.concatenate([[0], np.arange(3, count + 2)]).astype(np.int64),
    )
