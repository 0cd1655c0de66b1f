"""A room in several layouts: one scene of all of them, and each as a scene of its own.

In the scene of all, what belongs to one layout has its name behind its id, `S1 (theatre)`: every head and area, which
are judged in each, and those tables, obstacles, cameras and displays that not all have. Whoever asks what stands in a
line of sight, or what a rule is about, asks each layout by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from scenes.room.scene import Scene
from scenes.spec.layouts import id_in, id_out, is_in

THINGS = ("tables", "obstacles", "cameras", "displays")
"""What stands in a room, and may stand in one layout only."""


def joined(name: str, shared: Sequence[str], each: Sequence[tuple[str, Scene]]) -> Scene:
    """The scene of all layouts, out of each by name; `shared` are the ids of what stands in all of them."""
    (_, first), *_ = each
    everywhere = set(shared)
    things: dict[str, list[Any]] = {kind: [] for kind in THINGS}
    heads, areas = [], []
    for layout, scene in each:
        for kind in THINGS:
            for one in getattr(scene, kind):
                if one.id not in everywhere:
                    things[kind].append(replace(one, id=id_in(one.id, layout)))
                elif scene is first:
                    things[kind].append(one)
        heads += [
            replace(
                head,
                id=id_in(head.id, layout),
                group=id_in(head.group, layout),
                table=head.table
                if head.table is None or head.table in everywhere
                else id_in(head.table, layout),
            )
            for head in scene.heads
        ]
        areas += [replace(area, id=id_in(area.id, layout)) for area in scene.areas]
    furnishings: dict[str, Any] = {kind: tuple(some) for kind, some in things.items()}
    return replace(
        first,
        name=name,
        heads=tuple(heads),
        areas=tuple(areas),
        layouts=tuple(layout for layout, _ in each),
        **furnishings,
    )


def in_layouts(scene: Scene) -> tuple[Scene, ...]:
    """Each layout as a scene of its own, with its own ids; of a room without layouts the room."""
    return tuple(in_layout(scene, layout) for layout in scene.layouts) or (scene,)


def in_layout(scene: Scene, layout: str) -> Scene:
    """The room in one of its layouts, as if there were no other."""
    others = tuple(other for other in scene.layouts if other != layout)

    def own(id: str) -> str:
        return id_out(id, layout)

    def is_here(id: str) -> bool:
        return not any(is_in(id, other) for other in others)

    def here(things: Iterable[Any]) -> tuple[Any, ...]:
        return tuple(replace(one, id=own(one.id)) for one in things if is_here(one.id))

    furnishings: dict[str, Any] = {kind: here(getattr(scene, kind)) for kind in THINGS}
    over = tuple(own(id) for id in scene.wishes.over.value if is_here(id))
    return replace(
        scene,
        layouts=(),
        layout=layout,
        name=id_in(scene.name, layout),
        heads=tuple(
            replace(head, group=own(head.group), table=None if head.table is None else own(head.table))
            for head in here(scene.heads)
        ),
        areas=here(scene.areas),
        wishes=replace(scene.wishes, over=replace(scene.wishes.over, value=over)),
        **furnishings,
    )


def without_layout(scene: Scene, layout: str) -> Scene:
    """The scene of all the other layouts."""

    def others(things: Iterable[Any]) -> tuple[Any, ...]:
        return tuple(one for one in things if not is_in(one.id, layout))

    left: dict[str, Any] = {kind: others(getattr(scene, kind)) for kind in ("heads", "areas", *THINGS)}
    return replace(scene, layouts=tuple(one for one in scene.layouts if one != layout), **left)


def furnished(scene: Scene) -> tuple[Scene, ...]:
    """The scene for each way in which its layouts furnish it, things called as in the scene of all."""
    found: dict[tuple[tuple[Any, ...], ...], Scene] = {}
    for layout in scene.layouts:
        others = tuple(other for other in scene.layouts if other != layout)
        things = tuple(
            tuple(one for one in getattr(scene, kind) if not any(is_in(one.id, other) for other in others))
            for kind in THINGS
        )
        changed: dict[str, Any] = dict(zip(THINGS, things, strict=True))
        found.setdefault(things, replace(scene, layouts=(), **changed))
    return tuple(found.values())


def joined_id(scene: Scene, layout: str) -> Callable[[str], str]:
    """What each thing of a layout is called in the scene of all: what all have keeps its id."""
    ids = {id for _, id in scene.things} | {head.group for head in scene.heads}

    def name(id: str) -> str:
        return named if (named := id_in(id, layout)) in ids else id

    return name
