"""A placement written into its file, and the file checked again."""

from __future__ import annotations

import json
from pathlib import Path

from tests.outside.oracle import product
from tests.outside.oracle.judging import Judged
from tests.outside.oracle.reading import read


def written_differences(path: Path, options: tuple[str, ...] = ()) -> list[str]:
    """`place --write`, then `check`: the figures are those of the placement, and certified means what it says."""
    place = product.run("place", path, "--write", "--even-if-worse", "--json", *options)
    if place.status == 2:
        return [f"--write refused: {place.err.strip()}"]
    told = json.loads(place.out)
    [review] = product.reviews([path])
    found = []
    margin = min((head["margin_m"] for head in review["heads"]), default=None)
    if told["margin_m"] is None or margin is None or abs(margin - told["margin_m"]) > 2e-6:
        found.append(f"margin_m {told['margin_m']} placed, {margin} checked")
    bound = told["bound_m"]
    if told["certified"] and bound is not None and bound >= 0 and told["aim"] != "most":
        missed = [head["id"] for head in review["heads"] if head["state"] == "missed"]
        blocked = [head["id"] for head in review["heads"] if head["sight"] == "blocked"]
        short = [(row["against"], row["rule"]) for row in review["clearances"] if row["state"] == "short"]
        if missed or blocked or short:
            found.append(
                f"certified with a bound of {bound}, and {missed} missed, {blocked} blocked, {short} short"
            )
    placed = Judged(read(path))
    least = min(placed.of(head.id).margin for head in placed.heads)
    if margin is not None and abs(least - margin) > 1e-5:
        found.append(f"margin {margin} checked, oracle {least}")
    return found
