"""Every colour in one place: quiet surfaces, and states that a colour-blind reader can tell apart.

A state is never told by colour alone: its mark (dot, ring, cross) or its word goes with it.
"""

from __future__ import annotations


class Colour(str):
    """`#RRGGBB`, and the name of what is painted with it: what a material is called in a model file."""

    __slots__ = ("name",)
    name: str

    def __new__(cls, value: str, name: str = "") -> Colour:
        """That colour under that name."""
        made = super().__new__(cls, value)
        made.name = name
        return made


STATE_COLOURS = {
    "covered": Colour("#1B7F79", "covered"),
    "marginal": Colour("#E0A100", "marginal"),
    "blocked": Colour("#B23A48", "blocked"),
    "missed": Colour("#B23A48", "missed"),
}
STATE_MARKS = {"covered": "dot", "marginal": "ring", "blocked": "diamond", "missed": "cross"}
BLOCKED_MARK = STATE_MARKS["blocked"]
"""Where something stands in a line of sight."""
CLASH = Colour("#B23A48", "clash")
CLEAR = Colour("#1B7F79", "clear")

BAND = Colour("#3B6FB6", "band")
BAND_INNER = Colour("#28508C", "band inner")
BAND_EDGE = Colour("#2C568F", "band edge")
BAND_OPACITY = {"outer": 0.17, "inner": 0.24, "near": 0.12, "far": 0.09, "cut": 0.05}
SECTOR = Colour("#2C568F", "sector")

PAPER = Colour("#FFFFFF", "paper")
SOFT = Colour("#F3F1ED", "soft")
BACKDROP = Colour("#DDE4EA", "backdrop")
"""The soft ground of pictures: cool, so that the warm walls stand out from it."""
INK = Colour("#22272E", "ink")
INK_SOFT = Colour("#5C6570", "ink soft")
HAIRLINE = Colour("#B9BEC4", "hairline")

FLOOR = Colour("#EDEAE4", "floor")
WALL = Colour("#F5F3EF", "wall")
WALL_EDGE = Colour("#9AA0A6", "wall edge")
CUT = Colour("#5E666F", "cut")
CEILING = Colour("#FAF9F7", "ceiling")
GRID = Colour("#C3C7CB", "grid")
STRUCTURE = Colour("#E2E0DB", "structure")
DOOR = Colour("#DCCDB8", "door")
GLASS = Colour("#BCD3DE", "glass")
SHADOW = Colour("#2A2F36", "shadow")

TABLE_TOP = Colour("#D8BC94", "table top")
TABLE_EDGE = Colour("#B8976A", "table edge")
TABLE_LINE = Colour("#8F744E", "table line")
TABLE_LEG = Colour("#4A4F57", "table leg")
CHAIR = Colour("#4B535E", "chair")
CHAIR_BASE = Colour("#8B9199", "chair base")
SKIN = tuple(Colour(one, "skin") for one in ("#E3C3A5", "#C99E79", "#9B6F50", "#EBD2BA", "#7C5640"))
HAIR = tuple(Colour(one, "hair") for one in ("#3A312B", "#6B5443", "#23211F", "#8A8178", "#2E2A28"))
TOP = tuple(Colour(one, "top") for one in ("#5F7388", "#A3907C", "#6F8579", "#8C7A8C", "#7D858F", "#B49A78"))
LEGS = tuple(Colour(one, "legs") for one in ("#3A404A", "#4A4640", "#35424E"))
GHOST = Colour("#8E98A3", "ghost")
SHOE = Colour("#2B2D31", "shoe")

ARRAY_BODY = Colour("#DADDE0", "array body")
ARRAY_GRILLE = Colour("#2E333B", "array grille")
CABLE = Colour("#2E333B", "cable")
HARDWARE = Colour("#9EA4AB", "hardware")
DEVICE = Colour("#C9CDD1", "device")
DEVICE_DARK = Colour("#8D949B", "device dark")
LUMINOUS = Colour("#FFF4CF", "luminous")
SYMBOL = Colour("#6F767E", "symbol")
SCREEN = Colour("#2B3644", "screen")
BEZEL = Colour("#16191D", "bezel")
CAMERA = Colour("#30353C", "camera")
OBSTACLE = Colour("#D2CFC9", "obstacle")
REGION = Colour("#1B7F79", "region")
AREA_EDGE = Colour("#22272E", "area")
MARGINS = tuple(Colour(one, "margin") for one in ("#CDE8E3", "#97CFC7", "#5FB3A9", "#2F938A", "#12766F"))
"""What is covered with more and more margin, from light to dark, so that the order is seen without colour too."""
MARGIN_UPRIGHT = Colour("#F6DFA9", "margin upright")
MARGIN_MISSED = Colour("#F2CBD1", "margin missed")
MARGIN_STEP_M = 0.1
KEEP_OUT = Colour("#B23A48", "keep out")
DIMENSION = Colour("#4A525C", "dimension")


def margin_colour(state: str, from_m: float | None) -> Colour:
    """The colour of a step of a margin map: by its state, and of what is covered by its least margin."""
    if state == "covered":
        return MARGINS[min(round((from_m or 0.0) / MARGIN_STEP_M), len(MARGINS) - 1)]
    return MARGIN_UPRIGHT if state == "marginal" else MARGIN_MISSED


def rgb(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of `#RRGGBB`, each 0 to 1."""
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))  # type: ignore[return-value]
