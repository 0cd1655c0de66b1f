"""`overtable stills`: pictures of the room."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from viz.commands.inputs import drawn_dossier, say_hold, status_of
from viz.commands.options import Force, Layout, Output, Size, size_of
from viz.commands.remarks import remark_unset


def stills(
    spec: Path,
    /,
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
    layout: Layout = None,
    force: Force = False,
) -> int:
    """Draw pictures of the room: corner, plan, ceiling, sections, array, cameras, seats.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        Folder for the PNG files.
    view
        One view, such as corner, plan, ceiling, long:A1, cross:A1, array:A1, camera:CAM1 or seat:T1-3. Repeat it
        for more. Left out: all the usual views. map:seated and map:standing show where on the whole floor somebody
        is covered.
    dpi
        Dots per inch in print. It sets the size of text and lines.
    background
        White, soft grey, or transparent.
    on
        Show this layer too. Repeat it for more.
    off
        Hide this layer. Repeat it for more.
    caption
        Show the strip with room, array and verdict. It is on by default.
    legend
        Show the legend. It is on by default.
    """
    from viz.outputs import output_folder, unique_slugs, write_files
    from viz.stage import staged
    from viz.stills import Style, draw_stills
    from viz.words.locale import Locale

    dossier = drawn_dossier(spec, layout=layout)
    style = Style(
        size=size_of(size), dpi=dpi, background=background, on=on, off=off, caption=caption, legend=legend
    )
    drawn = draw_stills(staged(dossier), list(view) or None, style)
    remark_unset(dossier.scene, Locale("m").say("use.empty box"))
    folder = output_folder(output)
    slugs = unique_slugs([still.name for still in drawn])
    files = {folder / f"{slug}.png": still.png for slug, still in zip(slugs, drawn, strict=True)}
    print(*write_files(files, force=force), sep="\n")
    say_hold(dossier)
    return status_of(dossier)
