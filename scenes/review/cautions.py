"""What can hurt people about things overhead, in one place: every output takes its cautions from here.

Each names the topic of the code it defers to, with how surely that reference is known. None of it is
advice on how to build: local codes, the authority having jurisdiction and licensed designers decide.

Pages, sheets and reports tell each in full (`cautions`), JSON carries them whole (`with_cautions`),
terminals, pictures and model files have one line for all (`cautions_line`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from scenes.room.scene import Scene, ceiling_of

CLOSING = "Local codes, the authority having jurisdiction and licensed designers decide."
"""The sentence every set of cautions ends with."""


ADVICE = f"A check of clearances is advice, never approval: {CLOSING[0].lower()}{CLOSING[1:]}"
"""What every output says of the clearances it tells."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: what to heed, the topic of the code it defers to, and how surely that is known.

    `title` is the topic as a heading, `short` the same within a line.
    """

    id: str
    title: str
    short: str
    text: str
    defers_to: str
    sureness: str
    applies: Callable[[Scene], bool] = field(default=lambda scene: True, repr=False, compare=False)

    def as_json(self) -> dict[str, str]:
        """The caution as plain text entries."""
        return {
            "id": self.id,
            "topic": self.title,
            "text": self.text,
            "defers_to": self.defers_to,
            "sureness": self.sureness,
        }


def _suspended(scene: Scene) -> bool:
    return ceiling_of(scene) == "suspended"


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "overhead-load",
        "Load overhead",
        "overhead load",
        "Whatever hangs over people must be carried by something proven to carry it: the structure, or a fixing "
        "that a licensed designer has accepted for array, cable, box and bracket together.",
        "structural fixing of overhead loads; no single clause found",
        "from memory",
    ),
    Caution(
        "secondary-support",
        "A second way to be held",
        "secondary support",
        "Box and array each need a second, independent retention to the structure that holds if the first one "
        "fails. A cable clamp or strain relief sets the height and protects the connector; it is no retention.",
        "secondary suspension and safety bonds; no single clause found",
        "from memory",
    ),
    Caution(
        "grid-load",
        "Tiles and grid",
        "ceiling tiles and grid",
        "A ceiling tile carries no point load. What may hang from the grid is for the ceiling's maker and local "
        "code; a tile bridge carries the box only as far as they allow.",
        "ASTM C635 and C636, suspended ceiling grids",
        "mention seen",
        _suspended,
    ),
    Caution(
        "seismic",
        "Earthquakes",
        "seismic restraint",
        "Where earthquakes are designed for, what hangs may need bracing, or room to swing without hitting its "
        "neighbours, and the ceiling has rules of its own.",
        "ASCE 7 chapter 13 (13.1.4 exemptions, 13.5.6 suspended ceilings, 13.6 anchorage); ASTM E580",
        "13.1.4 and E580 seen in a copy, the rest from memory",
    ),
    Caution(
        "plenum",
        "The space above the ceiling",
        "plenum and cable ratings",
        "If air is moved through the space above the ceiling, boxes and cables in it need enclosures and cables "
        "rated for that space.",
        "NEC 300.22(C) and 800/725, IMC 602; UL 2043 is the usual test",
        "300.22(C) and UL 2043 seen, the rest from memory",
        _suspended,
    ),
    Caution(
        "fire-rated",
        "Fire-rated ceilings",
        "fire-rated ceiling",
        "A fire-rated ceiling is rated as it was tested: no hole, box or bracket without a detail that keeps the "
        "rating.",
        "listings of fire-rated ceiling assemblies and their penetrations",
        "from memory",
        lambda scene: ceiling_of(scene) != "open",
    ),
    Caution(
        "sprinklers",
        "Sprinkler spray",
        "sprinklers",
        "What hangs near a sprinkler can stop its spray. Ask whoever is responsible for the sprinklers before "
        "anything is hung near a head, and put every head of the room into the spec: only those are checked, by the "
        "distances NFPA 13 asks of standard spray. Other heads and other standards ask for others.",
        "NFPA 13 obstruction rules (8.6.5 up to 2016, 10.2.7 from 2019); EN 12845",
        "seen in a copy",
    ),
    Caution(
        "detectors",
        "Smoke detectors",
        "smoke detectors",
        "What hangs near a detector can keep smoke from it.",
        "NFPA 72 chapter 17; BS 5839-1",
        "from memory",
        lambda scene: any(device.kind == "smoke detector" for device in scene.overhead),
    ),
    Caution(
        "electrical",
        "Electrical work",
        "electrical work",
        "Cables above the ceiling are supported on their own and not laid on tiles or tied to grid wires; mains "
        "work is for those licensed to do it.",
        "NEC 300.11 (no support from ceiling grid wires)",
        "from memory",
    ),
    Caution(
        "old-ceilings",
        "Before opening an old ceiling",
        "asbestos",
        "Old tiles, coatings and linings can hold asbestos: have it settled before anything is lifted or drilled.",
        "local rules on asbestos in buildings",
        "from memory",
        lambda scene: ceiling_of(scene) != "open",
    ),
    Caution(
        "ladders",
        "Work at height",
        "ladders",
        "Hanging an array is work from a ladder or platform over furniture: clear the table, keep people out from "
        "under the work, and tie tools.",
        "local rules for work at height",
        "from memory",
    ),
)


def cautions(scene: Scene) -> tuple[Caution, ...]:
    """The cautions that apply to this room, in a fixed order; outputs end them with `CLOSING`."""
    return tuple(caution for caution in CAUTIONS if caution.applies(scene))


def cautions_line(scene: Scene) -> str:
    """All cautions of this room in one line: that this is advice, what to settle, and who decides."""
    topics = ", ".join(caution.short for caution in cautions(scene))
    return f"A check is advice, never approval. Settle before anything is hung: {topics}. {CLOSING}"


def with_cautions(told: dict[str, Any], scene: Scene) -> dict[str, Any]:
    """The same JSON object with the cautions that apply to its room, whole, and what the check is not."""
    return {**told, "advice": ADVICE, "cautions": [caution.as_json() for caution in cautions(scene)]}
