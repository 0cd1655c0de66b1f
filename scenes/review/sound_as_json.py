"""Sound in the `overtable/review/1` object."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from scenes.findings.sound import Sound, SpeechLine


def spoken_as_json(line: SpeechLine) -> dict[str, Any]:
    """A talker at the array that serves them, one way of facing."""
    own = {name: getattr(line, name) for name in SpeechLine.__slots__ if not name.endswith("_bounce")}
    bounces = {"table": line.table_bounce, "ceiling": line.ceiling_bounce}
    return own | {
        "bounce": {
            name: None if one is None else {"off": one.off, **asdict(one.bounce)}
            for name, one in bounces.items()
        }
    }


def sound_as_json(sound: Sound) -> dict[str, Any]:
    """The figures of the room and the advice about it."""
    own = {
        name: getattr(sound, name) for name in Sound.__slots__ if name not in ("advice", "reach_by_noise_m")
    }
    return own | {
        "reach_by_noise_m": dict(sound.reach_by_noise_m),
        "advice": [asdict(one) | {"met": one.met} for one in sound.advice],
    }
