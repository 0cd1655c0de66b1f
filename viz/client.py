"""What a client reads of a room: two pages of PDF with the picture, what was found, the plan and what it means.

Set by typst from `client.typ`, PDF/A-2b and PDF/UA-1. Everything it says is made of words here; the template only
lays it out. Nothing is left out that holds a room: verdict, what is open and the cautions are those of the report.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from viz.report import TEXT_MM
from viz.section_svg import section_svg
from viz.sheets import PAPERS, render
from viz.sheets.drawing import document_date, figure
from viz.sheets.lettering import FAMILY, plain
from viz.typeset import picture_svg, set_document
from viz.words import cautions, conflict, tolerance, tour
from viz.words import verdict as verdict_words
from viz.words.locale import Locale
from viz.words.page import made_by

if TYPE_CHECKING:
    from scenes.dossier import Dossier

SECTIONS = 2
"""So many arrays have a section of everybody on the second page; of more the plan alone says who is where."""
SIDE_MM, PLAN_MM = 36.0, 90.0
"""What margins take of a page's width, and how tall the plan may be."""
EXPLAINED: Final[tuple[tour.Part, ...]] = ("array", "zone", "hollow")
"""The steps of the guided look that explain what hangs there."""


def client_pdf(
    dossier: Dossier,
    *,
    pictures: Mapping[str, bytes] | None = None,
    paper: str = "A4",
    date: str | None = None,
) -> bytes:
    """The summary for the client of a placed room as PDF, two pages.

    `pictures`: PNG by name; "corner", or else the first, fills the top of the first page; without any the plan does.
    `paper` is that of the sheets (A4, A3, Letter, Tabloid); the summary is on A4 or Letter. The same input gives the
    same bytes. Raises FontMissing, ValueError for another paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPERS)}")
    return set_document(
        Path(__file__), _told(dossier, pictures or {}, paper, date), keep=("title", "about", "author")
    )


def _told(dossier: Dossier, pictures: Mapping[str, bytes], paper: str, date: str | None) -> dict[str, Any]:
    """All that the summary says, as the template takes it."""
    scene, review = dossier.scene, dossier.review
    locale, document = Locale.of(scene), scene.document
    width, height = TEXT_MM[paper]
    room = plain(scene.name)
    steps = {step.part: step for step in tour.steps(review)}
    day = document.date or date or locale.say("report.undated")
    return {
        "title": locale.say("client.title", room=room),
        "about": verdict_words.paragraph(review),
        "author": plain(document.drawn_by or ""),
        "date": document_date(scene, date),
        "page": {"width": width, "height": height},
        "room": room,
        "over": " · ".join(plain(part) for part in (document.client, scene.project) if part),
        "subtitle": locale.say("client.subtitle", day=day),
        "verdict": {"word": verdict_words.word(review.verdict, locale), "state": review.verdict},
        "hold": cautions.hold(review),
        "sentences": [steps["room"].text, steps["people"].text],
        "outcome": _outcome(dossier, locale),
        "picture": _picture(pictures, room, locale),
        "plan": _plan(dossier, width - SIDE_MM),
        "explained": [{"title": steps[part].title, "text": steps[part].text} for part in EXPLAINED],
        "sections": [_section(dossier, number) for number in range(len(scene.arrays))]
        if len(scene.arrays) <= SECTIONS
        else [],
        "sectioned": locale.say("section.about"),
        "signs": [(one.who, one.what) for one in cautions.signed_by(review)],
        "head": [locale.say(f"column.{name}") for name in ("who", "signs for")],
        "headings": {
            "where": locale.say("client.heading.where"),
            "signs": locale.say("client.heading.signs"),
        },
        "made": made_by(scene, day),
        "cautions": [cautions.topics(scene), cautions.advice(locale)],
        "of": locale.say("report.heading.of"),
    }


def _outcome(dossier: Dossier, locale: Locale) -> list[dict[str, Any]]:
    """How exactly it must hang, what would help where not everybody can be covered, what is open; a title each."""
    review, placed = dossier.review, dossier.placement
    exactly = tolerance.headline(review) if review.verdict != "fail" else None
    found = []
    if exactly is not None:
        found.append({"title": locale.say("tour.outcome.pass"), "texts": [exactly]})
    if placed is not None and placed.conflict is not None:
        helps = list(conflict.sentences(placed, locale))
        found.append({"title": locale.say("client.heading.helps"), "texts": helps})
    opened = {"title": locale.say("tour.outcome.open"), "texts": [cautions.still_open(review)]}
    return [*found, opened]


def _picture(pictures: Mapping[str, bytes], room: str, locale: Locale) -> dict[str, str] | None:
    """The room from its corner, or what else there is; None without a picture."""
    name = "corner" if "corner" in pictures else next(iter(pictures), None)
    if name is None:
        return None
    return picture_svg(pictures[name], locale.say("report.picture", room=room, view=plain(name)))


def _plan(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    """The plan with who sits where, and its caption."""
    scene = dossier.scene
    locale = Locale.of(scene)
    made = figure(dossier, "plan", room_mm=(wide_mm, PLAN_MM), number=0, bare=True)
    caption = locale.say(
        "report.plan",
        scale=made.scale_text,
        area=locale.area(scene.room.area_m2),
        height=verdict_words.ceiling_height(scene, locale),
    )
    return {"drawing": render.page_data(made.drawn, title=made.about, about=made.about), "caption": caption}


def _section(dossier: Dossier, number: int) -> dict[str, Any]:
    """Everybody whom one array serves, in one section; `tall` is its height over its width."""
    review = dossier.review
    array = review.scene.arrays[number]
    title = Locale.of(review.scene).say("section.title of", array=array.id)
    svg = section_svg(review, array, number, letters=FAMILY)
    wide, tall = map(float, svg.split('viewBox="0 0 ')[1].split('"')[0].split())
    return {"svg": svg, "alt": title, "title": plain(title), "tall": tall / wide}
