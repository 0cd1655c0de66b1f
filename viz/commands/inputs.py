"""What commands read: a spec's scene or its dossier, and the exit status of its review."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.review import Review
    from scenes.project.reading import RoomText
    from scenes.room.scene import Scene
    from scenes.spec.model import Spec


def placed_scene(path: Path) -> tuple[Spec, Scene]:
    """The spec and scene of a file whose arrays all have a place. Raises SpecMistakes."""
    from scenes.room.build import build, require_places
    from scenes.spec.reading import read_spec

    spec = read_spec(path)
    scene = build(spec)
    require_places(spec, scene)
    return spec, scene


def dossier_of(source: Path | RoomText, date: str | None = None, layout: str | None = None) -> Dossier:
    """The dossier of a spec whose arrays all have a place, dated so if the spec is not. Raises SpecMistakes.

    Of a room of several layouts that of `layout`, else of the first. Raises Refusal where there is no such.
    """
    return _dossier(source, date, layout, placed=True)


def drawn_dossier(source: Path | RoomText, date: str | None = None, layout: str | None = None) -> Dossier:
    """`dossier_of`, also of a spec some array of which has no place yet. Raises SpecMistakes."""
    return _dossier(source, date, layout, placed=False)


def _dossier(source: Path | RoomText, date: str | None, layout: str | None, *, placed: bool) -> Dossier:
    from viz.commands.options import day_of
    from viz.handover import dossier_of_spec, read_dossier
    from viz.outputs import protect

    if isinstance(source, Path):
        return read_dossier(source, day_of(date), placed=placed, layout=layout)[1]
    spec = source.spec()
    protect(*spec.files)
    return dossier_of_spec(spec, day_of(date), placed=placed, layout=layout)[1]


def say_hold(dossier: Dossier) -> None:
    """Say on standard error what a room that fails must not be used for; of any other room nothing.

    Of one in which an array has no place yet what to type next.
    """
    from viz.words import cautions, verdict

    if dossier.first:
        say_first_look(dossier.first)
        return
    if cautions.hold(dossier.review) is not None:
        print(verdict.paragraph(dossier.review), cautions.line(dossier.review), sep="\n", file=sys.stderr)


def say_first_look(look: Review) -> None:
    """Say on standard error that there is no verdict yet, why, and what to type next."""
    from viz.words import first_look, verdict

    next_step = first_look.next_step(look, look.scene.source.file)
    print(verdict.paragraph(look), next_step, sep="\n", file=sys.stderr)


def status_of(dossier: Dossier) -> int:
    """1 if the review found a failure, else 0."""
    return 1 if dossier.review.verdict == "fail" else 0
