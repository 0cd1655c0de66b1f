"""What is ordered and cut, in words and with its lengths."""

from __future__ import annotations

from typing import Final, get_args

from scenes.review.materials import ItemName, Piece
from viz.words.locale import DASH, Locale

ITEMS: Final[tuple[ItemName, ...]] = get_args(ItemName)
"""In the order of a list of materials."""


def item(name: ItemName, locale: Locale) -> str:
    """What a piece is."""
    return locale.say(f"materials.{name}")


def kind(piece: Piece, locale: Locale) -> str:
    """Of what kind: an array's profile as the file calls it, where a box sits, else a dash."""
    if piece.item == "box":
        return locale.say(f"box.{piece.kind}")
    return piece.kind or DASH


def length(piece: Piece, locale: Locale) -> str:
    """How long each is; a dash where it is not known, or has no length."""
    return locale.site(piece.length_m)
