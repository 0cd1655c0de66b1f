"""A room in several layouts judged together by one set of arrays."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes.dossier import Dossier
from scenes.findings.review import VERDICTS, Review
from scenes.review.as_json import as_json
from scenes.review.first_look import first_look, first_look_as_json
from scenes.review.heights import hanging_heights
from scenes.review.review import review, with_ceiling
from scenes.room.build import build
from scenes.room.layouts import in_layouts
from scenes.room.scene import Scene
from scenes.spec.reading import read_spec_text
from tests.layout_room import LAYOUTS


@pytest.fixture(scope="module")
def scene() -> Scene:
    return build(read_spec_text(LAYOUTS))


@pytest.fixture(scope="module")
def whole(scene: Scene) -> Review:
    return review(scene)


@pytest.fixture(scope="module")
def each() -> dict[str, Review]:
    """Every layout as a room of its own, written without the others."""
    spec = read_spec_text(LAYOUTS)
    return {name: review(build(spec.in_layout(name))) for name in spec.layouts}


def test_each_layout_is_judged_as_if_there_were_no_other(whole: Review, each: dict[str, Review]) -> None:
    assert [one.name for one in whole.layouts] == list(each)
    for one in whole.layouts:
        alone = each[one.name]
        assert one.review.verdict == alone.verdict
        assert one.review.counts == alone.counts
        assert one.review.tolerance == alone.tolerance
        assert [replace(head, layout=None) for head in one.review.heads] == list(alone.heads)
        assert [replace(line, layout=None) for line in one.review.sightlines] == list(alone.sightlines)
        assert list(one.review.clearances) == list(alone.clearances)


def test_the_verdict_and_the_counts_are_the_worst_ones(scene: Scene) -> None:
    astray = scene.with_array("A1", at_m=(2.4, 2.2), height_m=2.3, band_name="low")
    whole = review(astray)
    each = {str(one.layout): review(one) for one in in_layouts(astray)}
    assert whole.verdict == max((one.verdict for one in each.values() if one.verdict), key=VERDICTS.index)
    missing = {name: one.counts.talkers - (one.counts.covered or 0) for name, one in each.items()}
    worst = max(missing, key=lambda name: missing[name])
    assert len(set(missing.values())) > 1
    assert whole.counts == each[worst].counts
    assert whole.margin_m == min(one.margin_m for one in each.values())
    assert len(whole.heads) == sum(len(one.heads) for one in each.values())


def test_no_tolerance_is_larger_than_that_of_any_layout(whole: Review, each: dict[str, Review]) -> None:
    assert whole.tolerance is not None
    for alone in each.values():
        assert alone.tolerance is not None
        for name in ("sideways_m", "up_m", "down_m"):
            mine, theirs = getattr(whole.tolerance.alone, name), getattr(alone.tolerance.alone, name)
            assert mine is not None
            assert theirs is None or mine <= theirs + 1e-3
        assert (whole.tolerance.sideways_m or 0) <= (alone.tolerance.sideways_m or 1) + 1e-9
    ends = [end.id for end in whole.tolerance.limited_by.values() if end is not None]
    ids = {id for _, id in whole.scene.things}
    assert ends
    assert set(ends) <= ids | {"walls", "floor", "ceiling"}


def test_rows_that_are_the_same_in_all_layouts_are_told_once(whole: Review) -> None:
    shared = [row for row in whole.clearances if row.layout is None]
    assert {row.against for row in shared} >= {"L1"}
    assert len(shared) == len(set(map(str, shared)))
    assert {row.layout for row in whole.clearances if row.kind == "obstacle"} == {"halved"}
    assert {row.layout for row in whole.clearances if row.kind == "table"} <= {"board", "halved"}


def test_the_json_says_which_layout(whole: Review) -> None:
    told = as_json(whole)
    assert {(head["id"], head["layout"]) for head in told["heads"]} >= {
        ("S1", "board"),
        ("S1", "rows"),
        ("T1-2-up", "board"),
        ("R-2-3", "rows"),
    }
    assert all(head["person"] in (head["id"], head["id"].removesuffix("-up")) for head in told["heads"])
    assert {line["layout"] for line in told["sightlines"]} == {"board", "rows", "halved"}
    blocked = {(line["to"], line["blocked_by"]) for line in told["sightlines"] if line["state"] == "blocked"}
    assert ("DS1", "W1") in blocked
    assert [one["name"] for one in told["layouts"]] == ["board", "rows", "halved"]
    assert told["counts"] in [one["counts"] for one in told["layouts"]]


def test_a_wall_of_one_layout_hides_nobody_of_another(scene: Scene) -> None:
    """A talker behind the wall is blocked in that layout only."""
    (first, *_) = scene.arrays
    behind = scene.with_arrays((replace(first, at_m=(5.6, 2.7), height_m=2.3),))
    found = review(behind)
    blocked = {head.id for head in found.heads if head.sight == "blocked"}
    assert blocked
    assert all(id.endswith(("(halved)", "(halved)-up")) for id in blocked)


def test_documents_of_one_layout_have_the_verdict_of_all(scene: Scene, whole: Review) -> None:
    dossiers = Dossier.of(scene).each
    assert [one.scene.layout for one in dossiers] == ["board", "rows", "halved"]
    for one in dossiers:
        assert one.review.verdict == whole.verdict
        assert {head.layout for head in one.review.heads} == {one.scene.layout}
        assert not {id for _, id in one.scene.things if id.endswith(f"({one.scene.layout})")}
    assert dossiers[1].scene.name == "Alder Room (rows)"


def test_at_every_height_the_table_has_the_verdict_of_all(scene: Scene) -> None:
    dossiers = Dossier.of(scene).each
    (table,) = dossiers[0].height_table.arrays
    for k in range(0, len(table.heights_m), 37):
        found = review(scene.with_array("A1", height_m=table.heights_m[k]))
        band = next(one for one in table.bands if one.name == table.band)
        assert band.verdict[k] == found.verdict
        assert [(one.name, one.verdict, one.counts) for one in band.layouts[k]] == [
            (one.name, one.review.verdict, one.review.counts) for one in found.layouts
        ]


def test_heights_allowed_are_those_at_which_no_layout_fails(scene: Scene, whole: Review) -> None:
    (row,) = hanging_heights(scene, whole)
    tried = 0
    for band in row.bands:
        for low, high in band.allowed_m:
            for height, fine in ((low, True), (high, True), (low - 0.01, False)):
                found = review(scene.with_array("A1", height_m=height, band_name=band.name))
                if fine:
                    assert found.verdict != "fail"
                tried += fine
    assert tried >= 2


def test_a_first_look_counts_the_talkers_of_one_layout(scene: Scene) -> None:
    look = first_look(scene.with_arrays(()))
    assert look.review.counts.talkers == max(len({h.person for h in one.heads}) for one in in_layouts(scene))
    told = first_look_as_json(look)
    assert [one["name"] for one in told["layouts"]] == ["board", "rows", "halved"]
    assert {head["layout"] for head in told["heads"]} == {"board", "rows", "halved"}


def test_the_ceiling_s_own_rows_join_each_layout(whole: Review) -> None:
    assert [one.name for one in with_ceiling(whole).layouts] == ["board", "rows", "halved"]
