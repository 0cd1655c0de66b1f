"""What American English spells differently: the overlay for `document: {language: en-US}`.

Words, not messages, so that a message that is added has its American spelling with it.
"""

from __future__ import annotations

import re
from typing import Final

from viz.words.english import MESSAGES

SPELLINGS: Final = {
    "anticlockwise": "counterclockwise",
    "centimetre": "centimeter",
    "centimetres": "centimeters",
    "centre": "center",
    "centred": "centered",
    "centres": "centers",
    "colour": "color",
    "colours": "colors",
    "grey": "gray",
    "metre": "meter",
    "metres": "meters",
    "millimetre": "millimeter",
    "millimetres": "millimeters",
    "storey": "story",
    "storeys": "stories",
}
"""British to American, small letters; a capital stays one."""

_WORD: Final = re.compile(rf"(?<![\w{{])({'|'.join(SPELLINGS)})(?![\w}}])", re.IGNORECASE)


def spelt(text: str) -> str:
    """The text with American spellings; the names of its fields stay."""

    def american(found: re.Match[str]) -> str:
        word = SPELLINGS[found[0].lower()]
        return word.capitalize() if found[0][0].isupper() else word

    return _WORD.sub(american, text)


SPELT: Final = {
    name: spelt(text) if isinstance(text, str) else (spelt(text[0]), spelt(text[1]))
    for name, text in MESSAGES.items()
}
