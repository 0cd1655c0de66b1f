"""Numbers and JSON as overtable writes them: rounded to 6 decimals, -0 is 0, never NaN."""

from __future__ import annotations

import json
import math
from typing import Any

DECIMALS = 6


def rounded(value: Any) -> Any:
    """The same nested value with every float rounded to 6 decimals; -0.0 becomes 0.0, non-finite None."""
    if isinstance(value, dict):
        return {key: rounded(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(entry) for entry in value]
    if hasattr(value, "item"):  # a numpy scalar
        value = value.item()
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0 if math.isfinite(value) else None
    return value


def json_text(value: Any) -> str:
    """The value as JSON text that ends with a line feed."""
    return json.dumps(rounded(value), ensure_ascii=False, indent=2, allow_nan=False) + "\n"
