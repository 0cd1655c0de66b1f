"""`overtable heights`: which hanging heights work, band by band."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from viz.commands.options import Force, Json, require_ending
from viz.commands.remarks import remark_unset
from viz.commands.streams import print_json

if TYPE_CHECKING:
    from scenes.findings.heights import ArrayHeights
    from scenes.findings.review import Review
    from scenes.room.scene import Scene
    from scenes.spec.model import Spec


def heights(spec: Path, /, *, json: Json = False, picture: Path | None = None, force: Force = False) -> int:
    """Show which hanging heights work, for each band, at each array's present position.

    Parameters
    ----------
    spec
        The room's spec file. Each array needs a position on plan; it needs no height.
    picture
        Draw the bands side by side into this .svg or .png file.
    """
    from scenes.review.heights import hanging_heights, heights_as_json
    from scenes.review.review import review
    from scenes.room.build import build, require_places
    from scenes.spec.reading import read_spec

    if picture is not None:
        require_ending(picture, ".svg", ".png")
    read = read_spec(spec)
    scene = build(read)
    require_places(read, scene, on_plan=True)
    reviewed = review(scene) if all(array.placed for array in scene.arrays) else None
    rows = hanging_heights(scene, reviewed)
    if json:
        from viz.json_objects import with_cautions

        print_json(with_cautions(heights_as_json(rows), scene))
    else:
        from viz.terminal.console import console, print_cautions
        from viz.terminal.heights import print_heights

        out = console()
        print_heights(out, scene, rows)
        print_cautions(out, scene, reviewed)
    if picture is not None:
        _draw(picture, read, scene, rows, reviewed, force=force)
    return 1 if reviewed is not None and reviewed.verdict == "fail" else 0


def _draw(
    picture: Path,
    spec: Spec,
    scene: Scene,
    rows: tuple[ArrayHeights, ...],
    reviewed: Review | None,
    *,
    force: bool,
) -> None:
    from viz.diagrams import heights_picture
    from viz.outputs import protect, write_file

    protect(*spec.files)
    ending: Literal["svg", "png"] = "svg" if picture.suffix.lower() == ".svg" else "png"
    write_file(picture, heights_picture(scene, rows, ending, review=reviewed), force=force)
    remark_unset(scene)
