"""The files of the repository, as git knows them."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]


def tracked(*patterns: str) -> list[str]:
    """The files that git knows and that are there, by their path from the top; all, or those of the patterns."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--", *patterns], cwd=ROOT, check=True, capture_output=True, text=True
    )
    return [name for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]
