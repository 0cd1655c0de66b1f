"""`overtable page`: the page that a client turns."""

from __future__ import annotations

import sys
from pathlib import Path

from viz.commands.inputs import drawn_dossier, say_hold, status_of
from viz.commands.options import Force, Layout, Output, require_ending


def page(
    spec: Path, /, *, output: Output, date: str | None = None, layout: Layout = None, force: Force = False
) -> int:
    """Write one HTML file with the room in 3D for your client. It works offline.

    Parameters
    ----------
    spec
        The room's spec file.
    output
        HTML file to write.
    date
        Date to print if the spec has none, such as 2026-11-25.
    """
    from viz.drawing import GraphicsMissing
    from viz.handover import small
    from viz.outputs import require_replaceable, write_file
    from viz.page import page as page_text
    from viz.stage import staged
    from viz.stills import Style, draw_still
    from viz.words.locale import Locale

    require_ending(output, ".html", ".htm")
    dossier = drawn_dossier(spec, date, layout)
    require_replaceable(output, force=force)
    stills: dict[str | None, bytes] = {}
    try:
        for one in dossier.each:
            drawn = draw_still(staged(one), "corner", Style(size=(1200, 750))).png
            stills[one.scene.layout] = small(drawn) or drawn
    except GraphicsMissing:
        print(Locale.of(dossier.scene).say("page.no fallback"), file=sys.stderr)
    text = page_text(dossier, made_on=dossier.scene.document.date, stills=stills)
    print(write_file(output, text, force=force))
    say_hold(dossier)
    return status_of(dossier)
