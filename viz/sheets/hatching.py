"""Parallel lines inside an outline, told so that readers which know only patterns by name draw them too."""

from __future__ import annotations

import math
from typing import Any, Final

HATCH: Final = "ANSI31"
"""The one pattern of lines that every reader knows by name; its lines are told with it."""
OWN: Final = {False: 3.175, True: 1.49}
"""How far apart that pattern's own lines are at scale 1: in millimetres as it is defined, and in inches as those draw it
that take no notice of the lines told with it."""


def set_pattern(hatch: Any, spacing: float, angle_deg: float, *, imperial: bool = False) -> None:
    """Parallel lines that far apart in drawing units, at that angle; `imperial` where these are inches."""
    angle = math.radians(angle_deg + 90)
    line = [angle_deg, (0.0, 0.0), (spacing * math.cos(angle), spacing * math.sin(angle)), []]
    hatch.set_pattern_fill(HATCH, color=256, pattern_type=1, definition=[line])
    hatch.dxf.pattern_scale = spacing / OWN[imperial]
