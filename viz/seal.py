"""The seal in a file: overtable wrote it, and nobody changed it since.

A seal is a digest (the first 16 bytes of the SHA-256) of the file in which the seal's own digits are zeros. It stands
where the form has room for a remark. PDF/A has none at its end; there it is the second of the file's two identifiers,
which is meant for a digest of this revision. CSV, JSON and YAML have no room, so they carry no seal.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

DIGITS = 32
NAME = b"overtable:"
BLANK = NAME + b"0" * DIGITS
"""A seal that is not filled in yet."""

_SEAL = re.compile(rb"overtable:([0-9a-f]{32})(?![0-9a-f])")
_PNG_SEAL = re.compile(rb"Comment\0overtable:([0-9a-f]{32})")
"""A checksum follows, whose first byte may look like one more digit."""
_PDF_ID = re.compile(
    rb"/ID\[\([A-Za-z0-9+/=]{24}\)\(([A-Za-z0-9+/=]{24})\)\]>>\s+startxref\s+\d+\s+%%EOF\s*\Z"
)
_PNG_END = b"\0\0\0\0IEND\xaeB`\x82"
_PNG_KEYWORD = b"Comment\0"


def sealed(content: bytes, ending: str) -> bytes:
    """The content with its seal, in the form that a file's ending says (".pdf"); as it is where the form has no
    room for one."""
    blank = _BLANKED.get(ending.lower())
    if blank is None:
        return content
    content = blank(content)
    span = _span(content, ending)
    if span is None:
        raise ValueError(f"this {ending} content has no room for a seal")
    return _filled(content, span)


def unbroken(path: Path) -> bool:
    """Whether overtable wrote this file and it is as it was written. A form without seals is never."""
    if path.suffix.lower() not in _BLANKED:
        return False
    try:
        content = path.read_bytes()
    except OSError:
        return False
    span = _span(content, path.suffix)
    return span is not None and _filled(content, span) == content


def has_seals(path: Path) -> bool:
    """Whether files of this ending carry a seal."""
    return path.suffix.lower() in _BLANKED


def _span(content: bytes, ending: str) -> tuple[int, int] | None:
    """Where the digits of the seal stand; None if there is no seal."""
    if ending.lower() == ".pdf":
        found = list(_PDF_ID.finditer(content, max(0, len(content) - 1024)))
    else:
        found = list((_PNG_SEAL if ending.lower() == ".png" else _SEAL).finditer(content))
    if not found:
        return None
    # what stands in front is the first, what was added at the end the last: a name in the file may look like one
    return found[0 if ending.lower() in _IN_FRONT else -1].span(1)


def _filled(content: bytes, span: tuple[int, int]) -> bytes:
    """The content with the digits that belong there. What depends on the digits (a PNG's checksum) is put right."""
    start, end = span
    zeros = content[:start] + b"0" * (end - start) + content[end:]
    digest = hashlib.sha256(_checked(zeros, start)).digest()[: DIGITS // 2]
    digits = digest.hex().encode() if end - start == DIGITS else base64.b64encode(digest)
    return _checked(zeros[:start] + digits + zeros[end:], start)


def _checked(content: bytes, digits_at: int) -> bytes:
    """A PNG with the checksum of the remark that holds the seal; anything else as it is."""
    if not content.startswith(b"\x89PNG"):
        return content
    kind_at = digits_at - len(NAME) - len(_PNG_KEYWORD) - 4
    end = digits_at + DIGITS
    return content[:end] + struct.pack(">I", zlib.crc32(content[kind_at:end])) + content[end + 4 :]


def _in_markup(content: bytes) -> bytes:
    return content.rstrip(b"\n") + b"\n<!-- " + BLANK + b" -->\n"


def _in_png(content: bytes) -> bytes:
    if not content.endswith(_PNG_END):
        raise ValueError("this is no PNG")
    remark = _PNG_KEYWORD + BLANK
    chunk = struct.pack(">I", len(remark)) + b"tEXt" + remark + b"\0\0\0\0"
    return content[: -len(_PNG_END)] + chunk + _PNG_END


def _in_glb(content: bytes) -> bytes:
    """A glTF file's first chunk is JSON, padded to four bytes; extras of its asset are for whoever writes it."""
    length, kind = struct.unpack_from("<II", content, 12)
    if content[:4] != b"glTF" or kind != 0x4E4F534A:
        raise ValueError("this is no binary glTF")
    tree = json.loads(content[20 : 20 + length])
    tree["asset"].setdefault("extras", {})["seal"] = BLANK.decode()
    text = json.dumps(tree, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
    text += b" " * (-len(text) % 4)
    rest = content[20 + length :]
    head = struct.pack("<4sIIII", b"glTF", 2, 20 + len(text) + len(rest), len(text), kind)
    return head + text + rest


def _in_stl(content: bytes) -> bytes:
    """A binary STL file's head is 80 bytes and begins with our name already."""
    return (BLANK + content[:80].removeprefix(NAME[:-1]))[:80].ljust(80) + content[80:]


def _in_ifc(content: bytes) -> bytes:
    """A remark may stand between any two words of a STEP file: after the first."""
    first = b"ISO-10303-21;\n"
    if not content.startswith(first):
        raise ValueError("this is no STEP file")
    return first + b"/* " + BLANK + b" */\n" + content[len(first) :]


def _in_zip(content: bytes) -> bytes:
    """A zip file ends with the length of a remark, two bytes, and the remark."""
    if content[-22:-18] != b"PK\5\6":
        raise ValueError("this is no zip file, or has a remark already")
    return content[:-2] + struct.pack("<H", len(BLANK)) + BLANK


_BLANKED: dict[str, Callable[[bytes], bytes]] = {
    ".html": _in_markup,
    ".htm": _in_markup,
    ".svg": _in_markup,
    ".pdf": lambda content: content,  # the identifier is there
    ".png": _in_png,
    ".dxf": lambda content: b"999\n" + BLANK + b"\n" + content,
    ".glb": _in_glb,
    ".obj": lambda content: content.rstrip(b"\n") + b"\n# " + BLANK + b"\n",
    ".stl": _in_stl,
    ".ifc": _in_ifc,
    ".bcf": _in_zip,
    ".zip": _in_zip,
}
_IN_FRONT = (".dxf", ".glb", ".stl", ".ifc")
