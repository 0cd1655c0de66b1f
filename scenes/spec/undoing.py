"""The spec's file as it was before overtable last wrote into it, kept beside it and taken back.

`room.yaml.before` holds the old bytes, and behind them one comment that says how many they are and what was
written instead, so that it is known for overtable's own, and that nothing of anybody else's is undone.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from geometry.records import record
from scenes.spec.mistakes import WriteRefused

ENDING = ".before"
_MARK = re.compile(rb"\n# overtable undo: (\d+) bytes, ([0-9a-f]{64}) became ([0-9a-f]{64})\n\Z")


@record(frozen=True, slots=True)
class Kept:
    """What a copy holds: the old bytes, and the hash of the bytes that replaced them."""

    old: bytes
    became: str


def place_of(path: Path) -> Path:
    """Where the copy of a spec's file lies: beside it, its name with `.before`."""
    return path.with_name(path.name + ENDING)


def copy_of(old: bytes, new: bytes) -> bytes:
    """The copy's bytes: the old ones and the comment."""
    about = f"\n# overtable undo: {len(old)} bytes, {_digest(old)} became {_digest(new)}\n"
    return old + about.encode("ascii")


def kept(path: Path) -> Kept | None:
    """What the copy beside a spec's file holds; None without one. WriteRefused where it is not overtable's own."""
    place = place_of(path)
    if not place.exists():
        return None
    content = place.read_bytes() if place.is_file() else b""
    mark = _MARK.search(content)
    old = b"" if mark is None else content[: int(mark[1])]
    if mark is None or len(old) != mark.start() or _digest(old) != mark[2].decode("ascii"):
        raise WriteRefused("not our copy", place.name)
    return Kept(old, mark[3].decode("ascii"))


def before(path: Path) -> tuple[bytes, bytes]:
    """The bytes of a spec's file and those to take back. WriteRefused where there are none, or it was changed since."""
    copy, present = kept(path), path.read_bytes()
    if copy is None:
        raise WriteRefused("nothing to undo", path.name)
    if _digest(present) != copy.became:
        raise WriteRefused("changed since it was written", path.name)
    return present, copy.old


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
