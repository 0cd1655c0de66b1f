"""What nobody measured keeps a room from passing without caution, and nothing else of it changes."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from scenes.review.as_json import as_json
from scenes.review.review import review
from scenes.room.build import build, read_scene
from scenes.spec.reading import read_spec_text
from viz.words import verdict

ROOMS = Path(str(files("scenes.rooms")))
MODEL = """
model:
  files: [{file: arch.ifc, sha256: "%s"}]
  space: "0BTBFw6f90Nfh9rP1dlXr2"
  origin_m: [0, 0, 0]
  unsure: {room.ceiling: ceiling-kind, T1: "measured by eye"}
""" % ("0" * 64)


def test_a_room_that_passes_cautions_while_something_of_it_is_not_measured() -> None:
    sure = read_scene(ROOMS / "heron.yaml")
    text = (ROOMS / "heron.yaml").read_text("utf-8")
    unsure = build(read_spec_text(text + MODEL, folder=ROOMS))
    assert unsure.unsure == (("room.ceiling", "ceiling-kind"), ("T1", "measured by eye"))
    before, after = review(sure), review(unsure)
    assert (before.verdict, after.verdict) == ("pass", "caution")
    assert after.counts == before.counts
    assert after.tolerance == before.tolerance
    told = as_json(after)["unsure"]
    assert told == [
        {"about": "room.ceiling", "why": "ceiling-kind"},
        {"about": "T1", "why": "measured by eye"},
    ]
    assert verdict.whole(after) == (
        *verdict.whole(before),
        "Not measured: room.ceiling and T1. Check them, then delete their lines under model: unsure.",
    )


def test_a_room_that_fails_still_fails() -> None:
    scene = read_scene(ROOMS / "weir.yaml")
    assert review(scene).verdict == "fail"
    assert review(replace(scene, unsure=(("T1", "guessed"),))).verdict == "fail"
