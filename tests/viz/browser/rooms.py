"""Rooms of our own for the page: twelve seats, and one whose every name tries to break out of the page."""

from __future__ import annotations

import json
import re

HOSTILE = "</script><script>hurt=1</script><img src=x onerror=hurt=1>\"'&"
"""Ends a script, begins one, brings a picture that runs something, and has every character that HTML minds."""


def hostile(spec: str) -> str:
    """The spec with `HOSTILE` at the end of every name and id in it."""
    for name in ("Otter Room", "Millrace House, level 5", "AV-501", "MO"):
        spec = spec.replace(name, json.dumps(name + HOSTILE))
    for id in ("T1", "A1", "D1", "G1", "SP1", "L1", "DF1", "CAM1", "DS1", "finch", "mid"):
        quoted = json.dumps(id + HOSTILE)
        spec = re.sub(rf"\b{id}\b", lambda _, quoted=quoted: quoted, spec)
    return spec


TWELVE_SEATS = """\
# A comment that has to stay.
overtable: 1
name: Otter Room
project: Millrace House, level 5
document: {number: AV-501, date: 2026-11-25, drawn_by: MO}
units: m
room:
  size: [7.4, 5.0]
  ceiling: {kind: suspended, height: 2.8}
  structure: 3.4
  grid: {pitch: [0.6, 0.6], origin: [0.1, 0.2]}
  openings:
    - {id: D1, kind: door, wall: 0, offset: 0.4, width: 0.9, height: 2.1}
    - {id: G1, kind: window, wall: 2, offset: 1.2, width: 4.8, height: 1.4, sill: 0.9}
tables:
  - {id: T1, shape: racetrack, size: [3.6, 1.4], at: [3.5, 2.5], height: 0.74}
people:
  seated: {mouth: [1.07, 1.24], sway: 0.1}
seats:
  - {around: T1, count: 12, gap: 0.25}
profiles:
  finch:
    mount: pendant
    body: {diameter: 0.24, height: 0.07}
    bands: {low: [11, 38], mid: [22, 66], high: [51, 84]}
    reach: [0.8, 3.4]
    sectors: 6
arrays:
  - {id: A1, profile: finch, at: [3.5, 2.5], height: 2.2, band: mid}  # where we thought at first
overhead:
  - {id: SP1, kind: sprinkler, at: [1.9, 1.3], below: 0.05, spray: standard}
  - {id: SP2, kind: sprinkler, at: [5.5, 1.3], below: 0.05, spray: standard}
  - {id: SP3, kind: sprinkler, at: [1.9, 3.7], below: 0.05, spray: standard}
  - {id: SP4, kind: sprinkler, at: [5.5, 3.7], below: 0.05, spray: standard}
  - {id: L1, kind: light, at: [2.5, 1.3], size: [1.2, 0.3], below: 0}
  - {id: L2, kind: light, at: [4.5, 1.3], size: [1.2, 0.3], below: 0}
  - {id: L3, kind: light, at: [2.5, 3.7], size: [1.2, 0.3], below: 0}
  - {id: L4, kind: light, at: [4.5, 3.7], size: [1.2, 0.3], below: 0}
  - {id: DF1, kind: supply diffuser, at: [1.0, 2.5], size: [0.6, 0.6], below: 0}
  - {id: RG1, kind: return grille, at: [6.3, 2.5], size: [0.6, 0.6], below: 0}
cameras:
  - {id: CAM1, at: [7.3, 2.5, 1.2]}
displays:
  - {id: DS1, at: [7.33, 2.5, 1.45], width: 1.66, height: 0.94, facing: 180}
"""
