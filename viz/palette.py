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
    "covered": Colour("#12766F", "covered"),
    "marginal": Colour("#B27400", "marginal"),
    "blocked": Colour("#A81E36", "blocked"),
    "missed": Colour("#A81E36", "missed"),
}
STATE_MARKS = {"covered": "dot", "marginal": "ring", "blocked": "diamond", "missed": "cross"}
BLOCKED_MARK = STATE_MARKS["blocked"]
"""Where something stands in a line of sight."""
CLASH = Colour("#A81E36", "clash")
CLEAR = Colour("#12766F", "clear")

BAND = Colour("#2F6FD0", "band")
BAND_INNER = Colour("#173F8F", "band inner")
BAND_NEAR = Colour("#0E2F73", "band near")
BAND_EDGE = Colour("#123B8A", "band edge")
BAND_OPACITY = {"outer": 0.17, "inner": 0.24, "near": 0.12, "far": 0.09, "cut": 0.05}
SECTOR = Colour("#123B8A", "sector")

PAPER = Colour("#FFFFFF", "paper")
SOFT = Colour("#F3F1ED", "soft")
BACKDROP = Colour("#DDE4EA", "backdrop")
"""The soft ground of pictures: cool, so that the warm walls stand out from it."""
INK = Colour("#22272E", "ink")
INK_SOFT = Colour("#5C6570", "ink soft")
HAIRLINE = Colour("#B9BEC4", "hairline")

FLOOR = Colour("#AAA296", "floor")
WALL = Colour("#F1ECE4", "wall")
CUT_THROUGH = Colour("#4A4D52", "cut through")
"""What a view from outside cuts through: the tops of walls, the edge of the slab."""
WALL_EDGE = Colour("#9AA0A6", "wall edge")
CUT = Colour("#5E666F", "cut")
CEILING = Colour("#FAF9F7", "ceiling")
GRID = Colour("#C3C7CB", "grid")
STRUCTURE = Colour("#E2E0DB", "structure")
DOOR = Colour("#B98F63", "door")
GLASS = Colour("#A9C6CF", "glass")
SHADOW = Colour("#2A2F36", "shadow")

TABLE_TOP = Colour("#CDA878", "table top")
TABLE_TINTED = Colour("#928C85", "table top in the zone")
"""The same wood seen through the zone."""
TABLE_EDGE = Colour("#9A7348", "table edge")
TABLE_LINE = Colour("#8F744E", "table line")
TABLE_LEG = Colour("#3B3D40", "table leg")
CHAIR = Colour("#55565A", "chair")
CHAIR_BASE = Colour("#77777A", "chair base")
CLAY = {
    "top": Colour("#E6DACA", "top"),
    "legs": Colour("#7A7066", "legs"),
    "skin": Colour("#DCC3A6", "skin"),
    "hair": Colour("#7B6858", "hair"),
    "shoes": Colour("#4A443F", "shoe"),
}
"""People are of one clay: what colour they have is of how they stand."""
TINTS = {
    "covered": (STATE_COLOURS["covered"], {"top": 0.12}),
    "marginal": ("#D99400", {"top": 0.85, "legs": 0.25, "skin": 0.3, "hair": 0.35}),
    "blocked": (STATE_COLOURS["blocked"], {"top": 1.0, "legs": 0.35, "skin": 0.5, "hair": 0.55}),
    "missed": (STATE_COLOURS["missed"], {"top": 1.0, "legs": 0.35, "skin": 0.5, "hair": 0.55}),
}
"""By state the colour that people are tinted with, and how much of it each part of them takes."""

ARRAY_BODY = Colour("#2B3038", "array body")
ARRAY_GRILLE = Colour("#14171B", "array grille")
CABLE = Colour("#2E333B", "cable")
HARDWARE = Colour("#9EA4AB", "hardware")
DEVICE = Colour("#C9CDD1", "device")
DEVICE_DARK = Colour("#8D949B", "device dark")
LUMINOUS = Colour("#FFF4CF", "luminous")
OUTLINE = Colour("#6F6B65", "outline")
GLOW = Colour("#FFF1C4", "glow")
SYMBOL = Colour("#6F767E", "symbol")
SCREEN = Colour("#1C2128", "screen")
BEZEL = Colour("#16191D", "bezel")
CAMERA = Colour("#30353C", "camera")
OBSTACLE = Colour("#D2CFC9", "obstacle")
REGION = Colour("#12766F", "region")
AREA_EDGE = Colour("#22272E", "area")
MARGINS = tuple(Colour(one, "margin") for one in ("#CDE8E3", "#97CFC7", "#5FB3A9", "#2F938A", "#12766F"))
"""What is covered with more and more margin, from light to dark, so that the order is seen without colour too."""
MARGIN_UPRIGHT = Colour("#F6DFA9", "margin upright")
MARGIN_MISSED = Colour("#F2CBD1", "margin missed")
MARGIN_STEP_M = 0.1
KEEP_OUT = Colour("#A81E36", "keep out")
DIMENSION = Colour("#4A525C", "dimension")


def margin_colour(state: str, from_m: float | None) -> Colour:
    """The colour of a step of a margin map: by its state, and of what is covered by its least margin."""
    if state == "covered":
        return MARGINS[min(round((from_m or 0.0) / MARGIN_STEP_M), len(MARGINS) - 1)]
    return MARGIN_UPRIGHT if state == "marginal" else MARGIN_MISSED


def clay(part: str, state: str | None) -> Colour:
    """The colour of a part of somebody who stands like that; without a state, of plain clay."""
    base = CLAY[part]
    if state is None:
        return base
    tint, shares = TINTS[state]
    return mixed(base, tint, shares.get(part, 0.0), f"{base.name} {state}")


def elsewhere(state: str | None) -> Colour:
    """The colour of somebody drawn once more, where else they walk or stand: of one piece, and paler."""
    plain = CLAY["top"]
    if state is None:
        return mixed(plain, WALL, 0.4, "elsewhere")
    return mixed(mixed(plain, TINTS[state][0], 0.4), WALL, 0.4, f"elsewhere {state}")


def mixed(colour: str, other: str, share: float, name: str = "") -> Colour:
    """A colour with a share (0 to 1) of another one."""
    pairs = zip(rgb(colour), rgb(other), strict=True)
    parts = (round(255 * (a * (1 - share) + b * share)) for a, b in pairs)
    return Colour("#" + "".join(f"{part:02X}" for part in parts), name)


def rgb(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of `#RRGGBB`, each 0 to 1."""
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))  # type: ignore[return-value]
