"""The text that findings may hold: names out of the file, and what somebody else wrote. No sentence of ours."""

from __future__ import annotations

from typing import TypeAlias

Id: TypeAlias = str
"""What a thing, profile, band, rule or tile is called."""

Quoted: TypeAlias = str
"""What the designer wrote, or a source, word for word."""

Digest: TypeAlias = str
"""The SHA-256 of a file, in hexadecimal digits."""
