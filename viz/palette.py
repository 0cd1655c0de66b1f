"""Every colour in one place: quiet surfaces, and states that a colour-blind reader can tell apart.

A state is never told by colour alone: its mark (dot, ring, cross) or its word goes with it.
"""

from __future__ import annotations

STATE_COLOURS = {"covered": "#1B7F79", "marginal": "#E0A100", "blocked": "#B23A48", "missed": "#B23A48"}
STATE_MARKS = {"covered": "dot", "marginal": "ring", "blocked": "diamond", "missed": "cross"}
BLOCKED_MARK = STATE_MARKS["blocked"]
"""Where something stands in a line of sight."""
CLASH = "#B23A48"
CLEAR = "#1B7F79"

BAND = "#3B6FB6"
BAND_INNER = "#28508C"
BAND_EDGE = "#2C568F"
BAND_OPACITY = {"outer": 0.17, "inner": 0.24, "near": 0.12, "far": 0.09, "cut": 0.05}
SECTOR = "#2C568F"

PAPER = "#FFFFFF"
SOFT = "#F3F1ED"
BACKDROP = "#DDE4EA"
"""The soft ground of pictures: cool, so that the warm walls stand out from it."""
INK = "#22272E"
INK_SOFT = "#5C6570"
HAIRLINE = "#B9BEC4"

FLOOR = "#EDEAE4"
WALL = "#F5F3EF"
WALL_EDGE = "#9AA0A6"
CUT = "#5E666F"
CEILING = "#FAF9F7"
GRID = "#C3C7CB"
STRUCTURE = "#E2E0DB"
DOOR = "#DCCDB8"
GLASS = "#BCD3DE"
SHADOW = "#2A2F36"

TABLE_TOP = "#D8BC94"
TABLE_EDGE = "#B8976A"
TABLE_LINE = "#8F744E"
TABLE_LEG = "#4A4F57"
CHAIR = "#4B535E"
CHAIR_BASE = "#8B9199"
SKIN = ("#E3C3A5", "#C99E79", "#9B6F50", "#EBD2BA", "#7C5640")
HAIR = ("#3A312B", "#6B5443", "#23211F", "#8A8178", "#2E2A28")
TOP = ("#5F7388", "#A3907C", "#6F8579", "#8C7A8C", "#7D858F", "#B49A78")
LEGS = ("#3A404A", "#4A4640", "#35424E")
GHOST = "#8E98A3"
SHOE = "#2B2D31"

ARRAY_BODY = "#DADDE0"
ARRAY_GRILLE = "#2E333B"
CABLE = "#2E333B"
HARDWARE = "#9EA4AB"
DEVICE = "#C9CDD1"
DEVICE_DARK = "#8D949B"
LUMINOUS = "#FFF4CF"
SYMBOL = "#6F767E"
SCREEN = "#2B3644"
BEZEL = "#16191D"
CAMERA = "#30353C"
OBSTACLE = "#D2CFC9"
REGION = "#1B7F79"
KEEP_OUT = "#B23A48"
DIMENSION = "#4A525C"


def rgb(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of `#RRGGBB`, each 0 to 1."""
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))  # type: ignore[return-value]
