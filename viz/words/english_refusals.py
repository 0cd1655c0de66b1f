"""Messages of what a command cannot do, and what to do instead, in English: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

_WITHOUT_GRAPHICS: Final = (
    "On Debian or Ubuntu: apt install libegl1 libgl1-mesa-dri\n"
    "Works without: check, place, heights, page, live, sheets, report, export, handover, schema."
)

REFUSALS: Final[dict[str, str | tuple[str, str]]] = {
    # ---- the machine
    "memory": "this machine has too little memory for that. Give it fewer rooms at once, or a smaller picture.",
    "worker": "a worker process died, perhaps for want of memory. Run it again, or give it fewer rooms at once.",
    "package missing": (
        "the Python package {package} is not installed here. Install overtable again with all that it needs: "
        "python -m pip install --force-reinstall overtable"
    ),
    "see help": "{error}\nSee: {command} --help",
    "needs": "{command} needs {name}. For example: {example}",
    "no command": "there is no command {text}.",
    "no command, nearest": "there is no command {text}. Did you mean {nearest}?",
    "not a number": "{text} is not a number",
    "not a whole number": "{text} is not a whole number",
    "graphics": f"this machine has no graphics library that can draw pictures.\n{_WITHOUT_GRAPHICS}",
    "graphics, tried": (
        "this machine has no graphics library that can draw pictures ({tried}).\n" + _WITHOUT_GRAPHICS
    ),
    "graphics.way": "{way}: {failure}",
    "graphics.own way": "by default",
    "graphics.no answer": "no answer within a minute",
    "graphics.no driver": "no driver",
    "graphics.nothing": "drew nothing",
    "graphics.status": "exit status {status}",
    "window.no display": "DISPLAY is not set",
    "window.dead display": "display {display} cannot be drawn on ({failure})",
    # ---- layouts
    "use.no layouts": "there is no layout {layout}: this room has none.",
    "use.no such layout": "there is no layout {layout}. The room has {layouts}.",
    "layouts.not yet": (
        "{command} does not take a room with layouts yet. Works with them: check, heights, place, page, live, "
        "handover, and of one with --layout stills, sheets, report, export and compare."
    ),
    # ---- outputs in the way
    "output.failed": "{path} could not be written: {reason}. Make room there, or give another place.",
    "output.no folder": "{path} is a file, not a folder. Choose another name.",
    "output.link": "{path} is a link. Give the folder that it leads to, or choose another name.",
    "output.impossible": "{path} cannot be made there ({reason}); give another place",
    "output.folder": "{path} is a folder. Give the name of a file.",
    "output.input": "{path} is the input. Choose another name for the output.",
    "output.no parent": "{folder} is not a folder. Make it first, or choose another.",
    "output.device": "{path} is a device or a pipe, not a file. Choose another name.",
    "output.read-only": "{path} is read-only. Choose another name, or use --force to replace it.",
    "output.changed": (
        "{path} was not made by overtable, or was changed since. Choose another name, or use --force to replace it."
    ),
    "output.unknown": (
        "{path} holds something else, and {form} has no place to say who wrote it. Choose another name, or use "
        "--force to replace it."
    ),
    "output.unknown, no ending": (
        "{path} holds something else, and this form has no place to say who wrote it. Choose another name, or use "
        "--force to replace it."
    ),
    "folder.holds input": "{path} is the current folder or holds what is read; give another folder",
    "folder.of others": (
        "{path} holds files that overtable did not make; give another folder, or --force to put its own files among "
        "them"
    ),
    "folder.changed": (
        "{path}: overtable did not write {names}, or it was changed since. Move it away, give another folder, or "
        "--force to replace it."
    ),
    "folder.manifest": (
        "Made by overtable: the SHA-256 and name of every file it wrote here. Check with: sha256sum -c {manifest}"
    ),
    # ---- the spec's file, which is left as it is
    "write.unreadable": (
        "{about} could not be read again with the change in it. Nothing was written; type the position yourself."
    ),
    "write.elsewhere": (
        "{about} would stand elsewhere when the file is read again. Nothing was written; type its position yourself."
    ),
    "write.more of an array": (
        "the file repeats values: more of {about} than its position would change. Nothing was written; type its "
        "position yourself."
    ),
    "write.more than arrays": (
        "{about}: another value repeats an array's, and would change with it. Nothing was written; write that value "
        "out, without its alias."
    ),
    "write.not added": (
        "{about} cannot be added without changing something else. Nothing was written; add it yourself."
    ),
    "write.read-only": "{about} is read-only. Nothing was written; make it writable first.",
    "write.changed since it was written": (
        "{about} has changed since overtable wrote into it. Nothing was undone; the old text is in {about}.before."
    ),
    "write.nothing to undo": "There is nothing to undo: overtable has not written into {about}.",
    "write.not our copy": "overtable did not make {about}. Move it away, then try again. Nothing was written.",
    "write.changed since": "{about} has changed since it was read. Nothing was written; read it again first.",
    # ---- commands and their options
    "use.no spec": "check needs a spec file: overtable check ROOM.yaml",
    "use.changes": "--changes compares two files ({given} given): overtable check OLD.yaml NEW.yaml --changes",
    "use.project since": "{path} is a project file; compare its rooms one by one: --since takes a room's spec",
    "place.project": "a project takes no --certificate, --ladder or --picture: give one room's file for these",
    "place.of template": "made of a template, so there is no file to write into; put its positions under change",
    "use.project and more": "{path} is a project file; give it alone",
    "use.no spec, handover": "handover needs a spec file: overtable handover ROOM.yaml -o FOLDER",
    "use.coordination since": (
        "--for-coordination draws the ceiling plan as it is, --since what changed. Give one of them."
    ),
    "use.since one room": "--since takes the earlier file of one room. Hand over one room at a time with it.",
    "use.twice": "{path} is given twice; give each room once",
    "use.ending": "{path} has the ending {ending}. Use {endings}.",
    "use.ending, one of": "{path} has the ending {ending}. Use one of {endings}.",
    "use.no ending": "{path} has no ending. Use {endings}.",
    "use.date": "--date: {text} is not a date. Use year-month-day, such as 2026-11-25.",
    "use.size": "--size: {text} is not a size. Use pixels across and down, such as 2400x1500.",
    "use.port": "--port: {port} is not a port. Use 0 to 65535.",
    "use.answers": "the answers ended before the last question; nothing is written",
    "use.profiles": "{path} has the profiles {names}; choose one: --array {path}:{first}",
    "use.empty box": "an empty box",
    "style.size": "--size: {size} does not fit. Use 64 to 16000 pixels a side, such as 2400x1500.",
    "style.dpi": "--dpi: {dpi} does not fit. Use 20 to 2400.",
    "style.background": "background: {text} is not known. Use white, soft or transparent.",
    "style.layer": "there is no layer {text}. Choose from: {layers}.",
    "no view": "there is no view {text}. Choose from: {views}.",
    # ---- place
    "place.no certificate": (
        "--certificate: this search keeps no proof of its own (it is kept for one array only)"
    ),
    "place.ladder": "--ladder takes one number from 1 to {most}, or none; found {text}",
    "place.ladder held": "--ladder compares other numbers of arrays than the file has: leave out --hold",
    "place.picture without ladder": "--picture draws the ladder: give --ladder too",
    "place.surplus": (
        "--write never takes arrays out of a file: the spec has {there}, --arrays asks for {asked}; remove {surplus} "
        "from it first, or leave out --write"
    ),
    "place.profiles": (
        "--arrays places arrays of the first one's profile, {first}, and {others} of the spec has another; give it "
        "that profile first, or leave out --write or --arrays"
    ),
    "place.profile with arrays": "--profile is for a spec without arrays. Change the profile in the spec instead.",
    "place.which profile": "The spec has no array and several profiles. Choose one with --profile: {profiles}.",
    "place.no such profile": "--profile {profile} is not in the spec. It has {profiles}.",
    "place.free": "--free takes positions as they are found: leave it out, or --snap {text}",
    "place.count": "--arrays: {text} does not fit. Use a whole number from 1 to {most}, or fewest.",
    "place.snap": '--snap: {text} is not known. Use tile, none, or a length such as "50 mm".',
    # ---- imports
    "use.no model": "import needs a model or a drawing: overtable import MODEL.ifc",
    "use.for drawings": "--at, --ceiling, --structure, --units, --layers and --cut are for drawings (DXF)",
    "use.no output": "import writes a spec with -o: overtable import MODEL.ifc --room NUMBER -o ROOM.yaml",
    "use.room and all": "--room and --all: give one of them",
    "use.which room": "-o {output}: say which room with --room, or --all",
    "use.not imported": "{path} was not written by import from a model; import its room first",
    "use.profile alone": "--profile names one of the profiles of a file: give the file with --profiles",
    "use.profile": "{path} has the profiles {names}; choose one with --profile",
    "use.no profile": "{path} has the profiles {names}; none is called {profile}",
    "use.one drawing": "a drawing is imported alone: overtable import PLAN.dxf",
    "use.no rooms": "a drawing has no room numbers: point into the room with --at X,Y",
    "use.no point": "a drawing needs --at X,Y and --ceiling HEIGHT: it has no room numbers and no heights",
    "use.units": "--units: {units} is not known. Use one of {allowed}.",
    "use.point": "{option}: {text} is not a point. Use X,Y in the drawing's own units.",
    "use.cut": '--cut: {text} is not a line. Use "X,Y X,Y" in the drawing\'s own units.',
    "use.height": "{option}: {text} does not fit. Use a height above the floor, up to {most} m.",
    "use.layers": "{path} is no YAML file that can be read",
    "use.layer": '{path}: allowed are walls, openings and rooms, each a list of layers such as ["A-WALL*"]',
}
