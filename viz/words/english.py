"""Every message in English, British spelling, by name. A pair: for a count of one, and for any other count.

Names go by topic; what follows the point is often a name that a finding carries (`reason.too far`), so
that each has its message. Fields are texts that `Locale` or a file's author wrote, and counts.
"""

from __future__ import annotations

from typing import Final

from viz.words.english_cards import AS_BUILT, CARDS
from viz.words.english_codes import CODES
from viz.words.english_commands import COMMANDS
from viz.words.english_compare import COMPARE
from viz.words.english_hang import HANG
from viz.words.english_mistakes import MISTAKES
from viz.words.english_models import MODELS
from viz.words.english_page import PAGE
from viz.words.english_placement import PLACEMENT
from viz.words.english_projects import PROJECTS
from viz.words.english_refusals import REFUSALS
from viz.words.english_report import REPORT
from viz.words.english_review import REVIEW
from viz.words.english_sheets import SHEETS
from viz.words.english_site import SITE
from viz.words.english_sound import SOUND
from viz.words.english_start import START

MESSAGES: Final[dict[str, str | tuple[str, str]]] = {
    # ---- lists and counts
    "list.and": "{first} and {last}",
    "list.or": "{first} or {last}",
    "list.more": "{first} and {more} more",
    "count.talker": ("{count} talker", "{count} talkers"),
    "count.of a kind": "{count} {kind}",
    "count.talkers covered": "talkers covered",
    "count.standing": "{count} {standing}",
    "count.array": ("{count} array", "{count} arrays"),
    "count.clearance": ("{count} clearance", "{count} clearances"),
    "count.line": ("{count} line", "{count} lines"),
    "count.room": ("{count} room", "{count} rooms"),
    "count.position": ("{count} position", "{count} positions"),
    "of": "{part} of {whole}",
    "place": "{x}, {y}",
    "band": "{name} {edges}",
    # ---- columns of tables
    "column.actual": "Actual",
    "column.against": "Item",
    "column.item and rule": "Item and rule",
    "column.angle": "Angle down",
    "column.array": "Array",
    "column.band": "Band",
    "column.best": "Best centre",
    "column.allowed": "Allowed heights",
    "column.distance": "Distance",
    "column.drop": "Drop",
    "column.from centre": "From centre",
    "column.height": "Acoustic centre",
    "column.margin": "Margin",
    "column.mouth": "Mouth",
    "column.people": "People",
    "column.posture": "Posture",
    "column.required": "Required",
    "column.rule": "Rule",
    "column.serves": "Serves",
    "column.state": "State",
    "column.talker": "Talker",
    "column.x": "x",
    "column.why": "Why",
    "column.y": "y",
    "column.what": "What",
    "column.id": "Id",
    "column.which": "Which",
    "column.before": "Before",
    "column.now": "Now",
    "column.no.": "No.",
    "column.room": "Room",
    "column.area": "Area",
    "column.worst at": "Worst at",
    "column.ceiling": "Ceiling",
    "column.in it": "In it",
    "column.guessed": "Guessed",
    # ---- verdict
    "verdict.none": "No verdict yet",
    "verdict.pass": "Pass",
    "verdict.caution": "Caution",
    "verdict.fail": "Fail",
    "whole": "{verdict}. {sentences}",
    "state.covered": "covered",
    "state.marginal": "upright only",
    "state.blocked": "blocked",
    "state.missed": "not covered",
    "posture.seated": "seated",
    "posture.standing": "standing",
    "mark.covered": "●",
    "mark.marginal": "○",
    "mark.blocked": "◆",
    "mark.missed": "×",
    "idle": (
        "{arrays} has no talkers: another array is better for each of them. Leave it out or move it.",
        "{arrays} have no talkers: other arrays are better for each of them. Leave them out or move them.",
    ),
    "wall name": (
        "{things} has the name of a wall. Plan and schedule measure from walls, so give it another id.",
        "{things} have the names of walls. Plan and schedule measure from walls, so give them other ids.",
    ),
    "wall name.thing": "the {kind} {id}",
    "rule change.off": "Rule {number}, {title}, is switched off: {reason}.",
    "rule change.value": "Rule {number}, {title}, asks for {value}: {reason}.",
    # ---- arrays
    "array.hangs": "{height} above floor, {drop} below ceiling",
    "array.flush": "flush with the ceiling",
    "array.caption": "{array}  acoustic centre {hangs}, band {band}",
    "array.caption, flush": "{array}  {height} above floor, flush with the ceiling, band {band}",
    # ---- the room in three dimensions
    "stage.reached.seated": "coverage at seated mouth height ({height})",
    "stage.reached.standing": "coverage at standing mouth height ({height})",
    "stage.band": "elevation band",
    "stage.orientation": "orientation mark (0°)",
    "stage.grid": "lay-in grid",
    "stage.blocked": "blocked sight",
    "stage.blocker": "what blocks it",
    "stage.sight.array": "sight, array",
    "stage.sight.camera": "sight, camera",
    "stage.sight.display": "sight, display",
    "stage.region": "the array may hang here, if level",
    "stage.region, unchecked": "the array may hang here, if level ({things} not checked)",
    "stage.keep out": "keep clear of devices",
    "stage.all arrays": "all {arrays} arrays",
    "model.with ceiling": "{room}, with its ceiling",
    "model.ceiling": "{room}, ceiling",
    "model.head": "{room}, made by overtable; metres, z up",
    "model.tile ceiling": "Suspended tile ceiling",
    "model.plaster ceiling": "Plaster ceiling",
    "stage.array": "{array} · centre {height}",
    # ---- pictures
    "view.corner": "From a corner",
    "view.plan": "Plan",
    "view.map": "Anybody {posture}, mouth {mouth}; lines of sight not checked",
    "view.ceiling": "Reflected ceiling plan",
    "view.long": "Long section",
    "view.cross": "Cross section",
    "view.array": "From above the array",
    "view.camera": "From the camera",
    "view.seat": "From a seat",
    "view.free": "As turned by hand",
    "view of": "{view} · {whose}",
    "view from": "{view}, from {height} above floor",
    "picture.signs": "{count} {state}",
    "picture.signs, some": "{count} of {all} {state} shown",
    "picture.positions, some": "{state}: {count} of {all} positions shown",
    "picture.scale": "1:{scale} at {dpi} dpi",
    "picture.talkers": "{state}: {talkers} ({all} positions)",
    "picture.talkers, none": "{state}: nobody throughout ({all} positions)",
    # ---- report
    "report.areas": (
        "Anybody may be anywhere in an area, at any mouth height of the posture. One array answers for a place; the "
        "margin is the least in the area. Lines of sight into areas are not checked."
    ),
    "report.talkers": (
        "Angle down, distance and from centre are for the middle of the range of mouth heights; margin and state for "
        "all of it, leaning included. Margin: how far the array, or the mouth beyond leaning, may move before the "
        "talker leaves the listening zone."
    ),
    # ---- live
    "live.none allowed": "No position is allowed here: every one breaks a rule of the room or of the ceiling.",
    "live.conflict": "{because} The least bad position is shown.",
    "live.proven": "Proven best by this aim, then rounded to what can be set out. Least margin {margin}. {note}",
    "live.open": "The best position found. It is not proven to be the best. Least margin {margin}. {note}",
    # ---- window
    "window.step keys": "Up, Down: {step}, with Shift {more}",
    "window.write": "{array}: acoustic centre {height} above floor, band {band}",
    "window.write, flush": "{array}: band {band}",
    # ---- diagrams
    "diagram.title": "Heights and bands of {array}, {scale}",
    **REVIEW,
    **MODELS,
    **HANG,
    **SITE,
    **SOUND,
    **START,
    **MISTAKES,
    **PLACEMENT,
    **COMPARE,
    **PAGE,
    **REPORT,
    **SHEETS,
    **CARDS,
    **AS_BUILT,
    **CODES,
    **COMMANDS,
    **PROJECTS,
    **REFUSALS,
}
