"""Messages about projects of many rooms in English: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

PROJECTS: Final[dict[str, str | tuple[str, str]]] = {
    "column.number": "No.",
    "column.verdict": "Verdict",
    "rooms.not read": "Not read",
    "rooms.mistakes": ("{count} mistake in its file", "{count} mistakes in its file"),
    "rooms.heading": "{project}, {rooms}: {counts}",
    "rooms.count.fail": ("{count} fails", "{count} fail"),
    "rooms.count.caution": ("{count} with cautions", "{count} with cautions"),
    "rooms.count.pass": ("{count} passes", "{count} pass"),
    "rooms.count.none": ("{count} without a verdict", "{count} without a verdict"),
    "rooms.count.not read": ("{count} not read", "{count} not read"),
    "rooms.all": "All",
    "rooms.every storey": "All storeys",
    "rooms.search": "Find a room, or what is open",
    "rooms.nothing found": "No room matches.",
    "rooms.new": ("{count} room made", "{count} rooms made"),
    "rooms.as before": (
        "{made}, {count} unchanged since last time.",
        "{made}, {count} unchanged since last time.",
    ),
    "rooms.stopped": "Stopped. Finished rooms are in {folder}; the same command goes on from there.",
    "project.number": "no.",
    "project.storey": "storey",
    "rooms.overhead": "Open in every room: overhead load and secondary support (structure). "
    "This check is advice, never approval.",
    "materials.array": "array",
    "materials.box": "box",
    "materials.cable": "cable that carries and connects",
    "materials.wires": "hanging wire",
    "materials.rod": "rod",
    "materials.pole": "pole",
    "materials.connection": "cable, spare included",
    "materials.array support": "secondary support of the array",
    "materials.box support": "secondary support of the box",
    "rooms.materials": "What to order and cut, without ends and fittings",
    "rooms.clearances": "Every clearance that is open",
    "rooms.cover": "Cover sheet with the list of drawings",
    "drawings.title": "Drawings",
    "drawings.of": ("{count} drawing", "{count} drawings"),
    "drawings.number": "No.",
    "drawings.room": "Room",
    "drawings.document": "Document",
    "drawings.revision": "Revision",
    "drawings.date": "Date",
    "drawings.drawing": "Drawing and scale",
}
