"""The aims of a search beside each other: a row each, and what their names, columns and proofs mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from geometry.aims import AimName
from scenes.findings.review import Review
from scenes.place.placement import AimRow, Placement
from viz.words import arrays
from viz.words.locale import DASH, Locale

LEGEND: tuple[AimName, ...] = ("near", "tolerance", "margin", "centre", "most")


class AimText(NamedTuple):
    """One aim's place and figures, as every output shows them: which fields, is the output's choice."""

    aim: str
    chosen: bool
    height: str
    band: str
    margin: str
    distance: str
    from_centre: str
    spread: str
    proof: str

    def marked(self, locale: Locale) -> str:
        """The aim with a mark before the one that is taken."""
        return locale.say("aims.chosen" if self.chosen else "aims.other", aim=self.aim)


def aims(placement: Placement, locale: Locale) -> list[AimText]:
    """The aims beside each other, after what is proposed where that is on a lattice.

    Of several arrays heights go from lowest to highest.
    """
    rows = [_proposed(placement, locale)] if _on_lattice(placement) else []
    for row in placement.aims:
        proven = "certified, groups" if of_groups(row) else row.outcome
        rows.append(
            AimText(
                aim=row.aim,
                chosen=not _on_lattice(placement) and row.aim == placement.aim,
                height=_span([place[1][2] for place in row.places], locale),
                band=_bands([place[2] for place in row.places]),
                margin=locale.margin(row.margin_m),
                distance=locale.length(row.worst_slant_m),
                from_centre=locale.from_centre(row.mean_off_centre_deg),
                spread=locale.angle(row.rms_off_centre_deg),
                proof=locale.say(f"aims.proof.{proven}"),
            )
        )
    return rows


def _proposed(placement: Placement, locale: Locale) -> AimText:
    one = len(placement.arrays) == 1
    return AimText(
        aim=locale.say("aims.proposed"),
        chosen=True,
        height=_span([a.height_m for a in placement.arrays], locale),
        band=_bands([a.band_name for a in placement.arrays]),
        margin=locale.margin(placement.margin_m),
        distance=locale.length(placement.worst_slant_m),
        from_centre=locale.from_centre(placement.mean_off_centre_deg),
        spread=locale.angle(placement.rms_off_centre_deg),
        proof=locale.say("aims.proof.lattice" if one else "aims.proof.lattice, several"),
    )


def drawn(review: Review, locale: Locale) -> AimText:
    """The reviewed room itself as a row beside the aims."""
    hung = arrays.arrays(review)
    farthest = [a.worst_slant_m for a in review.arrays if a.worst_slant_m is not None]
    return AimText(
        aim=locale.say("aims.current"),
        chosen=True,
        height=_span([a.height_m for a in review.arrays], locale),
        band=_bands([a.band_name for a in review.arrays]),
        margin=locale.margin(review.margin_m),
        distance=locale.length(max(farthest, default=None)),
        from_centre=", ".join(one.from_centre for one in hung),
        spread=", ".join(one.spread for one in hung),
        proof="",
    )


def key(placement: Placement, locale: Locale) -> tuple[str, ...]:
    """What the names of the aims mean, one line each."""
    lines = [
        locale.say("aims.key", aim=aim, what=locale.say(f"aims.key.{aim}"))
        for aim in LEGEND
    ]  # fmt: skip
    if _on_lattice(placement):
        what = locale.say("aims.key.proposed")
        lines.insert(0, locale.say("aims.key", aim=locale.say("aims.proposed"), what=what))
    if any(of_groups(row) for row in placement.aims):
        lines.append(locale.say("aims.key", aim=locale.say("aims.mark"), what=locale.say("aims.key.groups")))
    return tuple(lines)


def aims_note(placement: Placement, locale: Locale) -> str:
    """What the columns and the proofs of the aims mean, where there is room for a sentence."""
    note = locale.say("aims.note")
    if not any(of_groups(row) for row in placement.aims):
        return note
    groups = locale.say("aims.key", aim=locale.say("aims.mark"), what=locale.say("aims.key.groups"))
    return f"{note} {groups}."


def _on_lattice(placement: Placement) -> bool:
    return any(found.position is not None for found in placement.snapped.values())


def of_groups(row: AimRow) -> bool:
    """Whether what is proven of this aim holds for these groups of heads only."""
    return row.for_groups and row.outcome == "certified" and len(row.places) > 1


def _span(heights_m: Sequence[float], locale: Locale) -> str:
    texts = [locale.length(height) for height in sorted(heights_m)]
    if not texts:
        return DASH
    if texts[0] == texts[-1]:
        return texts[0]
    return locale.say("aims.span", low=texts[0], high=texts[-1])


def _bands(names: Sequence[str]) -> str:
    return ", ".join(dict.fromkeys(names)) or DASH
