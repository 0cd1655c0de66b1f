"""`overtable stills`: pictures of the room."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from viz.commands.errors import WrongUse
from viz.commands.inputs import dossier_of, status_of
from viz.commands.options import Force, Output, Size, size_of
from viz.commands.remarks import remark_unset


def stills(
    spec: Path,
    *,
    output: Output,
    view: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    size: Size = "2400x1500",
    dpi: float | None = None,
    background: Literal["white", "soft", "transparent"] = "white",
    on: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    off: Annotated[tuple[str, ...], Parameter(negative="")] = (),
    caption: bool = True,
    legend: bool = True,
    force: Force = False,
) -> int:
    """Draw pictures of the room: corner, plan, ceiling, sections, array, cameras, seats.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        The folder for the PNG files.
    view
        Which views, such as corner, plan, ceiling, long:A1, cross:A1, array:A1, camera:CAM1, seat:T1-3; may be
        repeated. All the usual ones if left out.
    dpi
        Dots per inch of the print; sets the size of words and lines.
    background
        Paper white, a soft grey, or none.
    on
        Layers to show besides those of the view.
    off
        Layers to leave out.
    caption
        The strip with room, array and verdict.
    legend
        The legend of what is shown.
    """
    from viz.outputs import output_folder, unique_slugs, write_files
    from viz.stage import staged
    from viz.stills import Style, draw_stills

    dossier = dossier_of(spec)
    try:
        style = Style(
            size=size_of(size), dpi=dpi, background=background, on=on, off=off, caption=caption, legend=legend
        )
    except ValueError as wrong:
        raise WrongUse(f"--{wrong}" if str(wrong).startswith(("size", "dpi")) else str(wrong)) from None
    drawn = draw_stills(staged(dossier), list(view) or None, style)
    remark_unset(dossier.scene, "an empty box")
    folder = output_folder(output)
    slugs = unique_slugs([still.name for still in drawn])
    files = {folder / f"{slug}.png": still.png for slug, still in zip(slugs, drawn, strict=True)}
    print(*write_files(files, force=force), sep="\n")
    return status_of(dossier)
