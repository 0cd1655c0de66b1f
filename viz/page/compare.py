"""One HTML file with two rooms, or two placements of one, side by side: one view, one height, what differs.

Made of the page's own bundle and facts, and as closed as the page: no request leaves it.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from scenes.findings.comparison import Comparison
from scenes.findings.heights import HeightTable
from viz.gltf import screen_glb
from viz.html import rendered
from viz.page import bundled, caution_parts, embedded, fragments, packed, policy_of, root_colours
from viz.page.facts import facts
from viz.page.slider import slider
from viz.stage import Stage
from viz.words import cautions, comparison
from viz.words.locale import Locale
from viz.words.page import made_by

SAME_M = 1e-6
"""Heights on offer nearer to each other than this are one."""


def compare_page(
    found: Comparison,
    stages: tuple[Stage, Stage],
    tables: tuple[HeightTable, HeightTable],
    stills: Sequence[bytes | None] = (),
    made_on: str | None = None,
) -> str:
    """The page of two rooms as HTML text; the same stages, stills and date give the same text.

    `stills` are shown where there is no WebGL, `made_on` is the date told (the clock is never read).
    """
    locale = comparison.locale_of(found)
    css = root_colours() + bundled("page.css") + bundled("compare.css")
    scripts = [bundled("page.js")]
    layers = [layer for layer in stages[0].layers if layer in stages[1].layers]
    sides = [
        {
            "name": letter,
            "title": title,
            "hold": fragments.hold(stage.review),
            "still": base64.b64encode(still).decode("ascii") if still else None,
            "facts": Markup(embedded(facts(stage, table))),
            "explore": Markup(embedded(slider(table, stage.scene))),
            "glb": packed(screen_glb(stage)),
            "made_by": made_by(stage.scene, made_on),
        }
        for letter, title, stage, table, still in zip(
            comparison.LETTERS.values(),
            comparison.titles(found),
            stages,
            tables,
            [*stills, None, None][:2],
            strict=True,
        )
    ]
    return rendered(
        "page/compare.html",
        locale,
        policy=Markup(policy_of(css, scripts)),
        css=Markup(css),
        heading=comparison.heading(found),
        tools=fragments.tools((), layers, locale),
        sides=sides,
        figures=comparison.table(found),
        differences=comparison.sentences(found),
        legend=fragments.legend(found.first),
        cautions=fragments.cautions(caution_parts(found.first.scene), locale),
        topics=None if found.talkers is not None else cautions.topics(found.second.scene),
        licence=bundled("LICENSE-three.txt"),
        heights=Markup(embedded(_heights(tables, locale))),
        scripts=[Markup(script) for script in scripts],
    )


def _heights(tables: tuple[HeightTable, HeightTable], locale: Locale) -> dict[str, Any]:
    """The heights of the one slider: all that are on offer on either side, rising, as text, and where it starts."""
    every = sorted(z for table in tables for one in table.arrays if not one.flush for z in one.heights_m)
    heights_m = [z for k, z in enumerate(every) if not k or z - every[k - 1] > SAME_M]
    own = next((one.heights_m[one.own] for table in tables for one in table.arrays if not one.flush), None)
    home = 0 if own is None else min(range(len(heights_m)), key=lambda k: abs(heights_m[k] - own))
    return {"heights_m": heights_m, "shown": [locale.height(z) for z in heights_m], "home": home}
