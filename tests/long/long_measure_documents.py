"""Speed of the documents of a small room, without pictures, beside what the libraries alone take for the same.

Aim: sheets and report together in about three seconds on two shared cores. The ratio tells what is ours: the
baseline is ezdxf reading, writing and drawing the finished document with its own backend, and typst setting the
finished data.
"""

from __future__ import annotations

import io
import json
from importlib.resources import files
from pathlib import Path

import ezdxf
import pypdf
import pytest
from ezdxf.addons.drawing import Frontend, RenderContext
from ezdxf.addons.drawing.layout import Page, Units
from ezdxf.addons.drawing.svg import SVGBackend
from pytest_benchmark.fixture import BenchmarkFixture

import viz.report
from scenes.dossier import Dossier
from scenes.room.build import read_scene
from viz.report import report_data, report_pdf
from viz.sheets import render, sheets


@pytest.fixture(scope="module")
def scene():
    return read_scene(str(files("scenes.rooms") / "heron.yaml"))


@pytest.fixture(scope="module")
def finished(scene):
    return sheets(Dossier(scene))


def test_sheets_as_dxf_svg_and_pdf(benchmark: BenchmarkFixture, scene) -> None:
    benchmark.group = "five sheets of a small room"

    def all_of_it() -> int:
        made = sheets(Dossier(scene))
        return len(made.dxf) + len(made.pdf) + sum(len(sheet.svg) for sheet in made.sheets)

    assert benchmark.pedantic(all_of_it, rounds=3, warmup_rounds=1) > 500_000


def test_the_same_sheets_read_written_and_drawn_by_ezdxf_alone(benchmark: BenchmarkFixture, finished) -> None:
    benchmark.group = "five sheets of a small room"

    def libraries() -> int:
        doc = ezdxf.read(io.StringIO(finished.dxf))
        out = io.StringIO()
        doc.write(out)
        size = len(out.getvalue())
        for name in doc.layouts.names_in_taborder()[1:]:
            backend = SVGBackend()
            Frontend(RenderContext(doc), backend).draw_layout(doc.layouts.get(name))
            size += len(backend.get_string(Page(297, 210, Units.mm)))
        return size

    assert benchmark.pedantic(libraries, rounds=3, warmup_rounds=1) > 500_000


def test_sheets_and_report_from_the_scene(benchmark: BenchmarkFixture, scene) -> None:
    benchmark.group = "sheets and report of a small room"

    def documents() -> bytes:
        dossier = Dossier(scene)
        made = sheets(dossier)
        assert made.dxf
        assert made.pdf
        return report_pdf(dossier)

    made = benchmark.pedantic(documents, rounds=3, warmup_rounds=1)
    assert 6 <= len(pypdf.PdfReader(io.BytesIO(made)).pages) <= 12


def test_the_same_report_set_by_typst_alone(benchmark: BenchmarkFixture, scene) -> None:
    benchmark.group = "sheets and report of a small room"
    told = report_data(Dossier(scene), pictures={})
    source = Path(viz.report.__file__).with_suffix(".typ").read_text(encoding="utf-8")
    inputs = {"told": json.dumps(told)}
    made = benchmark.pedantic(
        lambda: render.compiled(source, inputs, date=told["date"], standards=["a-2b"]),
        rounds=3,
        warmup_rounds=1,
    )
    assert made.startswith(b"%PDF")
