"""What the reviews of seeded rooms have otherwise than an oracle."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from tests.outside.oracle import product
from tests.outside.oracle.reading import read
from tests.outside.oracle.rooms import write_room


def rooms_without_guesses(seeds: Sequence[int], folder: Path) -> list[Path]:
    """The files of those of these seeds' rooms in which all sizes are given, which must be more than half."""
    paths = [path for seed in seeds if not read(path := write_room(seed, folder)).guesses]
    assert len(paths) > len(seeds) / 2
    return paths


def wrong_reviews(paths: Sequence[Path], differences: Callable[[Path, Any], Iterable[Any]]) -> dict[str, Any]:
    """What `differences` finds in the product's reviews of these rooms, by file; none where it finds nothing."""
    told = zip(paths, product.reviews(list(paths)), strict=True)
    found = {path.name: differences(path, one) for path, one in told}
    return {name: wrong for name, wrong in found.items() if wrong}
