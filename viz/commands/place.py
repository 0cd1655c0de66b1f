"""`overtable place`: where the arrays should hang."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from viz.commands.options import Force, Json


def place(
    spec: Path,
    *,
    aim: Literal["near", "tolerance", "margin", "centre", "most"] | None = None,
    enough: str = "0.10 m",
    hold: Annotated[tuple[Literal["at", "height", "band"], ...], Parameter(negative="")] = (),
    arrays: str | None = None,
    free: Annotated[bool, Parameter(negative="")] = False,
    snap: str | None = None,
    ignore_clearances: Annotated[bool, Parameter(negative="")] = False,
    write: Annotated[bool, Parameter(negative="")] = False,
    even_if_worse: Annotated[bool, Parameter(negative="")] = False,
    certificate: Path | None = None,
    json: Json = False,
    force: Force = False,
) -> int:
    """Find where the arrays should hang, and prove that no allowed place is better.

    Parameters
    ----------
    spec
        The room's spec file; places that are left open are filled.
    aim
        near: the smallest worst distance among places with enough margin. tolerance: the largest shift in any
        direction with everybody covered and every rule kept. margin: the largest margin. centre: everybody covered,
        nearest the middle of the band. most: the most talkers covered. Left out, near is sought, most is taken where
        near cannot be had, and all five are told.
    enough
        The margin that near keeps, a length such as "0.10 m".
    hold
        What stays as the spec has it.
    arrays
        How many: a number, or "fewest".
    free
        The bare search: nothing kept beyond the rules, and places as they are found.
    snap
        "tile" for centres of the lay-in grid, a length such as "50 mm", or "none"; the place told and written is the
        best of that lattice. Left out, places are whole centimetres, or half inches.
    ignore_clearances
        Tell the best place without the ceiling's rules beside it.
    write
        Put the placement into the spec; the changed lines are shown first. Arrays it does not have are added. What
        covers fewer talkers than the file's own places, or has a worse verdict, is refused.
    even_if_worse
        Write it even so.
    certificate
        A file to write the search's proof to, for a stranger to check.
    """
    from viz.commands.placing import PlaceOptions, run_place

    options = PlaceOptions(
        aim,
        enough,
        hold,
        arrays,
        free,
        snap,
        ignore_clearances,
        write,
        even_if_worse,
        certificate,
        json,
        force,
    )
    return run_place(spec, options)
