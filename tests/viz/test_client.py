"""The two pages a client reads: the same sentences as everywhere, nothing left out that holds the room."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdf
import pytest

from scenes.dossier import Dossier
from tests.viz.drawn import dossier_of
from viz.client import client_pdf
from viz.words import cautions, conflict, coverage, tolerance, tour
from viz.words.locale import Locale


def pages(made: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(made)).pages]


def whole(made: bytes) -> str:
    """All that is on the pages, without spaces: where a line is broken is no matter."""
    return "".join("".join(pages(made)).split())


@pytest.fixture(scope="module", params=["heron", "weir", "ferry"])
def made(request):
    return dossier_of(request.param), client_pdf(dossier_of(request.param))


def test_it_is_two_pages_that_say_what_everything_says(made):
    dossier, content = made
    review = dossier.review
    assert len(pages(content)) == 2
    said = [
        coverage.sentence(review),
        cautions.still_open(review),
        *(step.text for step in tour.steps(review)[:4]),
    ]
    if review.verdict != "fail":
        said.append(tolerance.headline(review))
    for text in said:
        assert "".join(text.split()) in whole(content), text


def test_a_room_that_fails_says_so_on_both_pages_and_what_would_help():
    dossier = dossier_of("weir")
    content = client_pdf(dossier)
    for page in pages(content):
        assert cautions.hold(dossier.review) in page
    assert conflict.sentences(dossier.placement, Locale.of(dossier.scene))
    for text in conflict.sentences(dossier.placement, Locale.of(dossier.scene)):
        assert "".join(text.split()) in whole(content), text
    assert "how exactly it must hang" not in whole(content).lower()


def test_the_same_room_gives_the_same_bytes_on_either_paper():
    dossier = dossier_of("heron")
    for paper, width in (("A3", 595), ("Tabloid", 612)):
        content = client_pdf(dossier, paper=paper)
        assert content == client_pdf(dossier, paper=paper)
        assert round(float(pypdf.PdfReader(io.BytesIO(content)).pages[0].mediabox.width)) == width


def test_letters_the_typeface_lacks_and_another_paper():
    dossier = dossier_of("heron")
    content = client_pdf(Dossier(replace(dossier.scene, name="会議室 *2* #set")))
    assert "*2* #set" in " ".join(pages(content))
    with pytest.raises(ValueError, match="B5"):
        client_pdf(dossier, paper="B5")
