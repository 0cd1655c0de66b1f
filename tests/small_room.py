"""The smallest room with everything that a spec must have, as text, for tests that change one thing in it."""

from __future__ import annotations

SMALL = """\
overtable: 1
name: Harbour Room
units: m
room: {size: [6, 4], ceiling: 2.7}
tables: [{id: T1, shape: rectangle, size: [2, 1], at: [3, 2]}]
seats: [{around: T1, count: 4}]
profiles:
  reed:
    mount: pendant
    body: {diameter: 0.2, height: 0.1}
    bands: {mid: [22, 68]}
    reach: [1, 3]
arrays: [{id: A1, profile: reed}]
"""
