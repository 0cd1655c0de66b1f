"""A stranger checks the proof: from the certificate's JSON alone, with formulas of its own.

Nothing of the search is used here. The certificate is read as JSON; the leaves must tile the box
exactly; each leaf's reason is recomputed by brute force; the largest value + radius is the bound.
Only the function that writes the certificate is called, to have one.
"""

import copy
import functools
import json
import math
from collections import defaultdict
from typing import Any

import numpy as np
import pytest
from scipy.spatial import ConvexHull

HEADS = np.array(
    [
        [2.65, 1.45, 1.2],
        [2.65, 3.15, 1.2],
        [3.4, 1.45, 1.15],
        [3.4, 3.15, 1.2],
        [4.15, 1.45, 1.2],
        [4.85, 2.3, 1.5],
    ]
)
SWAY, HALF_RANGE = 0.1, 0.08
BANDS = [(8.0, 29.0), (21.0, 66.0), (53.0, 90.0)]
NEAR, FAR = 1.0, 3.0
LOW, HIGH = (0.0, 0.0, 1.0), (7.2, 4.6, 2.7)

# --- the stranger's own formulas -------------------------------------------------------------------


def distance_to_segment(p: np.ndarray, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    along = np.clip(((p - a) @ (b - a)) / ((b - a) @ (b - a)), 0, 1)
    return np.linalg.norm(p - (a + along[:, None] * (b - a)), axis=1)


def signed_distance(rho: np.ndarray, t: np.ndarray, low: float, high: float) -> np.ndarray:
    """Signed distance to a ring sector in the half plane, from its outline: two segments and two arcs."""
    p = np.column_stack([rho, t])
    angle, r = np.degrees(np.arctan2(t, rho)), np.hypot(rho, t)

    def on(edge: float, at: float) -> np.ndarray:
        return at * np.array([math.cos(math.radians(edge)), math.sin(math.radians(edge))])

    outline = [distance_to_segment(p, on(low, NEAR), on(low, FAR))]
    if high < 90:
        outline.append(distance_to_segment(p, on(high, NEAR), on(high, FAR)))
    for arc in (NEAR, FAR):
        ends = np.minimum(
            np.linalg.norm(p - on(low, arc), axis=1),
            np.linalg.norm(p - on(high, arc), axis=1) if high < 90 else np.inf,
        )
        outline.append(np.where((angle >= low) & (angle <= high), np.abs(r - arc), ends))
    nearest = np.min(outline, axis=0)
    inside = (angle >= low) & (angle <= high) & (r >= NEAR) & (r <= FAR)
    return np.where(inside, nearest, -nearest)


WALK = np.array([[[5.6, 0.9], [5.8, 3.6]], [[1.0, 2.6], [2.4, 2.6]]])
"""The ways two more heads walk; None in `heads` means nobody walks."""
WALKERS_Z = 1.5


def margin(
    centres: np.ndarray, band: int, heads: np.ndarray, half_range: float, walk: np.ndarray | None = None
) -> np.ndarray:
    least = np.full(len(centres), np.inf)
    for x, y, z in heads:
        rho = np.hypot(centres[:, 0] - x, centres[:, 1] - y)
        for mouth in (z - half_range, z + half_range):
            least = np.minimum(least, signed_distance(rho, centres[:, 2] - mouth, *BANDS[band]) - SWAY)
    for start, end in () if walk is None else walk:
        # along a way the range runs from its nearest point to its farther end; a hundred of them on the way
        shortest = distance_to_segment(centres[:, :2], start, end)
        longest = np.maximum(*(np.linalg.norm(centres[:, :2] - at, axis=1) for at in (start, end)))
        for share in np.linspace(0, 1, 101):
            rho = shortest + share * (longest - shortest)
            for mouth in (WALKERS_Z - half_range, WALKERS_Z + half_range):
                least = np.minimum(least, signed_distance(rho, centres[:, 2] - mouth, *BANDS[band]) - SWAY)
    return least


def worst_slant(centres: np.ndarray, heads: np.ndarray) -> np.ndarray:
    return np.max([np.linalg.norm(centres - head, axis=1) for head in heads], axis=0)


def off_centres(centres: np.ndarray, band: int, heads: np.ndarray) -> np.ndarray:
    away = centres[:, None, :] - heads[None]
    r = np.linalg.norm(away, axis=2)
    return np.degrees(np.arcsin(np.clip(away[..., 2] / r, -1, 1))) - sum(BANDS[band]) / 2


def least_rms(centres: np.ndarray, band: int, radius: float, heads: np.ndarray) -> np.ndarray:
    """No RMS off-centre within the radius is smaller: the larger of two bounds.

    Moving by R turns a direction by at most asin(R/r). And the RMS is at least its tangent less what the
    off-centres bend by over R (slopes here by differences, bends from r and the plan range).
    """
    off = off_centres(centres, band, heads)
    away = centres[:, None, :] - heads[None]
    r, rho = np.linalg.norm(away, axis=2), np.hypot(away[..., 0], away[..., 1])
    turn = np.degrees(np.arcsin(np.clip(radius / r, 0, 1)))
    turn[r <= radius] = 180
    first = np.sqrt(np.mean(np.maximum(np.abs(off) - turn, 0) ** 2, axis=1))
    slope = np.zeros(len(centres))
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = 1e-5
        ahead, behind = (
            np.sqrt(np.mean(off_centres(at, band, heads) ** 2, axis=1))
            for at in (centres + step, centres - step)
        )
        slope += ((ahead - behind) / 2e-5) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        bend = np.maximum(1, (np.abs(away[..., 2]) + radius) / (rho - radius)) / (r - radius) ** 2
        bent = np.degrees(np.sqrt(np.mean(bend**2, axis=1))) * radius**2 / 2
    second = np.sqrt(np.mean(off**2, axis=1)) - np.sqrt(slope) * radius - bent
    return np.where(rho.min(axis=1) > 2 * radius, np.maximum(first, second), first)


CONSTRAINTS = {
    "wall": lambda p: np.min([p[:, 0], 7.2 - p[:, 0], p[:, 1], 4.6 - p[:, 1]], axis=0) - 0.41,
    "pillar": lambda p: np.hypot(p[:, 0] - 3.7, p[:, 1] - 2.4) - 0.25,
}


def largest_ball(band: int) -> float:
    """The most the signed distance can be in a band: see `most_anywhere`."""
    return most_anywhere(*BANDS[band])


@functools.cache
def most_anywhere(low: float, high: float) -> float:
    """The most the signed distance can be: a grid over the half plane, plus half the grid's diagonal."""
    step = 0.002
    rho, t = np.meshgrid(np.arange(0, FAR, step), np.arange(0, FAR, step))
    return float(signed_distance(rho.ravel(), t.ravel(), low, high).max()) + step / math.sqrt(2)


def most_alone(
    aim: str, band: int, head: np.ndarray, half_range: float, need: float, low: float, high: float
) -> float:
    """The most a lone head can have at any distance and height of the box: a grid, plus half its diagonal."""
    step = 0.002
    x, z = np.meshgrid(np.arange(0, 6, step), np.arange(low, high + step, step))
    at = np.column_stack([x.ravel() + head[0], np.full(x.size, head[1]), z.ravel()])
    kept, slip = margin(at, band, head[None], half_range), step / math.sqrt(2)
    if aim == "margin":
        return float(kept.max()) + slip
    near_enough = at[kept >= need - slip]
    return float(-np.linalg.norm(near_enough - head, axis=1).min()) + slip


def spares(proof: dict[str, Any], at: np.ndarray) -> np.ndarray:
    """(n,) the least that places have left of any rule and of any solid."""
    rules = [left(at) for left in CONSTRAINTS.values()]
    solids = [hidden_by(proof, solid, at).min(axis=1) for solid in range(len(proof["solids"]))]
    return np.asarray(np.min([*rules, *solids], axis=0))


# --- the check -------------------------------------------------------------------------------------


def check(
    text: str, heads: np.ndarray = HEADS, half_range: float = HALF_RANGE, walk: np.ndarray | None = None
) -> float:
    """The bound a stranger gets from the certificate; ValueError where anything in it does not hold."""
    proof = json.loads(text)
    low, high = np.array(proof["box_m"]["low"]), np.array(proof["box_m"]["high"])
    check_tiling(proof["leaves"], low, high)
    check_question(proof, heads, half_range, walk)
    check_caps(proof, heads, half_range, low, high)
    need = proof["need_margin_m"]
    bound = -math.inf
    for leaf in proof["leaves"]:
        centres, band, why = np.array(leaf["centres_m"]), leaf["band"], leaf["why"]
        radius = float(np.linalg.norm(leaf["half_m"]))
        if why == "rule":
            (name,) = leaf["key"]
            if np.any(CONSTRAINTS[name](centres) + radius >= 0):
                raise ValueError(f"a cell said to be shut by {name} is not")
        elif why == "sight":
            if np.any(hidden_by(proof, leaf["key"][0], centres).min(axis=1) + radius >= 0):
                raise ValueError("a cell said to be dark sees everybody")
        elif why == "spare":
            if leaf["key"][0] == "rule":
                left = CONSTRAINTS[leaf["key"][1]](centres)
            else:
                left = hidden_by(proof, leaf["key"][1], centres).min(axis=1)
            bound = max(bound, float(left.max()) + radius)
        elif why == "margin":
            if np.any(margin(centres, band, heads, half_range, walk) + radius >= need):
                raise ValueError("a cell said to lack the margin may have it")
        elif why == "ball":
            bound = max(bound, largest_ball(band) - SWAY)
        elif why == "reach":
            bound = max(bound, -(NEAR + need + SWAY))
        elif why == "alone":
            # nobody's margin is larger with others than alone: the least of any of them will do
            lone = [
                most_alone(proof["aim"], band, head, half_range, need, low[2], high[2])
                for head in np.unique(heads * (0, 0, 1), axis=0)
            ]
            bound = max(bound, min(lone))
        elif why in ("value", "open"):
            if proof["aim"] == "most":
                values = most_persons(proof, centres, band, radius, heads, half_range)
            else:
                values = most(proof["aim"], centres, band, radius, heads, half_range, walk)
            if proof["aim"] == "tolerance":  # its score is the least of margin and spares
                values = np.minimum(values, spares(proof, centres) + radius)
            bound = max(bound, float(values.max()))
        else:
            raise ValueError(f"a cell is {why}")
    # what a grid of the stranger's own was asked for is only known to its half diagonal on either side
    by_grid = any(leaf["why"] in ("ball", "alone") for leaf in proof["leaves"])
    if bound > proof["bound"] + (0.003 if by_grid else 1e-6):
        raise ValueError(f"the bound is said to be {proof['bound']} and is {bound}")
    if proof["best"] > bound + 1e-6:
        raise ValueError("the place told is better than the bound")
    return bound


def most(
    aim: str,
    centres: np.ndarray,
    band: int,
    radius: float,
    heads: np.ndarray,
    half_range: float,
    walk: np.ndarray | None,
) -> np.ndarray:
    if aim in ("margin", "tolerance"):
        return margin(centres, band, heads, half_range, walk) + radius
    if walk is not None:
        heads = np.vstack([heads, np.insert(walk.mean(axis=1), 2, WALKERS_Z, axis=1)])
    return radius - worst_slant(centres, heads) if aim == "near" else -least_rms(centres, band, radius, heads)


def hidden_by(proof: dict[str, Any], solid: int, at: np.ndarray) -> np.ndarray:
    """(n, heads) how far places are outside what a solid hides from each head, negative inside: a hull's planes.

    What is hidden is the solid and all that lies behind it as seen from any mouth.
    """
    of = proof["solids"][solid]
    corners = np.array([[*corner, z] for corner in of["outline_m"] for z in (of["low_m"], of["high_m"])])
    columns = []
    for head in sorted({mouth["head"] for mouth in proof["mouths"]}):
        mouths = [np.array(m["at_m"]) for m in proof["mouths"] if m["head"] == head]
        far = [corners + 400 * (corners - mouth) for mouth in mouths]
        planes = ConvexHull(np.vstack([corners, *far])).equations
        columns.append((at @ planes[:, :3].T + planes[:, 3]).max(axis=1))
    return np.column_stack(columns)


def most_persons(
    proof: dict[str, Any], centres: np.ndarray, band: int, radius: float, heads: np.ndarray, half_range: float
) -> np.ndarray:
    """(n,) weight of those who may be covered within the radius, and the least they may have: one number."""
    slim = proof["slim_m"] if radius <= proof["slim_m"] / 2 else 0.0
    own = np.column_stack([margin(centres, band, head[None], half_range) for head in heads]) + radius
    own = np.minimum(own, [head["caps_m"][band] for head in proof["heads"]])
    for solid in range(len(proof["solids"])):
        own[hidden_by(proof, solid, centres) + radius < slim] = -math.inf
    persons = {head["person"]: head["weight"] for head in proof["heads"]}
    which = np.array([head["person"] for head in proof["heads"]])
    of_persons = np.column_stack([own[:, which == person].min(axis=1) for person in persons])
    weights = np.array(list(persons.values()))
    covered = of_persons >= slim - 1e-9
    least = np.where(covered, of_persons, np.inf).min(axis=1)
    least = np.where(covered.any(axis=1), least, of_persons.max(axis=1))
    return proof["rank_m"] * (covered @ weights) + np.maximum(least, -25)


def check_caps(
    proof: dict[str, Any], heads: np.ndarray, half_range: float, low: np.ndarray, high: np.ndarray
) -> None:
    """Of the aim `most`: no head has more than its cap in a band, at any distance and height of the box."""
    for head, mouth in zip(proof["heads"], heads, strict=False):
        for band, cap in enumerate(head["caps_m"] if proof["aim"] == "most" else ()):
            ball = largest_ball(band) - SWAY
            if (
                cap < ball - 0.003
                and cap < most_alone("margin", band, mouth, half_range, 0.0, low[2], high[2]) - 0.003
            ):
                raise ValueError("a head may have more than its cap")


def check_question(
    proof: dict[str, Any], heads: np.ndarray, half_range: float, walk: np.ndarray | None
) -> None:
    """The proof must be about these heads, ways and bands, not about easier ones."""
    ways = [] if walk is None else walk.tolist()
    mouths = [*heads.tolist(), *((*at, WALKERS_Z) for way in ways for at in way)]
    ends = {(x, y, round(z + way * half_range, 9), SWAY) for x, y, z in mouths for way in (-1, 1)}
    walked = {
        (*start, *end, round(WALKERS_Z + way * half_range, 9), SWAY) for start, end in ways for way in (-1, 1)
    }
    said = {
        (*w["from_m"][:2], *w["to_m"][:2], round(z, 9), w["keep_m"])
        for w in proof["walks"]
        for z in (w["from_m"][2], w["to_m"][2])
    }
    told = {(*m["at_m"][:2], round(m["at_m"][2], 9), m["keep_m"]) for m in proof["mouths"]}
    bands = [[band["low_deg"], band["high_deg"], *band["reach_m"]] for band in proof["bands"]]
    if ends != told or walked != said or bands != [[*band, NEAR, FAR] for band in BANDS]:
        raise ValueError("the proof is about other heads or bands")


def check_tiling(leaves: list[dict[str, Any]], low: np.ndarray, high: np.ndarray) -> None:
    """For each band the leaves must fill the box without gap or overlap, in whole numbers.

    All sizes are one size halved some times, so in units of the smallest every leaf is a block of whole
    cells; sorted along the curve that visits halves of halves (Morton) neighbours must meet end to start.
    """
    size = high - low
    free = size > 0
    by_band: dict[int, list[tuple[tuple[int, ...], int, int]]] = defaultdict(list)
    halves = {tuple(leaf["half_m"]) for leaf in leaves}
    smallest = np.array(min(halves, key=max))
    largest = np.array(max(halves, key=max))
    depth = round(math.log2(max(largest) / max(smallest)))
    if not np.allclose(largest[free], smallest[free] * 2**depth, rtol=1e-9):
        raise ValueError("leaves are not one size halved")
    roots = np.ones(3, int)
    roots[free] = np.round(size[free] / (2 * largest[free])).astype(int)
    if not np.allclose(roots * 2 * largest, size, atol=1e-9):
        raise ValueError("the largest leaves do not fit the box")
    dims = [axis for axis in range(3) if free[axis]]
    for leaf in leaves:
        half = np.array(leaf["half_m"])
        up = round(math.log2(max(largest) / max(half)))
        if not np.allclose(half[free], largest[free] / 2**up, rtol=1e-9):
            raise ValueError("a leaf has a size of its own")
        for centre in leaf["centres_m"]:
            corner = (np.array(centre) - half - low)[free] / (2 * half[free])
            whole = np.round(corner).astype(int)
            if np.abs(corner - whole).max(initial=0) > 1e-5:
                raise ValueError("a leaf lies between the cells")
            root = tuple(int(w) >> up for w in whole)
            step = (depth - up) * len(dims)
            by_band[leaf["band"]].append((root, morton(whole, up) << step, 1 << step))
    if sorted(by_band) != list(range(len(BANDS))):
        raise ValueError("a band has no leaves")
    for blocks in by_band.values():
        check_filled(blocks, math.prod(int(r) for r in roots), 1 << (depth * len(dims)))


def morton(whole: np.ndarray, up: int) -> int:
    """The place of a cell along the curve, among those of its root `up` halvings deep: its bits in turn."""
    code = 0
    for bit in range(up - 1, -1, -1):
        for w in whole:
            code = code * 2 + ((int(w) >> bit) & 1)
    return code


def check_filled(blocks: list[tuple[tuple[int, ...], int, int]], roots: int, length: int) -> None:
    """Blocks (root, first, count) must meet end to start, from 0 to the length of every root."""
    ends: dict[tuple[int, ...], int] = {}
    for root, first, count in sorted(blocks):
        if ends.get(root, 0) != first:
            raise ValueError(f"the leaves do not tile the box at {root}")
        ends[root] = first + count
    if len(ends) != roots or any(end != length for end in ends.values()):
        raise ValueError("the leaves do not fill the box")


# --- one to check ----------------------------------------------------------------------------------


def written(
    aim: str,
    heads: np.ndarray = HEADS,
    half_range: float = HALF_RANGE,
    walk: np.ndarray | None = None,
    solids: tuple[dict[str, Any], ...] = (),
    **held: float,
) -> str:
    """A certificate as its JSON text, by the one public function that writes it."""
    from geometry.aims import Centre, Margin, Most, Near, Tolerance
    from geometry.band import Band
    from geometry.constraint import Constraint, SearchBox
    from geometry.coverage import Heads
    from geometry.kind import ArrayKind
    from geometry.placement import Effort, search
    from geometry.shapes import Prism

    people = Heads.at(heads, sway_m=SWAY, half_range_m=half_range)
    if walk is not None:
        middles = np.insert(walk.mean(axis=1), 2, WALKERS_Z, axis=1)
        people = Heads.at(np.vstack([heads, middles]), sway_m=SWAY, half_range_m=half_range)
        people.xy_m[-len(walk) :], people.to_m[-len(walk) :] = walk[:, 0], walk[:, 1]
    kind = ArrayKind(
        tuple(Band(low, high, NEAR, FAR) for low, high in BANDS),
        SearchBox(LOW, HIGH).holding(**held),
        tuple(Constraint((name,), function) for name, function in CONSTRAINTS.items()),
        tuple(Prism(tuple(map(tuple, s["outline_m"])), s["low_m"], s["high_m"]) for s in solids),
    )
    aims = {
        "margin": Margin(),
        "tolerance": Tolerance(),
        "near": Near(0.05),
        "centre": Centre(),
        "most": Most(),
    }
    found = search(people, kind, aims[aim], effort=Effort(record=True))
    assert found.certificate is not None
    assert found.outcome == "certified"
    return json.dumps(found.certificate.as_json())


@pytest.fixture(scope="module")
def margin_proof() -> str:
    return written("margin")


def test_a_stranger_gets_the_same_bound(margin_proof: str) -> None:
    proof = json.loads(margin_proof)
    assert check(margin_proof) == pytest.approx(proof["bound"], abs=1e-6)
    assert proof["bound"] - proof["best"] <= 0.001
    assert {("value",), ("rule", "pillar")} <= {
        (leaf["why"], *leaf.get("key", ())) for leaf in proof["leaves"]
    }


def test_every_leaf_is_needed(margin_proof: str) -> None:
    proof = json.loads(margin_proof)
    for group in (0, len(proof["leaves"]) // 2, -1):
        cut = copy.deepcopy(proof)
        cut["leaves"][group]["centres_m"].pop()
        with pytest.raises(ValueError, match=r"tile|fill"):
            check(json.dumps(cut))


def test_a_doubled_leaf_is_seen(margin_proof: str) -> None:
    proof = json.loads(margin_proof)
    proof["leaves"][-1]["centres_m"].append(proof["leaves"][-1]["centres_m"][0])
    with pytest.raises(ValueError, match=r"tile|fill"):
        check(json.dumps(proof))


def test_a_bound_lowered_by_two_millimetres_is_seen(margin_proof: str) -> None:
    proof = json.loads(margin_proof)
    proof["bound"] -= 0.002
    with pytest.raises(ValueError, match="the bound is said to be"):
        check(json.dumps(proof))


def test_a_false_reason_is_seen(margin_proof: str) -> None:
    proof = json.loads(margin_proof)
    best = next(leaf for leaf in reversed(proof["leaves"]) if leaf["why"] == "value")
    best["why"], best["key"] = "rule", ["wall"]
    with pytest.raises(ValueError, match="said to be shut"):
        check(json.dumps(proof))


@pytest.mark.parametrize("aim", ["near", "centre"])
def test_the_other_aims_are_proven_too(aim: str) -> None:
    text = written(aim)
    proof = json.loads(text)
    assert check(text) == pytest.approx(proof["bound"], abs=1e-6)
    proof["bound"] -= 0.002
    with pytest.raises(ValueError, match="the bound is said to be"):
        check(json.dumps(proof))


def test_held_coordinates_are_no_part_of_the_box() -> None:
    text = written("margin", z=2.2)
    proof = json.loads(text)
    assert all(leaf["half_m"][2] == 0 for leaf in proof["leaves"])
    assert check(text) == pytest.approx(proof["bound"], abs=1e-6)


def test_exact_slack_proves_a_negative_bound() -> None:
    # two heads out of reach of the others: no place serves everybody, and the certificate says so
    heads = np.vstack([HEADS, [[0.2, 0.2, 1.2], [7.0, 4.4, 1.2]]])
    text = written("margin", heads)
    bound = json.loads(text)["bound"]
    assert bound < -0.1
    assert check(text, heads) == pytest.approx(bound, abs=1e-6)
    with pytest.raises(ValueError, match="other heads"):
        check(text)


@pytest.mark.parametrize("aim", ["margin", "near"])
def test_who_walks_is_in_the_proof_as_a_way(aim: str) -> None:
    # aim near: two steep heads fewer, so that there is a place with the margin asked for
    heads = HEADS if aim == "margin" else HEADS[[2, 3]]
    walk = WALK if aim == "margin" else WALK[1:]
    text = written(aim, heads, walk=walk)
    proof = json.loads(text)
    assert len(proof["walks"]) == 2 * len(walk)
    # the far end of a way, the nearest point and what lies between: the stranger's are the same to 1e-6
    assert check(text, heads, walk=walk) == pytest.approx(proof["bound"], abs=1e-6)
    with pytest.raises(ValueError, match="other heads"):
        check(text, heads)
    proof["bound"] -= 0.002
    with pytest.raises(ValueError, match="the bound is said to be"):
        check(json.dumps(proof), heads, walk=walk)


@pytest.mark.parametrize(("half_range", "aim", "why"), [(0.0, "near", "reach"), (0.08, "margin", "alone")])
def test_what_no_place_can_beat_ends_the_search(half_range: float, aim: str, why: str) -> None:
    # one head: a ring of places is equally good, and none is better than the best in a half plane
    one = HEADS[:1]
    text = written(aim, one, half_range)
    assert why in {leaf["why"] for leaf in json.loads(text)["leaves"]}
    assert check(text, one, half_range) == pytest.approx(json.loads(text)["bound"], abs=0.003)


def test_an_area_of_places_as_good_is_closed_by_one_head_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    # from level and at a held height all that counts for the highest mouth is the drop to it
    monkeypatch.setitem(globals(), "BANDS", [(0.0, 66.0), (21.0, 66.0)])
    three = HEADS[3:]
    text = written("margin", three, z=1.8)
    proof = json.loads(text)
    assert "alone" in {leaf["why"] for leaf in proof["leaves"]}
    assert check(text, three) == pytest.approx(proof["bound"], abs=0.003)
    proof["bound"] -= 0.006
    with pytest.raises(ValueError, match="the bound is said to be"):
        check(json.dumps(proof), three)


SCREENS = (
    {"outline_m": [[3.1, 1.9], [3.5, 1.9], [3.5, 2.1], [3.1, 2.1]], "low_m": 1.6, "high_m": 2.0},
    {"outline_m": [[4.4, 2.5], [4.7, 2.4], [4.8, 2.6]], "low_m": 1.5, "high_m": 2.6},
)
"""What stands in the way of some lines."""


@pytest.mark.parametrize("aim", ["margin", "tolerance", "near"])
def test_sight_is_in_the_proof(aim: str) -> None:
    heads = HEADS[2:] if aim == "near" else HEADS
    text = written(aim, heads, solids=SCREENS)
    proof = json.loads(text)
    assert "sight" in {leaf["why"] for leaf in proof["leaves"]}
    # in a ball what is hidden counts by its distance, and the stranger's hull is cut off 400 times as far away
    assert check(text, heads) == pytest.approx(proof["bound"], abs=1e-4 if aim == "tolerance" else 1e-6)
    # the screens cost something, and without them the same leaves prove nothing
    if aim != "near":
        assert proof["bound"] < json.loads(written(aim, heads))["bound"] - 0.002
    proof["solids"] = [{**solid, "low_m": 0.1, "high_m": 0.2} for solid in proof["solids"]]
    with pytest.raises(ValueError, match="dark"):
        check(json.dumps(proof), heads)


def test_rules_are_in_the_proof_of_the_ball() -> None:
    text = written("tolerance")
    proof = json.loads(text)
    assert check(text) == pytest.approx(proof["bound"], abs=1e-6)
    assert ["rule", "pillar"] in [leaf.get("key") for leaf in proof["leaves"] if leaf["why"] == "spare"]
    assert proof["bound"] < json.loads(written("margin"))["bound"] - 0.002
    proof["bound"] -= 0.002
    with pytest.raises(ValueError, match="the bound is said to be"):
        check(json.dumps(proof))


@pytest.mark.parametrize("solids", [(), SCREENS])
def test_the_most_persons_are_proven(solids: tuple[dict[str, Any], ...]) -> None:
    heads = np.vstack([HEADS, [[0.2, 0.2, 1.2], [7.0, 4.4, 1.2], [6.4, 4.2, 1.2]]])
    text = written("most", heads, solids=solids)
    proof = json.loads(text)
    assert proof["bound"] // proof["rank_m"] == 7
    assert check(text, heads) == pytest.approx(proof["bound"], abs=1e-3)
    fewer = copy.deepcopy(proof)
    fewer["bound"] -= proof["rank_m"]
    with pytest.raises(ValueError, match="the bound is said to be"):
        check(json.dumps(fewer), heads)
