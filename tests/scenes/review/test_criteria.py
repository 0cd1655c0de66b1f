"""The designer's own criteria: counted over people, and nothing fails by them."""

from __future__ import annotations

from dataclasses import replace

from scenes.findings.criteria import AngleMet, DistanceMet
from scenes.review.criteria import criteria_met
from scenes.review.review import review
from scenes.room.scene import Criteria, Scene
from tests.scenes.ceiling_rooms import array, head, scene


def room(criteria: Criteria) -> Scene:
    """The array 1 m above the mouths: at 0.75, 1.00 and 2.40 m on plan they are 1.25, 1.414 and 2.60 m away.

    That is 53.1°, 45° and 22.6° below horizontal; the band's middle is (21° + 66°) / 2 = 43.5°.
    """
    heads = tuple(head(id, (3.0 + away, 2.0)) for id, away in (("S1", 0.75), ("S2", 1.0), ("S3", 2.4)))
    return replace(scene(arrays=(array(height_m=2.2),), heads=heads), criteria=criteria)


def test_without_criteria_nothing_is_reported() -> None:
    assert criteria_met(review(room(Criteria()))) == ()


def test_each_criterion_counts_the_talkers_that_meet_it() -> None:
    found = criteria_met(review(room(Criteria((1.3, 2.6), 9.6))))
    assert found == (DistanceMet(1.3, 2.6, 2, 3), AngleMet(9.6, 1, 3))
    [wider] = criteria_met(review(room(Criteria(off_centre_deg=9.7))))
    assert wider == AngleMet(9.7, 2, 3)


def test_somebody_who_stands_up_meets_a_criterion_in_both_postures() -> None:
    of = room(Criteria((1.0, 1.3)))
    seated = of.heads[0]
    up = replace(seated, id="S1-up", posture="standing", mouth=replace(seated.mouth, value=(1.7, 1.7)))
    assert up.person == seated.person
    # standing, the mouth is 0.5 m below the array: hypot(0.75, 0.5) = 0.90 m
    [met] = criteria_met(review(replace(of, heads=(seated, up))))
    assert met == DistanceMet(1.0, 1.3, 0, 1)


def test_a_criterion_that_nobody_meets_fails_nothing() -> None:
    free, asked = (review(room(one)) for one in (Criteria(), Criteria((5.0, 6.0))))
    assert asked.verdict == free.verdict
    assert [one.met for one in criteria_met(asked)] == [0]
