"""The design document of one room as PDF: what was found, why, and what to do with it.

Set by typst from one template (`report.typ`), PDF/A-2b and PDF/UA-1, so tagged. Everything it says is taken
from the dossier and formatted here; the template only lays it out, and no text of the spec is ever read
as markup.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scenes.room.walls import wall_name
from scenes.rulebook import rules
from viz.sheets import PAPERS, lettering, render
from viz.sheets.drawing import PURPOSE, Sheets, document_date, figure, sheets
from viz.sheets.lettering import plain
from viz.words import aims as aim_words
from viz.words import arrays as array_words
from viz.words import assumptions as assumption_words
from viz.words import cautions, coverage, installation, verdict
from viz.words import clearances as clearance_words
from viz.words import conflict as conflict_words
from viz.words import heights as height_words
from viz.words import placement as placement_words
from viz.words import sight as sight_words
from viz.words import tolerance as tolerance_words
from viz.words import verdict as verdict_words
from viz.words import ways as way_words
from viz.words.locale import Locale
from viz.words.locale import plain as plain_number

if TYPE_CHECKING:
    from scenes.dossier import Dossier

TEXT_MM = {"A4": (210.0, 297.0), "A3": (210.0, 297.0), "Letter": (215.9, 279.4), "Tabloid": (215.9, 279.4)}
"""The page the text is set on beside each paper of the sheets."""
AIM_COLUMNS = ("aim", "margin", "distance", "from centre", "spread", "band", "proof")
WAY_COLUMNS = ("way", "covered for", "first out", "clear for", "rule")


def report_pdf(
    dossier: Dossier,
    *,
    pictures: Mapping[str, bytes] | None = None,
    paper: str = "A4",
    date: str | None = None,
    purpose: str | None = None,
    drawn: Sheets | None = None,
) -> bytes:
    """The report of a placed room as PDF.

    `pictures`: PNG by name; "corner", or else the first, goes on the cover; without any the plan does. `paper`
    is that of the sheets at the end (A4, A3, Letter, Tabloid); the text before them is on A4 or Letter.
    `drawn`: the sheets, where they have been drawn already on that paper with that date and purpose. The same
    input gives the same bytes. Raises DoesNotFit, FontMissing, ValueError for another paper or no date.
    """
    told = report_data(dossier, pictures=pictures or {}, paper=paper, date=date, purpose=purpose, drawn=drawn)
    told = _settable(told, keep=("title", "about", "author"))
    source = (Path(__file__).with_suffix(".typ")).read_text(encoding="utf-8")
    made = render.compiled(
        source, {"told": json.dumps(told, ensure_ascii=False)}, date=told["date"], standards=["a-2b", "ua-1"]
    )
    assert isinstance(made, bytes)
    return made


def report_data(
    dossier: Dossier,
    *,
    pictures: Mapping[str, bytes],
    paper: str = "A4",
    date: str | None = None,
    purpose: str | None = None,
    drawn: Sheets | None = None,
) -> dict[str, Any]:
    """All that the report says, as the template takes it: formatted text, drawings, pictures."""
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}: allowed is one of {', '.join(PAPERS)}")
    scene, review = dossier.scene, dossier.review
    document = scene.document
    day = document_date(scene, date)
    width, height = TEXT_MM[paper]
    room = plain(scene.name)
    drawn = drawn or sheets(dossier, paper=paper, date=date, purpose=purpose)
    sheet_pages = [s for s in drawn.sheets if s.kind != "heights"]
    return {
        "title": f"{room}: microphone array placement",
        "author": plain(document.drawn_by or ""),
        "about": verdict_words.paragraph(review),
        "keywords": ["microphone array", "placement", "meeting room"],
        "date": day,
        "room": room,
        "page": {"width": width, "height": height},
        "verdict": {"word": verdict_words.word(review.verdict, Locale.of(scene)), "state": review.verdict},
        "sentences": list(verdict_words.whole(review)),
        "advice": cautions.advice(Locale.of(scene)),
        "hold": cautions.hold(review),
        "open": cautions.open_here(review),
        "running": {
            "left": " · ".join(plain(part) for part in (scene.name, scene.project) if part),
            "right": plain(document.number or ""),
            "foot": " · ".join(
                part
                for part in (
                    f"Revision {plain(document.revision)}" if document.revision else "",
                    document.date or date or "",
                )
                if part
            ),
        },
        "cover": _cover(
            dossier,
            pictures,
            document.date or date or "undated",
            purpose or document.purpose or PURPOSE,
            (width, height * 0.46 - 8),
        ),
        "glance": _glance(dossier, width - 36),
        "agree": [(one.who, one.what, one.open) for one in cautions.signed_by(review)],
        "placement": _placement(dossier),
        "talkers": _talkers(dossier),
        "heights": _heights(dossier, width - 36),
        "clearances": _clearances(dossier),
        "sight": _sight(dossier),
        "install": _install(dossier, width - 36),
        "rests": _rests(dossier, drawn),
        "sheets": [render.page_data(s.drawn, title=s.title, about=s.about) for s in sheet_pages],
    }


def _settable(told: Any, *, keep: Sequence[str] = ()) -> Any:
    """What is told with the mark for letters that the font does not have: typst would leave them out without a word,
    or refuse them.

    What is read and not drawn keeps them: what pictures show, and the entries of the whole named in `keep`.
    """
    if isinstance(told, str):
        return lettering.settable(told)
    if isinstance(told, dict):
        kept = ("svg", "alt", *keep)
        return {name: value if name in kept else _settable(value) for name, value in told.items()}
    if isinstance(told, list | tuple):
        return [_settable(value) for value in told]
    return told


# ---- cover and first page -------------------------------------------------------------------------------


def picture_svg(png: bytes, alt: str) -> dict[str, str]:
    """A PNG in an SVG of its own size: typst takes bytes only as text."""
    wide, tall = int.from_bytes(png[16:20], "big"), int.from_bytes(png[20:24], "big")
    data = base64.b64encode(png).decode()
    return {
        "svg": f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}" viewBox="0 0 {wide} {tall}">'
        f'<title>{escape(alt)}</title><image width="{wide}" height="{tall}" href="data:image/png;base64,{data}"/></svg>',
        "alt": alt,
    }


def _cover(
    dossier: Dossier, pictures: Mapping[str, bytes], day: str, purpose: str, room_mm: tuple[float, float]
) -> dict[str, Any]:
    scene = dossier.scene
    document = scene.document
    name = "corner" if "corner" in pictures else next(iter(pictures), None)
    picture = drawing = None
    if name is not None:
        picture = picture_svg(
            pictures[name], f"{plain(scene.name)} from the {plain(name)}, with array, band and talkers"
        )
    else:
        drawing = _drawing(dossier, "plan", (room_mm[0] - 36, room_mm[1] - 10), bare=True)["drawing"]
    facts = [
        ("Client", document.client),
        ("Number", document.number),
        ("Revision", document.revision),
        ("Date", day),
        ("Drawn by", document.drawn_by),
        ("Checked by", document.checked_by),
        ("Purpose", purpose),
        ("From", Path(scene.source.file).name if scene.source.file else None),
    ]
    return {
        "picture": picture,
        "drawing": drawing,
        "over": " · ".join(plain(part) for part in (document.client, scene.project) if part),
        "subtitle": "Placement of ceiling-hung microphone arrays",
        "facts": [(label, plain(value)) for label, value in facts if value],
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
    short, advised, unjudged = (len(some) for some in (review.short, review.advised, review.unjudged))
    area = locale.area(scene.room.area_m2)
    one = len(dossier.schedule) == 1
    tiles = [
        (verdict.counts(review.counts, locale), verdict.covered(review.counts, locale)),
        tolerance_words.tile(review),
        (locale.site(dossier.schedule[0].underside_m), "underside above floor") if one
        else (str(len(dossier.schedule)), "arrays"),
        (f"{short} of {len(review.clearances)}", "too close" + (f", {advised} below advice" if advised else "")
         + (f", {unjudged} not judged" if unjudged else "")),
        (f"{len(review.blocked)} of {len(review.sightlines)}", "sightlines blocked"),
    ]  # fmt: skip
    rows = []
    for schedule, said in zip(dossier.schedule, array_words.arrays(review), strict=True):
        rows.append(
            [
                schedule.array,
                schedule.profile,
                f"{locale.site(schedule.x_m)} from {wall_name(schedule.x_wall)}, "
                f"{locale.site(schedule.y_m)} from {wall_name(schedule.y_wall)}",
                said.underside,
                said.drop,
                said.band,
                said.covers,
                said.margin,
            ]
        )
    return {
        "drawing": plan["drawing"],
        "caption": f"Plan, {plan['scale']}, of a room of {area} under {locale.length(scene.room.ceiling_m)}. "
        "Dot: covered, ring: upright only, diamond: blocked, cross: not covered. Shaded: the band at seated mouths.",
        "tiles": tiles,
        "columns": ["auto", "auto", "1fr", "auto", "auto", "auto", "auto", "auto"],
        "head": ["Array", "Profile", "Hang point", "Underside", "Drop", "Band", "Covers", "Margin"],
        "rows": rows,
    }  # fmt: skip


# ---- placement --------------------------------------------------------------------------------------------


def _placement(dossier: Dossier) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    placed = dossier.placement
    rows = []
    for row in (aim_words.drawn(review, locale), *aim_words.aims(placed, locale)):
        name = locale.say(f"report.aim.{row.aim}") if row.aim in aim_words.LEGEND else row.aim
        rows.append([name, row.margin, row.distance, row.from_centre, row.spread, row.band, row.proof])
    rooms = []
    for id, ways in dossier.rooms_to_move.items():
        served = review.array(id).heads
        rooms.append(
            {
                "title": locale.say("ways.title", array=id),
                "head": [locale.say(f"column.{name}") for name in WAY_COLUMNS],
                "rows": [
                    list(way_words.way(way, None if way.head is None else served[way.head], locale))
                    for way in ways
                ],
                "note": locale.say("ways.note"),
            }
        )
    conflict = None
    if placed.conflict is not None:
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
            "note": aim_words.aims_note(placed, locale),
        },
        "rooms": rooms,
        "conflict": conflict,
        "break_after": len(review.heads) > 10 or len(rooms) > 1,
    }


# ---- talkers and heights ----------------------------------------------------------------------------------


def _talkers(dossier: Dossier) -> dict[str, Any]:
    review = dossier.review
    locale = Locale.of(review.scene)
    rows = []
    for head, said in zip(review.heads, coverage.talkers_of(review), strict=True):
        rows.append(
            [
                said.id,
                said.posture,
                said.mouth,
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
    if review.speech:
        acoustics = review.scene.acoustics
        assert acoustics is not None
        given = [f"{acoustics.effort} vocal effort"]
        if acoustics.noise_dBA is not None:
            given.append(f"{plain_number(acoustics.noise_dBA)} dB(A) of background noise")
        if acoustics.reverberation_s is not None:
            given.append(f"{plain_number(acoustics.reverberation_s)} s of reverberation")
        levels = {
            "text": f"An estimate for {locale.listed(given)}, from the inverse-square law and statistical acoustics; "
            "not a guarantee of intelligibility.",
            "head": ["Talker", "Array", "Level, dB(A)", "Over noise, dB", "Direct to reverberant, dB"],
            "rows": [
                [
                    line.head,
                    line.array,
                    locale.level(line.level_dBA),
                    locale.level(line.to_noise_dB),
                    locale.level(line.to_reverberant_dB, signed=True),
                ]
                for line in review.speech
            ],
        }
    return {
        "text": locale.say("report.talkers"),
        "head": [
            "Talker",
            "Posture",
            "Mouth",
            "Array",
            "Angle down",
            "Distance",
            "From centre",
            "Margin",
            "State",
        ],
        "rows": rows,
        "levels": levels,
    }


def _heights(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    practice = dossier.practice
    text = []
    for array in review.arrays:
        if array.mean_off_centre_deg is None:
            continue
        sentence = (
            f"{array.id}: its talkers are {locale.from_centre(array.mean_off_centre_deg)} from the middle of the band "
            "on average."
        )
        if array.covered_interval_m is not None:
            low, high = array.covered_interval_m
            sentence += (
                f" At this position on plan and in this band, heights from {locale.length(low)} to "
                f"{locale.length(high)} cover the same talkers. It hangs at {locale.site(array.height_m)}."
            )
        text.append(sentence)
    text.append(
        "Common practice (no source) aims the middle of the band at the talkers and keeps them 1 to 3 m away: here "
        f"{practice['within_1_to_3_m']} of {practice['heads']} are within that, at "
        f"{locale.length(practice['mean_slant_m'])} on average."
    )
    drawings, rows = [], []
    for number, row in enumerate(dossier.heights):
        one = _drawing(dossier, "heights", (wide_mm, 118.0), number)
        drawings.append(
            {
                "drawing": one["drawing"],
                "caption": f"Heights and bands of {row.id}, {one['scale']}: every talker at the true range "
                "from the array's axis. Full bar: heights that cover everyone; outlined bar: only while upright.",
            }
        )
        for band in row.bands:
            said = height_words.row_text(band, locale)
            rows.append(
                [
                    row.id,
                    said.band + (" *" if band.name == row.today_band else ""),
                    said.covers,
                    said.best,
                    said.margin,
                    said.from_centre,
                    height_words.limits(band, locale),
                ]
            )
    return {
        "text": text,
        "drawings": drawings,
        "head": [
            "Array",
            "Band (* current)",
            "Covers everyone",
            "Best height",
            "Margin there",
            "From centre, mean",
            "Limited by",
        ],
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
        number = sources.setdefault(f"{text.number} {text.title}. {text.source}", len(sources) + 1)
        rows.append(
            [
                text.array,
                text.against,
                text.title if clearance.part is None else f"{text.title}, {text.part}",
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
            "not applied" if change.off else locale.clearance(change.value_m),
            change.reason,
        ]
        for change in scene.rule_changes
    ]
    return {
        "text": [f"{clearance_words.summary(review)} {cautions.advice(locale)}"],
        "head": ["Array", "Item", "Rule", "Required", "Actual", "State", "Source"],
        "rows": rows,
        "changed": changed,
        "sources": list(sources),
    }


def _sight(dossier: Dossier) -> dict[str, Any]:
    review = dossier.review
    locale = Locale.of(review.scene)
    kinds = {
        "array": "from arrays to mouths",
        "camera": "from cameras to faces",
        "display": "from seats to displays",
    }
    counted = [
        f"{sum(line.kind == kind for line in review.sightlines)} {name}"
        for kind, name in kinds.items()
        if any(line.kind == kind for line in review.sightlines)
    ]
    blocked = review.blocked
    text = [
        f"{locale.counted(len(review.sightlines), 'line')} of sight checked ({locale.listed(counted)}): "
        + ("none is blocked." if not blocked else f"{len(blocked)} blocked.")
        if review.sightlines
        else "No lines of sight to check."
    ]
    rows = [[text.what, f"{text.advice} {text.default}".strip()] for text in sight_words.findings(review)]
    return {"text": text, "rows": rows}


# ---- installation -------------------------------------------------------------------------------------------


def _install(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene = dossier.scene
    ceiling = _drawing(dossier, "ceiling", (wide_mm, 122.0))
    locale = Locale.of(scene)
    held = cautions.hold(dossier.review) is not None
    rows = []
    for row in dossier.schedule:
        left, right = installation.labelled(installation.schedule(row, scene), locale)
        rows.append({"title": row.array, "left": left, "right": right})
    told_steps = installation.steps(dossier.steps, dossier.schedule, dossier.review)
    return {
        "drawing": ceiling["drawing"],
        "caption": f"Reflected ceiling plan, {ceiling['scale']}, the same way round as the plan. Hatched in "
        "red: keep-outs; in green: where the array may hang at its height.",
        "schedule": rows,
        "steps": [(step.number, step.title, step.text) for step in told_steps],
        "installed": None if held else asdict(installation.installed(dossier.schedule, dossier.review)),
    }


# ---- what it rests on -----------------------------------------------------------------------------------------


def _rests(dossier: Dossier, drawn: Sheets) -> dict[str, Any]:
    scene = dossier.scene
    assumptions = list(assumption_words.whole(scene))
    if unset := lettering.unset(scene):
        assumptions.append(unset)
    if scene.source.file:
        assumptions.append(f"Made from {Path(scene.source.file).name}, SHA-256 {scene.source.sha256}.")
    return {
        "assumptions": [plain(text) for text in assumptions],
        "cautions": [(one.title, one.text, one.defers) for one in cautions.full(scene)],
        "closing": cautions.closing(Locale.of(scene)),
        "sheets": {
            "text": "The sheets follow, true to scale when printed at 100 %. Heights and bands are shown in this "
            "document; their sheet is in the set of drawings.",
            "rows": [
                (sheet.number, sheet.title, f"{sheet.scale_text} at {drawn.paper}") for sheet in drawn.sheets
            ],
        },
    }
