"""Tables, arrays, screens and cameras: simple forms of our own. What else lives at the ceiling is `viz.devices`.

Each function gives named parts in the room's frame; `viz.stage` gives them colour and place in a
layer. Outer sizes are those of the scene: what is drawn is what was judged.
"""

from __future__ import annotations

import math

import numpy as np

from geometry.band import Floats
from geometry.shapes import Point3, Solid
from geometry.solids import shape_mesh
from scenes.room.scene import Array, Camera, Display, Room, Table
from viz.forms import Form, Parts, box, circle, ellipsoid, join, lathe, moved, prism, rounded_rectangle, tube


def inset(outline: Floats, distance_m: float) -> Floats:
    """The outline (k, 2), anticlockwise, with every corner moved inwards along its mitre; corners stay k.

    Outwards for a negative distance. Good for small distances: it does not look for self-crossings.
    """
    before = outline - np.roll(outline, 1, axis=0)
    before /= np.linalg.norm(before, axis=1)[:, None]
    after = np.roll(before, -1, axis=0)
    inward_before = np.column_stack([-before[:, 1], before[:, 0]])
    inward_after = np.column_stack([-after[:, 1], after[:, 0]])
    mitre = inward_before + inward_after
    mitre /= np.maximum(np.einsum("ij,ij->i", mitre, inward_before), 0.2)[:, None]
    return outline + distance_m * mitre


def solid(shape: Solid) -> Form:
    """A box or cylinder as it is."""
    return shape_mesh(shape)


def table(thing: Table) -> Parts:
    """Top with an undercut edge, and legs: a pair of trestles, a column, or a leg at each corner."""
    outline = np.asarray(thing.outline_m, float)
    top = thing.height_m
    under = min(0.05, 0.03 * float(np.ptp(outline, axis=0).min() / 0.6))
    parts = {
        "top": prism(outline, top - 0.014, top),
        "edge": prism(inset(outline, under), top - 0.040, top - 0.0142, top=inset(outline, 0.003)),
    }
    long_, short = max(thing.size_m), min(thing.size_m)
    high = top - 0.040
    if thing.shape == "round":
        parts["legs"] = lathe(
            [
                (0.24 * short, 0.0),
                (0.24 * short, 0.012),
                (0.07, 0.030),
                (0.045, 0.06),
                (0.045, high - 0.05),
                (0.12 * short, high),
            ],
            28,
            (*thing.at_m, 0),
        )
    elif thing.shape == "polygon":
        import shapely

        inner = shapely.Polygon(outline).buffer(-0.10).simplify(0.05)
        if inner.geom_type != "Polygon" or inner.is_empty:
            inner = shapely.Polygon(outline).buffer(-0.02)
        corners = np.asarray(inner.exterior.coords)[:-1]
        parts["legs"] = join(*(lathe([(0.022, 0), (0.030, high)], 12, (x, y, 0)) for x, y in corners))
    else:
        turn = thing.turn_deg + (90.0 if thing.size_m[1] > thing.size_m[0] else 0.0)
        count = max(2, math.ceil(long_ / 2.0))
        reach = long_ / 2 - min(0.55, 0.22 * long_)
        wide = 0.50 * short
        frames = []
        for x in np.linspace(-reach, reach, count):
            frames += [
                box((0.075, wide, high - 0.03), (x, 0, (high + 0.03) / 2)),
                box((0.12, wide + 0.16, 0.03), (x, 0, 0.015)),
            ]
        frames.append(box((2 * reach, 0.05, 0.09), (0, 0, high - 0.06)))
        parts["legs"] = moved(join(*frames), (*thing.at_m, 0), turn)
    return parts


def _ring(outer_m: float, hole_m: float, low_m: float, high_m: float, at: Point3) -> Form:
    """A flat ring between two radii, from `low_m` to `high_m` above a place."""
    return moved(prism(circle(outer_m, 48), low_m, high_m, holes=[circle(hole_m, 48)]), at)


def _body(thing: Array) -> Parts:
    """Body and grille of an array: a ring, a disc or a box."""
    size = thing.profile.size_m
    x, y, _ = thing.centre_m
    low = thing.underside_m
    tall = thing.top_m - low
    if thing.profile.hole_m:
        outer, hole = size[0] / 2, thing.profile.hole_m / 2
        rim = 0.12 * (outer - hole)
        grille = _ring(outer - rim, hole + rim, 0.0, 0.22 * tall, (x, y, low))
        shell = _ring(outer, hole, 0.10 * tall, tall, (x, y, low))
    elif thing.profile.round:
        r, e = size[0] / 2, min(0.2 * tall, 0.015)
        grille = lathe([(0.80 * r, 0), (0.86 * r, 0.22 * tall)], 40, (x, y, low))
        shell = lathe(
            [
                (0.86 * r, 0.10 * tall),
                (r - e, 0.16 * tall),
                (r, 0.16 * tall + e),
                (r, tall - e),
                (r - e, tall),
            ],
            40,
            (x, y, low),
        )
    else:
        turned = thing.turn_deg
        grille = box((0.93 * size[0], 0.93 * size[1], 0.25 * tall), (x, y, low + 0.125 * tall), turned)
        shell = box((size[0], size[1], 0.88 * tall), (x, y, low + 0.56 * tall), turned)
    return {"body": shell, "grille": grille}


def array(thing: Array, room: Room, *, open_ceiling: bool) -> Parts:
    """Body and grille; for a pendant its cable with a clamp, and the box the cable ends in.

    Under a suspended ceiling the box sits above the tile, hung from the structure; under an open one
    it is fixed to the structure.
    """
    x, y, _ = thing.centre_m
    high = thing.top_m
    parts = _body(thing)
    ceiling = room.ceiling_m
    cable = thing.cable(ceiling)
    if cable is None:
        return parts
    parts["cable"] = join(
        *(
            tube([start, end], radius, 8, rounded=False)
            for start, end, radius in held_by(thing, ceiling, cable.radius_m)
        )
    )
    grip = min(0.05, (ceiling - high) / 3)
    clamp = [lathe([(0.017, 0), (0.017, 0.55 * grip), (0.009, grip)], 16, (x, y, high))]
    if open_ceiling:
        clamp.append(box((0.10, 0.06, 0.012), (x, y, ceiling - 0.006)))
        parts["box"] = box(
            (0.12, 0.12, min(0.05, (ceiling - high) / 3)),
            (x + 0.14, y, ceiling - min(0.05, (ceiling - high) / 3) / 2),
        )
    else:
        clamp.append(lathe([(0.010, -0.032), (0.034, -0.004), (0.034, 0)], 20, (x, y, ceiling)))
        structure = room.structure_m if room.structure_m is not None else ceiling + 0.35
        up = min(0.14, max(structure - ceiling - 0.03, 0.06))  # the box stands on the tile at least
        parts["box"] = join(
            box((0.13, 0.13, 0.06), (x, y, ceiling + up - 0.03)),
            tube([(x, y, ceiling), (x, y, ceiling + up - 0.05)], cable.radius_m, 8, rounded=False),
        )
        if structure > ceiling + up:
            parts["hanger"] = tube([(x, y, ceiling + up), (x, y, structure)], 0.004, 6, rounded=False)
    parts["clamp"] = join(*clamp)
    return parts


def held_by(thing: Array, ceiling_m: float, radius_m: float) -> list[tuple[Point3, Point3, float]]:
    """What a pendant hangs by, each from the body up to the ceiling, with its radius: cable, wires, rods or poles.

    Wires meet at one hang point above the axis; rods and poles stand upright, each over its own point.
    """
    (x, y, _), turn, by = thing.centre_m, math.radians(thing.turn_deg), thing.profile.hangs_by
    c, s = math.cos(turn), math.sin(turn)
    points = [(x + c * u - s * v, y + s * u + c * v) for u, v in thing.profile.points_m]
    tops = [(x, y)] * len(points) if by == "wires" else points
    thick = {"wires": 0.002, "rod": 0.006, "pole": 0.014}.get(by, radius_m)
    return [((*at, thing.top_m), (*top, ceiling_m), thick) for at, top in zip(points, tops, strict=True)]


def display(thing: Display) -> Parts:
    """A flat screen: bezel and picture; the face is where the scene has it."""
    bezel = box((0.045, thing.width_m + 0.024, thing.height_m + 0.024), (-0.0245, 0, 0))
    picture = box((0.004, thing.width_m, thing.height_m), (-0.001, 0, 0))
    return {
        name: moved(form, thing.at_m, thing.facing_deg)
        for name, form in (("bezel", bezel), ("screen", picture))
    }


def camera(thing: Camera, aim_m: tuple[float, float, float]) -> Parts:
    """A small camera that looks at `aim_m`."""
    turn = math.degrees(math.atan2(aim_m[1] - thing.at_m[1], aim_m[0] - thing.at_m[0]))
    shell = prism(rounded_rectangle(0.10, 0.17, 0.03), -0.035, 0.035)
    lens = tube([(0.02, 0, 0), (0.066, 0, 0)], 0.029, 16, rounded=False)
    glass = ellipsoid((0.064, 0, 0), (0.012, 0.024, 0.024), 14, 8)
    return {
        name: moved(form, thing.at_m, turn)
        for name, form in (("shell", shell), ("lens", lens), ("glass", glass))
    }
