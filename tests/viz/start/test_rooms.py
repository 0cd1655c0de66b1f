"""The rooms of a folder: what is listed, what a card says, and that nothing outside is touched."""

from __future__ import annotations

import re

import pytest

from scenes.review.review import review
from scenes.room.build import read_scene
from tests.viz.browser.rooms import TWELVE_SEATS
from viz.folders import MANIFEST
from viz.live import Refused
from viz.start.rooms import card, inside, known, room_of, specs_of
from viz.words import cautions, verdict

BROKEN = TWELVE_SEATS.replace("kind: suspended", "kind: suspendd")
PROFILES = "overtable: 1\nprofiles:\n  finch: {mount: pendant}\n"


@pytest.fixture
def folder(tmp_path):
    """A folder of rooms, and beside it a file that is none of its business."""
    (tmp_path / "elsewhere.yaml").write_text(TWELVE_SEATS)
    here = tmp_path / "rooms"
    for name, text in {
        "otter.yaml": TWELVE_SEATS,
        "broken.yml": BROKEN,
        "devices.yaml": PROFILES,
        "notes.yaml": "milk: 2\n",
        ".hidden.yaml": TWELVE_SEATS,
        "level 2/weir.yaml": TWELVE_SEATS,
        "out/otter/copy.yaml": TWELVE_SEATS,
        f"out/{MANIFEST}": "",
    }.items():
        (here / name).parent.mkdir(parents=True, exist_ok=True)
        (here / name).write_text(text)
    (here / "link.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    (here / "away").symlink_to(tmp_path)
    return here


def test_specs_are_listed_and_no_profiles_links_hidden_files_or_documents(folder):
    assert specs_of(folder) == ["broken.yml", "otter.yaml", "level 2/weir.yaml"]


def test_a_card_says_what_check_says(folder):
    judged = review(read_scene(folder / "otter.yaml"))
    found, used = card(folder, "otter.yaml")
    assert (found["title"], found["look"]) == ("Otter Room", judged.verdict)
    assert found["open"] == cautions.still_open(judged)
    assert found["sentences"] == list(verdict.whole(judged))
    assert found["commands"]["live"] == "overtable live otter.yaml"
    assert card(folder, "level 2/weir.yaml")[0]["commands"]["place"] == "overtable place 'level 2/weir.yaml'"
    assert found["href"] == "room/otter.yaml/"
    assert used == (folder / "otter.yaml",)
    # the plan shows everybody by how they stand, and the array
    assert found["svg"].count("<circle") + found["svg"].count("<rect") >= 12 + 2
    assert len(re.findall('fill="#12766F"', found["svg"])) == judged.counts.covered


def test_a_room_without_places_has_no_verdict_yet(folder):
    text = TWELVE_SEATS.replace(", at: [3.5, 2.5], height: 2.2, band: mid", "")
    (folder / "otter.yaml").write_text(text)
    found, _ = card(folder, "otter.yaml")
    assert (found["look"], found["word"], found["counts"]) == ("none", "No verdict yet", "12 talkers")
    assert "<svg" in found["svg"]


def test_a_broken_file_is_a_card_with_its_mistakes(folder):
    found, _ = card(folder, "broken.yml")
    assert (found["look"], found["word"]) == ("broken", "1 mistake in the file")
    assert "suspendd is not known here. Did you mean suspended?" in found["mistakes"]
    assert str(folder) not in found["mistakes"]
    assert "svg" not in found


def test_a_card_is_made_anew_when_its_file_changed(folder):
    before = known(folder, "otter.yaml")
    assert before.fresh
    (folder / "otter.yaml").write_text(TWELVE_SEATS.replace("Otter Room", "Otter Hall"))
    assert not before.fresh
    assert known(folder, "otter.yaml").card["title"] == "Otter Hall"


def test_profiles_in_another_folder_are_not_shown(folder):
    text = TWELVE_SEATS[: TWELVE_SEATS.index("profiles:")] + "profiles: ../devices.yaml\n"
    (folder.parent / "devices.yaml").write_text(
        "overtable: 1\nunits: m\n"
        + TWELVE_SEATS[TWELVE_SEATS.index("profiles:") : TWELVE_SEATS.index("arrays:")]
    )
    (folder / "otter.yaml").write_text(text)
    assert "in another folder" in card(folder, "otter.yaml")[0]["mistakes"]


@pytest.mark.parametrize(
    "name",
    [
        *("../elsewhere.yaml", "/etc/passwd", "level 2/../../elsewhere.yaml", "away/elsewhere.yaml"),
        *("link.yaml", "", ".", None, 7, "otter.yaml\0", "..\\elsewhere.yaml", "a" * 5000),
    ],
)
def test_nothing_outside_the_folder_is_reached(folder, name):
    with pytest.raises(Refused, match="in this folder"):
        inside(folder, name)


def test_only_a_spec_is_a_room(folder):
    assert room_of(folder, "level 2/weir.yaml") == folder / "level 2" / "weir.yaml"
    for name in ("devices.yaml", "notes.yaml", ".hidden.yaml", "out/otter/copy.yaml"):
        with pytest.raises(Refused, match="not the spec of a room"):
            room_of(folder, name)
    with pytest.raises(Refused, match="no longer there"):
        room_of(folder, "gone.yaml")
