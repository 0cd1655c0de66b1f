"""Messages of commands, the live server and the window in English: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

COMMANDS: Final[dict[str, str | tuple[str, str]]] = {
    "demo.heron": "a small room under a suspended ceiling. Everyone is covered",
    "demo.wharf": "a room under the roof. The array hangs from a bulkhead, beside a slope. Everyone is covered",
    "demo.loft": "a workshop under an open ceiling. The type of its sprinklers is not known yet",
    "demo.weir": "a seminar room with a presenter who walks. One array is not enough",
    "demo.ferry": "a boardroom in feet and inches, with an array flush in the ceiling. Everyone is covered",
    "changes.now": "Now: {verdict}.",
    "demo.room": "{room}: {what}.",
    "demo.no pictures": "Pictures were left out: {why}",
    "open file": "Open {file}",
    "demo.next": (
        "Try next, in {folder}:\n  overtable place {room}.yaml              find the best position, with a "
        "proof\n  overtable live {room}.yaml               the room in your browser: drag the array, edit the file\n  "
        "overtable handover {room}.yaml -o out    all documents, with an index\nOther rooms: overtable demo other "
        "--room NAME, with NAME one of {others}."
    ),
    "handover.kept": "Not overtable's, and left where it is: {files}",
    "handover.of": "{room}: {text}",
    "handover.caution": "{where}{title}. {text}",
    "report.no cover": "The cover's picture is left out: {why}",
    "page.no fallback": "No fallback picture: this machine has no graphics library.",
    "place.proof": "Proof written to {file}.",
    "place.nothing to write": "The file already has these positions. Nothing was written.",
    "place.written": "Written to {file}. To take it back: overtable undo {file}",
    "undo.done": "{file} is as it was before. To write it again: overtable undo {file}",
    "heading": ": {area}, {kind} ceiling at {height}, {codes}",
    "heading.heights": "{low} to {high}",
    "heading.project": ", {project}",
    "live.read again": "{file} was read again.",
    "live.at": "{file} at {address}\nPress Ctrl-C to stop.",
    "live.stopped": "Stopped.",
    "live.wrong address": "Open the address printed in the terminal.",
    "live.written": "Written to {file}.",
    "live.refused.place": "at_m must be [x, y] in metres",
    "live.refused.outside": "outside the room",
    "live.refused.unseen": "Nothing to write was shown yet. Ask for the changed lines first.",
    "live.refused.number": "{name} must be a number of metres",
    "live.refused.arrays": "no more than {most} arrays on the page",
    "live.refused.unplaced": "place the arrays first: Best from here",
    "live.refused.no arrays": "The file has no array yet. Run overtable place {file} --write.",
    "live.refused.in spec": "{array} is in the spec: take it out there",
    "live.refused.object": "a message is an object",
    "live.refused.running": "the search is still running",
    "live.refused.kind": "unknown kind of message",
    "live.refused.changed": "the room changed during the search; ask again",
    "live.refused.no array": "there is no array {array}",
    "live.refused.band": "the bands of {array} are {bands}",
    "live.adding": "Adding an array",
    "live.searching": "Searching for the best position, with a proof",
    "live.server gone": "The server has stopped. Start it again and this page goes on.",
    "live.mistakes": "The file has mistakes; the page shows it as it was before.",
    "live.same": "The file says so already.",
    "window.back": "Back to what the file says.",
    "window.no camera": "This room has no camera.",
    "window.mistakes": "The file has errors; showing the last good version.\n{lines}",
    "window.read again": "Read again.",
    "window.no picture": "{file} was not written: {why}",
    "window.picture": "Picture written: {file}",
    "window.nothing": "Nothing to write: the arrays are where the file has them.",
    "window.not written": "Not written: {why}",
    "window.written": "Written into {file}.",
    "window.ask": "Write into {file}?\n{places}\nY yes   any other key no",
    "window.missing": (
        "no window can be opened here: {why}.\nTwo ways on, without a display:\n  overtable page {spec} -o "
        "{stem}.html    the room to turn in a browser\n  overtable stills {spec} -o pictures    pictures of"
        " it"
    ),
    "panel.more": "… Press P for a picture with the full text.",
    "panel.array": "ARRAY",
    "panel.next band": "B: next band",
    "panel.view": "VIEW",
    "panel.layers": "LAYERS",
    "panel.talker": "TALKER",
    "panel.picture": "P  picture of what is seen",
    "panel.write": "W  write the position into the file",
    "panel.back": "Z  back to what the file says",
    "panel.array, several": "ARRAY  (Tab: next)",
    "panel.view, cameras": "VIEW  (7 again: next camera)",
    "panel.write, changed": "W  write the position into the file  ·",
    "panel.close": "Q  close",
}
