from __future__ import annotations

import pytest

from scenes.review.cautions import CAUTIONS, CLOSING, cautions, cautions_line
from scenes.room.scene import Scene, Suspension
from tests.scenes.ceiling_rooms import device, scene


def ids(of: Scene) -> set[str]:
    return {caution.id for caution in cautions(of)}


def test_what_the_issue_of_safety_asks_for_is_there() -> None:
    asked = {
        "overhead-load",
        "secondary-support",
        "seismic",
        "plenum",
        "fire-rated",
        "sprinklers",
        "electrical",
        "ladders",
    }
    assert asked <= ids(scene())
    assert len({caution.id for caution in CAUTIONS}) == len(CAUTIONS)


@pytest.mark.parametrize("caution", CAUTIONS, ids=lambda caution: caution.id)
def test_each_names_the_topic_it_defers_to_and_how_surely(caution) -> None:  # type: ignore[no-untyped-def]
    assert caution.text.endswith(".")
    assert caution.defers_to
    assert any(word in caution.sureness for word in ("seen", "memory"))
    assert set(caution.as_json()) == {"id", "topic", "text", "defers_to", "sureness"}
    assert caution.short in cautions_line(scene()) or not caution.applies(scene())


def test_the_closing_sentence_says_who_decides() -> None:
    for who in ("Local codes", "authority having jurisdiction", "licensed designers"):
        assert who in CLOSING


def test_open_ceilings_have_no_plenum_no_tiles_and_no_rated_lining() -> None:
    suspended_only = {"plenum", "grid-load", "fire-rated", "old-ceilings"}
    assert suspended_only <= ids(scene())
    assert not suspended_only & ids(scene(ceiling_kind="open"))
    assert not suspended_only & ids(scene(suspension=Suspension(ceiling="open")))
    assert "fire-rated" in ids(scene(ceiling_kind="hard"))
    assert "plenum" not in ids(scene(ceiling_kind="hard"))


def test_detectors_are_only_spoken_of_where_there_are_some() -> None:
    assert "detectors" not in ids(scene())
    assert "detectors" in ids(scene(overhead=(device("SD1", "smoke detector", (1, 1)),)))
