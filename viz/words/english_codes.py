"""What is said of the set of codes that a room is checked by, and of cautions under other sets than the US one."""

from __future__ import annotations

from typing import Final

CODES: Final[dict[str, str | tuple[str, str]]] = {
    "codes.us": "US codes",
    "codes.uk": "UK codes",
    "codes.eu": "European codes",
    "codes.default": "{codes} (overtable default)",
    # ---- what a caution says under another set of codes than the US ones, where it says something else
    "caution.uk.code.sprinklers": "BS EN 12845",
    "caution.uk.code.no sprinklers": "BS EN 12845",
    "caution.uk.code.detectors": "BS 5839-1",
    "caution.uk.code.no detectors": "BS 5839-1",
    "caution.uk.code.grid": "the ceiling maker's data and the building regulations; no single clause found",
    "caution.uk.code.grid load": "the ceiling maker's data and the building regulations; no single clause found",
    "caution.uk.code.plenum": "the building regulations on fire in cavities; no single clause found",
    "caution.uk.code.seismic": "Eurocode 8 and its national annex",
    "caution.uk.code.electrical": "the wiring rules (BS 7671)",
    "caution.eu.code.sprinklers": "EN 12845",
    "caution.eu.code.no sprinklers": "EN 12845",
    "caution.eu.code.detectors": "the country's fire alarm code",
    "caution.eu.code.no detectors": "the country's fire alarm code",
    "caution.eu.code.grid": "the ceiling maker's data and the country's building code; no single clause found",
    "caution.eu.code.grid load": "the ceiling maker's data and the country's building code; no single clause found",
    "caution.eu.code.plenum": "the country's rules on fire in cavities; no single clause found",
    "caution.eu.code.seismic": "Eurocode 8 and its national annex",
    "caution.eu.code.electrical": "the country's wiring rules",
    "caution.text.sprinklers, not known": (
        "What hangs near a sprinkler can stop its spray. Ask the fire engineer before anything is hung near one. "
        "The sprinklers in the file ({things}) are not judged, because no distance of {code} is known here; list "
        "every sprinkler in the room."
    ),
    "assumed.codes": (
        "Values and cautions of US codes apply: overtable default. Where others hold, write `code: uk` or `code: eu`."
    ),
}
