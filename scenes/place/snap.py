"""A placement moved onto tile centres or round numbers: each array to its best lattice place, with what it costs."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from geometry.aims import ENOUGH_M, AimName, Margin
from geometry.band import Floats
from geometry.coverage import cover
from geometry.kind import Position
from geometry.snap import CeilingGrid, Lattice, Snapped, snap
from scenes.place.placement import Placement, snapped_placement
from scenes.place.problem import HOLDS, Held, aim_of, bands_of, kind_of
from scenes.room.scene import Array, Device, Scene
from scenes.room.tiles import half_in_ceiling_m
from scenes.rules.apply import measures_of
from scenes.rules.constraints import constraints_for
from scenes.rules.measures.grid import Tees
from scenes.rules.surroundings import Site

IN_A_TILE = (
    "light",
    "supply diffuser",
    "return grille",
    "loudspeaker",
    "sprinkler",
    "smoke detector",
    "projector",
)
"""Kinds that take the tile they are in; beams and bulkheads are kept clear of by their own rules."""


def snap_scene(
    placed: Scene,
    to: Literal["tile"] | float,
    *,
    aim: AimName = "near",
    enough_m: float = ENOUGH_M,
    hold: tuple[Held, ...] = (),
) -> tuple[Scene, dict[str, Snapped]]:
    """The placed scene with every array on its best lattice place, and what was found for each.

    `to` is "tile" (centres of the lay-in grid; ValueError without one) or a pitch in metres, which counts
    from the room's own origin on plan and down from the ceiling. Arrays move one after the other, each on
    the heads it serves now; one without a lattice place stays where it is (its Snapped has no place).
    """
    room = placed.room
    if to == "tile" and room.grid is None:
        raise ValueError("--snap tile needs the lay-in grid of the ceiling: give room.grid in the spec")
    grid = None if room.grid is None else CeilingGrid(room.grid.pitch_m, room.grid.origin_m)
    found: dict[str, Snapped] = {}
    for array in placed.arrays:
        rows = placed.heads_as_rows
        at = np.array([other.centre_m for other in placed.arrays])
        serving = cover(at, [other.band for other in placed.arrays], rows).serving()
        index = [other.id for other in placed.arrays].index(array.id)
        heads = rows.take(np.flatnonzero(serving == index))
        if not len(heads):
            continue
        names, _ = bands_of(array, hold)
        kind = replace(kind_of(placed, array, hold), constraints=tuple(constraints_for(placed, array)))
        lattice = Lattice(
            pitch_m=None if to == "tile" else float(to),
            outline_m=np.array(room.outline_m),
            grid=grid,
            devices_m=tuple(_outline(device) for device in placed.overhead if device.kind in IN_A_TILE),
            passes_m=half_in_ceiling_m(array),
            off_tees_m=_off_tees_m(placed, array),
            height_step_m=None if to == "tile" or array.profile.mount == "flush" else float(to),
            height_from_m=room.ceiling_m,
        )
        snapped = snap(
            heads,
            kind,
            lattice,
            aim_of(aim, enough_m),
            instead=Margin(),
            free=Position(array.centre_m, names.index(str(array.band_name))),
        )
        found[array.id] = snapped
        if snapped.position is not None:
            x, y, z = snapped.position.at_m
            moved = replace(array, at_m=(x, y), height_m=z, band_name=names[snapped.position.band])
            placed = placed.with_arrays(tuple(moved if a.id == array.id else a for a in placed.arrays))
    return placed, found


def snap_placement(free: Placement, to: Literal["tile"] | float) -> Placement:
    """The placement with every array on its best lattice place, by the same aim and with the same held.

    ValueError as `snap_scene`.
    """
    hold: tuple[Held, ...] = tuple(name for name in HOLDS if name in free.held)
    scene, found = snap_scene(free.scene, to, aim=free.aim, enough_m=free.enough_m, hold=hold)
    return snapped_placement(free, scene, found)


def _off_tees_m(scene: Scene, array: Array) -> float | None:
    """What the lattice keeps from tees; None for a body too large for any tile: its maker says how it is carried."""
    asked = (one for one in measures_of(Site(scene, array)) if isinstance(one, Tees) and not one.off)
    return next((tees.required_m for tees in asked if tees.fits), None)


def _outline(device: Device) -> Floats:
    """Plan outline of a device, (4, 2): of a round one the square around it."""
    half_x, half_y = device.size_m[0] / 2, device.size_m[1] / 2
    turn = np.radians(device.turn_deg)
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    corners = np.array([[-half_x, -half_y], [half_x, -half_y], [half_x, half_y], [-half_x, half_y]])
    outline: Floats = corners @ turned + np.array(device.at_m)
    return outline
