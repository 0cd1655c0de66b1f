"""States, counts and verdict of random rooms as the contract words them."""

from __future__ import annotations

from pathlib import Path

from tests.outside.oracle import product
from tests.outside.oracle.seeded import rooms_without_guesses, wrong_reviews
from tests.outside.oracle.verdicts import verdict_differences

ROOMS = range(200, 240)

WALL = """
overtable: 1
name: Wall Room
units: m
room: {size: [6.0, 4.2], ceiling: 2.7}
people: {seated: {mouth: 1.2, sway: 0.1}}
tables: [{id: T1, shape: rectangle, size: [2.4, 1.1], at: [3.0, 2.1]}]
seats: [{id: S1, at: [1.5, 1.6]}]
profiles:
  reed:
    {mount: pendant, body: {diameter: 0.24, height: 0.07}, bands: {main: [24, 69]}, reach: [0.3, 4.2]}
arrays: [{id: A1, profile: reed, at: [0.32, 2.1], height: 2.3, band: main}]
"""
"""0.20 m from a wall, a room found while the product was tried by strangers."""


def test_states_counts_and_verdict_are_the_oracles(tmp_path: Path) -> None:
    assert wrong_reviews(rooms_without_guesses(ROOMS, tmp_path), verdict_differences) == {}


def test_a_limit_that_is_given_is_the_designers_own_also_where_it_is_the_default(tmp_path: Path) -> None:
    states = []
    for limits in ("", "limits: {wall: 0.3}", "limits: {wall: 0.301}"):
        path = tmp_path / "wall.yaml"
        path.write_text(WALL + limits, encoding="utf-8")
        told = product.asked("check", path)
        assert verdict_differences(path, told) == []
        [row] = [row for row in told["clearances"] if row["rule"] == "wall"]
        states.append((row["state"], row["basis"], told["verdict"]))
    assert states[0][:2] == ("advised", "default")
    assert states[1] == states[2]
    assert states[1][:2] == ("short", "own")
