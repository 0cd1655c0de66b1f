"""What people read, read back: each talker's margin and state as terminal, page, report, DXF and CSV have them.

Texts are found by who they are about and what their column is called, not by how they are set.
"""

from __future__ import annotations

import csv
import html
import math
import re
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from html.parser import HTMLParser
from pathlib import Path

from ezdxf.filemanagement import readfile

CELL = re.compile(r"\S+(?: \S+)*")
LENGTH = re.compile(
    r"(?P<sign>[-+−]?)\s*(?:(?P<feet>\d+)'-?\s*)?(?P<number>\d+(?:\.\d+)?(?:\s+\d+/\d+)?|\d+/\d+)\s*"
    r"(?P<unit>mm|cm|m|\"|in|ft)?$"
)
UNIT_M = {"mm": 0.001, "cm": 0.01, "m": 1.0, '"': 0.0254, "in": 0.0254, "ft": 0.3048}


@dataclass(frozen=True)
class Told:
    """One talker as a document has it: the margin's text, and the word or words of the state."""

    margin: str
    state: str


def length(text: str, unit: str | None = None) -> tuple[float, float]:
    """A length's text in metres, and what its last digit or fraction is worth; `unit` is its column's."""
    found = LENGTH.match(text.strip())
    if found is None:
        raise ValueError(f"{text!r} is no length")
    number = found["number"]
    worth = UNIT_M[found["unit"] or unit or "m"]
    if found["unit"] in ('"', "in") or found["feet"]:
        step = UNIT_M["in"] / (int(number.split("/")[1]) if "/" in number else 1)
        worth = UNIT_M["in"]
    else:
        step = worth * 10.0 ** -len(number.partition(".")[2])
    metres = int(found["feet"] or 0) * UNIT_M["ft"] + float(sum(map(Fraction, number.split()))) * worth
    return (-metres if found["sign"] in ("-", "−") else metres), step


def in_table(lines: Sequence[str], ids: Sequence[str]) -> dict[str, Told]:
    """The rows of a table set in columns, under the last header before them that has a margin and a state.

    Columns are counted from the right: what stands there under one-word headers is never empty.
    """
    told: dict[str, Told] = {}
    columns: dict[str, int] = {}
    unit = ""
    for line in lines:
        words = re.sub(r", (mm|cm|m|ft|in)\b", "", line).lower().split()
        if {"margin", "state"} <= set(words):
            columns = {name: words.index(name) - len(words) for name in ("margin", "state")}
            unit = (re.findall(r"margin, (\w+)", line.lower()) or [""])[0]
            continue
        cells = CELL.findall(
            re.sub(r"^(\s*[^\w\s]) ", r"\1  ", line)
        )  # a mark before a name is a cell of its own
        who = next((cell for cell in cells[:2] if cell in ids), None)
        if who is not None and columns and who not in told and len(cells) >= -min(columns.values()):
            margin, state = (cells[columns[name]] for name in ("margin", "state"))
            told[who] = Told(f"{margin} {unit}".strip(), state)
    return told


class _Rows(HTMLParser):
    """The rows of a page's tables, as lists of (class, text)."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[tuple[str, str]]] = []
        self.open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self.rows.append([])
        self.open = tag in ("td", "th") or (self.open and tag not in ("tr", "table"))
        if tag in ("td", "th") and self.rows:
            self.rows[-1].append((str(dict(attrs).get("class", "")), ""))

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self.open = False

    def handle_data(self, data: str) -> None:
        if self.open and self.rows and self.rows[-1]:
            name, text = self.rows[-1][-1]
            self.rows[-1][-1] = (name, text + data)


def on_page(text: str, ids: Sequence[str]) -> dict[str, Told]:
    """The rows of the page's table of talkers."""
    rows = _Rows()
    rows.feed(text)
    told = {}
    for row in rows.rows:
        if row and row[0][1].strip() in ids:
            by_class = {name: value.strip() for cell, value in row for name in cell.split()}
            if "margin" in by_class:
                told[row[0][1].strip()] = Told(by_class["margin"], by_class["state"])
    return told


def page_verdict(text: str) -> str:
    """What the page's verdict is to a program."""
    found = re.search(r'id="verdict"[^>]*data-verdict="(\w+)"|data-verdict="(\w+)"[^>]*id="verdict"', text)
    assert found is not None
    return found[1] or found[2]


def page_words(text: str) -> str:
    """What a reader of the page reads, tags and scripts left out."""
    bare = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.S)
    return html.unescape(re.sub(r"<[^>]+>", " ", bare))


def pdf_lines(path: Path) -> list[str]:
    """A PDF's text as it stands on its pages."""
    told = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True
    )
    return told.stdout.splitlines()


def in_dxf(path: Path, ids: Sequence[str]) -> dict[str, Told]:
    """The attributes of the talkers' blocks."""
    return {
        tags["TAG"]: Told(tags["MARGIN"], tags["STATE"])
        for tags in blocks(path)
        if tags.get("TAG") in ids and "MARGIN" in tags
    }


def blocks(path: Path) -> Iterator[Mapping[str, str]]:
    """The attributes of every block of a drawing."""
    for insert in readfile(path).query("INSERT"):
        yield {one.dxf.tag: one.dxf.text for one in insert.attribs}  # type: ignore[attr-defined]


def in_csv(path: Path) -> dict[str, dict[str, str]]:
    """The rows of a table of talkers."""
    with path.open(encoding="utf-8", newline="") as file:
        return {row["id"]: row for row in csv.DictReader(file)}


def disagreements(told: Mapping[str, Told], heads: Sequence[Mapping[str, object]]) -> Iterator[str]:
    """Where a document is not the review: a margin that is another number, a state's word that stands for two."""
    words: dict[object, set[str]] = {}
    for head in heads:
        id, margin = str(head["id"]), float(head["margin_m"])  # type: ignore[arg-type]
        if id not in told:
            yield f"{id} is not there"
            continue
        value, step = length(told[id].margin)
        # rounded down or to the nearest: less than one of its last digit off
        if abs(value - margin) >= step * (1 + 1e-9) or math.copysign(1, value) * margin < -step:
            yield f"{id}: {told[id].margin}, in the review {margin}"
        words.setdefault(head["state"], set()).add(told[id].state.split(":")[0])
    spoken = [word for several in words.values() for word in several]
    if len(spoken) != len(words) or len(set(spoken)) != len(spoken):
        yield f"states are called {words}"
