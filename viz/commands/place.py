"""`overtable place`: where the arrays should hang."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from viz.commands.options import Force, Json


def place(
    spec: Path,
    /,
    *,
    aim: Literal["near", "tolerance", "margin", "centre", "most"] | None = None,
    enough: str = "0.10 m",
    hold: Annotated[tuple[Literal["at", "height", "band"], ...], Parameter(negative="")] = (),
    arrays: str | None = None,
    profile: str | None = None,
    free: Annotated[bool, Parameter(negative="")] = False,
    snap: str | None = None,
    ignore_clearances: Annotated[bool, Parameter(negative="")] = False,
    write: Annotated[bool, Parameter(negative="")] = False,
    even_if_worse: Annotated[bool, Parameter(negative="")] = False,
    certificate: Path | None = None,
    ladder: Annotated[tuple[int, ...] | None, Parameter(consume_multiple=True, negative="")] = None,
    picture: Path | None = None,
    json: Json = False,
    force: Force = False,
) -> int:
    """Find the best position, height and band for the arrays, and prove it.

    Parameters
    ----------
    spec
        The room's spec file, or a project file. Arrays need no position yet.
    aim
        near: as close as possible to the farthest talker, keeping the margin of --enough. tolerance: the largest
        installation tolerance. margin: the largest margin. centre: everyone covered, as near as possible to the
        middle of the band. most: as many talkers covered as possible. Left out: near, or most where near is not
        possible, with all five in the table.
    enough
        The margin that near keeps, such as "0.10 m".
    hold
        Keep the file's position (at), height or band.
    arrays
        How many arrays: a number, or "fewest" for as few as cover everyone.
    profile
        Which profile to place if the spec has no array. Left out: its only one.
    free
        Search without wishes: rules are kept exactly, with nothing to spare, and positions are not rounded.
    snap
        Only use positions on a grid: "tile" for tile centres, a length such as "50 mm", or "none". Left out:
        whole centimetres, or half inches.
    ignore_clearances
        Also show the best position if ceiling clearances are ignored.
    write
        Write the positions into the spec file and show the changed lines. Missing arrays are added. Refused if
        fewer talkers would be covered, or the verdict would be worse.
    even_if_worse
        Write even if the result is worse.
    certificate
        Save the proof to this file so that anyone can verify it.
    ladder
        Compare one array up to this many (4 if left out): anywhere, in a row, in a grid, and on tiles. Shows how many
        leave everyone the margin of --enough, and what one more brings.
    picture
        Draw the ladder into this .svg or .png file.
    """
    from viz.commands.placing import PlaceOptions, run_place

    options = PlaceOptions(
        aim,
        enough,
        hold,
        arrays,
        profile,
        free,
        snap,
        ignore_clearances,
        write,
        even_if_worse,
        certificate,
        ladder,
        picture,
        json,
        force,
    )
    return run_place(spec, options)
