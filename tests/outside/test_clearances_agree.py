"""A room with clearances of every state, handed over: every document has the state and the figures of `check --json`."""

from __future__ import annotations

import csv
import io
import re
import shutil
from pathlib import Path
from typing import Any, NamedTuple

import ezdxf
import pytest

from tests.outside.oracle import documents, product

ROOMS = product.ROOT / "scenes" / "rooms"

WORDS = {
    "clear": "clear",
    "short": "too close",
    "advised": "below advice",
    "unjudged": "not checked",
    "off": "off",
}
"""Each state's one word for people."""

SPRINKLER = "{id: SP2, kind: sprinkler, at: [3.3, 2.85], below: 0.05, spray: standard}"
OTHER_SPRINKLER = "{id: SP3, kind: sprinkler, at: [5.7, 2.85], below: 0.05, spray: standard}"
HANGS = "at: [3.3, 2.25], height: 2.18, band: main"
BODY_RADIUS_M = 0.23
SPEAKER = "  - {id: LSX, kind: loudspeaker, at: [3.3, 1.6], below: 0.0, size: [0.2, 0.2], depth: 0.1}\n"


def beside_a_sprinkler(
    folder: Path, *, off_m: float = 0.08, height_m: float = 2.6, spray: str | None
) -> Path:
    """The small demo room, its array's body that far on plan from a sprinkler."""
    shutil.copy(ROOMS / "devices.yaml", folder)
    text = (ROOMS / "heron.yaml").read_text("utf-8")
    given = "" if spray is None else f", spray: {spray}"
    at = 3.3 + BODY_RADIUS_M + off_m
    for before, after in (
        (SPRINKLER, f"{{id: SP2, kind: sprinkler, at: [{at:.3f}, 2.25], below: 0.05{given}}}"),
        (HANGS, HANGS.replace("2.18,", f"{height_m},")),
    ):
        assert before in text
        text = text.replace(before, after)
    spec = folder / "near.yaml"
    spec.write_text(text, "utf-8")
    return spec


@pytest.mark.parametrize("height_m", [2.3, 2.45, 2.6])
def test_an_array_8_cm_from_a_standard_sprinkler_fails(tmp_path: Path, height_m: float) -> None:
    """NFPA 13, three times the largest dimension, at most 24 in (610 mm): a copy, see test_clearance_values."""
    spec = beside_a_sprinkler(tmp_path, height_m=height_m, spray="standard")
    told = product.run("check", spec)
    assert told.status == 1
    assert re.search(r"A1 is closer to sprinkler SP2\s+than NFPA\s+13\s+allows", told.out)
    review = product.asked("check", spec)
    assert review["verdict"] == "fail"
    [row] = [row for row in review["clearances"] if row["against"] == "SP2"]
    assert (row["state"], row["basis"], row["sureness"]) == ("short", "code", "copy")
    assert row["actual_m"] == pytest.approx(0.08, abs=1e-6)


@pytest.mark.parametrize("spray", ["extended", "sidewall", "special", "unknown", None])
@pytest.mark.parametrize("height_m", [2.2, 2.6])
def test_of_no_other_sprinkler_so_near_does_it_pass(
    tmp_path: Path, height_m: float, spray: str | None
) -> None:
    review = product.asked("check", beside_a_sprinkler(tmp_path, height_m=height_m, spray=spray))
    assert review["verdict"] in ("caution", "fail")
    [row] = [row for row in review["clearances"] if row["against"] == "SP2"]
    assert row["state"] == "unjudged"


class Papers(NamedTuple):
    """The crowded room: its review, what the terminal printed, and the folder handed over."""

    review: dict[str, Any]
    terminal: str
    folder: Path


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Papers:
    """One sprinkler too close, one of unknown spray, a loudspeaker nearer than advised, a rule switched off."""
    folder = tmp_path_factory.mktemp("crowded")
    spec = beside_a_sprinkler(folder, spray="standard")
    text = spec.read_text("utf-8").replace(OTHER_SPRINKLER, OTHER_SPRINKLER.replace(", spray: standard", ""))
    text = text.replace("  - {id: SP1", SPEAKER + "  - {id: SP1")
    assert "rules:" not in text
    spec.write_text(f'{text}\nrules:\n  light: {{use: false, reason: "a trial"}}\n', "utf-8")
    review = product.asked("check", spec)
    assert {row["state"] for row in review["clearances"]} == set(WORDS)
    terminal = product.run("check", spec, "--all")
    assert terminal.status == 1
    out = folder / "out"
    assert product.run("handover", spec, "-o", out, "--no-pictures").status == 1
    return Papers(review, terminal.out, out)


def told_alike(row: dict[str, Any], required: str, actual: str, state: str) -> bool:
    """Whether a document's texts say what the row has: the word of its state, and its figures as far as written."""
    figures = ((row["required_m"], required), (row["actual_m"], actual))
    return state == WORDS[row["state"]] and all(
        text == "–"
        if metres is None
        else abs(documents.length(text)[0] - metres) <= documents.length(text)[1]
        for metres, text in figures
    )


def test_the_terminal_has_every_row(papers: Papers) -> None:
    rows = [re.split(r"\s{2,}", line.strip()) for line in papers.terminal.splitlines()]
    told = [cells for cells in rows if len(cells) == 6 and cells[-1] in WORDS.values()]
    assert len(told) == len(papers.review["clearances"])
    for row, (array, _, title, required, actual, state) in zip(
        papers.review["clearances"], told, strict=True
    ):
        assert array == row["array"]
        assert row["title"].startswith(title)  # a narrow table breaks it
        assert told_alike(row, required, actual, state), row


def test_the_page_and_the_report_have_every_row(papers: Papers) -> None:
    page = (papers.folder / "page.html").read_text("utf-8")
    report = "".join("".join(documents.pdf_lines(papers.folder / "report.pdf")).split())
    rows = re.findall(
        r'<tr data-clearance="\d+">.*?<td class="number">(.*?)</td><td class="number">(.*?)</td>'
        r'<td><span class="tag \w+">(.*?)</span>',
        page,
    )
    for row, texts in zip(papers.review["clearances"], rows, strict=True):
        assert told_alike(row, *texts), row
        assert "".join("".join(texts).split()) in report, texts


def test_the_table_has_every_row(papers: Papers) -> None:
    text = (papers.folder / "data" / "clearances.csv").read_text("utf-8")
    for row, told in zip(papers.review["clearances"], csv.DictReader(io.StringIO(text)), strict=True):
        assert (told["state"], told["rule"]) == (WORDS[row["state"]], row["title"])
        for key in ("required_m", "actual_m"):
            assert (float(told[key]) if told[key] else None) == row[key]


def test_the_drawings_letter_what_is_too_close_or_below_advice_and_nothing_else(papers: Papers) -> None:
    lettered = set()
    for sheet in (papers.folder / "sheets").glob("*.dxf"):
        for layout in ezdxf.readfile(sheet).layouts:
            lettered |= {item.dxf.text for item in layout.query("TEXT")}
    told = {text for text in lettered if text.split(":")[0] in WORDS.values()}
    near = [row for row in papers.review["clearances"] if row["state"] in ("short", "advised")]
    assert len(told) == len(near)
    for row in near:
        asked = "required" if row["state"] == "short" else "advised"
        [text] = [text for text in told if text.startswith(f"{WORDS[row['state']]}: ")]
        found = re.fullmatch(rf"(.*?): (.*), (.*) {asked}", text)
        assert found is not None, text
        assert told_alike(row, found[3], found[2], found[1])
