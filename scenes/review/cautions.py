"""What to heed before anything is hung, what is open, and who signs for what.

What applies depends on what may be there, not on what was listed: a room without a smoke detector in its file is
warned of the detectors that nobody wrote down. What the file does not give is a caution, never a gap.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, get_args

from scenes.findings.cautions import Because, Caution, CautionName, Open, OpenName, Signatory, SignOff
from scenes.findings.clearance import Clearance
from scenes.findings.names import Id
from scenes.findings.review import Review
from scenes.room.scene import Scene, ceiling_of
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
    """What is open in this room: what fails it first, then what it cautions for, then what its file changes."""
    points = [
        *_talkers(review),
        *_clearances(review),
        *_sightlines(review),
        *_unsure(review.scene),
        *_changed(review),
    ]
    order = get_args(OpenName)
    return tuple(sorted(points, key=lambda point: (not point.fails, order.index(point.name))))


def _talkers(review: Review) -> Iterator[Open]:
    """Who is not covered, those behind something among them, and who is covered only upright."""
    behind = {line.end for line in review.blocked if line.kind == "array" and line.binding}
    missed = {head.person: None for head in review.heads if head.state == "missed" or head.id in behind}
    marginal = {
        head.person: None for head in review.heads if head.state == "marginal" and head.person not in missed
    }
    if missed:
        yield Open("missed", "client", tuple(missed), True)
    if marginal:
        yield Open("marginal", "client", tuple(marginal), False)


def _clearances(review: Review) -> Iterator[Open]:
    found: dict[tuple[OpenName, Signatory, bool], dict[Id, None]] = {}
    for clearance in review.clearances:
        name = _open_name(clearance)
        if name is not None:
            key = name, DECIDES.get(clearance.kind, "architect"), clearance.state == "short"
            thing = clearance.array if name == "tee" and clearance.array else clearance.against
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
