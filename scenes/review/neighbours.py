"""Neighbours between a talker's mouth and the array that serves them: advice, never a line that is blocked."""

from __future__ import annotations

import numpy as np

from geometry.neighbours import HALF_HEAD_M, beside_the_way, edge_loss_dB, needed_deg, over_edge
from scenes.findings.people import Neighbour
from scenes.findings.review import Review
from scenes.review.people import who_of
from scenes.room.layouts import joined_id
from scenes.room.populations import crown_above_mouth_m
from scenes.room.scene import Head, Scene

ENOUGH_DEG = 1e-6
"""An angle this little too small is enough: rounding."""
AT_ONCE = 256
"""Talkers whose neighbours are looked for at once."""


def neighbours(review: Review) -> dict[str, Neighbour]:
    """By head, who of the others is most in the way of its array; without those whose way nobody is in.

    A neighbour counts whose head, upright at its place, reaches over the way on plan. The tallest in the neighbour's
    range against the smallest mouth in the head's own.
    """
    if not review.judged:
        return {}
    if not review.scene.layouts:
        return _neighbours(review)
    found = {}
    for one in review.layouts:
        name = joined_id(review.scene, one.name)
        for head, near in _neighbours(one.review).items():
            found[name(head)] = Neighbour(
                name(near.head), name(near.neighbour), near.array, near.need_deg, near.have_deg, near.loss_dB
            )
    return found


def _neighbours(review: Review) -> dict[str, Neighbour]:
    scene = review.scene
    heads = scene.heads
    if len(heads) < 2:
        return {}
    at = np.array([head.at_m for head in heads])
    centres = np.array([scene.array(head.array).centre_m for head in review.heads])
    low = np.array([head.mouth_m[0] for head in heads])
    crowns = np.array([_crown_m(scene, head) for head in heads])
    persons = np.unique([head.person for head in heads], return_inverse=True)[1]
    plan = np.hypot(*(centres[:, :2] - at).T)
    found = {}
    for first in range(0, len(heads), AT_ONCE):
        some = np.arange(first, min(first + AT_ONCE, len(heads)))
        along, aside = beside_the_way(at[some], centres[some, :2], at)
        between = (along > HALF_HEAD_M) & (along < plan[some, None]) & (aside <= HALF_HEAD_M)
        between &= persons[some, None] != persons[None, :]
        need = needed_deg(crowns[None, :] - low[some, None], along)
        need[~between] = -np.inf
        worst = need.argmax(axis=1)
        for k, i in enumerate(some.tolist()):
            j = int(worst[k])
            if not between[k, j]:
                continue
            z = float(centres[i, 2])
            fresnel = over_edge(low[i], z, plan[i], crowns[j], along[k, j])
            have = float(np.degrees(np.arctan2(z - low[i], plan[i])))
            loss = float(edge_loss_dB(fresnel)) if have < need[k, j] - ENOUGH_DEG else 0.0
            found[heads[i].id] = Neighbour(
                heads[i].id, heads[j].id, review.heads[i].array, float(need[k, j]), have, loss
            )
    return found


def _crown_m(scene: Scene, head: Head) -> float:
    """The top of the tallest head in a head's range."""
    return head.mouth_m[1] + crown_above_mouth_m(who_of(scene, head.posture))
