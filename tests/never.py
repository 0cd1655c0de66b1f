"""The words that nobody reads in anything of overtable's: the voice's own list, and how they are looked for."""

from __future__ import annotations

import re

NEVER = (
    "told", "tells", "slack", "sway", "slant", "depression", "off-centre", "settle", "certified", "dossier", "is lost",
    "are lost", "serves nobody", "so placed", "may be off", "by a hair", "when it leans", "our default",
    "designer's input", "from memory", "seen in a copy", "mention seen",
)  # fmt: skip
"""Words of a parser, or of another trade. House rule, no source outside it."""
PATTERN = re.compile(
    r"(?<![\w-])(" + "|".join(re.escape(word) for word in NEVER).replace(r"\ ", r"\s+") + r")(?![\w-])",
    re.IGNORECASE,
)


def found(text: str) -> list[str]:
    """The forbidden words of a text, each with what stands round it."""
    text = " ".join(text.replace("’", "'").split())
    return [text[max(0, at.start() - 60) : at.end() + 40] for at in PATTERN.finditer(text)]
