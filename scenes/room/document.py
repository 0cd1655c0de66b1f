"""What title blocks say about the documents of a room."""

from __future__ import annotations

from typing import Literal

from geometry.records import record


@record(frozen=True, slots=True)
class Document:
    """What a title block says. Every entry but the language may be None."""

    number: str | None = None
    revision: str | None = None
    date: str | None = None
    drawn_by: str | None = None
    checked_by: str | None = None
    client: str | None = None
    purpose: str | None = None
    link: str | None = None
    language: Literal["en-GB", "en-US"] = "en-GB"
    revisions: tuple[tuple[str, str, str], ...] = ()
