"""Lengths and a sentence for modules of this floor that still make text; viz/words has the rest.

A function leaves with its last user here, and this module with its last function.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from geometry.coverage import Reason, State
from scenes.findings.review import HeadReview
from scenes.spec.lengths import readable_length

STATES: tuple[State, ...] = ("covered", "marginal", "missed")
"""From good to bad."""

REASON_HELP: dict[Reason, str] = {
    "too shallow": "hang the array higher or nearer to them, or take a shallower band",
    "too steep": "hang the array lower or farther from them, or take a steeper band",
    "too near": "move the array away from them",
    "too far": "move the array nearer to them, or add one",
}


def length(metres: float, units: str) -> str:
    """A length as the room's designer writes it: centimetres in metric rooms, eighths of an inch otherwise."""
    return readable_length(metres, units)


def area(square_metres: float, units: str) -> str:
    """An area in the room's own units: `29.7 m²`, `384 ft²`."""
    if units in ("ft", "in"):
        return f"{square_metres / 0.3048**2:.0f} ft²"
    return f"{square_metres:.1f} m²"


def whole_down(metres: float, units: str) -> str:
    """A tolerance, rounded down so that what is told always holds: whole centimetres, or quarter inches.

    Under a centimetre whole millimetres (a quarter inch: sixteenths), from a metre on metres (3 feet: feet).
    """
    if units in ("ft", "in"):
        part = 4 if metres >= 0.00635 - 1e-9 else 16
        return _inches(math.floor(metres / (0.0254 / part) + 1e-9) * 0.0254 / part, part)
    if 0 < metres < 0.01 - 1e-9:
        return f"{math.floor(metres * 1000 + 1e-9)} mm"
    return _centimetres(math.floor(metres * 100 + 1e-9))


def shortfall(metres: float, units: str) -> str:
    """How much is missing, rounded up: whole centimetres, or eighths of an inch; from 1 m or 3 ft on in those."""
    if units in ("ft", "in"):
        return _inches(math.ceil(metres / 0.003175 - 1e-9) * 0.003175, 8)
    return _centimetres(math.ceil(metres * 100 - 1e-9))


def at_most(metres: float, units: str) -> str:
    """A proven upper bound, rounded up to the millimetre (sixteenth of an inch) that proofs are good for."""
    return _fine(metres, units, math.ceil)


def at_least(metres: float, units: str) -> str:
    """A proven lower bound, rounded down to the millimetre (sixteenth of an inch) that proofs are good for."""
    return _fine(metres, units, math.floor)


def _fine(metres: float, units: str, rounded: Callable[[float], int]) -> str:
    # a bound is never rounded to the unsafe side, but what is a whole millimetre but for the last bit stays one
    nudge = 1e-7 if rounded is math.floor else -1e-7
    if units in ("ft", "in"):
        return _inches(rounded(metres / 0.0015875 + nudge) * 0.0015875, 16)
    millimetres = rounded(metres * 1000 + nudge)
    if abs(millimetres) >= 1000:
        return f"{millimetres / 1000:.3f} m"
    return f"{millimetres} mm" if abs(millimetres) < 10 else f"{millimetres / 10:g} cm"


def _inches(metres: float, part: int) -> str:
    # the nearest part is the part it is: rounding was done before
    return readable_length(metres, "ft", inch_fraction=part)


def _centimetres(count: int) -> str:
    return f"{count} cm" if abs(count) < 100 else f"{count / 100:.2f} m"


LEAST_TOLD_M = 0.0016
"""Less than this, a sixteenth of an inch, would be told as nothing at all in some unit."""


def not_enough(enough_m: float, best_m: float, units: str, where: str = "place") -> str:
    """That no place (or whatever `where` says) has the margin asked for, and what the best has."""
    best = (
        f"the best leaves {at_least(best_m, units) if best_m >= LEAST_TOLD_M else 'next to nothing'}"
        if best_m >= 0
        else f"the best falls short of covering everybody by {at_most(-best_m, units)}"
    )
    return f"no {where} leaves everybody a margin of {at_most(enough_m, units)} ({best})"


def signed_deg(degrees: float) -> str:
    """`+3.2°`, `-0.4°`, and `0.0°` for what rounds to nothing."""
    text = f"{degrees:+.1f}°"
    return "0.0°" if text in ("+0.0°", "-0.0°") else text


def listed(things: Sequence[str], most: int = 4) -> str:
    """`T1-1`, `T1-1 and T1-2`, `T1-1, T1-2 and T1-3`, or the first few `and 9 more`."""
    if len(things) > most:
        return f"{', '.join(things[: most - 1])} and {len(things) - most + 1} more"
    if len(things) < 2:
        return "".join(things)
    return f"{', '.join(things[:-1])} and {things[-1]}"


def counted(count: int, thing: str, things: str | None = None) -> str:
    """`1 talker`, `8 talkers`."""
    return f"{count} {thing if count == 1 else things or thing + 's'}"


def coverage_sentence(
    ids: Sequence[str],
    states: Sequence[State],
    slacks_m: Sequence[float],
    margins_m: Sequence[float],
    reasons: Sequence[Reason | None],
    units: str,
    people: Sequence[str],
) -> str:
    """Who is covered, who is not and why, and the tolerance; one entry per head in every sequence.

    `people` are whose heads they are: a talker is covered where all of their heads are.
    """
    counts = people_in(people, states)
    total, covered = sum(counts.values()), counts["covered"]
    missed = [i for i, state in enumerate(states) if state == "missed"]
    marginal = [i for i, state in enumerate(states) if state == "marginal"]
    if covered == total:
        spare = min(margins_m)
        who = "The one talker is covered" if total == 1 else f"All {total} talkers are covered"
        room = whole_down(spare, units)
        if room[0] == "0":
            return f"{who}, with no room to spare: somebody is lost at the least shift."
        return f"{who}. The array may be off by up to {room} in any direction before anybody is lost."
    parts = [f"{covered} of {counted(total, 'talker')} {'is' if covered == 1 else 'are'} covered."]
    if total == 1:
        parts = ["The one talker is not covered."]
    for reason in ("too far", "too near", "too shallow", "too steep"):
        some = sorted((i for i in missed if reasons[i] == reason), key=lambda i: round(slacks_m[i], 2))
        if some:
            names = _names(ids, people, some)
            verb = "is" if len(names) == 1 else "are"
            parts.append(
                f"{listed(names)} {verb} missed: {reason} by up to "
                f"{shortfall(-min(slacks_m[i] for i in some), units)}; {REASON_HELP[reason]}."
            )
    if marginal:
        names = _names(ids, people, marginal)
        verb, they = ("is", "it leans") if len(names) == 1 else ("are", "they lean")
        worst = min(marginal, key=lambda i: margins_m[i])
        parts.append(
            f"{listed(names)} {verb} marginal: inside while upright, lost by up to "
            f"{shortfall(-margins_m[worst], units)} when {they}."
        )
    return " ".join(parts)


def people_in(people: Sequence[str], states: Sequence[State]) -> dict[State, int]:
    """How many talkers are covered, marginal and missed, each by the worst of their heads."""
    worst: dict[str, State] = {}
    for person, state in zip(people, states, strict=True):
        worst[person] = max(worst.get(person, "covered"), state, key=STATES.index)
    return {state: sum(found == state for found in worst.values()) for state in STATES}


def talkers(heads: Sequence[HeadReview]) -> dict[State, int]:
    """`people_in` of reviewed heads."""
    return people_in([head.person for head in heads], [head.state for head in heads])


def _names(ids: Sequence[str], people: Sequence[str], some: Sequence[int]) -> list[str]:
    """The talkers these heads are of, and of several heads of one talker which are meant."""
    names: dict[str, str] = {}
    for person in dict.fromkeys(people[i] for i in some):
        own = {ids[i] for i, whose in enumerate(people) if whose == person}
        meant = {ids[i] for i in some if people[i] == person}
        walks = not own <= {person, f"{person}-up"}
        if len(own) == 1:
            names[person] = min(own)
        elif walks:
            names[person] = f"{person} ({'all' if meant == own else 'part of'} the way)"
        else:
            how = "" if meant == own else " (sitting)" if person in meant else " (standing up)"
            names[person] = f"{person}{how}"
    return list(names.values())
