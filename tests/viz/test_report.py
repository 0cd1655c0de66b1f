"""The report: what it says is what the review says, number by number; pages without holes; text only text."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
from dataclasses import astuple, replace
from functools import cache

import numpy as np
import pypdf
import pytest
from PIL import Image

from scenes.dossier import Dossier
from scenes.review.people import people_in
from scenes.room.build import read_scene
from scenes.room.scene import Criteria, RuleChange
from scenes.room.walls import wall_name
from tests.viz.drawn import dossier_of, drawn
from viz.commands.demo import room_text
from viz.report import report_data, report_pdf
from viz.sheets import lettering
from viz.words import (
    cautions,
    clearances,
    coverage,
    installation,
    people,
    placement,
    sound,
    tolerance,
    verdict,
)
from viz.words.locale import Locale

ROOMS = ("heron", "weir", "loft", "ferry")


RUN = {}


@pytest.fixture(autouse=True)
def once_in_a_run(handed_over):
    """What is made of demo rooms as they stand is made once for all workers."""
    RUN["store"] = handed_over


@cache
def report(room, paper="A4"):
    return RUN["store"].made(
        f"report-{room}-{paper}", lambda: report_pdf(dossier_of(room), paper=paper, drawn=drawn(room, paper))
    )


@cache
def pages(room, paper="A4"):
    def read():
        found = pypdf.PdfReader(io.BytesIO(report(room, paper))).pages
        return json.dumps([page.extract_text() for page in found]).encode()

    return json.loads(RUN["store"].made(f"text-{room}-{paper}", read))


def squeezed(text):
    """Without white space: where a line of print breaks is nobody's claim."""
    return "".join(text.split())


@cache
def said(room):
    return squeezed(" ".join(pages(room)))


def png(colour=(40, 90, 160), size=(320, 200)):
    stream = io.BytesIO()
    Image.new("RGB", size, colour).save(stream, "PNG")
    return stream.getvalue()


@pytest.mark.parametrize("room", ROOMS)
def test_every_talkers_numbers_are_the_reviews(room):
    review = dossier_of(room).review
    text, shares = said(room), people_in(review).covered_share
    for one, head in zip(coverage.talkers_of(review), review.heads, strict=True):
        covered = people.of_hundred(shares[head.id], Locale.of(review.scene))
        assert squeezed(one.mouth + covered + one.served) in text, one.id
        row = "".join([one.angle, one.distance, one.from_centre, one.margin, one.judged])
        assert squeezed(row) in text, one.id
        assert text.count(squeezed(one.id)) >= 2  # on a drawing and in the table


@pytest.mark.parametrize("room", ROOMS)
def test_every_clearance_is_there_with_its_numbers_state_and_source(room):
    review = dossier_of(room).review
    text = said(room)
    for clearance in review.clearances:
        row = clearances.row(clearance, Locale.of(review.scene))
        assert squeezed(row.required + row.actual + row.state) in text, (row.title, row.against)
        assert squeezed(f"{row.number} {row.title}. {row.source}") in text


@pytest.mark.parametrize("room", ROOMS)
def test_the_first_pages_tell_verdict_sentences_and_numbers(room):
    dossier = dossier_of(room)
    review, locale = dossier.review, Locale.of(dossier.scene)
    for page in pages(room)[:2]:
        text = squeezed(page)
        assert verdict.word(review.verdict, Locale.of(review.scene)) in text
        assert squeezed(" ".join(verdict.whole(review))) in text
    glance = squeezed(pages(room)[1])
    assert squeezed(f"{review.counts.covered} of {review.counts.talkers}") in glance
    assert squeezed(tolerance.tile(review)[0]) in glance
    for row in dossier.schedule:
        at = ((row.x_m, row.x_wall), (row.y_m, row.y_wall))
        where = ", ".join(f"{locale.site(metres)} from {wall_name(wall)}" for metres, wall in at)
        assert squeezed(where) in glance
        assert squeezed(locale.site(row.underside_m)) in glance
    signed = glance.partition("Sign-off")[2]
    for one in cautions.signed_by(review):
        assert squeezed(f"{one.who}{one.what}{one.open}") in signed


@pytest.mark.parametrize("room", ROOMS)
def test_placement_schedule_steps_and_cautions_are_all_there(room):
    dossier = dossier_of(room)
    locale = Locale.of(dossier.scene)
    text = said(room)
    for row in dossier.placement.aims:
        if row.worst_slant_m is not None:
            assert (
                squeezed(
                    locale.length(row.worst_slant_m)
                    + locale.from_centre(row.mean_off_centre_deg)
                    + locale.angle(row.rms_off_centre_deg)
                )
                in text
            )
    for sentence in placement.findings(dossier.placement, locale):
        assert squeezed(sentence) in text
    assert [note.name for note in dossier.placement.notes] == {
        "weir": ["too little margin"],
    }.get(room, [])
    locale = Locale.of(dossier.scene)
    for row in dossier.schedule:
        for value in astuple(installation.schedule(row, dossier.review)):
            assert squeezed(value) in text
    for step in installation.steps(dossier.steps, dossier.schedule, dossier.review):
        assert squeezed(f"{step.title}. {step.text}") in text
    for caution in cautions.full(dossier.scene):
        assert text.count(squeezed(f"{caution.title}. {caution.text}")) == 1
        assert squeezed(caution.defers) in text
    assert squeezed("Local codes, the authority having jurisdiction and licensed designers decide.") in text


def test_levels_are_told_only_when_the_spec_asks_for_them():
    dossier = dossier_of("heron")
    assert len(sound.rows(dossier.review)) == len(dossier.review.heads)
    for row in sound.rows(dossier.review):
        assert squeezed("".join(row)) in said("heron")
    assert dossier_of("ferry").review.speech is None
    assert "dB(A)" not in said("ferry")


def test_figures_of_practice_are_the_designers_own_or_not_there():
    scene = dossier_of("heron").scene
    assert "criterion" not in said("heron")
    assert "practice" not in said("heron").lower()
    asked = replace(scene, criteria=Criteria((0.9, 2.5)))
    told = report_data(Dossier(asked), pictures={}, drawn=drawn("heron"))
    [sentence] = [text for text in told["heights"]["text"] if "criterion" in text]
    assert sentence.endswith("talkers 0.90 m to 2.50 m from the array. 8 of 8 meet it.")


def test_a_changed_rule_is_told_with_its_reason():
    scene = dossier_of("heron").scene
    change = RuleChange("smoke-detector", True, None, "agreed with the fire engineer on 3 November")
    told = report_data(Dossier(replace(scene, rule_changes=(change,))), pictures={}, drawn=drawn("heron"))
    assert ["Clear of a smoke detector", "not applied", change.reason] in told["clearances"]["changed"][
        "rows"
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_a_small_room_has_six_to_ten_pages_of_text_and_none_is_nearly_empty(room, tmp_path):
    sizes = [page.mediabox for page in pypdf.PdfReader(io.BytesIO(report(room))).pages]
    assert 6 <= sum(float(size.width) < float(size.height) > 700 for size in sizes) <= 10
    (tmp_path / "r.pdf").write_bytes(report(room))
    subprocess.run(
        ["pdftoppm", "-r", "36", "-gray", str(tmp_path / "r.pdf"), str(tmp_path / "p")], check=True
    )
    for page in sorted(tmp_path.glob("p*.pgm")):
        inked = np.flatnonzero((np.asarray(Image.open(page), float) < 200).any(axis=1))
        body = inked[(inked > 30) & (inked < len(np.asarray(Image.open(page))) - 45)]
        # a lonely line would end high on the page
        assert body.max() > 0.25 * len(np.asarray(Image.open(page))), page.name


@pytest.mark.parametrize("room", ROOMS)
def test_contents_lead_to_the_pages_they_name(room):
    titles = ["At a glance", "Placement and tolerance", "Each talker", "Why this height and this band",
              "Ceiling: clearances and lines of sight", "Installation", "Assumptions and sources"]  # fmt: skip
    cover = squeezed(pages(room)[0])
    for title in titles:
        number = int(re.search(re.escape(squeezed(title)) + r"(\d+?)(?=\D|$)", cover).group(1))
        assert squeezed(title) in squeezed(pages(room)[number]), title  # page 1 follows the cover


def test_it_is_archivable_tagged_and_dated_and_every_picture_has_a_text():
    reader = pypdf.PdfReader(io.BytesIO(report("heron")))
    root = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert "pdfaid:part>2<" in xmp
    assert "pdfaid:conformance>B<" in xmp
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert reader.metadata.title == "Heron Room: microphone array placement"
    assert reader.metadata.author == "MO"
    assert reader.metadata.creation_date.date().isoformat() == "2026-11-25"
    texts = []
    walk(root["/StructTreeRoot"], texts)
    assert len(texts) >= 7
    assert all(text for text in texts)


def walk(node, texts):
    node = node.get_object()
    if isinstance(node, list):
        for child in node:
            walk(child, texts)
    elif isinstance(node, dict):
        if node.get("/S") == "/Figure":
            texts.append(node.get("/Alt", ""))
        if "/K" in node:
            walk(node["/K"], texts)


def test_the_same_dossier_gives_the_same_bytes():
    picture = png()
    one = report_pdf(dossier_of("heron"), pictures={"corner": picture})
    assert one == report_pdf(dossier_of("heron"), pictures={"corner": picture})
    assert one != report("heron")


def test_the_cover_shows_the_corner_picture(tmp_path):
    (tmp_path / "r.pdf").write_bytes(
        report_pdf(
            dossier_of("heron"),
            pictures={"plan": png(), "corner": png((200, 30, 40))},
            drawn=drawn("heron"),
        )
    )
    subprocess.run(
        ["pdftoppm", "-r", "20", "-l", "1", str(tmp_path / "r.pdf"), str(tmp_path / "p")], check=True
    )
    pixels = np.asarray(Image.open(next(tmp_path.glob("p*.ppm"))), int)
    assert np.abs(pixels[len(pixels) // 5, pixels.shape[1] // 2] - (200, 30, 40)).sum() < 12


def test_letter_paper_and_feet():
    page = pypdf.PdfReader(io.BytesIO(report("ferry", "Letter"))).pages[1]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx((612, 792), abs=0.1)
    assert "12'-0\"" in squeezed(pages("ferry", "Letter")[1])


NASTY = '#pagebreak() $x$ @heading <b>&amp; \\n *w* _i_ `c` //no [x] "q" ~'


def test_nothing_in_a_spec_is_markup():
    scene = dossier_of("heron").scene
    head = replace(scene.heads[0], id="#emph[H]")
    nasty = replace(scene, name=NASTY, project=NASTY, heads=(head, *scene.heads[1:]))
    made = report_pdf(Dossier(nasty))
    text = squeezed(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made)).pages))
    assert text.count(squeezed(NASTY)) >= 3
    assert squeezed("#emph[H]") in text


def test_a_letter_without_a_shape_is_marked_and_told():
    scene = dossier_of("heron").scene
    change = RuleChange("smoke-detector", True, None, "合意")  # stands in the report only, on no sheet
    made = report_pdf(Dossier(replace(scene, name="会議室 2", rule_changes=(change,))))
    reader = pypdf.PdfReader(io.BytesIO(made))
    assert reader.metadata.title == "会議室 2: microphone array placement"
    text = squeezed(" ".join(page.extract_text() for page in reader.pages))
    assert squeezed(f"{lettering.MARK * 3} 2") in text
    assert squeezed(f"is switched off: {lettering.MARK * 2}.") in text
    assert squeezed("(U+4F1A, U+5408, U+5BA4, U+610F, U+8B70)") in text
    assert "U+" not in squeezed(" ".join(pages("heron")))
    with pytest.raises(ValueError, match="A4"):
        report_pdf(dossier_of("heron"), paper="B5")


def test_another_program_finds_the_file_sound(tmp_path):
    (tmp_path / "r.pdf").write_bytes(report("heron"))
    assert shutil.which("qpdf"), "qpdf is needed for this test: apt-get install qpdf"
    ran = subprocess.run(["qpdf", "--check", str(tmp_path / "r.pdf")], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_an_arrays_id_in_any_script_stops_no_report(tmp_path):
    # a try-out: TypstError "could not be displayed with font", and no document
    scripts = ("会", "👨\u200d👩\u200d👧", "قاعة", "#let $x$ <a> \\")
    text = room_text("heron").replace("id: A1", f"id: {json.dumps(' '.join(scripts), ensure_ascii=False)}")
    (tmp_path / "devices.yaml").write_text(room_text("devices.yaml"), "utf-8")
    (tmp_path / "heron.yaml").write_text(text, "utf-8")
    made = report_pdf(Dossier(read_scene(tmp_path / "heron.yaml")), date="2026-11-25")
    told = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made)).pages)
    title = re.search(r"Schedule: (.{1,80})", told, re.DOTALL)
    for script in scripts:
        # joiners have no shape; what is read out has them, a space, or nothing there
        letters = lettering.settable("".join(c for c in script if c.isprintable()))
        assert re.search(r"[\s\u200d]*".join(map(re.escape, letters)), title[1]), script
