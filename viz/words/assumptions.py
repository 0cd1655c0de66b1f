"""What a review takes for granted, in words: defaults and surveys that stand in for what the file does not give."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from scenes.findings.people import PostureReview
from scenes.review.people import postures_of
from scenes.room.scene import Head, Posture, Scene
from viz.words import people as words
from viz.words.locale import Locale

MOST_LISTED = 8
"""This many devices are named before the rest is counted."""


def whole(scene: Scene) -> tuple[str, ...]:
    """Everything that is assumed, a sentence each: people, what covered means, codes, limits, devices, drawing."""
    locale = Locale.of(scene)
    return (
        *people(scene),
        locale.say("assumed.covered"),
        *([locale.say("assumed.codes")] if scene.code.default else []),
        *_limits(scene, locale),
        *_devices(scene, locale),
        *_views(scene, locale),
        locale.say("assumed.drawing"),
        locale.say("assumed.walls", len(scene.room.outline_m)),
    )


def people(scene: Scene) -> tuple[str, ...]:
    """Where mouth heights and leaning are from, as far as the file does not give them; each once."""
    locale = Locale.of(scene)
    by_posture = {one.posture: one for one in postures_of(scene)}
    return tuple(dict.fromkeys(text for head in scene.heads for text in _head(head, by_posture, locale)))


def _head(head: Head, by_posture: Mapping[Posture, PostureReview], locale: Locale) -> Iterator[str]:
    if head.mouth.survey is not None:
        yield words.survey(by_posture[head.posture], locale)
    elif head.mouth.default:
        yield words.plain_default(by_posture[head.posture], locale)
    if head.sway.default:
        yield locale.say("assumed.lean", lean=locale.length(head.sway_m))


def _limits(scene: Scene, locale: Locale) -> Iterator[str]:
    limits = scene.limits
    given = {"wall": limits.wall, "table": limits.free_over_table}
    parts = [
        locale.say(f"assumed.limit.{name}", length=locale.length(limit.value))
        for name, limit in given.items()
        if limit.default
    ]
    if parts:
        yield locale.say("assumed.limits", limits=locale.listed(parts))


def _devices(scene: Scene, locale: Locale) -> Iterator[str]:
    for message, ids in (
        ("assumed.sizes", [device.id for device in scene.overhead if device.size.default]),
        ("assumed.depths", [device.id for device in scene.overhead if device.depth.default]),
    ):
        if ids:
            yield locale.say(message, devices=locale.listed(ids, MOST_LISTED))
    hung = scene.suspension
    if hung.box_size.default and any(array.profile.mount == "pendant" for array in scene.arrays):
        size = " × ".join(locale.site(value) for value in hung.box_size_m)
        yield locale.say("assumed.box", size=size)


def _views(scene: Scene, locale: Locale) -> Iterator[str]:
    cameras = [camera for camera in scene.cameras if camera.angle.default]
    if cameras:
        ids = locale.listed([camera.id for camera in cameras])
        yield locale.say("assumed.camera", cameras=ids, angle=locale.edge(cameras[0].angle_deg))
