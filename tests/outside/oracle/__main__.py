"""Many random rooms through the product, against the oracle: `python -m tests.outside.oracle --rooms 500`.

Every room is checked; heights are asked of those with one array, and every so many of these are placed; of every
so many the arrays are moved about, for their tolerance. What is not so is printed as it is found, and the room that
shows it is kept. Exit status 1 if anything was not so.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from tests.outside.oracle import product
from tests.outside.oracle.comparing import differences, height_differences
from tests.outside.oracle.moving import tolerance_differences
from tests.outside.oracle.placing import placement_differences
from tests.outside.oracle.reading import read
from tests.outside.oracle.rooms import write_room

AT_ONCE = 50
"""Rooms given to one `check`."""


def main() -> int:
    """Ask as many rooms as the command line says; 1 if any answer was not the oracle's."""
    asked = _arguments()
    folder = asked.keep or Path(tempfile.mkdtemp(prefix="oracle-"))
    folder.mkdir(parents=True, exist_ok=True)
    started, wrong, placed, moved = time.process_time(), 0, 0, 0
    seeds = range(asked.seed, asked.seed + asked.rooms)
    for first in range(0, len(seeds), AT_ONCE):
        some = seeds[first : first + AT_ONCE]
        paths = [write_room(seed, folder) for seed in some]
        for seed, path, told in zip(some, paths, product.reviews(paths), strict=True):
            found = differences(path, told)
            room = read(path)
            if seed % asked.move_every == 0 and not room.guesses:
                moved += 1
                found += tolerance_differences(path, told)
            if len(room.arrays) == 1:
                found += height_differences(path, product.asked("heights", path))
                if seed % asked.place_every == 0 and not room.guesses:
                    placed += 1
                    place = product.asked("place", path, *product.bare_search())
                    found += placement_differences(path, place, seed, thorough=True)
            for line in found:
                print(f"{path.name}: {line}", flush=True)
            wrong += bool(found)
            if not found:
                path.unlink()
    seconds = time.process_time() - started
    print(
        f"{len(seeds)} rooms, {placed} placed, {moved} moved: {wrong} not as the oracle has it. "
        f"{seconds:.0f} s of processor time."
    )
    if wrong:
        print(f"Kept in {folder}")
    return int(wrong > 0)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.outside.oracle", description=__doc__)
    parser.add_argument("--rooms", type=int, default=100, help="how many")
    parser.add_argument("--seed", type=int, default=1000, help="the first room's seed")
    parser.add_argument("--place-every", type=int, default=5, help="place every so many, by seed")
    parser.add_argument(
        "--move-every", type=int, default=10, help="move the arrays of every so many, by seed"
    )
    parser.add_argument("--keep", type=Path, help="a folder for the rooms that show something")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
