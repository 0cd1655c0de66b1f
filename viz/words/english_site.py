"""Messages of what is built and by whom: holds, sign-off, cautions, schedule and steps. By name, as in `english`."""

from __future__ import annotations

from typing import Final

from viz.words.english_people import PEOPLE

SITE: Final[dict[str, str | tuple[str, str]]] = {
    # ---- a room that fails, and what is open in any room
    "hold": "Not for installation: {reasons}",
    "hold, drawing": "HOLD: not for installation",
    "hold, word": "HOLD",
    "current": "Current:",
    "hold, missed": "{count} of {talkers} not covered",
    "hold, upright": "{missed}, {count} covered only upright",
    "open": "Open: {points}",
    "open point.layout": "fails in layout {things}",
    "open point.layout caution": "layouts with open points: {things}",
    "open point.blocked": "line to {things} blocked",
    "open point.short": "too close to {things}",
    "open point.area": "not all of {things} covered",
    "open point.area upright": "{things} covered only upright",
    "open point.marginal": "{things} covered only upright",
    "open point.advised": "closer than advised to {things}",
    "open point.tee": "{things} on a grid tee",
    "open point.unjudged": "{things} not checked",
    "open point.view": "view of {things} blocked",
    "open point.unsure": "{things} not measured",
    "open point.changed": "changed rule: {things}",
    "open point.no tolerance": "no installation tolerance at {things}",
    "open point.little tolerance": "installation tolerance at {things} is less than can be set out on site",
    "open point.flat wires": "wires of {things} too flat to carry: hang lower or from higher up",
    "open point.hangs short": "less than {value} to hang by at {things}",
    "open point.far structure": "structure {value} above the ceiling: check the file",
    "open point.overhead": "overhead load and secondary support",
    "open, who": "{points} ({who})",
    "thing.walls": "the walls",
    "thing.floor": "the floor (headroom)",
    "thing.grid": "the grid",
    "thing.structure": "the structure",
    "thing.ceiling": "the ceiling",
    "thing of a kind": "{kind} {id}",
    "kind.talker": ("talker", "talkers"),
    "kind.table": ("table", "tables"),
    "kind.array": ("array", "arrays"),
    "kind.obstacle": ("obstacle", "obstacles"),
    "kind.camera": ("camera", "cameras"),
    "kind.display": ("display", "displays"),
    "kind.door": ("door", "doors"),
    "kind.window": ("window", "windows"),
    "kind.opening": ("opening", "openings"),
    "kind.sprinkler": ("sprinkler", "sprinklers"),
    "kind.light": ("light", "lights"),
    "kind.supply diffuser": ("supply diffuser", "supply diffusers"),
    "kind.return grille": ("return grille", "return grilles"),
    "kind.smoke detector": ("smoke detector", "smoke detectors"),
    "kind.loudspeaker": ("loudspeaker", "loudspeakers"),
    "kind.projector": ("projector", "projectors"),
    "kind.beam": ("beam", "beams"),
    "kind.bulkhead": ("bulkhead", "bulkheads"),
    "kind.exit sign": ("exit sign", "exit signs"),
    "kind.emergency light": ("emergency light", "emergency lights"),
    "kind.strobe": ("alarm strobe", "alarm strobes"),
    "kind.sensor": ("sensor", "sensors"),
    "kind.access point": ("access point", "access points"),
    "kind.access panel": ("access panel", "access panels"),
    "kind.screen": ("screen", "screens"),
    "kind.track": ("track", "tracks"),
    "kind.fan": ("fan", "fans"),
    "kind.duct": ("duct", "ducts"),
    "kind.pipe": ("pipe", "pipes"),
    "kind.cable tray": ("cable tray", "cable trays"),
    "kind.ceiling part": ("ceiling part", "ceiling parts"),
    "kind.other": ("device", "devices"),
    # ---- sign-off
    "who.architect": "Architect",
    "who.fire": "Fire",
    "who.ceiling": "Ceiling",
    "who.structure": "Structure",
    "who.electrical": "Electrical",
    "who.client": "Client",
    "signs.architect": "positions and heights on the reflected ceiling plan",
    "signs.client": "who is covered",
    "signs.ceiling": "openings and fixings in the ceiling",
    "signs.no ceiling": "nothing: there is no ceiling below the structure",
    # ---- cautions: a title, its name within a line, the text, the code it defers to
    "caution.title.mass": "Mass not given",
    "caution.line.mass": "mass of {things}",
    "caution.text.mass": "The mass of {things} is not given. Get it from the manufacturer before choosing fixings.",
    "caution.code.mass": "structural fixing of overhead loads",
    "caution.title.structure": "Structure not given",
    "caution.line.structure": "height of the structure",
    "caution.text.structure": (
        "The file does not give the height of the structure. Measure it before choosing fixings and support lines."
    ),
    "caution.code.structure": "structural fixing of overhead loads",
    "caution.title.grid": "Ceiling grid not given",
    "caution.line.grid": "ceiling grid",
    "caution.text.grid": (
        "The file gives no ceiling grid, so hang points are not checked against its tees. Check each one on site."
    ),
    "caution.code.grid": "ASTM C635 and C636, suspended ceiling grids",
    "caution.title.safety cable": "Box without secondary support",
    "caution.line.safety cable": "secondary support of the box left out",
    "caution.text.safety cable": (
        "The file leaves out the safety cable of the box. Have that agreed in writing before installation."
    ),
    "caution.code.safety cable": "secondary suspension and safety bonds; no single clause found",
    "caution.title.sprinklers": "Sprinkler spray",
    "caution.line.sprinklers": "sprinklers",
    "caution.text.sprinklers": (
        "What hangs near a sprinkler can stop its spray. Ask the fire engineer before anything is hung near one. "
        "Only the sprinklers in the file ({things}) are checked, by the distances NFPA 13 requires of standard "
        "spray; list every sprinkler in the room. Other types and other standards require other distances."
    ),
    "caution.code.sprinklers": "NFPA 13 obstruction rules (8.6.5 up to 2016, 10.2.7 from 2019); EN 12845",
    "caution.title.no sprinklers": "Sprinklers",
    "caution.line.no sprinklers": "look for sprinklers",
    "caution.text.no sprinklers": (
        "No sprinklers are in the file: look for them. What hangs near a sprinkler can stop its spray. List every "
        "sprinkler in the room, or have the fire engineer confirm that there is none."
    ),
    "caution.code.no sprinklers": "NFPA 13 obstruction rules (8.6.5 up to 2016, 10.2.7 from 2019); EN 12845",
    "caution.title.detectors": "Smoke detectors",
    "caution.line.detectors": "smoke detectors",
    "caution.text.detectors": (
        "What hangs near a smoke detector can keep smoke from it. Only the detectors in the file ({things}) are "
        "checked: look for others."
    ),
    "caution.code.detectors": "NFPA 72 chapter 17; BS 5839-1",
    "caution.title.no detectors": "Smoke detectors",
    "caution.line.no detectors": "look for smoke detectors",
    "caution.text.no detectors": (
        "No smoke detectors are in the file: look for them. What hangs near a detector can keep smoke from it."
    ),
    "caution.code.no detectors": "NFPA 72 chapter 17; BS 5839-1",
    "caution.title.not listed": "Not in the file",
    "caution.line.not listed": "look for {things}",
    "caution.text.not listed": "The file lists no {things}: look for them, and list what is there.",
    "caution.code.not listed": "the architect's reflected ceiling plan",
    "caution.title.grid load": "Tiles and grid",
    "caution.line.grid load": "ceiling tiles and grid",
    "caution.text.grid load": (
        "Never hang from a tile. The ceiling manufacturer and local code decide what the grid may carry; a tile "
        "bridge carries the box only as far as they allow."
    ),
    "caution.code.grid load": "ASTM C635 and C636, suspended ceiling grids",
    "caution.title.plenum": "Ceiling void (plenum)",
    "caution.line.plenum": "ceiling void and cable ratings",
    "caution.text.plenum": (
        "If air moves through the ceiling void, boxes and cables in it must be rated for that, or enclosed."
    ),
    "caution.code.plenum": "NEC 300.22(C) and 800/725, IMC 602; UL 2043 is the usual test",
    "caution.title.fire rating": "Fire-rated ceiling",
    "caution.line.fire rating": "fire rating of the ceiling",
    "caution.text.fire rating": (
        "A fire-rated ceiling is rated as it was tested: no hole, box or bracket without a detail that keeps the "
        "rating."
    ),
    "caution.code.fire rating": "listings of fire-rated ceiling assemblies and their penetrations",
    "caution.title.fire protection": "Fire rating of the structure",
    "caution.line.fire protection": "fire rating of the structure",
    "caution.text.fire protection": (
        "Slab, roof and beams above may be fire-rated. Sprayed or boarded fire protection on them must stay whole: no "
        "drilling, scraping or clamping without a detail that keeps the rating."
    ),
    "caution.code.fire protection": "listings of fire-rated assemblies and their penetrations",
    "caution.title.asbestos": "Asbestos",
    "caution.line.asbestos": "asbestos",
    "caution.text.asbestos": (
        "Old tiles, coatings and linings can contain asbestos. See the building's asbestos register, or have a "
        "survey made, before anything is lifted, drilled or clamped."
    ),
    "caution.code.asbestos": "local rules on asbestos in buildings",
    "caution.title.coatings": "Asbestos and sprayed coatings",
    "caution.line.coatings": "asbestos and sprayed coatings",
    "caution.text.coatings": (
        "Coatings on exposed beams and slabs can contain asbestos. Have them identified before anything is drilled,"
        " scraped or clamped."
    ),
    "caution.code.coatings": "local rules on asbestos in buildings",
    "caution.title.load": "Overhead load",
    "caution.line.load": "overhead load",
    "caution.text.load": (
        "Whatever hangs over people must be carried by the structure, or by a fixing that a licensed designer has "
        "accepted for array, cable, box and bracket together."
    ),
    "caution.code.load": "structural fixing of overhead loads; no single clause found",
    "caution.title.secondary support": "Secondary support",
    "caution.line.secondary support": "secondary support",
    "caution.text.secondary support": (
        "Box and array each need secondary support: a line of its own to the structure that holds if the first "
        "support fails. A cable clamp or strain relief sets the height and protects the connector; it does not "
        "count as secondary support."
    ),
    "caution.code.secondary support": "secondary suspension and safety bonds; no single clause found",
    "caution.title.seismic": "Seismic restraint",
    "caution.line.seismic": "seismic restraint",
    "caution.text.seismic": (
        "In seismic areas what hangs may need bracing, or room to swing without hitting its neighbours, and the "
        "ceiling has rules of its own."
    ),
    "caution.code.seismic": (
        "ASCE 7 chapter 13 (13.1.4 exemptions, 13.4 anchorage, 13.5.6 suspended ceilings, 13.6 mechanical and "
        "electrical components); ASTM E580"
    ),
    "caution.title.electrical": "Electrical work",
    "caution.line.electrical": "electrical work",
    "caution.text.electrical": (
        "Cables above the ceiling need supports of their own: never laid on tiles, never tied to grid wires. Mains "
        "work is for licensed electricians."
    ),
    "caution.code.electrical": "NEC 300.11 (no support from ceiling grid wires)",
    "caution.title.height": "Work at height",
    "caution.line.height": "work at height",
    "caution.text.height": (
        "Hanging an array is work from a ladder or platform over furniture. Clear the table, keep people out from "
        "under the work, and tether tools."
    ),
    "caution.code.height": "local rules for work at height",
    "caution topics": "Before installation: {topics}. The design report has each in full.",
    "defers": "Defers to: {code}.",
    "defers, unchecked": "Defers to: {code}. Not checked against the printed standard.",
    "code.unchecked": "not checked against the printed standard",
    "code.none": "names no standard",
    "closing": "Local codes, the authority having jurisdiction and licensed designers decide.",
    "clearance advice": (
        "A clearance check is advice, never approval: local codes, the authority having jurisdiction and licensed "
        "designers decide."
    ),
    "advice, short": "This check is advice, never approval.",
    "for coordination": "For coordination only. The design report has the cautions.",
    # ---- schedule
    "label.profile": "Profile",
    "label.x": "x",
    "label.y": "y",
    "row.from wall": "{length} from wall {wall}",
    "label.tile": "Tile",
    "row.tile on tee": "{tile}; {tee}",
    "label.ceiling": "Finished ceiling",
    "label.underside": "Underside",
    "row.wall": "{start} to {end}",
    "row.ceiling part": "{height} (part {part})",
    "row.above floor": "{underside} above floor (acoustic centre {centre})",
    "label.drop": "Drop",
    "row.to centre": "{drop} from ceiling to acoustic centre",
    "label.turn": "Turn",
    "row.turned": "orientation mark at {turn}, anticlockwise from x",
    "label.band": "Band",
    "row.banded": "{band}, {edges} below horizontal",
    "label.mass": "Mass",
    "row.mass not given": "not given: get it before choosing fixings",
    "label.hang": "Hang point",
    "hang.tile bridge": (
        "fixed to the tile bridge, if bridge and ceiling may carry array and box together; else to the structure"
    ),
    "hang.structure": "fixed to the structure",
    "hang.under the ceiling": "fixed through the lining to what carries it",
    "label.level": "Level",
    "row.level": "within {level} of level",
    "label.cable": "Cable",
    "row.cable not known": (
        "not known: measure from the structure to the acoustic centre, and add {spare} (the file has no `structure`)"
    ),
    "row.cabled": "{cable} from box to acoustic centre, {spare} spare included",
    "label.box": "Box",
    "label.fixing": "Fixing",
    "label.box support": "Secondary support, box",
    "label.array support": "Secondary support, array",
    "label.relief": "Strain relief",
    "label.tolerance": "Installation tolerance",
    "box.tile bridge": "above the tile, on a tile bridge",
    "box.tile bridge, tile": "above tile {tile}, on a tile bridge",
    "box.structure": "on the structure",
    "box.structure, tile": "on the structure, above tile {tile}",
    "box.under the ceiling": "under the ceiling",
    "box.frame": "in the ceiling",
    "box.frame, tile": "in tile {tile}",
    "fixing.tile bridge": (
        "tile bridge across the grid as far as the ceiling manufacturer allows; the tile carries nothing"
    ),
    "fixing.structure": "to the structure",
    "fixing.structure, suspended": "to the structure; the cable passes the tile freely",
    "fixing.under the ceiling": "through the lining into what carries it",
    "fixing.frame": "its own frame, fixed to what carries the ceiling",
    "fixing.frame, suspended": "its own frame, on grid or structure; the tile carries nothing",
    "support.box.line": "safety cable from the box to the structure, pulled tight",
    "support.box.line, frame": "safety cable from the array's frame to the structure, pulled tight",
    "support.box.none": "none: the file leaves out the safety cable",
    "support.array.cable": "a line of its own from the body to the structure, independent of the hanging cable",
    "support.array.wires": "a line of its own from the body to the structure, independent of the hanging wires",
    "support.array.rod": "a line of its own from the body to the structure, independent of what it hangs by",
    "support.array.pole": "a line of its own from the body to the structure, independent of the pole",
    "support.array.frame": "a line of its own from the body to the structure",
    "relief.cable": "cable clamp at the set height, strain relief at the connector; neither counts as secondary support",
    "relief.wires": "wire grippers at the set height, strain relief on the cable; neither counts as secondary support",
    "relief.rod": "lock nuts at the set height, strain relief on the cable; neither counts as secondary support",
    "relief.pole": "locking screws at the set height, strain relief on the cable; neither counts as secondary support",
    "relief.frame": "strain relief on the cable at the connector",
    "relief.none": "none: the file leaves out the clamp",
    # ---- steps: a title and a text
    "step.title.hold": "Do not install",
    "step.text.hold": "{hold}. The design must be changed and issued again before anything is hung.",
    "step.title.issue": "Check the issue",
    "step.text.issue": "Check with the designer that this is the current issue ({issue}), and work from no other.",
    "issue.revision": "revision {revision}",
    "issue.revision and date": "revision {revision} of {date}",
    "issue.none": "it carries no revision",
    "step.title.sign-off": "Get sign-off",
    "step.text.sign-off": (
        "Do not start until {signatories} have signed the list of sign-offs. Clear the table and keep people out "
        "from under the work."
    ),
    "step title, arrays": "{title} ({arrays})",
    "step, open": "{text} {open}.",
    "step.title.mark": "Mark the place",
    "step.text.mark": (
        "Measure x square from wall {x_wall} and y square from wall {y_wall}, as printed on the plan, and mark each"
        " hang point on the ceiling. If what is there differs from the plan, stop and ask."
    ),
    "step.title.mark tile": "Mark the place",
    "step.text.mark tile": (
        "Measure x square from wall {x_wall} and y square from wall {y_wall}, as printed on the plan, and mark each"
        " hang point on the ceiling. Check it against the tile in the schedule. If the two differ, stop and ask."
    ),
    "step.title.void": "Check the void",
    "step.text.void": (
        "Lift the tile and its neighbour. Check that box, cable and support lines have a free way up to the "
        "structure, and that the void matches the drawings."
    ),
    "step.title.box on bridge": "Set the box",
    "step.text.box on bridge": (
        "Drill the tile for the cable, lay the tile bridge across the grid as far as the ceiling manufacturer "
        "allows, and fix the box to it. The tile carries nothing."
    ),
    "step.title.box under ceiling": "Set the box",
    "step.text.box under ceiling": (
        "Fix the box through the lining into what carries the ceiling, with fixings its designer has accepted."
    ),
    "step.title.box on structure": "Set the box",
    "step.text.box on structure": "Fix the box to the structure with fixings its designer has accepted.",
    "step.title.box above tile": "Set the box",
    "step.text.box above tile": (
        "Fix the box to the structure with fixings its designer has accepted, and drill the tile so that the cable "
        "passes freely."
    ),
    "step.title.secure box": "Secure the box",
    "step.text.secure box": (
        "Run its safety cable to the structure and pull it tight. It holds the box if the fixing fails."
    ),
    "step.title.unsecured box": "Secure the box",
    "step.text.unsecured box": (
        "The file leaves out a safety cable for the box. Have that agreed in writing before going on."
    ),
    "step.title.hang by cable": "Hang the array",
    "step.text.hang by cable": (
        "Feed the cable through, connect it with its strain relief, and lower the array to the underside in the "
        "schedule, measured from the finished floor. Set the clamp."
    ),
    "step.title.hang by wires": "Hang the array",
    "step.text.hang by wires": (
        "Cut the wires as the schedule says. "
        "Fix the hang point to what it names and bring the wires from the body together there. Set their "
        "grippers until the body is level and its underside at the height in the schedule, measured from the finished "
        "floor. Connect the cable with its strain relief and let it hang loose between the wires: it carries nothing."
    ),
    "step.title.hang by rod": "Hang the array",
    "step.text.hang by rod": (
        "Cut the rods as the schedule says. "
        "Set them plumb, with the middle between them on the mark, and look that none meets a tee. Bring the "
        "underside to the height in the schedule, measured from the finished floor, and tighten the lock nuts. Connect "
        "the cable with its strain relief: it carries nothing."
    ),
    "step.title.hang by pole": "Hang the array",
    "step.text.hang by pole": (
        "Fix the pole plumb on the mark, cut to the length in the schedule, and feed the cable through it. "
        "Bring the underside to the height in the "
        "schedule, measured from the finished floor, and tighten the locking screws. Connect the cable with its strain "
        "relief: it carries nothing."
    ),
    "step.title.secure array": "Secure the array",
    "step.text.secure array": (
        "Fit the array's secondary support to the structure, independent of what it hangs by. Clamps, grippers, lock "
        "nuts and strain relief do not count as secondary support."
    ),
    "step.title.level": "Turn and level",
    "step.text.level": (
        "Turn the orientation mark (0°) to the angle in the schedule, anticlockwise on plan from the x axis, and "
        "level the array as closely as the schedule says."
    ),
    "step.title.set in": "Set in the flush array",
    "step.text.set in": (
        "Cut the opening by the manufacturer's drawing. The array's own frame carries it, never the tile or the "
        "lining. Secure the frame to the structure, and the body by a line of its own: its secondary support. Turn the "
        "orientation mark (0°) as in the schedule."
    ),
    "step.title.set in recess": "Set in the recessed array",
    "step.text.set in recess": (
        "Check that the recess matches the manufacturer's drawing. The recess's own frame carries the array, never the "
        "tile or the lining. Secure the recess to the structure, and the body by a line of its own: its secondary "
        "support. Turn the orientation mark (0°) as in the schedule."
    ),
    "step.title.fixings": "Test the fixings",
    "step.text.fixings": (
        "Check the mass of what hangs against the schedule. Test fixings and secondary supports as their designer "
        "requires, and keep the record."
    ),
    "step.title.measure": "Measure again",
    "step.text.measure": (
        "Measure x, y and underside and write them into the as-installed table. If one is outside the installation "
        "tolerance in the schedule, correct it or ask the designer."
    ),
    "step.title.close": "Close the ceiling",
    "step.text.close": "Put the tiles back. Nothing may lie on them or hang from them.",
    "step.title.commission": "Commission",
    "step.text.commission": (
        "In the array's own software set {bands}, and the orientation. Have somebody speak from every seat in the "
        "table, tick each one that is heard, and sign."
    ),
    "set band": "{array} to band {band} ({edges})",
    # ---- as installed
    "installed.array": "Array",
    "installed.x": "x",
    "installed.y": "y",
    "installed.underside": "Underside",
    "installed.level": "Level within",
    "installed.by": "Measured by, date",
    "installed.serial": "Serial no.",
    "installed.band": "Band set",
    "installed.turn": "Orientation",
    "installed.support": "Secondary support fitted",
    "installed.signed": "Signed, date",
    "as installed": (
        "Grey: current. Measure square from the walls named, and from the finished floor to the underside. "
        "Outside the installation tolerance: correct it, or ask the designer."
    ),
    # ---- changes: what kind of thing, which field, and how a value reads
    "kind of change.verdict": "verdict",
    "kind of change.room": "room",
    "kind of change.opening": "opening",
    "kind of change.profile": "profile",
    "kind of change.array": "array",
    "kind of change.head": "talker",
    "kind of change.area": "area",
    "kind of change.keep away": "place not to be heard",
    "kind of change.table": "table",
    "kind of change.device": "device",
    "kind of change.obstacle": "obstacle",
    "kind of change.camera": "camera",
    "kind of change.display": "display",
    "kind of change.rule": "rule",
    "kind of change.clearance": "clearance",
    "field.added": "added",
    "field.removed": "removed",
    "field.verdict": "verdict",
    "field.clearance": "clearance",
    "changed clearance": "{array}: {title}",
    "changed thing": "{id}, {what}",
    "changed thing, clearance": "{array} to {id}: {title}",
    "changed thing, room": "Room, {what}",
    "changed thing, verdict": "Verdict",
    "field.name": "name",
    "field.code": "codes",
    "field.project": "project",
    "field.outline": "outline",
    "field.ceiling": "ceiling",
    "field.ceiling kind": "kind of ceiling",
    "field.ceiling parts": "parts of the ceiling",
    "field.structure": "structure",
    "field.grid": "ceiling grid",
    "field.grid origin": "start of the grid",
    "field.north": "north",
    "field.effort": "vocal effort",
    "field.noise": "noise",
    "field.reverberation": "reverberation",
    "field.directivity": "talkers' directivity",
    "field.surfaces": "sound-absorbing surfaces",
    "field.use": "use of the room",
    "field.inclusive": "for the hard of hearing",
    "field.ratio criterion": "direct to reverberant asked for, dB",
    "field.over noise criterion": "speech over noise asked for, dB",
    "field.noise criterion": "noise asked for",
    "field.index criterion": "speech index asked for",
    "field.sound advice": "advice about sound",
    "field.head down": "head bent down",
    "field.array directivity": "directivity, dB",
    "field.unsure": "not measured",
    "field.wall limit": "required to walls",
    "field.headroom": "headroom",
    "field.table limit": "required over tables",
    "field.distance criterion": "distance criterion",
    "field.angle criterion": "angle criterion",
    "field.wish over": "wish: over table",
    "field.wish row": "wish: in one row",
    "field.wish spare": "wish: to spare from every rule",
    "field.hung from": "hung from",
    "field.box": "box",
    "field.box size": "size of the box",
    "field.spare cable": "spare cable",
    "field.safety cable": "safety cable",
    "field.swing": "swing out of plumb",
    "field.swing source": "source of the swing",
    "field.clamp": "cable clamp",
    "field.place": "position on plan",
    "field.height": "height",
    "field.turn": "turn",
    "field.size": "size",
    "field.shape": "shape",
    "field.kind": "kind",
    "field.wall": "wall",
    "field.offset": "offset",
    "field.sill": "sill",
    "field.mount": "mount",
    "field.body": "body",
    "field.hole": "hole",
    "field.centre": "acoustic centre",
    "field.bands": "bands",
    "field.reach": "reach",
    "field.sectors": "sectors",
    "field.hangs by": "hangs by",
    "field.points": "points held at",
    "field.spread": "spread of the points",
    "field.cut-out": "opening in the ceiling",
    "field.mass": "mass",
    "field.level": "level within",
    "field.band": "band",
    "field.profile": "profile",
    "field.mouth": "mouth height",
    "field.sway": "lean",
    "field.weight": "weight",
    "field.posture": "posture",
    "field.state": "state",
    "field.array": "served by",
    "field.sight": "line to the array",
    "field.covered share": "share covered",
    "field.holes": "holes",
    "field.stretch": "path walked",
    "field.below": "below the ceiling",
    "field.depth": "depth",
    "field.stem": "stem",
    "field.spray": "spray",
    "field.required": "clearance required",
    "field.aim": "aimed at",
    "field.angle": "angle of view",
    "field.facing": "facing",
    "field.rule": "rule",
    "field.reason": "reason",
    "value.not given": "not given",
    "value.from.default": "{text} (overtable default)",
    "value.from.population": "{text} (from a survey)",
    "value.yes": "yes",
    "value.no": "no",
    "as before": "as before",
    "changed": "changed",
    "value.by": "{text} (by {apart})",
    "value.by up to": "{text} (by up to {apart})",
    "value.round": "round, {size}",
    "value.box": "box, {size}",
    "value.band": "{name} {edges}",
    "value.off": "switched off",
    "value.required": "{length} required",
    "changed to": "{state}: {actual}, {required} required",
    "changed to, note": "{text} ({note})",
    "changes.none": "No changes.",
    "changes.no sheet": "No changes between {old} and {new}: no sheet is drawn.",
    "changes.same revision": "Both files are revision {revision}. Change `document: revision` in the new one.",
    "changes.other room": (
        "These look like two different rooms ({old} and {new}: name and outline differ). Comparing anyway."
    ),
    # ---- assumptions
    "assumed.covered": (
        "A talker is covered when the whole range of mouth heights, leaning included, lies inside the array's band "
        "and reach. Bands and reach are the profile's, from its data sheet, taken as sharp edges."
    ),
    **PEOPLE,
    "assumed.lean": "Talkers lean up to {lean}: overtable default, not from a standard.",
    "assumed.limits": "Required {limits}: overtable default, not from a standard.",
    "assumed.limit.wall": "{length} to walls",
    "assumed.limit.table": "{length} over tables",
    "assumed.sizes": "Sizes of {devices}: overtable defaults for their kinds. The file gives none.",
    "assumed.depths": "Depths of {devices}: overtable defaults for their kinds. The file gives none.",
    "assumed.box": "Box of {size}: overtable default. The file gives no size.",
    "assumed.camera": "Angle of view of {cameras}: {angle}, overtable default.",
    "assumed.walls": "Drawings call the walls W1 to W{count}. The file counts them from 0: W1 is `wall: 0`.",
    "assumed.drawing": (
        "Walls, floor and structure are drawn with an assumed thickness. Door swings and chairs are indicative."
    ),
}
