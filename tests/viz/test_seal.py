"""The seal: every form that has one is whole with it, and one changed byte breaks it."""

from __future__ import annotations

import io
import json
import subprocess
import zipfile
import zlib
from importlib.resources import files
from pathlib import Path

import pytest
from PIL import Image

from scenes.dossier import Dossier
from scenes.room.build import read_scene
from viz import seal
from viz.diagrams import heights_picture
from viz.exports import EXPORTERS
from viz.outputs import write_file
from viz.page import page
from viz.sheets import sheets


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    """What is written of a room, by ending, before it has a seal."""
    dossier = Dossier(read_scene(Path(str(files("scenes.rooms").joinpath("heron.yaml")))))
    drawn = sheets(dossier, paper="A4", date="2026-11-25")
    picture, archive = io.BytesIO(), io.BytesIO()
    Image.new("RGB", (3, 2), "red").save(picture, "PNG")
    with zipfile.ZipFile(archive, "w") as writing:
        writing.writestr("a.txt", "a")
    contents = {f".{ending}": EXPORTERS[ending](dossier) for ending in ("glb", "obj", "stl", "ifc", "dxf")}
    contents |= {".pdf": drawn.pdf, ".svg": drawn.sheets[0].svg, ".html": page(dossier, made_on="2026-11-25")}
    contents |= {".png": picture.getvalue(), ".zip": archive.getvalue()}
    return {end: one.encode() if isinstance(one, str) else one for end, one in contents.items()}


ENDINGS = (".pdf", ".svg", ".html", ".png", ".dxf", ".glb", ".obj", ".stl", ".ifc", ".zip")


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_file_as_it_was_written_is_known_and_a_changed_one_is_not(made, tmp_path, ending):
    path = write_file(tmp_path / f"room{ending}", made[ending])
    content = path.read_bytes()
    assert content != made[ending] or ending == ".pdf"
    assert seal.unbroken(path)
    assert seal.sealed(made[ending], ending) == content  # the same input, the same bytes
    for at in range(0, len(content), max(1, len(content) // 60)):
        changed = bytearray(content)
        changed[at] ^= 1
        path.write_bytes(changed)
        assert not seal.unbroken(path), at
    for changed in (content + b"\n", content[:-1], content[:-40], b"", made[ending]):
        path.write_bytes(changed)
        assert not seal.unbroken(path)


def test_the_forms_are_whole_with_their_seal(made, tmp_path):
    paths = {ending: write_file(tmp_path / f"room{ending}", made[ending]) for ending in ENDINGS}
    for command in (
        ["qpdf", "--check", paths[".pdf"]],
        ["xmllint", "--noout", paths[".svg"]],
        ["pdfinfo", paths[".pdf"]],
    ):
        assert subprocess.run(command, capture_output=True, check=False).returncode == 0, command
    picture = Image.open(paths[".png"])
    picture.load()
    assert picture.getpixel((0, 0)) == (255, 0, 0)
    assert picture.text["Comment"].startswith("overtable:")
    with zipfile.ZipFile(paths[".zip"]) as archive:
        assert archive.testzip() is None
        assert archive.read("a.txt") == b"a"


def test_drawing_and_models_read_alike_with_their_seal(made, tmp_path):
    import ezdxf
    import trimesh

    for ending in (".glb", ".obj", ".stl"):
        sealed = write_file(tmp_path / f"room{ending}", made[ending])
        (tmp_path / f"bare{ending}").write_bytes(made[ending])
        with_it, without = (trimesh.load_scene(p) for p in (sealed, tmp_path / f"bare{ending}"))
        assert with_it.area == pytest.approx(without.area, rel=1e-12)
        assert with_it.bounds.tolist() == without.bounds.tolist()
    drawing = ezdxf.readfile(write_file(tmp_path / "room.dxf", made[".dxf"]))
    audit = drawing.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    content = (tmp_path / "room.glb").read_bytes()
    assert int.from_bytes(content[8:12], "little") == len(content)
    tree = json.loads(content[20 : 20 + int.from_bytes(content[12:16], "little")])
    assert tree["asset"]["extras"].keys() == {"cautions", "seal"}
    assert (tmp_path / "room.stl").read_bytes()[:80].endswith(b", metres, z up".ljust(38))


def test_a_png_keeps_its_checksums(made, tmp_path):
    content = write_file(tmp_path / "room.png", made[".png"]).read_bytes()
    at = 8
    while at < len(content):
        length = int.from_bytes(content[at : at + 4], "big")
        chunk = content[at + 4 : at + 8 + length]
        assert int.from_bytes(content[at + 8 + length : at + 12 + length], "big") == zlib.crc32(chunk)
        at += 12 + length


def test_forms_without_room_for_a_seal_carry_none(tmp_path):
    for ending in (".csv", ".json", ".yaml", ""):
        path = tmp_path / f"room{ending}"
        path.write_bytes(seal.sealed(b"a,b\n", ending))
        assert path.read_bytes() == b"a,b\n"
        assert not seal.unbroken(path)


def test_a_name_that_looks_like_a_seal_changes_nothing(tmp_path):
    text = f"<svg><text>overtable:{'0' * 32} overtable:{'a' * 32}</text></svg>"
    assert seal.unbroken(write_file(tmp_path / "a.svg", text))
    obj = f"o overtable:{'b' * 32}\nv 0 0 0\n"
    assert seal.unbroken(write_file(tmp_path / "a.obj", obj))


def test_what_is_of_another_form_than_its_ending_says_is_refused():
    with pytest.raises(ValueError, match="no PNG"):
        seal.sealed(b"not a picture", ".png")
    with pytest.raises(ValueError, match="no zip file"):
        seal.sealed(b"not an archive", ".zip")
    with pytest.raises(ValueError, match="no room for a seal"):
        seal.sealed(b"%PDF-1.7 made by something else", ".pdf")


def test_a_picture_of_heights_has_a_seal_too(tmp_path):
    from scenes.review.heights import hanging_heights

    scene = read_scene(Path(str(files("scenes.rooms").joinpath("heron.yaml"))))
    for ending in ("svg", "png"):
        picture = heights_picture(scene, hanging_heights(scene, None), ending, review=None)
        assert seal.unbroken(write_file(tmp_path / f"heights.{ending}", picture))


def test_a_checksum_that_looks_like_a_digit_ends_a_pictures_seal(tmp_path):
    """One picture in sixteen was taken for somebody else's: the checksum after its seal began with 0 to 9 or a to f."""
    seen = set()
    for grey in range(64):
        made = io.BytesIO()
        Image.new("L", (8, 8), grey).save(made, "PNG")
        path = write_file(tmp_path / f"{grey}.png", made.getvalue())
        assert seal.unbroken(path)
        seen.add(path.read_bytes()[-16:-15] in b"0123456789abcdef")
    assert seen == {True, False}
