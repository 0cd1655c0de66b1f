"""The container of binary glTF 2.0: what page and exports both write."""

from __future__ import annotations

import json
import struct
from typing import Any


def glb_container(tree: dict[str, Any], buffer: bytes | bytearray) -> bytes:
    """A binary glTF 2.0 file of its JSON tree and its one buffer, both padded to four bytes."""
    text = json.dumps(tree, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
    text += b" " * (-len(text) % 4)
    data = bytes(buffer) + b"\0" * (-len(buffer) % 4)
    return b"".join(
        [
            struct.pack("<4sII", b"glTF", 2, 12 + 8 + len(text) + 8 + len(data)),
            struct.pack("<I4s", len(text), b"JSON"),
            text,
            struct.pack("<I4s", len(data), b"BIN\0"),
            data,
        ]
    )
