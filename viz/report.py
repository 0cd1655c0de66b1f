"""The design document of one room as PDF: what was found, why, and what to do with it.

Set by typst from one template (`report.typ`), PDF/A-2b and PDF/UA-1, so tagged. Everything it says is taken
from the dossier and formatted here; the template only lays it out, and no text of the spec is ever read
as markup.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scenes import words
from scenes.review.cautions import ADVICE
from scenes.rulebook import rules
from scenes.rules.constraints import key_name
from scenes.words import length, listed, whole_down
from viz.sheets import PAPERS, lettering, render
from viz.sheets.drawing import PURPOSE, Sheets, document_date, figure, sheets
from viz.sheets.heights import between, in_conflict, signed
from viz.sheets.lettering import plain
from viz.words import clearances as clearance_words
from viz.words import sight as sight_words
from viz.words import verdict as verdict_words
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.heights import BandHeights
    from scenes.review.schedule import ScheduleRow

TEXT_MM = {"A4": (210.0, 297.0), "A3": (210.0, 297.0), "Letter": (215.9, 279.4), "Tabloid": (215.9, 279.4)}
"""The page the text is set on beside each paper of the sheets."""
AIM_WORDS = {
    "near": "nearest to the talkers",
    "tolerance": "largest tolerance",
    "margin": "largest margin",
    "centre": "middle of the band",
    "most": "most talkers covered",
}
WAYS = {"+x": "along +x", "-x": "along −x", "+y": "along +y", "-y": "along −y", "up": "up", "down": "down"}
AGREE = (
    ("Fire", ("sprinklers", "detectors", "fire-rated")),
    ("Ceiling", ("grid-load", "old-ceilings")),
    ("Structure", ("overhead-load", "secondary-support", "seismic")),
    ("Electrical", ("plenum", "electrical")),
)


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
        "advice": ADVICE,
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
        "agree": _agree(dossier),
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
    units = scene.units
    counts = words.talkers(review.heads)
    plan = _drawing(dossier, "plan", (wide_mm, 112.0), bare=True)
    short, advised, unjudged = (len(some) for some in (review.short, review.advised, review.unjudged))
    area = words.area(scene.room.area_m2, units)
    one = len(dossier.schedule) == 1
    tiles = [
        (f"{counts['covered']} of {sum(counts.values())}", "talkers covered"
         + "".join(f", {counts[state]} {state}" for state in ("marginal", "missed") if counts[state])),
        (whole_down(review.tolerance_m, units), f"{'it' if one else 'any'} may be off in any direction"),
        (length(dossier.schedule[0].underside_m, units), "underside above floor") if one
        else (str(len(dossier.schedule)), "arrays"),
        (f"{short} of {len(review.clearances)}", "too close" + (f", {advised} below advice" if advised else "")
         + (f", {unjudged} not judged" if unjudged else "")),
        (f"{len(review.blocked)} of {len(review.sightlines)}", "sightlines blocked"),
    ]  # fmt: skip
    rows = []
    for schedule, reviewed in zip(dossier.schedule, review.arrays, strict=True):
        served = words.talkers([review.head(id) for id in reviewed.heads])
        rows.append(
            [
                schedule.tag,
                schedule.profile,
                f"{length(schedule.x_m, units)} from {schedule.x_from}, "
                f"{length(schedule.y_m, units)} from {schedule.y_from}",
                length(schedule.underside_m, units),
                length(schedule.drop_m, units),
                f"{schedule.band}, {schedule.low_deg:g}° to {schedule.high_deg:g}°",
                f"{served['covered']} of {sum(served.values())}",
                "–" if reviewed.margin_m is None else whole_down(max(reviewed.margin_m, 0), units),
            ]
        )
    return {
        "drawing": plan["drawing"],
        "caption": f"Plan, {plan['scale']}, of a room of {area} under {length(scene.room.ceiling_m, units)}. "
        "Dot: covered, ring: marginal, cross: missed. Shaded: the band at seated mouths.",
        "tiles": tiles,
        "columns": ["auto", "auto", "1fr", "auto", "auto", "auto", "auto", "auto"],
        "head": ["Array", "Profile", "Hang point", "Underside", "Drop", "Band", "Covers", "May be off by"],
        "rows": rows,
    }  # fmt: skip


def _agree(dossier: Dossier) -> list[tuple[str, str]]:
    here = {caution.id: caution for caution in dossier.cautions}
    told = []
    for who, ids in AGREE:
        titles = [here[id].title for id in ids if id in here]
        if titles:
            told.append(
                (who, "; ".join([titles[0], *(title[0].lower() + title[1:] for title in titles[1:])]))
            )
    return told


# ---- placement --------------------------------------------------------------------------------------------


def _placement(dossier: Dossier) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    units = scene.units
    placed = dossier.placement
    text = []
    for array in review.arrays:
        if array.margin_m is None:
            text.append(f"{array.id} serves nobody here.")
            continue
        text.append(
            f"{array.id} hangs with its acoustic centre {length(array.height_m, units)} above the finished floor, "
            f"{length(array.drop_m, units)} below the ceiling, and listens in the band {array.band_name}, "
            f"{array.low_deg:g}° to {array.high_deg:g}° of depression. It serves "
            f"{words.counted(len({scene.head(id).person for id in array.heads}), 'talker')}; "
            + (
                f"it may be off by {whole_down(array.margin_m, units)} in any direction before the first of them is "
                "lost."
                if array.margin_m >= 0
                else "not all of them are covered where it hangs."
            )
        )
    if placed.outcome == "certified" and placed.bound_m is not None and placed.bound_m >= 0:
        text.append(
            f"How good could it be? A search over every allowed position, height and band, with a proof, finds that no "
            f"placement tolerates more than {_up(placed.bound_m, units)}. Here the tolerance is "
            f"{whole_down(review.tolerance_m, units)}."
        )
    elif placed.bound_m is not None and placed.bound_m < 0:
        text.append("A search with a proof finds that no allowed position, height and band covers everybody.")
    elif placed.outcome == "none allowed":
        text.append("A search with a proof finds that the rules leave no allowed position at all.")
    else:
        text.append(
            "The search spent its budget before its proof was complete; the bounds below still hold, they may only be "
            "wide."
        )
    if placed.note:
        text.append(f"{placed.note[0].upper()}{placed.note[1:]}.")
    rows = [
        [
            "as drawn here",
            whole_down(review.tolerance_m, units),
            _or_dash(
                max((a.worst_slant_m for a in review.arrays if a.worst_slant_m is not None), default=None),
                units,
            ),
            _mean(review.arrays, "mean_off_centre_deg"),
            _mean(review.arrays, "rms_off_centre_deg", plain_number=True),
            ", ".join(str(array.band_name) for array in review.arrays),
            "",
        ]
    ]
    for row in placed.aims:
        rows.append(
            [
                AIM_WORDS[row.aim],
                "–" if row.margin_m is None else whole_down(max(row.margin_m, 0.0), units),
                _or_dash(row.worst_slant_m, units),
                "–" if row.mean_off_centre_deg is None else signed(row.mean_off_centre_deg),
                "–" if row.rms_off_centre_deg is None else f"{row.rms_off_centre_deg:.1f}°",
                ", ".join(place[2] for place in row.places) or "–",
                {
                    "certified": "proven for these groups"
                    if row.for_groups and len(row.places) > 1
                    else "proven",
                    "unresolved": "not proven",
                    "none allowed": "none allowed",
                }[row.outcome],
            ]
        )
    rooms = []
    for id, ways in dossier.rooms_to_move.items():
        served = review.array(id).heads
        rooms.append(
            {
                "title": f"How far {id} may move, one way at a time",
                "head": ["Way", "Before a talker is lost", "Who", "Before a rule is short", "Which"],
                "rows": [
                    [
                        WAYS[way.direction],
                        _way(way.distance_m, units),
                        "–" if way.head is None else served[way.head],
                        _way(way.clear_distance_m, units),
                        "–" if way.constraint is None else key_name(way.constraint),
                    ]
                    for way in ways
                ],
                "note": "Each way alone, the rest as drawn; rounded down. x to the right and y up on the plan.",
            }
        )
    conflict = None
    if placed.conflict is not None:
        conflict = {
            "because": placed.conflict.because,
            "remedies": [remedy.sentence for remedy in placed.conflict.remedies],
        }
    return {
        "text": text,
        "aims": {
            "head": [
                "Aim",
                "May be off by",
                "Farthest talker",
                "Mean off-centre",
                "RMS off-centre",
                "Band",
                "Bound",
            ],
            "rows": rows,
            "note": "Off-centre: depression less the middle of the band. Each aim is searched over all allowed "
            "positions, heights and bands; proven: nothing allowed does better by more than the search's gap.",
        },
        "rooms": rooms,
        "conflict": conflict,
        "break_after": len(review.heads) > 10 or len(rooms) > 1,
    }


def _up(metres: float, units: str) -> str:
    """A bound, rounded up so that what is told holds."""
    return words.shortfall(metres, units)


def _or_dash(metres: float | None, units: str) -> str:
    return "–" if metres is None else length(metres, units)


def _mean(arrays: Any, name: str, *, plain_number: bool = False) -> str:
    values = [getattr(array, name) for array in arrays if getattr(array, name) is not None]
    if not values:
        return "–"
    return ", ".join(f"{value:.1f}°" if plain_number else signed(value) for value in values)


def _way(metres: float, units: str) -> str:
    return "no end" if metres == float("inf") else whole_down(metres, units)


# ---- talkers and heights ----------------------------------------------------------------------------------


def _talkers(dossier: Dossier) -> dict[str, Any]:
    review = dossier.review
    units = review.scene.units
    locale = Locale.of(review.scene)
    rows = []
    for head in review.heads:
        note: str = head.reason or ""
        if head.sight == "blocked":
            note = f"{note}; " if note else ""
            note += f"sight blocked by {sight_words.thing(str(head.blocked_by), review.scene, locale)}"
        rows.append(
            [
                head.id,
                head.posture,
                between(head.mouth_range_m, units),
                head.array if head.sector is None else f"{head.array}, sector {head.sector}",
                f"{head.depression_deg:.1f}°",
                length(head.slant_m, units),
                signed(head.off_centre_deg),
                _centimetres(head.margin_m, units),
                head.state,
                note,
            ]
        )
    levels = None
    if review.speech:
        acoustics = review.scene.acoustics
        assert acoustics is not None
        given = [f"{acoustics.effort} vocal effort"]
        if acoustics.noise_dBA is not None:
            given.append(f"{acoustics.noise_dBA:g} dB(A) of background noise")
        if acoustics.reverberation_s is not None:
            given.append(f"{acoustics.reverberation_s:g} s of reverberation")
        levels = {
            "text": f"An estimate for {listed(given)}, from the inverse-square law and statistical acoustics; "
            "no promise of what is heard.",
            "head": ["Talker", "Array", "Level, dB(A)", "Over noise, dB", "Direct to reverberant, dB"],
            "rows": [
                [
                    line.head,
                    line.array,
                    f"{line.level_dBA:.1f}",
                    "–" if line.to_noise_dB is None else f"{line.to_noise_dB:.1f}",
                    "–" if line.to_reverberant_dB is None else _signed_number(line.to_reverberant_dB),
                ]
                for line in review.speech
            ],
        }
    return {
        "text": "Depression, slant and off-centre are for the middle of the mouth's range; margin and state for "
        "all of it, leaning included. Margin: how far the array or the mouth may move before the talker is lost.",
        "head": [
            "Talker",
            "Posture",
            "Mouth",
            "Array",
            "Depression",
            "Slant",
            "Off-centre",
            "Margin",
            "State",
        ],
        "rows": rows,
        "levels": levels,
    }


def _centimetres(metres: float, units: str) -> str:
    """A signed margin: rounded down, so that what is told holds."""
    if metres >= 0:
        return whole_down(metres, units)
    return f"−{words.shortfall(-metres, units)}"


def _signed_number(value: float) -> str:
    shown = f"{abs(value):.1f}"
    return f"−{shown}" if value < 0 and float(shown) else f"+{shown}"


def _heights(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene, review = dossier.scene, dossier.review
    units = scene.units
    practice = dossier.practice
    text = []
    for array in review.arrays:
        if array.mean_off_centre_deg is None:
            continue
        sentence = (
            f"{array.id}: seen from its acoustic centre its talkers lie "
            f"{signed(array.mean_off_centre_deg)} from the middle of the band on average."
        )
        if array.covered_interval_m is not None:
            low, high = array.covered_interval_m
            sentence += (
                f" Staying where it is on plan and in this band, it covers those it covers now at heights from "
                f"{length(low, units)} to {length(high, units)}; it hangs at {length(array.height_m, units)}."
            )
        text.append(sentence)
    text.append(
        "Common practice (no source) aims the middle of the band at the talkers and keeps them 1 to 3 m away: here "
        f"{practice['within_1_to_3_m']} of {practice['heads']} are within that, at "
        f"{length(practice['mean_slant_m'], units)} on average."
    )
    drawings, rows = [], []
    for number, row in enumerate(dossier.heights):
        one = _drawing(dossier, "heights", (wide_mm, 118.0), number)
        drawings.append(
            {
                "drawing": one["drawing"],
                "caption": f"Heights and bands of {row.id}, {one['scale']}: every talker at the true range "
                "from the array's axis. Full bar: heights that cover all it serves; open bar: reach all while upright.",
            }
        )
        for band in row.bands:
            rows.append(
                [
                    row.id,
                    f"{band.name}, {band.low_deg:g}° to {band.high_deg:g}°"
                    + (" *" if band.name == row.today_band else ""),
                    "none" if band.covered_interval_m is None else between(band.covered_interval_m, units),
                    "–" if band.best_m is None else length(band.best_m, units),
                    "–" if band.best_margin_m is None else _centimetres(band.best_margin_m, units),
                    "–" if band.mean_off_centre_deg is None else signed(band.mean_off_centre_deg),
                    _limits(band),
                ]
            )
    return {
        "text": text,
        "drawings": drawings,
        "head": [
            "Array",
            "Band (* as placed)",
            "Covers all",
            "Best height",
            "Margin there",
            "Mean off-centre",
            "Limited by",
        ],
        "rows": rows,
    }


def _limits(band: BandHeights) -> str:
    """Who limits a band's heights from below and above, or who leaves none."""
    if band.conflict and band.covered_interval_m is None:
        return in_conflict(band)
    below, above = band.limited_by
    told = [f"{id} from {side}" for id, side in ((below, "below"), (above, "above")) if id]
    return "; ".join(told) or "floor and ceiling"


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
                (clearance.state, text.state),
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
        "text": [f"{clearance_words.summary(review)} {ADVICE}"],
        "head": ["Array", "Against", "Rule", "Required", "Actual", "State", "Source"],
        "rows": rows,
        "changed": changed,
        "sources": list(sources),
    }


def _sight(dossier: Dossier) -> dict[str, Any]:
    review = dossier.review
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
        f"{words.counted(len(review.sightlines), 'line')} of sight checked ({listed(counted)}): "
        + ("none is blocked." if not blocked else f"{len(blocked)} blocked.")
        if review.sightlines
        else "No lines of sight to check."
    ]
    rows = [[text.what, f"{text.advice} {text.default}".strip()] for text in sight_words.findings(review)]
    return {"text": text, "rows": rows}


# ---- installation -------------------------------------------------------------------------------------------


def _tee(row: ScheduleRow, locale: Locale) -> list[str]:
    """What there is to say of the tile that an array hangs from, or lies in."""
    return [] if row.tee is None else [clearance_words.note(row.tee, locale)]


def _install(dossier: Dossier, wide_mm: float) -> dict[str, Any]:
    scene = dossier.scene
    units = scene.units
    ceiling = _drawing(dossier, "ceiling", (wide_mm, 122.0))
    rows = []
    for row in dossier.schedule:
        left = [
            ("Profile", row.profile),
            ("x", f"{length(row.x_m, units)} from wall {row.x_from}"),
            ("y", f"{length(row.y_m, units)} from wall {row.y_from}"),
            (
                "Tile",
                "–" if row.tile is None else "; ".join([row.tile, *_tee(row, Locale.of(scene))]),
            ),
            ("Finished ceiling", length(row.ceiling_m, units)),
            (
                "Underside",
                f"{length(row.underside_m, units)} above floor (acoustic centre {length(row.centre_m, units)})",
            ),
            ("Drop", f"{length(row.drop_m, units)} to the acoustic centre"),
            ("Turn", f"{row.turn_deg:g}°, sector 1, anticlockwise from x"),
            ("Band", f"{row.band}, {row.low_deg:g}° to {row.high_deg:g}°"),
            ("Mass", "not told" if row.mass_kg is None else f"{row.mass_kg:g} kg"),
        ]
        right = [
            ("Cable", "–" if row.cable_m is None else
             f"{length(row.cable_m, units)} box to centre, {length(row.spare_m or 0.0, units)} spare included"),
            ("Box", row.box),
            ("Fixing", row.fixing),
            ("Holds the box", row.box_retention),
            ("Holds the array", row.array_retention),
            ("Strain relief", row.strain_relief),
            ("May be off by", _tolerance(row.tolerance_cm, units)),
            (f"Left at {row.level_deg:g}° tilt", _tolerance(row.level_left_cm, units)),
            ("With all rules", _tolerance(row.clear_cm, units)),
        ]  # fmt: skip
        rows.append({"title": row.tag, "left": left, "right": right})
    return {
        "drawing": ceiling["drawing"],
        "caption": f"Reflected ceiling plan, {ceiling['scale']}, the same way round as the plan. Hatched in "
        "red: keep-outs; in green: where the array may hang at its height.",
        "schedule": rows,
        "steps": [(step.number, step.title, step.text) for step in dossier.steps],
        "fill": {
            "columns": ["auto", "1fr", "1fr", "1fr", "1fr", "1fr", "1fr"],
            "head": ["Array", "x", "y", "Underside", "Level within", "Date", "Measured by"],
            "rows": [[row.tag, "", "", "", "", "", ""] for row in dossier.schedule],
            "note": "Measure square from the walls named and from the finished floor to the underside. Outside the "
            "tolerance: set it right or tell the designer.",
        },
    }


def _tolerance(centimetres: int | None, units: str) -> str:
    return "–" if centimetres is None else whole_down(centimetres / 100, units)


# ---- what it rests on -----------------------------------------------------------------------------------------


def _rests(dossier: Dossier, drawn: Sheets) -> dict[str, Any]:
    scene = dossier.scene
    assumptions = [*scene.people_sources]
    assumptions.append(
        "A talker is covered when the whole range of mouth heights, leaning by the sway included, lies inside the "
        "array's band and reach; bands and reach are the profile's, from its data sheet, taken as sharp edges."
    )
    guessed = [device.id for device in scene.overhead if not device.size.own]
    if guessed:
        assumptions.append(f"Sizes of {listed(guessed, 8)} are defaults of their kinds: the spec gives none.")
    assumptions.append(
        "Walls, floor and structure are drawn with a thickness of our own; door swings and chairs indicate."
    )
    if unset := lettering.unset(scene):
        assumptions.append(unset)
    if scene.source.file:
        assumptions.append(f"Made from {Path(scene.source.file).name}, SHA-256 {scene.source.sha256}.")
    return {
        "assumptions": [plain(text) for text in assumptions],
        "cautions": [(c.title, c.text, c.defers_to, c.sureness) for c in dossier.cautions],
        "closing": "Local codes, the authority having jurisdiction and licensed designers decide.",
        "sheets": {
            "text": "The sheets follow, true to scale when printed at 100 %. Heights and bands are shown in this "
            "document; their sheet is in the set of drawings.",
            "rows": [
                (sheet.number, sheet.title, f"{sheet.scale_text} at {drawn.paper}") for sheet in drawn.sheets
            ],
        },
    }
