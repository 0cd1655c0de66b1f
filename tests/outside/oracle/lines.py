"""Lines of sight as the contract words them: who serves whom by sight, what blocks and what it is called."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.outside.oracle.judging import Judged, line_of_sight
from tests.outside.oracle.reading import read
from tests.outside.oracle.seating import Head

FINER = 10
"""Where the two disagree so many times more lines are asked in each direction."""


def line_differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of serving and sight in a review is not so; of a room that leaves no size to a default."""
    room = read(path)
    assert not room.guesses, "what a default decides the oracle cannot know"
    judged = Judged(room)
    heads = {head.id: head for head in judged.heads}
    return [wrong for one in told["heads"] for wrong in _head(judged, heads[one["id"]], one)]


def _head(judged: Judged, head: Head, one: Mapping[str, Any]) -> Iterator[str]:
    mine = judged.figures[head.id, one["array"]].seen
    if (one["sight"] == "blocked") != mine.blocked:
        array = next(a for a in judged.room.arrays if a.id == one["array"])
        mine = line_of_sight(judged.room, head, array, finer=FINER)
    if (one["sight"] == "blocked") != mine.blocked:
        yield f"{head.id} from {one['array']}: {one['sight']}, oracle {mine.hit} of {mine.asked} lines hidden"
        return
    expected = judged.serving[head.id]
    if one["array"] != expected:
        figures = {a.id: judged.figures[head.id, a.id] for a in judged.room.arrays}
        shown = {id: (round(f.margin, 6), f.seen.blocked) for id, f in figures.items()}
        yield f"{head.id}: served by {one['array']}, oracle {expected} of {shown}"
        return
    if one["sight"] == "clear":
        if one["blocked_by"] is not None or one["blockers"]:
            yield f"{head.id}: clear, and yet {one['blocked_by']} {one['blockers']}"
        return
    ids = [blocker.id for blocker in mine.blockers]
    if set(one["blockers"]) != set(ids):
        yield f"{head.id}: blockers {one['blockers']}, oracle {ids}"
    nearest = [b.id for b in mine.blockers if b.at < mine.blockers[0].at + 1e-3]
    if one["blocked_by"] not in nearest:
        yield f"{head.id}: blocked by {one['blocked_by']}, oracle {nearest}"
