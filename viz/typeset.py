"""Documents set by typst from the template beside their module: what they say, made settable, and their pictures."""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

from viz.sheets import lettering, render


def set_document(beside: Path, told: dict[str, Any], *, keep: Sequence[str]) -> bytes:
    """What a document says, set by the template beside a module as PDF/A-2b and PDF/UA-1. `keep`: see `settable`."""
    told = settable(told, keep=keep)
    source = render.LETTERS_TYP + beside.with_suffix(".typ").read_text(encoding="utf-8")
    made = render.compiled(
        source, {"told": json.dumps(told, ensure_ascii=False)}, date=told["date"], standards=["a-2b", "ua-1"]
    )
    assert isinstance(made, bytes)
    return made


def settable(told: Any, *, keep: Sequence[str] = ()) -> Any:
    """What is told with the mark for letters that the font does not have: typst would leave them out without a word,
    or refuse them.

    What is read and not drawn keeps them: what pictures show, and the entries of the whole named in `keep`.
    """
    if isinstance(told, str):
        return lettering.settable(told)
    if isinstance(told, dict):
        kept = ("svg", "alt", *keep)
        return {name: value if name in kept else settable(value) for name, value in told.items()}
    if isinstance(told, list | tuple):
        return [settable(value) for value in told]
    return told


def picture_svg(png: bytes, alt: str) -> dict[str, str]:
    """A PNG in an SVG of its own size: typst takes bytes only as text."""
    wide, tall = int.from_bytes(png[16:20], "big"), int.from_bytes(png[20:24], "big")
    data = base64.b64encode(png).decode()
    return {
        "svg": f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}" viewBox="0 0 {wide} {tall}">'
        f'<title>{escape(alt)}</title><image width="{wide}" height="{tall}" href="data:image/png;base64,{data}"/></svg>',
        "alt": alt,
    }
