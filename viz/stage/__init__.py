"""Scene + Review → props in named layers: the one place that decides how a thing looks.

A Stage is data: points, triangles, strokes, words, colours. Stills, the window, the page and the model
files replay it and decide nothing themselves but the view. Frame: the room's (x right and y up on the
plan, z up from the finished floor), metres.

Layers: shell, tables, people, arrays, band, sectors, footprint, overhead, clearances, sightlines,
region, dimensions, labels. A prop is a `mesh`, a `line` (strokes), a `label` (words at an anchor) or a
`mark` (a head's state: dot, ring or cross; where a sightline is blocked a diamond; its mesh is for
viewers that cannot draw a flat sign).

To replay it: hide a prop with `outward` whenever the viewer is on the side it points to (walls and
ceilings stand open towards the viewer), and draw what `fade` has with its opacity times `fade`.
"""

from __future__ import annotations

from collections.abc import Sequence

from scenes.dossier import Dossier
from scenes.findings.review import Review
from scenes.room.scene import Scene
from viz.stage.areas import areas
from viz.stage.band import band_props, footprints, orientation_mark, sectors
from viz.stage.dimensions import dimension_props, labels
from viz.stage.found import PlanPolygon, clearances, region, sightlines
from viz.stage.overhead import arrays, overhead, short_devices
from viz.stage.people import head_mark, people, tables, tinted
from viz.stage.props import LAYERS, Prop, Stage
from viz.stage.shadows import shadows
from viz.stage.shell import screens_and_cameras, shell
from viz.words.locale import Locale

__all__ = ["LAYERS", "Prop", "Stage", "stage", "staged"]


def stage(
    scene: Scene,
    review: Review,
    *,
    regions: Sequence[object] | None = None,
    keep_outs: Sequence[PlanPolygon] | None = None,
    dimensions: bool = True,
    like: Stage | None = None,
) -> Stage:
    """The stage of a reviewed scene whose arrays are all placed; of a first look no talker has a mark.

    `regions`: geometry.region.Region objects (where an array may hang), `keep_outs`: plan polygons
    (outline, holes) where none may, both drawn in layer region. `like`: a stage of the same scene but for
    its arrays, whose other props are taken over with their shading: what makes a slider quick.
    """
    unplaced = [array.id for array in scene.arrays if not array.placed]
    if unplaced:
        raise ValueError(f"arrays {', '.join(unplaced)} have no place yet; run `overtable place`")
    props: list[Prop] = []
    if like is not None and _same_but_arrays(like.scene, scene):
        props += like.layer("shell", "tables")
        standings = _standings(review)
        props += [tinted(prop, standings) for prop in like.layer("people") if prop.kind != "mark"]
        same = short_devices(like.review) == short_devices(review)
        props += like.layer("overhead") if same else overhead(scene, review)
    else:
        props += shell(scene)
        props += shadows(scene)
        props += screens_and_cameras(scene)
        props += tables(scene)
        props += people(scene, _standings(review))
        props += overhead(scene, review)
    if review.judged:
        props += [
            head_mark(head, judged.standing) for head, judged in zip(scene.heads, review.heads, strict=True)
        ]
    props += areas(scene, review)
    props += arrays(scene)
    for array in scene.arrays:
        props += band_props(scene, array)
        props.append(orientation_mark(array, Locale.of(scene)))
        props += sectors(scene, array)
        props += footprints(scene, array)
    props += clearances(scene, review)
    props += sightlines(review)
    props += region(review, regions or (), keep_outs or ())
    if dimensions:
        props += dimension_props(scene)
    props += labels(scene, review)
    return Stage(scene, review, tuple(props))


def staged(dossier: Dossier) -> Stage:
    """The stage of a dossier, with the regions where arrays may hang and the keep-outs cut out of them."""
    regions = tuple(dossier.regions.values())
    return stage(dossier.scene, dossier.review, regions=regions, keep_outs=dossier.kept_out)


def _standings(review: Review) -> dict[str, str]:
    """How each head stands, by id; empty before every array has a place."""
    return {head.id: head.standing for head in review.heads} if review.judged else {}


def _same_but_arrays(one: Scene, other: Scene) -> bool:
    return all(
        getattr(one, name) is getattr(other, name)
        for name in ("room", "tables", "heads", "overhead", "obstacles", "cameras", "displays", "suspension")
    )
