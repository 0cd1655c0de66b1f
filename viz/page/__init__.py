"""One HTML file a client turns the room in: no installation, no network, every number in it.

`page` returns the text, the caller saves it. The room is embedded as GLB, the numbers as HTML tables and
as JSON, the script as the bundle beside this file (see `source/` for how it is made). A
content-security policy in the file forbids every request.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from geometry.records import record
from scenes.dossier import Dossier
from scenes.findings.heights import HeightTable
from scenes.findings.review import Review
from scenes.numbers import rounded
from scenes.room.scene import Scene
from viz import palette
from viz.gltf import screen_glb
from viz.html import rendered
from viz.page import fragments
from viz.page.facts import PAPER, facts
from viz.page.fragments import CautionParts
from viz.page.slider import slider
from viz.stage import LAYERS, Stage
from viz.words import cautions
from viz.words.locale import Locale
from viz.words.page import made_by

NOWHERE = "'none'"
DECIMALS_M = 4
"""Places in the embedded JSON are kept to 0.1 mm: it is for drawing, the numbers people read are text."""


def page(
    dossier: Dossier,
    still_png: bytes | None = None,
    made_on: str | None = None,
    stills: Mapping[str | None, bytes] | None = None,
) -> str:
    """The page of a room as HTML text; the same dossier, still and date give the same text.

    `still_png` is shown where there is no WebGL, else that of `stills` by layout; `made_on` is the date told (the
    clock is never read). A room of
    several layouts has a switch between them, and begins with the dossier's.
    The stage must be drawable: every array placed (ValueError otherwise).
    """
    from viz.stage import staged

    scene, drawn = dossier.scene, stills or {}
    several = dossier.each if dossier.all_layouts is not None else ()
    return assembled(
        staged(dossier),
        dossier.height_table,
        cautions=caution_parts(scene),
        made_by=made_by(scene, made_on),
        still_png=still_png or drawn.get(scene.layout),
        layouts=[_layout(one, drawn.get(one.scene.layout)) for one in several],
    )


def _layout(dossier: Dossier, still_png: bytes | None) -> dict[str, Any]:
    """What the page puts in place of all that is shown, when this layout is chosen."""
    from viz.stage import staged

    stage, table = staged(dossier), dossier.height_table
    name = str(dossier.scene.layout)
    return {
        "name": name,
        "title": dossier.scene.name,
        "facts": facts(stage, table),
        "html": sections(dossier.scene, dossier.review),
        "explore": slider(table, dossier.scene),
        "glb": packed(screen_glb(stage)),
        "still": None if still_png is None else base64.b64encode(still_png).decode("ascii"),
    }


def caution_parts(scene: Scene) -> tuple[CautionParts, ...]:
    """Every caution that applies as title, text and what it defers to; the advice on clearances; who decides."""
    locale = Locale.of(scene)
    parts = tuple((c.title, c.text, c.defers) for c in cautions.full(scene))
    return (*parts, (locale.say("page.advice"), cautions.advice(locale), ""))


@cache
def bundled(name: str) -> str:
    """A file of the bundle as text."""
    return (files("viz.page") / "bundle" / name).read_text(encoding="utf-8")


@record(frozen=True)
class Live:
    """What a page that follows its file has more: the file's name, the only addresses it may speak to, and where all
    rooms are, if it was opened from them."""

    file: str
    connect: str
    home: str | None = None


def assembled(
    stage: Stage,
    table: HeightTable,
    *,
    cautions: tuple[CautionParts, ...],
    made_by: str,
    still_png: bytes | None = None,
    live: Live | None = None,
    layouts: list[dict[str, Any]] | None = None,
) -> str:
    """The page's HTML from its parts. `live` is of one that follows its file; `layouts` are what is shown of each,
    where the room has several.
    """
    scene, review = stage.scene, stage.review
    drawn = facts(stage, table)
    css = root_colours() + bundled("page.css")
    scripts = [bundled("page.js"), *([bundled("live.js")] if live else [])]
    locale = Locale.of(scene)
    return rendered(
        "page/page.html",
        locale,
        policy=Markup(policy_of(css, scripts, live.connect if live else None)),
        css=Markup(css),
        kind="live" if live else "file",
        tools=fragments.tools(drawn["seen_from"], tuple(LAYERS) if live else stage.layers, locale),
        layout_parts=Markup(embedded(layouts)) if layouts else "",
        name=scene.name,
        still=None if still_png is None else base64.b64encode(still_png).decode("ascii"),
        dock=fragments.dock(locale),
        live=fragments.live_bar(live.file, locale, live.home) if live else "",
        project=scene.project,
        parts=sections(scene, review),
        legend=fragments.legend(review),
        cautions=fragments.cautions(cautions, locale),
        made_by=made_by,
        licence=bundled("LICENSE-three.txt"),
        facts=Markup(embedded(drawn)),
        explore=Markup(embedded(slider(table, scene))),
        glb=packed(screen_glb(stage)),
        scripts=[Markup(script) for script in scripts],
    )


def sections(scene: Scene, review: Review) -> dict[str, str]:
    """The parts of the page that change with the review, by the id of the element they fill."""
    switch: dict[str, str] = {"part-layouts": fragments.layouts(review)} if review.layouts else {}
    return switch | {
        "part-hold": fragments.hold(review),
        "part-verdict": fragments.verdict(review),
        "part-arrays": fragments.arrays(scene, review),
        "part-section": fragments.section(review),
        "part-heads": fragments.heads(scene, review),
        "part-clearances": fragments.clearances(scene, review),
    }


def packed(glb: bytes) -> str:
    """A GLB as the script unpacks it: gzip, then base64. The same bytes for the same GLB."""
    return base64.b64encode(gzip.compress(glb, 9, mtime=0)).decode("ascii")


def policy_of(css: str, scripts: Sequence[str], connect: str | None = None) -> str:
    """The content-security policy of a page: these scripts and this style, no address but `connect`, if any."""
    return "; ".join(
        [
            "default-src 'none'",
            "script-src " + " ".join(_hash(script) for script in scripts),
            f"style-src {_hash(css)}",
            "img-src data: blob:",
            f"connect-src {connect or NOWHERE}",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def root_colours() -> str:
    """The style that names the colours."""
    named = {
        **palette.STATE_COLOURS,
        "band": palette.BAND,
        "ink": palette.INK,
        "ink-soft": palette.INK_SOFT,
        "paper": PAPER,
    }
    return f":root{{{';'.join(f'--{name}:{value}' for name, value in named.items())}}}"


def embedded(value: Any) -> str:
    """A value as JSON that may stand in a script element."""
    text = json.dumps(_trimmed(rounded(value)), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    # inside a script element nothing may look like the end of it, or like the start of a comment
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


def _trimmed(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _trimmed(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [_trimmed(entry) for entry in value]
    return round(value, DECIMALS_M) if isinstance(value, float) else value


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode('ascii')}'"
