"""Messages of the sheets in English: titles, notes, legends, what dimensions measure: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

SHEETS: Final[dict[str, str | tuple[str, str]]] = {
    # ---- sheets: titles, what a sheet shows, notes
    "sheet.note.metric": (
        "Millimetres, to finished faces and above finished floor; each chain is rounded to add up. Do not scale."
    ),
    "sheet.note.imperial": (
        "Feet and inches to 1/16, to finished faces and above finished floor; each chain is rounded to add up. "
        "Do not scale."
    ),
    "sheet.note.diagram": "Heights of the acoustic centre above finished floor.",
    "sheet.note.walls": "Walls, floor and structure: thickness indicative.",
    "sheet.note.wall names": "W1 is wall 0 of the file, W2 wall 1, …",
    "sheet.note.chairs": "Chairs and door swings indicative.",
    "sheet.note.not mirrored": "Seen as the floor plan, not mirrored.",
    "sheet.note.projected": "Mouths are projected; true angles: see heights and bands.",
    "sheet.note.true range": "Each talker at the true range from the array's axis: angles are true.",
    "sheet.note.other bands": "Other bands at their best allowed height.",
    "sheet.plan": "Floor plan",
    "sheet.plan.about": (
        "Floor plan of {room} with tables, {talkers} talkers by state, {arrays} and the area each covers at"
        " mouth height."
    ),
    "sheet.plan.about, first look": "Floor plan of {room} with tables and {talkers} talkers.",
    "sheet.ceiling.about, first look": (
        "Reflected ceiling plan of {room}, the same way round as the floor plan: {devices} overhead devices."
    ),
    "sheet.ceiling.about": (
        "Reflected ceiling plan of {room}, the same way round as the floor plan: {devices} overhead "
        "devices, keep-outs, where {arrays} may hang, and its dimensions."
    ),
    "sheet.section.about": "{title} of {room}: ceiling, suspension, band and mouths with their heights.",
    "sheet.heights": "Heights and bands of {array}{more}",
    "sheet.heights.about": (
        "Heights and bands of {array}: for each band the allowed heights of the acoustic centre,"
        " drawn to scale in the plane through its axis."
    ),
    # ---- heights and bands, sections
    "sheet.array at": "{array} at {place}",
    "sheet.bars": (
        "Bars: allowed heights, full where everyone is covered, outlined where some are only upright; hatched: ruled "
        "out by a rule or a line of sight; a tick at the best allowed height."
    ),
    "sheet.current": "current",
    "sheet.underside": "underside {height}",
    "sheet.too large": "A room of {size} does not fit on {paper} at {scale}. Use a larger paper: {papers}.",
    "sheet.section": "{kind} {letter}-{letter} through {arrays}",
    # ---- title block, legend, status
    "sheet.set": "{room}: sheets",
    "sheet.set.about": "Dimensioned sheets",
    "sheet.purpose": "For coordination, not for construction",
    "sheet.cautions": "Cautions",
    "sheet.legend": "Legend",
    "sheet.scale": "Scale",
    "sheet.scale at": "{scale} at {paper}",
    "sheet.no scale": "not to scale",
    "sheet.date": "Date",
    "sheet.revision": "Rev.",
    "sheet.checked": "Checked",
    "sheet.drawn": "Drawn",
    "sheet.change": "Change",
    "sheet.this issue": "This issue",
    "sheet.north": "N",
    # ---- legends
    "sheet.legend.array": "array, {profile} ({mount})",
    "sheet.legend.area": "area: anybody anywhere",
    "sheet.legend.seated": "band at seated mouths",
    "sheet.legend.standing": "band at standing mouths",
    "sheet.legend.reach": "reach at seated mouths",
    "sheet.legend.orientation": "orientation mark (0°)",
    "sheet.legend.camera": "camera",
    "sheet.legend.display": "display",
    "sheet.legend.grid": "ceiling grid above",
    "sheet.legend.edge": "edge of a ceiling part",
    "sheet.legend.slope": "ceiling rises this way",
    "sheet.legend.region": "centre may be here, if level",
    "sheet.note.region unchecked": "The area where it may hang takes no account of {things} not checked.",
    "sheet.legend.clash": "too close, or below advice",
    "sheet.legend.keep-out.body": "no part of a body here",
    "sheet.legend.keep-out.cable": "no cable or box here",
    "sheet.legend.figures": "a / b R",
    "sheet.legend.clearance": "a actual, b required by rule R",
    "sheet.legend.cloud": "see the note of that number",
    "sheet.legend.tile": "tile of an array",
    "sheet.legend.table": "table below",
    "sheet.legend.band": "band, within reach",
    "sheet.legend.mouths": "mouths differ in height",
    "sheet.legend.safety": "secondary support",
    "sheet.legend.swing": "as far as it may swing",
    "sheet.swing": "may swing {angle} any way",
    "sheet.legend.best": "allowed, all covered",
    "sheet.legend.upright": "allowed, some upright only",
    "sheet.legend.ruled out": "ruled out by a rule or sight",
    "sheet.legend.tick": "the best allowed height",
    "sheet.legend.hangs": "where it hangs",
    "sheet.legend.current band": "the current band",
    "sheet.legend.other band": "another band at its best",
    "sheet.legend.headroom": "headroom, not over tables",
    "sheet.headroom": "headroom, where people walk",
    # ---- tables and keyed notes of a ceiling plan
    "sheet.key": "note {numbers}",
    "sheet.keyed": "{number}  {note}",
    "sheet.keyed.title": "Notes",
    "sheet.table.rules": "Rules, worst of each",
    "sheet.table.devices": "Devices",
    "sheet.table.and more": "{thing} +{more}",
    "sheet.table.more": "and {more} more",
    "sheet.item.wall": "walls",
    "sheet.item.floor": "floor",
    "sheet.item.grid": "grid",
    "sheet.item.structure": "structure",
    "sheet.item.ceiling": "ceiling",
    "sheet.table.number": "No.",
    "sheet.table.tag": "Tag",
    "sheet.table.kind": "Kind",
    "sheet.table.from": "from {wall}",
    "sheet.table.lowest": "Lowest",
    "sheet.ceiling tag.grid": "{part}, {pitch}",
    "sheet.ceiling height": "height {height}",
    "sheet.ceiling height, void": "height {height}, void {void}",
    # ---- what a dimension measures, and from what to what
    "sheet.dimension": "{first} to {second}",
    "sheet.along x": "room along x",
    "sheet.along y": "room along y",
    "sheet.above floor": "{array} underside above floor",
    "sheet.centre above floor": "{array} acoustic centre above floor",
    "sheet.drop": "{array} drop",
    "sheet.to.wall": "wall",
    "sheet.to.near edge": "{table} near edge",
    "sheet.to.far edge": "{table} far edge",
    "sheet.to.grid line": "grid line near {array}",
    "sheet.to.floor": "finished floor",
    "sheet.to.table": "{table} top",
    "sheet.to.lowest mouth": "lowest {posture} mouth",
    "sheet.to.highest mouth": "highest {posture} mouth",
    "sheet.to.underside": "{array} underside",
    "sheet.to.centre": "{array} centre",
    "sheet.to.ceiling": "finished ceiling",
    "sheet.to.structure": "structure",
    "sheet.to.step": "edge between {first} and {second}",
    # ---- levels beside a section
    "sheet.level.underside": "{arrays} underside",
    "sheet.level.centre": "{arrays} acoustic centre",
    "sheet.level.floor": "floor",
    "sheet.level.ceiling": "ceiling",
    "sheet.part": "{part} {kind}",
    "sheet.ceiling.suspended": "suspended",
    "sheet.ceiling.open": "open",
    "sheet.ceiling.hard": "hard",
    "sheet.from to": "{low} to {high}",
    "sheet.level.structure": "structure",
    "sheet.level.table": "table",
    "sheet.level.mouths": "mouths",
    # ---- what changed
    "sheet.changes": "{room}: changes{between}",
    "sheet.changes.about": "Clouded plans of what changed",
    "sheet.changes.between": "from revision {before} to {after}",
    "sheet.changes.floor plan": "floor plan",
    "sheet.changes.ceiling plan": "ceiling plan",
    "sheet.changes.title": "Changes, {plan}",
    "sheet.changes.table": "{title}: table",
    "sheet.changes.caption": "What changed{between}",
    "sheet.changes.verdicts": "Verdict before: {before}. Now: {now}.",
    "sheet.changes.row": "{what}: {before} before, {now} now",
    "sheet.changes.clouds": ("{count} cloud round what changed", "{count} clouds round what changed"),
    "sheet.changes.plan about": "{plan} of {room} with {clouds}{between}: {rows}.",
    "sheet.changes.table about": "Table of what changed in {room}{between}: {rows}.",
    "sheet.changes.note.places": (
        "Places on plan are x, y from the mark 0, 0. Dimensions: see this revision's own sheets. Do not scale."
    ),
    "sheet.changes.note.numbers": "Numbers are those of the clouds on the plan before this sheet.",
    "sheet.changes.note.table after": "{verdicts} Table of changes: on the sheet after this one.",
    "sheet.changes.note.other plan": "Other changes: see the other plan.",
    "sheet.changes.legend.cloud": "what changed",
    "sheet.changes.legend.number": "its number in the table",
    "sheet.changes.legend.removed": "removed, where it was",
    "sheet.changes.legend.before": "where it was before",
    "sheet.removed": "{id} removed",
    # ---- what does not fit
    "sheet.long legend": "a legend of {lines} lines does not fit on {paper}; {way_out}",
    "sheet.high row": "a row of the table of changes is higher than the sheet; allowed is a larger paper",
    "sheet.way out.figure": "allowed is more room",
    "sheet.way out.larger": "allowed is a larger paper: {papers}",
    "sheet.way out.none": "there is no larger paper; write it as two rooms",
    # ---- letters and their typeface
    "typeface.missing": (
        "the font {file} is not in {folder}/ of the installed package: sheets and report cannot be lettered without "
        "it; install overtable again"
    ),
    "typeface.unreadable": (
        "the font {file} of the installed package cannot be read ({why}): sheets and report cannot be lettered "
        "without it; install overtable again"
    ),
    "typeface.other": "the text {text} is set in {font}; allowed are {files}, which come with the package",
    "typeface.none": "no font",
    "typeface.shapeless": "the text {text} came out without a single shape",
    "typeface.unset": (
        "Letters that the typeface of the drawings does not have ({codes}) are drawn as {mark}: it has Latin, Greek "
        "and Cyrillic ones. Page, tables and data keep them as they are."
    ),
    # ---- an office's own layers
    "layers.no file": "{path} is no file; give a YAML file of layers",
    "layers.not text": "{path} is not UTF-8 text (byte {byte}); save it as UTF-8",
    "layers.unreadable": "{path} cannot be read: {why}",
    "layers.not yaml": "layers file: this is not YAML ({why})",
    "layers.no mapping": "layers file: allowed is a mapping of what is drawn to its layer, as in layers.yaml",
    "layers.unknown": "layers file, {role}: allowed is one of {roles}",
    "layers.keys": "layers file, {role}: {entry}; allowed are layer, colour, weight, line, about",
    "layers.shared": (
        "layers file, {role} and {other}: both are on {layer} with different colour, weight or line; allowed is the "
        "same for both, or a layer each"
    ),
    "layers.name": "layers file, {role}: layer {layer}; allowed are letters, digits, -, _ and $",
    "layers.colour": "layers file, {role}: colour {colour}; allowed is #RRGGBB",
    "layers.weight": "layers file, {role}: weight {weight}; allowed is one of {weights}",
    "layers.line": "layers file, {role}: line {line}; allowed is one of {lines}",
}
