"""Messages of the page that `overtable` opens, in English: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

START: Final[dict[str, str | tuple[str, str]]] = {
    "start.title": "{folder} · overtable",
    "start.plan of": "Plan of {room}",
    "start.counts": "{counts} {what}",
    "start.broken": ("{count} mistake in the file", "{count} mistakes in the file"),
    "start.no folder": "{folder} is not a folder. Name a folder that is there: overtable start FOLDER",
    "start.refused.outside": "{file} is not in this folder.",
    "start.refused.gone": "{file} is no longer there.",
    "start.refused.no room": "{file} is not the spec of a room.",
    "start.refused.profiles outside": "Its profiles file is in another folder. Start in the folder that holds both.",
    "start.label.rooms": "Rooms",
    "start.label.new room": "New room",
    "start.label.open": "Open",
    "start.label.open, what": "The room in 3D: drag an array and see its figures at once.",
    "start.label.place": "Place",
    "start.label.documents": "Documents",
    "start.label.back": "All rooms",
    "start.label.gone": "The server has stopped. Start it again and this page goes on.",
    "start.label.empty": "No rooms here yet",
    "start.label.empty, text": "Start with a first room: nine short answers and a plan that follows them.",
    "start.label.command": "The same in a terminal",
    "start.label.mistakes": "What is wrong in the file",
    "start.label.plan": "Plan",
}
