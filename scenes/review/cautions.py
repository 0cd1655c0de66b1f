"""What to heed before anything is hung, what is open, and who signs for what.

What applies depends on what may be there, not on what was listed: a room without a smoke detector in its file is
warned of the detectors that nobody wrote down. What the file does not give is a caution, never a gap.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, get_args

from geometry.band import ON_EDGE_M
from scenes.findings.cautions import Because, Caution, CautionName, Open, OpenName, Signatory, SignOff
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.review import Review, Tolerance, Verdict
from scenes.room.ceiling import scene_under
from scenes.room.hung import FLATTEST_DEG, wires_deg
from scenes.room.scene import Scene, ceiling_of
from scenes.room.spans import LEAST_HANG_M, hangs_by_m
from scenes.rulebook import rules

LOOKED_FOR: Final = (
    "light",
    "emergency light",
    "exit sign",
    "strobe",
    "sensor",
    "access panel",
    "supply diffuser",
)
"""Kinds that hardly any ceiling is without: where the file lists none, they are to be looked for."""

SIGNS_FOR: Final[dict[CautionName, Signatory]] = {
    "not listed": "architect",
    "no sprinklers": "fire",
    "no detectors": "fire",
    "sprinklers": "fire",
    "detectors": "fire",
    "fire rating": "fire",
    "fire protection": "fire",
    "grid": "ceiling",
    "grid load": "ceiling",
    "mass": "structure",
    "structure": "structure",
    "safety cable": "structure",
    "load": "structure",
    "secondary support": "structure",
    "seismic": "structure",
    "plenum": "electrical",
    "electrical": "electrical",
    "asbestos": "client",
    "coatings": "client",
    "height": "client",
}

DECIDES: Final[dict[str, Signatory]] = {
    "sprinkler": "fire",
    "smoke detector": "fire",
    "strobe": "fire",
    "exit sign": "fire",
    "light": "electrical",
    "emergency light": "electrical",
    "grid": "ceiling",
    "beam": "structure",
    "structure": "structure",
    "slab": "structure",
    "array": "client",
    "loudspeaker": "client",
    "projector": "client",
}
"""Who decides about a kind of thing at the ceiling; of what is not here the architect does."""

NO_TOLERANCE_M: Final = 0.001
NO_TOLERANCE_IN_M: Final = 0.0254 / 16
"""Less than this is no installation tolerance: it reads as 0 mm, and as 0" in rooms measured in feet or inches."""
SET_OUT_SIDEWAYS_M: Final = 0.005
SET_OUT_UPRIGHT_M: Final = 0.003
"""Less than this cannot be set out on site, on plan and in height. Common practice, no source."""
FAR_STRUCTURE_M: Final = 3.0
"""A structure farther than this above the ceiling is rather a slip in the file. overtable's own, no source."""


def cautions(scene: Scene) -> tuple[Caution, ...]:
    """The cautions of this room, the most specific first; each once."""
    order = get_args(Because)
    return tuple(sorted(_cautions(scene), key=lambda caution: order.index(caution.because)))


def _cautions(scene: Scene) -> Iterator[Caution]:
    ceiling = ceiling_of(scene)
    weightless = {a.profile.name: None for a in scene.arrays if a.profile.mass_kg is None}
    if weightless:
        yield Caution("mass", "not given", tuple(weightless))
    if ceiling != "open" and scene.room.structure_m is None:
        yield Caution("structure", "not given")
    if ceiling == "suspended" and scene.room.grid is None:
        yield Caution("grid", "not given")
    if not scene.suspension.safety_cable:
        yield Caution("safety cable", "not given")
    yield from _listed(scene, "sprinkler", "sprinklers", "no sprinklers")
    yield from _listed(scene, "smoke detector", "detectors", "no detectors")
    kinds = {device.kind for device in scene.overhead}
    if unlisted := tuple(kind for kind in LOOKED_FOR if kind not in kinds):
        yield Caution("not listed", "not listed", unlisted)
    if ceiling == "suspended":
        yield Caution("grid load", "ceiling")
    if ceiling != "open":
        yield Caution("plenum", "ceiling")
        yield Caution("fire rating", "ceiling")
    yield Caution("coatings" if ceiling == "open" else "asbestos", "ceiling")
    for name in _ALWAYS:
        yield Caution(name, "always")


_ALWAYS: Final[tuple[CautionName, ...]] = (
    *("load", "secondary support", "fire protection", "seismic", "electrical", "height"),
)


def _listed(scene: Scene, kind: str, here: CautionName, not_here: CautionName) -> Iterator[Caution]:
    ids = tuple(device.id for device in scene.overhead if device.kind == kind)
    yield Caution(here, "here", ids) if ids else Caution(not_here, "not listed")


# ---- what is open ----------------------------------------------------------------------------------------


def open_points(review: Review) -> tuple[Open, ...]:
    """All that is open in this room: what fails it first, then what it cautions for, then what its file leaves open.

    Every output shows these. Wherever anything hangs overhead load and secondary support are among them.
    """
    points = [
        *_talkers(review),
        *_layouts(review),
        *_clearances(review),
        *_sightlines(review),
        *_unsure(review.scene),
        *_changed(review),
        *_tolerances(review),
        *_hanging(review),
        *_structure(review.scene),
        *_not_given(review.scene),
    ]
    order = get_args(OpenName)
    return tuple(sorted(points, key=lambda point: (not point.fails, order.index(point.name))))


def _layouts(review: Review) -> Iterator[Open]:
    """Which of several layouts fail and which are open: of one of them, which others."""
    others = [one for one in review.layouts if one.name != review.scene.layout]
    found: tuple[tuple[OpenName, Verdict], ...] = (("layout", "fail"), ("layout caution", "caution"))
    for name, verdict in found:
        if ids := tuple(one.name for one in others if one.review.verdict == verdict):
            yield Open(name, "client", ids, verdict == "fail")


def _talkers(review: Review) -> Iterator[Open]:
    """Who is not covered, those behind something among them, and who is covered only upright.

    Where all layouts are at hand these are told layout by layout.
    """
    if review.scene.layouts:
        return
    behind = {line.end for line in review.blocked if line.kind == "array" and line.binding}
    missed = {head.person: None for head in review.heads if head.state == "missed" or head.id in behind}
    marginal = {
        head.person: None for head in review.heads if head.state == "marginal" and head.person not in missed
    }
    if missed:
        yield Open("missed", "client", tuple(missed), True)
    if marginal:
        yield Open("marginal", "client", tuple(marginal), False)
    if ids := tuple(area.id for area in review.areas if area.state == "missed"):
        yield Open("area", "client", ids, True)
    if ids := tuple(area.id for area in review.areas if area.state == "marginal"):
        yield Open("area upright", "client", ids, False)


def _clearances(review: Review) -> Iterator[Open]:
    found: dict[tuple[OpenName, Signatory, bool], dict[Id, None]] = {}
    for clearance in review.clearances:
        name = _open_name(clearance)
        if name is not None:
            key = name, DECIDES.get(clearance.kind, "architect"), clearance.state == "short"
            thing = clearance.array if name == "tee" and clearance.array else clearance.against
            thing = clearance.device or thing
            found.setdefault(key, {})[thing] = None
    for (name, who, fails), things in found.items():
        yield Open(name, who, tuple(things), fails)


def _open_name(clearance: Clearance) -> OpenName | None:
    if clearance.state == "clear" or clearance.state == "off":
        return None
    return "tee" if clearance.kind == "grid" and clearance.array is not None else clearance.state


def _sightlines(review: Review) -> Iterator[Open]:
    # who is behind something is not covered: that line is open as its talker
    ends = {line.end: None for line in review.blocked if line.kind == "array" and not line.binding}
    if ends:
        yield Open("blocked", "client", tuple(ends), False)
    views = {line.start: None for line in review.blocked if line.kind != "array"}
    if views:
        yield Open("view", "client", tuple(views), False)


def _unsure(scene: Scene) -> Iterator[Open]:
    if scene.unsure:
        yield Open("unsure", "architect", tuple(about for about, _ in scene.unsure), False)


def _changed(review: Review) -> Iterator[Open]:
    for change in review.scene.rule_changes:
        kinds = rules()[change.rule].applies_to
        yield Open("changed", DECIDES.get(kinds[0], "architect"), (change.rule,), False)


def _tolerances(review: Review) -> Iterator[Open]:
    """Arrays that cannot be hung as exactly as they must be; of a room that fails none is to be hung at all."""
    if review.held:
        return
    found: dict[OpenName, list[Id]] = {}
    for array in review.arrays:
        if name := _tolerance_name(array.tolerance, review.scene.units):
            found.setdefault(name, []).append(array.id)
    for name, ids in found.items():
        yield Open(name, "client", tuple(ids), False)


def _tolerance_name(one: Tolerance, units: str) -> OpenName | None:
    """By the directions in which something ends: one that only a stop ends asks for nothing."""
    nothing_m = NO_TOLERANCE_IN_M if units in ("ft", "in") else NO_TOLERANCE_M
    ended = [
        (length_m + ON_EDGE_M, least_m)
        for length_m, least_m in (
            (one.sideways_m, SET_OUT_SIDEWAYS_M),
            (one.up_m, SET_OUT_UPRIGHT_M),
            (one.down_m, SET_OUT_UPRIGHT_M),
        )
        if length_m is not None
    ]
    if any(length_m < nothing_m for length_m, _ in ended):
        return "no tolerance"
    return "little tolerance" if any(length_m < least_m for length_m, least_m in ended) else None


def _hanging(review: Review) -> Iterator[Open]:
    """Arrays so close below the ceiling that their wires lie flat, or that no hand reaches what they hang by."""
    placed = {one.id for one in review.arrays}
    flat, short = [], []
    for array in review.scene.arrays:
        if array.id not in placed or array.profile.mount == "flush":
            continue
        steep_deg = wires_deg(scene_under(review.scene, array.at_m), array)
        if steep_deg is not None and steep_deg < FLATTEST_DEG - 1e-9:
            flat.append(array.id)
        elif hangs_by_m(review.scene, array) < LEAST_HANG_M - ON_EDGE_M:
            short.append(array.id)
    if flat:
        yield Open("flat wires", "structure", tuple(flat), False)
    if short:
        yield Open("hangs short", "structure", tuple(short), False, LEAST_HANG_M)


def _structure(scene: Scene) -> Iterator[Open]:
    if scene.room.structure_m is None:
        return
    above_m = scene.room.structure_m - scene.room.ceiling_m
    if above_m > FAR_STRUCTURE_M + ON_EDGE_M:
        yield Open("far structure", "structure", ("structure",), False, above_m)


_OPEN_IF_NOT_GIVEN: Final[dict[CautionName, OpenName]] = {
    "mass": "mass",
    "structure": "structure",
    "grid": "grid",
    "safety cable": "safety cable",
}


def _not_given(scene: Scene) -> Iterator[Open]:
    """What the file does not give; and what carries the arrays, which no file can give."""
    for caution in cautions(scene):
        if caution.because == "not given":
            yield Open(_OPEN_IF_NOT_GIVEN[caution.name], SIGNS_FOR[caution.name], caution.things, False)
    yield Open("overhead", "structure", (), False)


def sign_offs(review: Review) -> tuple[SignOff, ...]:
    """Who signs for what, always the same six: their cautions, and what is open for them."""
    here, points = cautions(review.scene), open_points(review)
    return tuple(
        SignOff(
            who,
            tuple(caution for caution in here if SIGNS_FOR[caution.name] == who),
            tuple(point for point in points if point.who == who),
        )
        for who in get_args(Signatory)
    )
