"""Sheets of the demo rooms, drawn once in a process for all tests that read them."""

from __future__ import annotations

from functools import cache

from scenes.dossier import Dossier
from scenes.room.build import read_scene
from tests.viz.rooms import DEMO_ROOMS
from viz.sheets import sheets
from viz.sheets.drawing import Sheets


@cache
def dossier_of(room: str) -> Dossier:
    """A demo room with all that follows from it; no test may change it."""
    return Dossier(read_scene(DEMO_ROOMS / f"{room}.yaml"))


@cache
def drawn(room: str, paper: str = "A4") -> Sheets:
    """The sheets of a demo room."""
    return sheets(dossier_of(room), paper=paper)
