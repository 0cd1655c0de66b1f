"""Model files and tables for other programs. The same room, the same bytes.

`EXPORTERS` maps a file's ending to the function that makes it from a dossier. GLB, OBJ and STL are written by trimesh
from the stage's props, without shadows and words, which are for pictures. OBJ and STL are z up, in metres, without
the ceiling; OBJ says in a comment why the room is held, or what is open, and of STL, which has only 80 bytes for it, the
head says that a room which fails is held.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from viz.gltf import glb_bytes, modelled, overhead_shell
from viz.palette import rgb
from viz.stage import Prop, Stage, staged
from viz.words import cautions
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier

Exporter = Callable[["Dossier"], bytes | str]
EXPORTERS: dict[str, Exporter] = {}

SOLID_LAYERS = ("shell", "tables", "arrays", "overhead", "people")
"""What an STL holds: things, not lines of sight or films."""


def exporter(ending: str) -> Callable[[Exporter], Exporter]:
    """Register a function for a file's ending; two for one ending is an error."""

    def register(function: Exporter) -> Exporter:
        if ending in EXPORTERS:
            raise ValueError(f"two exporters for .{ending}")
        EXPORTERS[ending] = function
        return function

    return register


# ---------------------------------------------------------------- OBJ and STL


def seen(stage: Stage) -> Iterator[Prop]:
    """What OBJ and STL hold, which have no switches: what a model file does, without the ceiling that hides it."""
    return (prop for prop in modelled(stage) if not overhead_shell(prop))


def obj_text(stage: Stage) -> str:
    """The stage as OBJ text: an object per prop, colours at the points (r g b after x y z), strokes as lines."""
    import trimesh
    from trimesh.exchange.obj import export_obj

    props = list(seen(stage))
    scene = trimesh.Scene()
    for prop in props:
        if prop.kind != "line":
            points, _, faces = prop.shaded()
            colours = np.tile([*rgb(prop.colour), 1.0], (len(points), 1))
            mesh = trimesh.Trimesh(points, faces, process=False, vertex_colors=colours)
            scene.add_geometry(mesh, node_name=str(len(scene.geometry)), geom_name=_object_name(prop))
    made_by = Locale.of(stage.scene).say("model.head", room=stage.scene.name)
    head = f"{made_by}\n# {cautions.line(stage.review)}"
    text = str(export_obj(scene, include_normals=False, digits=6, header=head)).rstrip("\n") + "\n"
    start = 1 + sum(len(mesh.vertices) for mesh in scene.geometry.values())
    return text + _obj_strokes([prop for prop in props if prop.kind == "line"], start)


def _object_name(prop: Prop) -> str:
    return f"{prop.layer}/{prop.id}".replace(" ", "_")


def _obj_strokes(props: Iterable[Prop], start: int) -> str:
    """Strokes as OBJ lines, which trimesh reads but does not write; `start` is the number of their first point."""
    lines = []
    for prop in props:
        colour = " ".join(f"{c:.4g}" for c in rgb(prop.colour))
        lines += ["", f"o {_object_name(prop)}"]
        lines += [f"v {x:.6f} {y:.6f} {z:.6f} {colour}" for x, y, z in prop.points.tolist()]
        lines += [f"l {a} {b}" for a, b in (prop.segments + start).tolist()]
        start += len(prop.points)
    return "\n".join(lines) + "\n" if lines else ""


def stl_bytes(stage: Stage) -> bytes:
    """The solid things of the stage as binary STL: room, furniture, people, arrays, devices."""
    import trimesh
    from trimesh.exchange.stl import export_stl

    solids = [p for p in seen(stage) if p.layer in SOLID_LAYERS and p.kind == "mesh" and p.solid]
    mesh = trimesh.util.concatenate([trimesh.Trimesh(p.points, p.faces, process=False) for p in solids])
    # a binary file's first words must not be `solid`, or readers take it for text
    head = b"overtable, metres, z up"
    if cautions.hold(stage.review):
        head += f". {Locale.of(stage.scene).say('hold, drawing')}".encode("ascii")
    return head.ljust(80, b" ") + bytes(export_stl(mesh))[80:]


# ---------------------------------------------------------------- from a dossier


@exporter("glb")
def _glb(dossier: Dossier) -> bytes:
    return glb_bytes(staged(dossier))


@exporter("obj")
def _obj(dossier: Dossier) -> str:
    return obj_text(staged(dossier))


@exporter("stl")
def _stl(dossier: Dossier) -> bytes:
    return stl_bytes(staged(dossier))


@exporter("dxf")
def _dxf(dossier: Dossier) -> str:
    from viz.sheets import sheets, usual_paper

    return sheets(dossier, paper=usual_paper(dossier.scene)).dxf


@exporter("ifc")
def _ifc(dossier: Dossier) -> str:
    from viz.ifc import ifc_text

    return ifc_text(dossier)


@exporter("bcf")
def _bcf(dossier: Dossier) -> bytes:
    from viz.bcf import bcf_bytes

    return bcf_bytes(dossier)


@exporter("csv")
def _csv(dossier: Dossier) -> str:
    from viz.csvs import heads_csv

    return heads_csv(dossier.review)


@exporter("json")
def _json(dossier: Dossier) -> str:
    from scenes.numbers import json_text
    from viz.json_objects import review_object

    return json_text(review_object(dossier.review))
