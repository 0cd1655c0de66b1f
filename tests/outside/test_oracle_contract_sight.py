"""Serving by sight, blockers and walls, as the contract words them."""

from __future__ import annotations

from pathlib import Path

from tests.outside.oracle import product
from tests.outside.oracle.lines import line_differences
from tests.outside.oracle.seeded import rooms_without_guesses, wrong_reviews

ROOMS = range(200, 240)

ROUND_THE_CORNER = """
overtable: 1
name: Ell
units: m
room: {outline: [[0, 0], [6, 0], [6, 2.5], [2.5, 2.5], [2.5, 6], [0, 6]], ceiling: 2.8}
people: {seated: {mouth: 1.2, sway: 0.05}}
seats: [{id: S1, at: [5.0, 2.1]}, {id: S2, at: [1.0, 4.0]}]
profiles:
  p: {mount: pendant, body: {diameter: 0.2, height: 0.06}, bands: {w: [5, 75]}, reach: [0.5, 6]}
arrays: [{id: A1, profile: p, at: [2.0, 5.0], height: 2.4, band: w}]
"""
"""The line to S1 runs through more than a metre of building, by the wall from corner 3 to corner 4 first."""


def test_who_serves_whom_and_what_blocks_is_the_oracles(tmp_path: Path) -> None:
    assert wrong_reviews(rooms_without_guesses(ROOMS, tmp_path), line_differences) == {}


def test_a_wall_blocks(tmp_path: Path) -> None:
    path = tmp_path / "ell.yaml"
    path.write_text(ROUND_THE_CORNER, encoding="utf-8")
    told = product.asked("check", path)
    heads = {head["id"]: head for head in told["heads"]}
    assert (heads["S1"]["sight"], heads["S1"]["blocked_by"]) == ("blocked", "wall 3")
    assert heads["S2"]["sight"] == "clear"
    assert told["verdict"] == "fail"
