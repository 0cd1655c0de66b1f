"""The page's tables and paragraphs as HTML: what a reader without a picture, or without scripts, gets too.

Everything that comes out of a spec goes through `text`, which escapes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import Any

from scenes.findings.clearance import Clearance
from scenes.findings.review import Review
from scenes.room.scene import Scene
from viz.page.facts import LAYERS, OFF_AT_FIRST, head_texts
from viz.words import arrays as array_words
from viz.words import cautions as caution_words
from viz.words import clearances as clearance_words
from viz.words import coverage
from viz.words import verdict as verdict_words
from viz.words.clearances import ClearanceText
from viz.words.locale import Locale

Told = tuple[str, str, str]
"""A caution: its title, its text, and what it defers to ("" for nothing)."""

VIEWS = (
    ("corner", "Corner", "The room from a corner"),
    ("plan", "Plan", "Plan"),
    ("ceiling", "Ceiling", "Ceiling plan"),
    ("long", "Long", "Long section"),
    ("cross", "Cross", "Cross section"),
)


def text(value: object) -> str:
    """The value as text that is safe in HTML, between tags and in quoted attributes."""
    return escape(str(value), quote=True)


def verdict(review: Review) -> str:
    """The sentence in plain words, and below it what the architect has to look at."""
    first, *more = verdict_words.whole(review)
    word = verdict_words.word(review.verdict, Locale.of(review.scene))
    items = "".join(f"<li>{text(sentence)}</li>" for sentence in more)
    return (
        f'<div id="verdict" data-verdict="{review.verdict}">'
        '<p class="if">At the height and band on the slider:</p>'
        f'<p id="sentence"><b>{word}.</b> {text(first)}</p>'
        f"{f'<ul>{items}</ul>' if items else ''}</div>"
    )


def hold(review: Review) -> str:
    """Why a room that fails is not for installation, or what is open in one that cautions; empty where it passes."""
    mark = caution_words.mark(review)
    if mark is None:
        return ""
    kind = "hold" if caution_words.hold(review) else "open"
    designed = Locale.of(review.scene).say("as designed")
    return f'<p class="mark-{kind}"><span class="if">{text(designed)} </span>{text(mark)}</p>'


def arrays(scene: Scene, review: Review) -> str:
    """Where each array is, in what band, and what its talkers have to spare."""
    locale = Locale.of(scene)
    parts = []
    for array, said in zip(review.arrays, array_words.arrays(review), strict=True):
        profile = scene.array(array.id).profile
        rows = [
            ("Array", f"{array.id} ({profile.name}, {profile.mount})"),
            ("Place on plan", f"x {said.x}, y {said.y}"),
            ("Height", locale.say("array.hangs", height=said.height, drop=said.drop)),
            ("Band", said.band),
            ("Reach", locale.between(*array.reach_m)),
        ]
        if len(review.arrays) > 1:
            rows.insert(1, ("Serves", locale.listed(array.heads, 9) or "nobody"))
        if array.margin_m is not None:
            rows.append(("Least margin", said.margin))
        parts += [f"<dt>{text(name)}</dt><dd>{text(value)}</dd>" for name, value in rows]
    return f'<dl class="facts">{"".join(parts)}</dl>'


def heads(scene: Scene, review: Review) -> str:
    """One row per talker: mark and word of the state, angle down, distance, margin."""
    several = len(scene.arrays) > 1
    rows = []
    for i, head in enumerate(review.heads):
        cells = "".join(
            f'<td class="number {name}">{text(value)}</td>' for name, value in head_texts(head, scene).items()
        )
        word = text(coverage.talker(head, scene).state)
        served = f'<td class="array">{text(head.array)}</td>' if several else ""
        rows.append(
            f'<tr data-head="{i}"><th scope="row">{_choose(head.id)}</th>'
            f'<td class="state">{mark(head.standing)}<span class="word">{word}</span></td>{served}{cells}</tr>'
        )
    columns = ["Talker", "State", *(["Array"] if several else [])]
    return (
        "<table><thead><tr>"
        + "".join(f'<th scope="col">{name}</th>' for name in columns)
        + "".join(
            f'<th scope="col" class="number">{name}</th>' for name in ("Angle down", "Distance", "Margin")
        )
        + f"</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    )


def _choose(name: str) -> str:
    return f'<button type="button" aria-pressed="false">{text(name)}</button>'


def mark(state: str) -> str:
    """The state's mark: dot, ring, diamond or cross, for the eye; the word beside it is for everybody."""
    return f'<span class="mark" data-state="{state}" aria-hidden="true"></span>'


def clearances(scene: Scene, review: Review) -> str:
    """What is too close first; every row with required and actual, the sources of the rules below, numbered."""
    if not review.clearances:
        return "<p>No overhead devices, walls or tables to check against.</p>"
    locale, several = Locale.of(scene), len(review.arrays) > 1
    sources: dict[str, int] = {}
    rows = []
    for i, one in enumerate(review.clearances):
        words = clearance_words.row(one, locale)
        number = sources.setdefault(f"{words.number} {words.title}. {words.source}", len(sources) + 1)
        rows.append(_clearance(i, one, words, several, number))
    listed = "".join(f"<li>{text(source)}</li>" for source in sources)
    return (
        '<table><thead><tr><th scope="col">Item and rule</th><th scope="col" class="number">Required</th>'
        '<th scope="col" class="number">Actual</th><th scope="col">State</th></tr></thead>'
        f'<tbody>{"".join(rows)}</tbody></table><div class="sources"><p>Sources of the rules:</p><ol>{listed}</ol></div>'
    )


def _clearance(i: int, one: Clearance, words: ClearanceText, several: bool, source: int) -> str:
    who = f"{words.array} to {words.against}" if several else words.against
    what = f"{words.title} [{source}]" if one.part is None else f"{words.title}, {words.part} [{source}]"
    note = f'<span class="note">{text(words.note)}</span>' if words.note and one.state != "clear" else ""
    numbers = "".join(f'<td class="number">{text(figure)}</td>' for figure in (words.required, words.actual))
    tag = f'<span class="tag {one.state}">{text(words.state)}</span>'
    return (
        f'<tr data-clearance="{i}"><th scope="row">{_choose(who)} '
        f'<span class="rule">{text(what)}</span>{note}</th>{numbers}<td>{tag}</td></tr>'
    )


def legend() -> str:
    """What the marks and colours mean."""
    return (
        '<ul class="legend">'
        f"<li>{mark('covered')}covered, leaning included</li>"
        f"<li>{mark('marginal')}covered upright, not when leaning</li>"
        f"<li>{mark('blocked')}blocked: something is in the way</li>"
        f"<li>{mark('missed')}not covered</li>"
        '<li><span class="swatch band"></span>listening zone, and its area at mouth height</li>'
        '<li><span class="swatch device"></span>overhead devices</li>'
        "</ul>"
        '<p class="note">Angle down: below horizontal, seen from the array. Distance: straight line from array to '
        "mouth. Margin: spare distance before the talker leaves the listening zone, after allowing for leaning.</p>"
    )


def cautions(told: Iterable[Told]) -> str:
    """What to heed before anything is hung."""
    items = "".join(
        f"<li><b>{text(title)}.</b> {text(said)}{f' <span class=see>{text(see)}</span>' if see else ''}</li>"
        for title, said, see in told
    )
    return f'<ul class="cautions">{items}</ul>'


def tools(seen_from: Sequence[dict[str, Any]], layers: Sequence[str]) -> str:
    """Buttons of the named views, the places to look from, the layers."""
    views = "".join(
        f'<button type="button" data-view="{name}" title="{title}" aria-pressed="{str(name == "corner").lower()}">'
        f"{short}</button>"
        for name, short, title in VIEWS
    )
    options = "".join(f'<option value="{text(s["name"])}">{text(s["title"])}</option>' for s in seen_from)
    boxes = "".join(
        f'<label><input type="checkbox" data-layer="{text(name)}"{"" if name in OFF_AT_FIRST else " checked"}>'
        f"{text(LAYERS[name])}</label>"
        for name in layers
    )
    return (
        f'<div class="tools"><div class="chips" role="group" aria-label="Views">{views}</div>'
        f'<select id="seen-from" aria-label="Look from"><option value="">Look from…</option>{options}</select>'
        '<details class="layers"><summary>Layers</summary>'
        f'<fieldset aria-label="Layers">{boxes}</fieldset></details></div>'
    )


def dock() -> str:
    """The height slider and the bands; the script fills them."""
    return (
        '<div id="dock" role="group" aria-label="Explore heights and bands"><div class="which">'
        '<label class="choice" hidden>Array <select></select></label>'
        '<div class="bands" role="group" aria-label="Band"></div></div>'
        '<div class="height"><div class="row"><label for="height">Height of the array above the floor</label>'
        '<output for="height"></output></div><div class="slider"><div class="track" aria-hidden="true"></div>'
        '<input type="range" id="height" aria-describedby="stretch"></div>'
        '<p class="stretch" id="stretch"></p></div>'
        '<div class="acts"><button type="button" class="plain go-best">Best allowed height</button>'
        '<button type="button" class="plain today" disabled>As designed</button></div></div>'
    )


def live_bar(file: str) -> str:
    """What a page that follows its file can do more: search, add, go back, write."""
    return (
        f'<div id="live"><p id="live-said" role="status">Following {text(file)}</p><div class="row">'
        '<button type="button" class="plain main" data-do="best">Best from here</button>'
        '<button type="button" class="plain" data-do="add">Add an array</button>'
        '<button type="button" class="plain" data-do="remove" hidden>Remove it</button>'
        '<button type="button" class="plain" data-do="reset" disabled>Back to the file</button>'
        '<button type="button" class="plain" data-do="offer" disabled>Write to the spec…</button></div>'
        '<pre id="mistakes" hidden></pre>'
        '<dialog id="ask" aria-labelledby="ask-title"><h2 id="ask-title">Write these lines?</h2>'
        '<pre id="ask-lines" tabindex="0"></pre><p class="note">Everything else in the file stays as it is, comments '
        'too.</p><div class="row"><button type="button" class="plain main" data-do="write">Write</button>'
        '<button type="button" class="plain" data-do="close">Cancel</button></div></dialog></div>'
    )
