"""The `overtable/review/1` object."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from scenes.findings.cause import Move
from scenes.findings.clearance import Clearance
from scenes.findings.criteria import AngleMet, DistanceMet
from scenes.findings.review import AreaReview, ArrayReview, HeadReview, Review, Tolerance, Verdict
from scenes.findings.sight import Sightline
from scenes.review.criteria import criteria_met
from scenes.review.heard import heard
from scenes.review.people import people_in
from scenes.review.people_as_json import heard_as_json, of_each_head, people_as_json
from scenes.review.sound_as_json import sound_as_json, spoken_as_json
from scenes.room.ceiling import scene_under
from scenes.room.hung import hang_of
from scenes.room.scene import Scene
from scenes.spec.layouts import id_out

WRITTEN_OUT = ("id", "at_m", "height_m", "drop_m", "band_name", "low_deg", "high_deg", "tolerance")
"""What of an array is not written under its own name."""


def as_json(review: Review) -> dict[str, Any]:
    """The `overtable/review/1` object."""
    scene = review.scene
    people = people_in(review)
    of_people = of_each_head(review, people)
    return {
        **heading_as_json(scene, review.verdict),
        "heads": [
            {name: getattr(head, name) for name in HeadReview.__slots__} | _own_id(head) | of_people[head.id]
            for head in review.heads
        ],
        "arrays": [
            {
                "id": array.id,
                "at_m": array.at_m,
                "height_m": array.height_m,
                "drop_m": array.drop_m,
                "band": {"name": array.band_name, "low_deg": array.low_deg, "high_deg": array.high_deg},
                **{name: getattr(array, name) for name in ArrayReview.__slots__ if name not in WRITTEN_OUT},
                "tolerance": tolerance_as_json(array.tolerance),
                "hang": asdict(hang_of(scene_under(scene, array.at_m), scene.array(array.id))),
            }
            for array in review.arrays
        ],
        "areas": [
            {name: getattr(area, name) for name in AreaReview.__slots__} | _own_id(area)
            for area in review.areas
        ],
        "clearances": [clearance_as_json(clearance) for clearance in review.clearances],
        "sightlines": [_line(line) for line in review.sightlines],
        "unblock": [
            {
                "blocker": one.blocker,
                "lines": [{"from": start, "to": end} for start, end in one.lines],
                "moves": [{name: getattr(move, name) for name in Move.__slots__} for move in one.moves],
                "else_place": one.else_place,
            }
            for one in review.unblock
        ],
        "speech": None
        if review.speech is None
        else [spoken_as_json(line) | of_people[line.head] for line in review.speech],
        "sound": None if review.sound is None else sound_as_json(review.sound),
        "people": people_as_json(people),
        "heard": [heard_as_json(row, scene) for row in heard(review)],
        "criteria": [_criterion(met) for met in criteria_met(review)],
        "counts": asdict(review.counts),
        "tolerance": tolerance_as_json(review.tolerance),
        "tolerance_m": review.tolerance_m,
        "layouts": [
            {"name": one.name, "verdict": one.review.verdict, "counts": asdict(one.review.counts)}
            for one in review.layouts
        ],
    }


def _line(line: Sightline) -> dict[str, Any]:
    blockers = tuple(id_out(id, line.layout) for id in line.blockers)
    return {
        "from": id_out(line.start, line.layout),
        "to": id_out(line.end, line.layout),
        "array": line.array,
        "layout": line.layout,
        "state": line.state,
        "kind": line.kind,
        "blocked_by": blockers[0] if line.blocked_by is not None else None,
        "blockers": blockers,
        "blocked_at_m": line.blocked_at_m,
        "hidden": line.hidden,
        "default_decides": line.default_decides,
        "binding": line.binding,
    }


def _own_id(one: HeadReview | AreaReview) -> dict[str, Any]:
    """Ids as the file has them: the layout stands beside."""

    def own(id: str | None) -> str | None:
        return None if id is None else id_out(id, one.layout)

    if isinstance(one, AreaReview):
        return {"id": own(one.id)}
    blockers = tuple(own(id) for id in one.blockers)
    return {
        "id": own(one.id),
        "person": own(one.person),
        "blocked_by": own(one.blocked_by),
        "blockers": blockers,
    }


def heading_as_json(scene: Scene, verdict: Verdict | None) -> dict[str, Any]:
    """What a review's object begins with: the room, what of it is not measured, and the verdict if there is one."""
    return {
        "format": "overtable/review/1",
        "verdict": verdict,
        "unsure": [{"about": about, "why": why} for about, why in scene.unsure],
        "room": {
            "name": scene.name,
            "number": scene.number,
            "storey": scene.storey,
            "project": scene.project,
            "area_m2": scene.room.area_m2,
            "ceiling_m": scene.room.ceiling_m,
        },
    }


def tolerance_as_json(tolerance: Tolerance | None) -> dict[str, Any] | None:
    """A tolerance as the contract has it: lengths in metres, what limits each direction by kind and id."""
    return None if tolerance is None else asdict(tolerance)


def _criterion(met: DistanceMet | AngleMet) -> dict[str, Any]:
    """A criterion by the key the spec has it under, with every figure either kind has: null where it has none."""
    name = "distance" if isinstance(met, DistanceMet) else "off_centre"
    return {"criterion": name, "near_m": None, "far_m": None, "most_deg": None, **asdict(met)}


def clearance_as_json(one: Clearance) -> dict[str, Any]:
    """A row by names and numbers; its note and its source are text, which is set beside them above this floor."""
    return {
        "array": one.array,
        "device": one.device,
        "layout": one.layout,
        "against": id_out(one.against, one.layout),
        "kind": one.kind,
        "part": one.part,
        "rule": one.rule,
        "number": one.number,
        "title": one.title,
        "required_m": one.required_m,
        "actual_m": one.actual_m,
        "state": one.state,
        "basis": one.basis,
        "cause": None if one.cause is None else one.cause.name,
        "moves": [] if one.cause is None else [[m.thing, m.direction, m.by_m] for m in one.cause.moves],
        "sureness": one.sureness,
    }
