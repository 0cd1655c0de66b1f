"""The design document of one room as PDF: what was found, why, and what to do with it.

Set by typst from one template (`report.typ`), PDF/A-2b and PDF/UA-1, so tagged. Everything it says is taken
from viz.words.verdict import ceiling_height
from the dossier and formatted here; the template only lays it out, and no text of the spec is ever read
as markup.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scenes.review.people import people_in
from scenes.rulebook import rules
from viz.cards import Cards, cards
from viz.report_areas import area_table
from viz.sheets import PAPERS, lettering, render
from viz.sheets.drawing import Sheets, document_date, figure, purpose_of, sheets
from viz.sheets.lettering import plain
from viz.typeset import picture_svg, set_document
from viz.words import aims as aim_words
from viz.words import arrays as array_words
from viz.words import assumptions as assumption_words
from viz.words import cautions, coverage, installation, people, report, sound
from viz.words import clearances as clearance_words
from viz.words import conflict as conflict_words
from viz.words import heights as height_words
from viz.words import ladder as ladder_words
from viz.words import placement as placement_words
from viz.words import sight as sight_words
from viz.words import verdict as verdict_words
from viz.words import ways as way_words
from viz.words import wishes as wish_words
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.ladder import Ladder
    from scenes.findings.review import Review
    from scenes.room.scene import Scene

TEXT_MM = {"A4": (210.0, 297.0), "A3": (210.0, 297.0), "Letter": (215.9, 279.4), "Tabloid": (215.9, 279.4)}
"""The page the text is set on beside each paper of the sheets."""
HEADINGS = (
    *(
        "glance",
        "sign-off",
        "placement",
        "aims",
        "wishes",
        "conflict",
        "talkers",
        "areas",
        "speech",
        "heights",
        "ceiling",
        "rule changes",
    ),
    *(
        "sightlines",
        "sources",
        "installation",
        "steps",
        "installed",
        "seats",
        "rests",
        "assumptions",
        "cautions",
        "sheets",
        "of",
    ),
)
"""Headings of the document, and the word between a page's number and how many there are."""
AIM_COLUMNS = ("aim", "margin", "distance", "from centre", "spread", "band", "proof")
TALKER_COLUMNS = (
    *("talker", "posture", "mouth", "people", "array", "angle", "distance", "from centre", "margin", "state"),
)
WAY_COLUMNS = ("way", "covered for", "first out", "clear for", "rule")


def report_pdf(
    dossier: Dossier,
    *,
    pictures: Mapping[str, bytes] | None = None,
    paper: str = "A4",
    date: str | None = None,
    purpose: str | None = None,
    drawn: Sheets | None = None,
    hung: Cards | None = None,
    ladder: Ladder | None = None,
) -> bytes:
    """The report of a placed room as PDF.

    `pictures`: PNG by name; "corner", or else the first, goes on the cover; without any the plan does. `paper`
    is that of the sheets at the end (A4, A3, Letter, Tabloid); the text before them is on A4 or Letter.
    `drawn`: the sheets, where they have been drawn already on that paper with that date and purpose; `hung` the hang
    cards likewise. `ladder`: how many arrays, as a table, where that was asked for. The same input gives the same bytes.
    Raises DoesNotFit, FontMissing, ValueError for another paper or no date.
    """
    told = report_data(
        dossier,
        pictures=pictures or {},
        paper=paper,
        date=date,
        purpose=purpose,
        drawn=drawn,
        hung=hung,
        ladder=ladder,
    )
    return set_report(told)


def set_report(told: dict[str, Any]) -> bytes:
    """What a report says, set by its template."""
    return set_document(Path(__file__), told, keep=("title", "about", "author"))


def report_data(
    dossier: Dossier,
    *,
    pictures: Mapping[str, bytes],
    paper: str = "A4",
    date: str | None = None,
    purpose: str | None = None,
    drawn: Sheets | None = None,
    hung: Cards | None = None,
    ladder: Ladder | None = None,
) -> dict[str, Any]:
    """All that the report says, as the template takes it: formatted text, drawings, pictures."""
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPERS)}")
    scene, review = dossier.scene, dossier.review
    locale, document = Locale.of(scene), scene.document
    day = document_date(scene, date)
    width, height = TEXT_MM[paper]
    room = plain(scene.name)
    drawn = drawn or sheets(dossier, paper=paper, date=date, purpose=purpose)
    sheet_pages = [s for s in drawn.sheets if s.kind != "heights"]
    return {
        "title": locale.say("report.title", room=room),
        "author": plain(document.drawn_by or ""),
        "about": verdict_words.paragraph(review),
        "keywords": locale.say("report.keywords").split(", "),
        "date": day,
        "room": room,
        "page": {"width": width, "height": height},
        "verdict": {"word": verdict_words.word(review.verdict, locale), "state": review.verdict},
        "sentences": list(verdict_words.whole(review)),
        "advice": cautions.advice(locale),
        "hold": cautions.hold(review),
        "open": cautions.still_open(review),
        "headings": {name: locale.say(f"report.heading.{name}") for name in HEADINGS},
        "running": _running(scene, date),
        "cover": _cover(
            dossier,
            pictures,
            document.date or date or locale.say("report.undated"),
            purpose_of(scene, purpose),
            (width, height * 0.46 - 8),
        ),
        "glance": _glance(dossier, width - 36),
        "agree": _agree(review, locale),
        "placement": _placement(dossier) | {"ladder": _ladder(ladder, locale)},
        "talkers": _talkers(dossier),
        "heights": _heights(dossier, width - 36),
        "clearances": _clearances(dossier),
        "sight": _sight(dossier),
        "install": _install(dossier, width - 36),
        "as_hung": None,
        "rests": _rests(dossier, drawn),
        "cards": [
            render.page_data(one.drawn, title=one.title, about=one.about)
            for one in (hung or cards(dossier, date=date)).cards
        ],
        "sheets": [render.page_data(s.drawn, title=s.title, about=s.about) for s in sheet_pages],
    }


def _running(scene: Scene, date: str | None) -> dict[str, str]:
    """What stands at the head and the foot of every page."""
    document = scene.document
    revision = plain(document.revision) if document.revision else None
    foot = (
        Locale.of(scene).say("report.revision", revision=revision) if revision is not None else "",
        document.date or date or "",
    )
    return {
        "left": " · ".join(plain(part) for part in (scene.name, scene.project) if part),
        "right": plain(document.number or ""),
        "foot": " · ".join(part for part in foot if part),
    }


def _agree(review: Review, locale: Locale) -> dict[str, Any]:
    """Who signs for what, with room for name and date."""
    return {
        "head": _columns("who", "signs for", "open", "name", "date", locale=locale),
        "rows": [(one.who, one.what, one.open) for one in cautions.signed_by(review)],
    }


def _columns(*names: str, locale: Locale) -> list[str]:
    return [locale.say(f"column.{name}") for name in names]


# ---- cover and first page -------------------------------------------------------------------------------


def _cover(
    dossier: Dossier, pictures: Mapping[str, bytes], day: str, purpose: str, room_mm: tuple[float, float]
) -> dict[str, Any]:
    scene = dossier.scene
    locale, document = Locale.of(scene), scene.document
    name = "corner" if "corner" in pictures else next(iter(pictures), None)
    picture = drawing = None
    if name is not None:
        picture = picture_svg(
            pictures[name], locale.say("report.picture", room=plain(scene.name), view=plain(name))
        )
    else:
        drawing = _drawing(dossier, "plan", (room_mm[0] - 36, room_mm[1] - 10), bare=True)["drawing"]
    facts = [
        ("client", document.client),
        ("number", document.number),
        ("revision", document.revision),
        ("date", day),
        ("drawn by", document.drawn_by),
        ("checked by", document.checked_by),
        ("purpose", purpose),
        ("codes", verdict_words.codes(scene, locale)),
        ("from", Path(scene.source.file).name if scene.source.file else None),
    ]
    return {
        "picture": picture,
        "drawing": drawing,
        "over": " · ".join(plain(part) for part in (document.client, scene.project) if part),
        "subtitle": locale.say("report.subtitle"),
        "facts": [(locale.say(f"report.fact.{name}"), plain(value)) for name, value in facts if value],
    }


def _drawing(
    dossier: Dossier, kind: Any, room_mm: tuple[float, float], number: int = 0, *, bare: bool = False
) -> dict[str, Any]:
    made = figure(dossier, kind, room_mm=room_mm, number=number, bare=bare)
    return {
        "drawing": render.page_data(made.drawn, title=made.about, about=made.about),
        "scale": made.scale_text,
    }


def _glance(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    plan = _drawing(dossier, "plan", (wide_mm, 100.0), bare=True)
    tiles = report.tiles(review, dossier.schedule, locale)
    rows = []
    for schedule, said in zip(dossier.schedule, array_words.arrays(review), strict=True):
        rows.append(
            [
                schedule.array,
                schedule.profile,
                installation.hang_point(schedule, locale),
                said.underside,
                said.drop,
                said.band,
                said.covers,
                said.margin,
            ]
        )
    return {
        "drawing": plan["drawing"],
        "caption": locale.say(
            "report.plan",
            scale=plan["scale"],
            area=locale.area(scene.room.area_m2),
            height=verdict_words.ceiling_height(scene, locale),
        ),
        "tiles": tiles,
        "columns": ["auto", "auto", "1fr", "auto", "auto", "auto", "auto", "auto"],
        "head": _columns(
            "array", "profile", "hang point", "underside", "drop", "band", "covers", "margin", locale=locale
        ),
        "rows": rows,
    }


# ---- placement --------------------------------------------------------------------------------------------


def _placement(dossier: Dossier) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    placed = dossier.placement
    rows = []
    searched = () if placed is None else aim_words.aims(placed, locale)
    for row in (aim_words.drawn(dossier.whole_review, locale), *searched):
        name = locale.say(f"report.aim.{row.aim}") if row.aim in aim_words.LEGEND else row.aim
        rows.append([name, row.margin, row.distance, row.from_centre, row.spread, row.band, row.proof])
    rooms = []
    for id, ways in dossier.rooms_to_move.items():
        served = dossier.whole_review.array(id).heads
        rooms.append(
            {
                "title": locale.say("ways.title", array=id),
                "head": [locale.say(f"column.{name}") for name in WAY_COLUMNS],
                "rows": [
                    list(way_words.way(way, None if way.head is None else served[way.head], locale))
                    for way in ways
                ],
                "note": locale.say("ways.note", differ=locale.say("ways.differ")),
            }
        )
    conflict = None
    if placed is not None and placed.conflict is not None:
        because, *remedies = conflict_words.sentences(placed, Locale.of(scene))
        conflict = {
            "because": because,
            "remedies": remedies,
        }
    return {
        "text": placement_words.report_paragraphs(placed, review),
        "aims": {
            "head": [locale.say(f"column.{name}") for name in AIM_COLUMNS],
            "rows": rows,
            "note": "" if placed is None else aim_words.aims_note(placed, locale),
        },
        "wishes": _wishes(dossier),
        "rooms": rooms,
        "conflict": conflict,
        "break_after": len(review.heads) > 10 or len(rooms) > 1,
    }


def _wishes(dossier: Dossier) -> dict[str, Any] | None:
    """The wishes with their prices, and why one is not kept; None where there are none."""
    if dossier.placement is None:
        return None
    head, rows = wish_words.table(dossier.placement, Locale.of(dossier.scene))
    return {"head": head, "rows": rows} if rows else None


def _ladder(ladder: Ladder | None, locale: Locale) -> dict[str, Any] | None:
    """What each number of arrays comes to; None where nobody asked."""
    if ladder is None:
        return None
    return {
        "title": ladder_words.title(locale),
        "head": ladder_words.head(locale),
        "rows": [list(row) for row in ladder_words.rows(ladder, locale)],
        "text": ladder_words.sentences(ladder, locale),
    }


# ---- talkers and heights ----------------------------------------------------------------------------------


def _talkers(dossier: Dossier) -> dict[str, Any]:
    review = dossier.review
    locale = Locale.of(review.scene)
    rows, found = [], people_in(review)
    shares = found.covered_share if found else {}
    for head, said in zip(review.heads, coverage.talkers_of(review), strict=True):
        rows.append(
            [
                said.id,
                said.posture,
                said.mouth,
                people.of_hundred(shares[head.id], locale),
                said.served,
                said.angle,
                said.distance,
                said.from_centre,
                said.margin,
                {"look": head.standing, "word": said.state},
                said.why,
            ]
        )
    levels = None
    if review.speech and review.sound is not None:
        acoustics = review.scene.acoustics
        assert acoustics is not None
        levels = {
            "text": report.speech(acoustics, locale),
            "line": sound.line(review),
            "head": _columns(*sound.REPORT_COLUMNS, locale=locale),
            "rows": [list(row) for row in sound.rows(review)],
            "found": [
                *sound.sentences(review),
                *sound.bounces(review),
                *sound.own_limits(review.sound, locale),
            ],
            "rests": sound.rests_on(review),
            "formulas": sound.formulas(review.sound, locale),
        }
    return {
        "text": locale.say("report.talkers"),
        "people": people.paragraphs(review),
        "head": _columns(*TALKER_COLUMNS, locale=locale),
        "rows": rows,
        "areas": area_table(review),
        "levels": levels,
    }


def _heights(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    text = report.heights(review, dossier.heights, locale)
    drawings, rows = [], []
    for number, row in enumerate(dossier.heights):
        one = _drawing(dossier, "heights", (wide_mm, 118.0), number)
        drawings.append(
            {
                "drawing": one["drawing"],
                "caption": locale.say("report.heights", array=row.id, scale=one["scale"]),
            }
        )
        for band in row.bands:
            said = height_words.row_text(band, locale)
            rows.append(
                [
                    row.id,
                    locale.say("report.current band", band=said.band)
                    if band.name == row.today_band
                    else said.band,
                    said.allowed,
                    said.best,
                    said.margin,
                    said.from_centre,
                    height_words.limits(band, locale),
                ]
            )
    return {
        "text": text,
        "drawings": drawings,
        "head": _columns(
            *(
                "array",
                "band, current",
                "allowed",
                "best",
                "margin there",
                "from centre, mean",
                "limited by",
            ),
            locale=locale,
        ),
        "rows": rows,
    }


# ---- ceiling ----------------------------------------------------------------------------------------------


def _clearances(dossier: Dossier) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    sources: dict[str, int] = {}
    rows = []
    for clearance in review.clearances:
        text = clearance_words.row(clearance, locale)
        number = sources.setdefault(
            locale.say("source of", number=text.number, title=text.title, source=text.source),
            len(sources) + 1,
        )
        rows.append(
            [
                text.array,
                text.against,
                text.title
                if clearance.part is None
                else locale.say("report.rule, part", title=text.title, part=text.part),
                text.note,
                text.required,
                text.actual,
                {"look": clearance.state, "word": text.state},
                f"[{number}]",
            ]
        )
    changed = [
        [
            rules()[change.rule].title,
            locale.say("report.not applied") if change.off else locale.clearance(change.value_m),
            change.reason,
        ]
        for change in scene.rule_changes
    ]
    return {
        "text": [" ".join((clearance_words.summary(review), cautions.advice(locale)))],
        "head": _columns("array", "against", "rule", "required", "actual", "state", "source", locale=locale),
        "rows": rows,
        "changed": {"head": _columns("rule", "changed to", "reason given", locale=locale), "rows": changed},
        "sources": list(sources),
    }


def _sight(dossier: Dossier) -> dict[str, Any]:
    review = dossier.review
    locale = Locale.of(review.scene)
    rows = [
        [text.what, " ".join(part for part in (text.advice, text.default) if part)]
        for text in sight_words.findings(review)
    ]
    head = _columns("blocked", "what clears", locale=locale)
    return {"text": report.sight(review, locale), "head": head, "rows": rows}


# ---- installation -------------------------------------------------------------------------------------------


def _install(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene = dossier.scene
    ceiling = _drawing(dossier, "ceiling", (wide_mm, 122.0))
    locale = Locale.of(scene)
    held = cautions.hold(dossier.review) is not None
    rows = []
    for row in dossier.schedule:
        left, right = installation.labelled(installation.schedule(row, dossier.review), locale)
        heading = locale.say("report.schedule", array=row.array)
        rows.append({"heading": heading, "left": left, "right": right})
    told_steps = installation.steps(dossier.steps, dossier.schedule, dossier.review)
    return {
        "drawing": ceiling["drawing"],
        "caption": locale.say("report.ceiling", scale=ceiling["scale"]),
        "schedule": rows,
        "steps": [(step.number, step.title, step.text) for step in told_steps],
        "installed": None if held else asdict(installation.installed(dossier.schedule, dossier.review)),
    }


# ---- what it rests on -----------------------------------------------------------------------------------------


def _rests(dossier: Dossier, drawn: Sheets) -> dict[str, Any]:
    scene = dossier.scene
    locale = Locale.of(scene)
    assumptions = list(assumption_words.whole(scene))
    if unset := lettering.unset(scene):
        assumptions.append(unset)
    if scene.source.file:
        assumptions.append(
            locale.say("report.made from", file=Path(scene.source.file).name, digest=scene.source.sha256)
        )
    return {
        "assumptions": [plain(text) for text in assumptions],
        "cautions": [(one.title, one.text, one.defers) for one in cautions.full(scene)],
        "closing": cautions.closing(locale),
        "sheets": {
            "text": locale.say("report.sheets"),
            "head": _columns("sheet number", "sheet", "scale", locale=locale),
            "rows": [
                (
                    sheet.number,
                    sheet.title,
                    locale.say("report.scale", scale=sheet.scale_text, paper=drawn.paper),
                )
                for sheet in drawn.sheets
            ],
        },
    }
