"""People in the `overtable/review/1` object: whom shares are of, and what each head has of its own."""

from __future__ import annotations

from typing import Any

from scenes.findings.heard import Heard
from scenes.findings.people import Neighbour, PeopleReview, PostureReview
from scenes.findings.review import Review
from scenes.review.neighbours import neighbours
from scenes.room.scene import Scene
from scenes.spec.layouts import id_out, is_in


def people_as_json(people: PeopleReview | None) -> dict[str, Any] | None:
    """Whom shares are of, those who sit first, and how many of the talkers are covered in the mean."""
    if people is None:
        return None
    first = people.postures[0] if people.postures else None
    return {
        "population": first and first.population,
        "percentiles": first and first.percentiles,
        "share_held": first and first.share_held,
        "expected_covered": people.expected_covered,
        "talkers": people.talkers,
        "postures": [
            {name: getattr(one, name) for name in PostureReview.__slots__} for one in people.postures
        ],
    }


def of_each_head(review: Review, people: PeopleReview | None) -> dict[str, dict[str, Any]]:
    """By head: the share of people its place covers, and the neighbour in its way; null where there is none."""
    shares = {} if people is None else people.covered_share
    near = neighbours(review)
    return {
        head.id: {
            "covered_share": shares.get(head.id),
            "neighbour": _neighbour(near[head.id], review.scene) if head.id in near else None,
        }
        for head in review.heads
    }


def heard_as_json(row: Heard, scene: Scene) -> dict[str, Any]:
    """A thing that is heard: the turn with what it costs, ids as the file has them."""
    turn = None
    if row.turn is not None:
        costs = {"covered": row.turn.covered, "margin_m": row.turn.margin_m, "verdict": row.turn.verdict}
        turn = {"to_deg": row.turn.to_deg, "left": row.turn.places + row.turn.devices, "costs": costs}
    layout = next((one for one in scene.layouts if is_in(row.nearest_talker, one)), None)
    return {
        **{name: getattr(row, name) for name in Heard.__slots__},
        "thing": id_out(row.thing, layout),
        "nearest_talker": id_out(row.nearest_talker, layout),
        "layout": layout,
        "turn": turn,
    }


def _neighbour(near: Neighbour, scene: Scene) -> dict[str, Any]:
    """Who is in the way, by their id as the file has it: both are of one layout."""
    layout = next((one for one in scene.layouts if is_in(near.neighbour, one)), None)
    return {
        "id": id_out(near.neighbour, layout),
        "need_deg": near.need_deg,
        "have_deg": near.have_deg,
        "loss_dB": near.loss_dB,
        "state": near.state,
    }
