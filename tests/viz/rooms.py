"""Rooms of the tests' own, so that a picture does not change when a demo room does.

`QUIET` is plain and whole; `NASTY` has what is hard to draw: an L-shaped outline written clockwise, two
arrays, a band that starts at the array and reaches straight down, a walk, every kind of device.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from scenes.review.review import review
from scenes.room.build import build
from scenes.spec.reading import read_spec, read_spec_text
from viz.stage import Stage, stage

DEMO_ROOMS = Path(__file__).parents[2] / "scenes" / "rooms"

PROFILES = """
profiles:
  lamp:
    mount: pendant
    body: {diameter: 0.26 m, height: 0.08 m}
    bands: {flat: [7, 22], mid: [21, 68], deep: [50, 90]}
    reach: [0.7 m, 3.1 m]
    sectors: 6
  tile:
    mount: flush
    body: {size: [0.5 m, 0.5 m, 0.05 m]}
    bands: {wide: [20, 90]}
    reach: [0, 2.4 m]
    sectors: 4
"""

QUIET = """
overtable: 1
name: Quiet Room
units: m
room:
  size: [8.0, 8.0]
  ceiling: {kind: suspended, height: 2.8}
  structure: 3.3
  grid: {pitch: [0.6, 0.6], origin: [0.1, 0.2]}
  openings:
    - {id: D1, kind: door, wall: 0, offset: 0.5, width: 0.9, height: 2.1}
    - {id: G1, kind: window, wall: 2, offset: 2.0, width: 4.0, height: 1.4, sill: 0.9}
tables:
  - {id: T1, shape: rectangle, size: [2.6, 1.3], at: [4.0, 4.0], height: 0.74}
seats:
  - {around: T1, count: 6, gap: 0.25}
standing:
  - {id: P1, at: [7.0, 4.4]}
arrays:
  - {id: A1, profile: lamp, at: [4.0, 4.0], height: 2.3, band: mid}
overhead:
  - {id: L1, kind: light, at: [2.0, 3.0], size: [1.2, 0.3], below: 0}
  - {id: SP1, kind: sprinkler, at: [6.2, 5.4], below: 0.05}
displays: [{id: DS1, at: [7.95, 4.0, 1.4], width: 1.6, height: 0.9, facing: 180}]
cameras: [{id: CAM1, at: [7.9, 4.0, 2.05], angle: 80}]
"""

NASTY = """
overtable: 1
name: Nasty Room
units: ft
room:
  outline: [[0, 0], [0, 20'], [14', 20'], [14', 13'], [26', 13'], [26', 0]]
  ceiling: {kind: open, height: 11'}
  openings:
    - {id: D1, kind: door, wall: 0, offset: 2', width: 3', height: 7'}
    - {id: G1, kind: window, wall: 5, offset: 3', width: 8', height: 4', sill: 3'}
tables:
  - {id: T1, shape: boat, size: [8', 4'], at: [8', 6'], turn: 30, height: 29 in}
  - {id: T2, shape: round, size: [4'], at: [20', 5'], height: 29 in}
  - {id: T3, shape: polygon, outline: [[3', 12'], [9', 12'], [9', 18'], [7', 18'], [7', 14'], [3', 14']], height: 29 in}
seats:
  - {around: T1, count: 5, gap: 10 in}
  - {around: T2, count: 4, gap: 10 in, stands: true}
standing:
  - {id: W, along: [[2', 9'], [12', 10']], step: 3'}
arrays:
  - {id: A1, profile: lamp, at: [8', 6'], height: 7' 6", band: deep, turn: 20}
  - {id: A2, profile: tile, at: [20', 5'], band: wide}
overhead:
  - {id: SP1, kind: sprinkler, at: [8.5', 6.5'], below: 4", spray: standard}
  - {id: L1, kind: light, at: [5', 10'], size: [4', 1'], below: 2', turn: 40}
  - {id: L2, kind: light, at: [20', 10'], size: [1'], below: 0}
  - {id: SD1, kind: supply diffuser, at: [12', 3'], size: [2', 2'], below: 0}
  - {id: SD2, kind: supply diffuser, at: [23', 3'], size: [1'], below: 1'}
  - {id: RG1, kind: return grille, at: [16', 3'], size: [2', 1'], below: 0}
  - {id: FD1, kind: smoke detector, at: [3', 3'], below: 2"}
  - {id: LS1, kind: loudspeaker, at: [17', 9'], below: 1'}
  - {id: LS2, kind: loudspeaker, at: [11', 16'], size: [10 in, 6 in], below: 0}
  - {id: PJ1, kind: projector, at: [5', 16'], below: 2'}
  - {id: B1, kind: beam, at: [13', 6'], size: [1', 12'], below: 1'}
  - {id: BH1, kind: bulkhead, at: [2', 18'], size: [3', 3'], below: 1'}
  - {id: X1, kind: other, at: [10', 11'], below: 0}
obstacles: [{id: C1, at: [13', 14'], size: [1', 1'], from: 0, to: 11'}]
"""

FILE = """
overtable: 1
name: File Room
units: m
room:
  size: [9.0, 6.0]
  ceiling: {kind: suspended, height: 2.8}
  structure: 3.3
  grid: {pitch: [0.6, 0.6], origin: [0, 0]}
tables:
  - {id: T1, shape: rectangle, size: [5.0, 1.6], at: [4.4, 3.0], height: 0.74}
seats:
  - {id: B1, at: [2.6, 4.05]}
  - {id: B2, at: [3.6, 4.06]}
  - {id: B3, at: [5.4, 4.05]}
  - {id: B4, at: [6.2, 4.07]}
standing:
  - {id: W, along: [[0.8, 1.5], [0.8, 4.5]], step: 1.0}
arrays:
  - {id: A1, profile: lamp, at: [3.1, 3.6], height: 2.2, band: mid}
  - {id: A2, profile: lamp, at: [5.9, 3.4], height: 2.25, band: mid}
obstacles: [{id: C1, at: [4.5, 4.0], size: [0.3, 0.5], from: 0, to: 2.8}]
cameras: [{id: CAM1, at: [8.8, 4.0, 1.6], angle: 80}]
"""
"""Heads one behind the other, a table cut off its middle, a column in the way, an array on a tee."""

BOTH = {"quiet": QUIET, "nasty": NASTY}
EVERY = {**BOTH, "file": FILE}


def scene_of(name: str):
    """The scene of one of the rooms."""
    return build(read_spec_text(EVERY[name] + PROFILES, f"{name}.yaml"))


def demo_scene(name: str):
    """The scene of one of the demo rooms."""
    return build(read_spec(DEMO_ROOMS / f"{name}.yaml"))


@lru_cache(maxsize=4)
def staged(name: str) -> Stage:
    """The stage of one of the rooms."""
    scene = scene_of(name)
    return stage(scene, review(scene))
