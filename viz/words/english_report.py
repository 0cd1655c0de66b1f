"""Messages of the report and of sheets in English: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

REPORT: Final[dict[str, str | tuple[str, str]]] = {
    "report.title": "{room}: microphone array placement",
    "report.keywords": "microphone array, placement, meeting room",
    "report.revision": "Revision {revision}",
    "report.undated": "undated",
    "report.picture": "{room} from the {view}, with array, band and talkers",
    "report.fact.client": "Client",
    "report.fact.number": "Number",
    "report.fact.revision": "Revision",
    "report.fact.date": "Date",
    "report.fact.drawn by": "Drawn by",
    "report.fact.checked by": "Checked by",
    "report.fact.purpose": "Purpose",
    "report.fact.from": "From",
    "report.fact.codes": "Codes",
    # the two pages for the client
    "client.title": "{room}: what was found",
    "client.subtitle": "Summary for the client, {day}",
    "client.heading.where": "Who is where",
    "client.heading.helps": "What would help",
    "client.heading.signs": "Who signs what",
    "report.subtitle": "Placement of ceiling-hung microphone arrays",
    "report.plan": (
        "Plan, {scale}, of a room of {area} under {height}. Dot: covered, ring: upright only, diamond: "
        "blocked, cross: not covered. Shaded: the band at seated mouths."
    ),
    "column.profile": "Profile",
    "column.hang point": "Hang point",
    "column.underside": "Underside",
    "column.covers": "Covers",
    "column.level": "Level, dB(A)",
    "column.over noise": "Over noise, dB",
    "column.direct": "Direct to reverberant, dB",
    "report.heights": (
        "Heights and bands of {array}, {scale}: every talker at the true range from the array's axis. Full "
        "bar: heights that cover everyone; outlined bar: only while upright."
    ),
    "report.current band": "{band} *",
    "column.band, current": "Band (* current)",
    "column.margin there": "Margin there",
    "column.from centre, mean": "From centre, mean",
    "column.limited by": "Coverage",
    "report.rule, part": "{title}, {part}",
    "report.not applied": "not applied",
    "column.source": "Source",
    "report.ceiling": (
        "Reflected ceiling plan, {scale}, the same way round as the plan. Hatched in red: keep-outs; in "
        "green: where the array may hang at its height."
    ),
    "report.made from": "Made from {file}, SHA-256 {digest}.",
    "report.sheets": (
        "The sheets follow, true to scale when printed at 100 %. Heights and bands are shown in this "
        "document; their sheet is in the set of drawings."
    ),
    "report.scale": "{scale} at {paper}",
    "report.tile.underside": "underside above floor",
    "report.tile.arrays": "arrays",
    "report.tile.short": "too close",
    "report.tile.advised": "{count} below advice",
    "report.tile.unjudged": "{count} not checked",
    "report.tile.blocked": "lines of sight blocked",
    "report.speech": (
        "An estimate for {given}, from the inverse-square law and statistical acoustics; not a guarantee of"
        " intelligibility."
    ),
    "report.speech.effort": "{effort} vocal effort",
    "report.speech.noise": "{level} dB(A) of background noise",
    "report.speech.reverberation": "{seconds} s of reverberation",
    "report.mean": "{array}: its talkers are {angle} from the middle of the band on average.",
    "report.interval": (
        "At this position on plan and in this band, nothing fails at {heights}. Its acoustic centre is at {height}."
    ),
    "report.interval, none": (
        "At this position on plan and in this band, something fails at every height. Its acoustic centre is at {height}."
    ),
    "criterion": "Design criterion (set by the designer): {asked}. {met} of {talkers} meet it.",
    "criterion.distance": "talkers {near} to {far} from the array",
    "criterion.angle": "talkers within {most} of the band centre",
    "report.sight.array": "{count} from arrays to mouths",
    "report.sight.camera": "{count} from cameras to faces",
    "report.sight.display": "{count} from seats to displays",
    "report.sight": "{lines} of sight checked ({kinds}): {blocked}.",
    "report.sight.none blocked": "none is blocked",
    "report.sight.some blocked": "{count} blocked",
    "report.sight.none": "No lines of sight to check.",
    "hang point": "{x} from {x_wall}, {y} from {y_wall}",
    "report.heading.glance": "At a glance",
    "report.heading.sign-off": "Sign-off",
    "report.heading.placement": "Placement and tolerance",
    "report.heading.aims": "The aims side by side",
    "report.heading.wishes": "What was wished for",
    "report.heading.conflict": "Why not everyone is covered",
    "report.heading.talkers": "Each talker",
    "report.heading.areas": "Areas",
    "report.heading.speech": "Speech at the array",
    "report.heading.heights": "Why this height and this band",
    "report.heading.ceiling": "Ceiling: clearances and lines of sight",
    "report.heading.rule changes": "Rules changed in this room",
    "report.heading.sightlines": "Lines of sight",
    "report.heading.sources": "Where the values come from",
    "report.heading.installation": "Installation",
    "report.heading.steps": "Steps",
    "report.heading.installed": "As installed",
    "report.heading.seats": "Heard from every seat",
    "report.heading.rests": "Assumptions and sources",
    "report.heading.assumptions": "Assumptions",
    "report.heading.cautions": "Cautions",
    "report.heading.sheets": "Sheets",
    "report.heading.of": "of",
    "report.schedule": "Schedule: {array}",
    "column.who": "Who",
    "column.signs for": "Signs for",
    "column.open": "Open",
    "column.name": "Name",
    "column.date": "Date",
    "column.changed to": "Changed to",
    "column.reason given": "Reason given",
    "column.blocked": "Blocked",
    "column.what clears": "What would clear it",
    "column.sheet number": "Number",
    "column.sheet": "Sheet",
    "column.scale": "Scale",
}
