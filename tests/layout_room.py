"""A room in three layouts: a board table, rows, and half of it behind a wall. Invented."""

from __future__ import annotations

LAYOUTS = """\
overtable: 1
name: Alder Room
units: m
room: {size: [7.2, 5.4], ceiling: 2.8}
overhead:
  - {id: L1, kind: light, at: [3.4, 1.9], size: [1.2, 0.3], below: 0}
displays:
  - {id: DS1, at: [7.15, 2.7, 1.4], width: 1.45, height: 0.82, facing: 180}
seats: [{id: S1, at: [1.0, 2.7]}]
layouts:
  board:
    tables: [{id: T1, shape: rectangle, size: [2.4, 1.1], at: [3.6, 2.7]}]
    seats: [{around: T1, count: 6, stands: true}]
  rows:
    seats: [{id: R, rows: 2, columns: 3, at: [3.6, 2.7], pitch: [1.0, 1.4], facing: 0}]
  halved:
    tables: [{id: T1, shape: round, size: [1.2], at: [2.4, 2.7]}]
    seats: [{around: T1, count: 3}]
    obstacles: [{id: W1, at: [4.6, 2.7], size: [0.1, 5.4], from: 0, to: 2.8}]
profiles:
  reed:
    mount: pendant
    body: {diameter: 0.2, height: 0.1}
    bands: {low: [22, 68], flat: [14, 58]}
    reach: [0.6, 3.4]
arrays:
  - {id: A1, profile: reed, at: [3.23, 0.9], height: 2.44, band: flat}
"""

TWO = """\
overtable: 1
name: Elm Room
units: m
room: {size: [5, 4], ceiling: 2.6}
layouts:
  one: {seats: [{id: P, at: [1.4, 1.5]}, {id: Q, at: [3.6, 2.4]}]}
  two: {seats: [{id: P, at: [2.5, 3.2]}]}
profiles:
  reed: {mount: pendant, body: {diameter: 0.2, height: 0.1}, bands: {mid: [18, 64]}, reach: [0.5, 3.2]}
arrays: [{id: A1, profile: reed, at: [2.5, 2.0], height: 2.2, band: mid}]
"""
"""The least of it: two layouts with a talker or two."""
