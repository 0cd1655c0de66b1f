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
from functools import cache
from importlib.resources import files
from pathlib import Path
from string import Template
from typing import Any

from scenes.dossier import Dossier
from scenes.findings.heights import HeightTable
from scenes.findings.review import Review
from scenes.numbers import rounded
from scenes.room.scene import Scene
from viz import palette
from viz.page import fragments
from viz.page.facts import LAYERS, PAPER, facts
from viz.page.fragments import Told
from viz.page.model import screen_glb, shown_layers
from viz.page.slider import slider
from viz.stage import Stage
from viz.words import assumptions, cautions
from viz.words.locale import Locale

NOWHERE = "'none'"
DECIMALS_M = 4
"""Places in the embedded JSON are kept to 0.1 mm: it is for drawing, the numbers people read are text."""


def page(dossier: Dossier, still_png: bytes | None = None, made_on: str | None = None) -> str:
    """The page of a room as HTML text; the same dossier, still and date give the same text.

    `still_png` is shown where there is no WebGL, `made_on` is the date told (the clock is never read).
    The stage must be drawable: every array placed (ValueError otherwise).
    """
    from viz.stage import staged

    scene = dossier.scene
    return assembled(
        staged(dossier),
        dossier.height_table,
        cautions=cautions_told(scene),
        made_by=made_by(scene, made_on),
        still_png=still_png,
    )


def cautions_told(scene: Scene) -> tuple[Told, ...]:
    """Every caution that applies as title, text and what it defers to; the advice on clearances; who decides."""
    told = tuple((c.title, c.text, c.defers) for c in cautions.full(scene))
    return (*told, ("Advice", cautions.advice(Locale.of(scene)), ""))


def made_by(scene: Scene, made_on: str | None) -> str:
    """Who made the page, from which file, and the date given."""
    document = scene.document
    parts = ["Made by overtable"]
    if scene.source.file:
        # the name alone: a path would tell whose machine it was, and change the bytes
        parts.append(f"from {Path(scene.source.file).name} (SHA-256 begins {scene.source.sha256[:12]})")
    if made_on:
        parts.append(f"on {made_on}")
    told = " ".join(parts) + "."
    issue = " ".join(
        f"{name} {value}."
        for name, value in (("Document", document.number), ("Revision", document.revision))
        if value
    )
    people = " ".join(
        f"{name} {value}."
        for name, value in (("Drawn by", document.drawn_by), ("Checked by", document.checked_by))
        if value
    )
    assumed = " ".join(assumptions.people(scene))
    return " ".join(part for part in (told, issue, people, assumed) if part)


@cache
def bundled(name: str) -> str:
    """A file of the bundle as text."""
    return (files("viz.page") / "bundle" / name).read_text(encoding="utf-8")


def assembled(
    stage: Stage,
    table: HeightTable,
    *,
    cautions: tuple[Told, ...],
    made_by: str,
    still_png: bytes | None = None,
    live: str | None = None,
    connect: str | None = None,
) -> str:
    """The page's HTML from its parts. `live` names the file it follows, if any; `connect` the only address
    it may speak to then.
    """
    scene, review = stage.scene, stage.review
    told = facts(stage, table)
    css = _root_colours() + bundled("page.css")
    scripts = [bundled("page.js"), *([bundled("live.js")] if live else [])]
    policy = "; ".join(
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
    text = fragments.text
    parts = sections(scene, review)
    return Template(bundled("page.html")).substitute(
        policy=policy,
        title=text(f"{scene.name}: microphone placement"),
        css=css,
        kind="live" if live else "file",
        tools=fragments.tools(told["seen_from"], tuple(LAYERS) if live else shown_layers(stage)),
        view="" if still_png else "bare",
        name=text(scene.name),
        still=_still(still_png, scene.name),
        dock=fragments.dock(),
        live=fragments.live_bar(live) if live else "",
        project=f'<p class="kicker">{text(scene.project)}</p>' if scene.project else "",
        hold=parts["part-hold"],
        verdict=parts["part-verdict"],
        arrays=parts["part-arrays"],
        heads=parts["part-heads"],
        clearances=parts["part-clearances"],
        legend=fragments.legend(),
        cautions=fragments.cautions(cautions),
        made_by=text(made_by),
        licence=text(bundled("LICENSE-three.txt")),
        facts=_json(told),
        explore=_json(slider(table, scene)),
        glb=packed(screen_glb(stage)),
        scripts="\n".join(f"<script>{script}</script>" for script in scripts),
    )


def sections(scene: Scene, review: Review) -> dict[str, str]:
    """The parts of the page that change with the review, by the id of the element they fill."""
    return {
        "part-hold": fragments.hold(review),
        "part-verdict": fragments.verdict(review),
        "part-arrays": fragments.arrays(scene, review),
        "part-heads": fragments.heads(scene, review),
        "part-clearances": fragments.clearances(scene, review),
    }


def packed(glb: bytes) -> str:
    """A GLB as the script unpacks it: gzip, then base64. The same bytes for the same GLB."""
    return base64.b64encode(gzip.compress(glb, 9, mtime=0)).decode("ascii")


def _still(png: bytes | None, name: str) -> str:
    if png is None:
        return ""
    alt = f"{name}: the room with its array, drawn when this page was made"
    data = base64.b64encode(png).decode("ascii")
    return f'<img id="still" alt="{fragments.text(alt)}" src="data:image/png;base64,{data}">'


def _root_colours() -> str:
    named = {
        **palette.STATE_COLOURS,
        "band": palette.BAND,
        "ink": palette.INK,
        "ink-soft": palette.INK_SOFT,
        "paper": PAPER,
    }
    return f":root{{{';'.join(f'--{name}:{value}' for name, value in named.items())}}}"


def _json(value: Any) -> str:
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
