"""Everything about a room at once: spec, review, tables, pictures, sheets, report, page, model, and an index.

The folder is made aside and moved in place when it is complete. The same input gives the same bytes:
every date is the spec's or the one given. Where this machine cannot draw, pictures are left out with a
line that says so, and everything else is there.
"""

from __future__ import annotations

import datetime
import io
import os
import zipfile
from collections.abc import Callable, Collection, Sequence
from dataclasses import field, replace
from pathlib import Path, PurePosixPath

from geometry.records import record
from scenes.dossier import Dossier
from scenes.numbers import json_text
from scenes.review.heights import heights_as_json
from scenes.room.build import build, require_places
from scenes.room.scene import Scene
from scenes.spec.model import Spec
from scenes.spec.reading import read_spec
from viz import palette
from viz.cards import Cards
from viz.csvs import (
    areas_csv,
    cautions_csv,
    clearances_csv,
    heads_csv,
    material_rows,
    open_rows,
    schedule_csv,
    schedule_rows,
)
from viz.drawing import GraphicsMissing
from viz.folders import read_manifest
from viz.json_objects import review_object, with_cautions
from viz.outputs import protect, slug_of, unique_slugs, write_file
from viz.refusals import Refusal
from viz.sheets import lettering
from viz.sheets.drawing import UNDATED, Kind, Sheets
from viz.stage import Stage, staged
from viz.words import arrays as array_words
from viz.words import cautions as caution_words
from viz.words import projects, tolerance
from viz.words import verdict as verdict_words
from viz.words.cautions import CautionText
from viz.words.locale import Locale
from viz.words.projects import RoomLine

Progress = Callable[[str, float], None]
"""Called with what is being made and the share that is done, 0 to 1."""


@record(frozen=True)
class Made:
    """What a handover holds: its files with a title each, and what was left out and why."""

    name: str
    slug: str
    verdict: str | None
    sentence: str
    files: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]
    cautions: tuple[CautionText, ...]
    mark: str
    line: str
    advice: str
    schedule: list[list[object]] = field(default_factory=list)
    summary: dict[str, object] = field(default_factory=dict)
    open_rows: list[list[object]] = field(default_factory=list)
    materials: list[list[object]] = field(default_factory=list)
    document: tuple[str | None, str | None, str | None] = (None, None, None)
    """Number, revision and date in its title blocks."""
    row: RoomLine | None = None
    drawn: bool = False
    """Whether it holds pictures."""


@record(frozen=True, slots=True)
class Settings:
    """How a handover is made. `paper`: None is what is usual for the units of each room. `since`: the file of an earlier
    revision of the one room that is handed over."""

    paper: str | None = None
    date: str | None = None
    size: tuple[int, int] = (2400, 1500)
    pictures: bool = True
    since: str | None = None


def read_dossier(
    path: Path, date: str | None = None, *, placed: bool = True, layout: str | None = None
) -> tuple[Spec, Dossier]:
    """A file's spec and the dossier of its room. Raises SpecMistakes, with `placed` also for want of a place.

    `date` is the document's where the spec gives none. Of a room of several layouts the dossier is of `layout`, else
    of the first; raises Refusal where there is no such layout.
    """
    spec = read_spec(path)
    protect(*spec.files)
    return dossier_of_spec(spec, date, placed=placed, layout=layout)


def dossier_of_spec(
    spec: Spec, date: str | None = None, *, placed: bool = True, layout: str | None = None
) -> tuple[Spec, Dossier]:
    """The same of a spec that was read."""
    scene = build(spec)
    if placed:
        require_places(spec, scene)
    if scene.document.date is None and date is not None:
        scene = replace(scene, document=replace(scene.document, date=date))
    require_layout(scene, layout)
    return spec, Dossier.of(scene, layout)


def require_layout(scene: Scene, layout: str | None) -> None:
    """Raise Refusal where a room has no such layout."""
    if layout is None or layout in scene.layouts:
        return
    if not scene.layouts:
        raise Refusal("use.no layouts", layout=layout)
    raise Refusal("use.no such layout", layout=layout, layouts=Locale.of(scene).listed(scene.layouts))


def hand_over(
    path: Path, folder: Path, settings: Settings, progress: Progress = lambda what, share: None
) -> Made:
    """Fill `folder` with everything about the room of a spec file. Raises SpecMistakes before anything is made."""
    spec, dossier = read_dossier(path, settings.date)
    return fill(spec, dossier, folder, settings, progress)


class Folder:
    """A room's folder as it is filled: what it holds, with a title each, and what was left out and why."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.files: list[tuple[str, str]] = []
        self.left_out: list[str] = []
        self.layout: str | None = None
        """The layout that what is kept is of, where it is not the room's first."""

    def keep(self, name: str, title: str, content: bytes | str) -> None:
        """Write a file of overtable's own; one of another layout has its name before its own."""
        if self.layout is not None:
            above, cut, last = name.rpartition("/")
            name = f"{above}{cut}{slug_of(self.layout)}-{last}"
            title = Locale("m").say("file.of layout", layout=self.layout, title=title)
        target = self.path / name
        target.parent.mkdir(parents=True, exist_ok=True)
        write_file(target, content)
        self.files.append((name, title))

    def keep_as_read(self, name: str, title: str, content: bytes) -> None:
        """Write a file of the designer's byte for byte: a seal would change it."""
        target = (self.path / name).resolve()
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
        self.files.append((name, title))


def fill(spec: Spec, dossier: Dossier, path: Path, settings: Settings, progress: Progress) -> Made:
    """Fill a folder with everything about one room."""
    locale = Locale.of(dossier.scene)
    folder = Folder(path)
    _keep_spec(spec, folder, locale)
    progress(locale.say("progress.tables"), 0.0)
    _keep_tables(dossier, folder)
    stage = staged(dossier)
    pictures: dict[str, bytes] = {}
    if settings.pictures:
        pictures = _pictures(stage, settings, progress, folder)
    else:
        folder.left_out.append(locale.say("handover.no pictures asked"))
    progress(locale.say("progress.sheets"), 0.55)
    drawn = _keep_sheets(dossier, settings, folder)
    if settings.since is not None:
        _keep_changes(dossier, Path(settings.since), drawn, folder)
    hung = _keep_cards(dossier, folder)
    progress(locale.say("progress.report"), 0.65)
    cover = {"corner": cover_picture(stage, settings.size)} if pictures else {}
    _keep_report(dossier, settings, cover, (drawn, hung), folder)
    _keep_client(dossier, cover, drawn, folder)
    progress(locale.say("progress.page"), 0.85)
    corners = _keep_other_layouts(dossier, settings, hung, folder, draw=bool(pictures))
    if pictures:
        corners[dossier.scene.layout] = pictures["corner"]
    _keep_page(dossier, corners, folder)
    progress(locale.say("progress.model"), 0.95)
    _keep_model(stage, folder)
    made = _made(dossier, folder)
    progress(locale.say("progress.index"), 0.99)
    write_file(path / "index.html", index_html(dossier, made))
    return made


def _keep_other_layouts(
    dossier: Dossier, settings: Settings, hung: Cards, folder: Folder, *, draw: bool
) -> dict[str | None, bytes]:
    """Talkers, pictures, sheets and report of the room's other layouts, their names before the files'; their corners.

    What hangs is the same in all, and so is the ceiling: neither cards nor the ceiling plan are made again.
    """
    corners: dict[str | None, bytes] = {}
    for one in dossier.each:
        if one.scene.layout == dossier.scene.layout:
            continue
        folder.layout, locale, stage = str(one.scene.layout), Locale.of(one.scene), staged(one)
        folder.keep("data/heads.csv", locale.say("file.heads"), heads_csv(one.review))
        pictures = _pictures(stage, settings, lambda what, share: None, folder) if draw else {}
        drawn = _keep_sheets(one, settings, folder, without=("ceiling",))
        cover = {"corner": cover_picture(stage, settings.size)} if pictures else {}
        _keep_report(one, settings, cover, (drawn, hung), folder)
        _keep_client(one, cover, drawn, folder)
        if pictures:
            corners[one.scene.layout] = pictures["corner"]
    folder.layout = None
    return corners


def _made(dossier: Dossier, folder: Folder) -> Made:
    """What the folder holds, with the room's verdict and cautions."""
    scene, review = dossier.whole, dossier.whole_review
    return Made(
        scene.name,
        slug_of(scene.name),
        review.verdict,
        verdict_words.paragraph(review),
        tuple(folder.files),
        tuple(folder.left_out),
        caution_words.full(scene),
        caution_words.mark(review),
        caution_words.line(review),
        caution_words.advice(Locale.of(scene)),
        schedule_rows(dossier),
        summary_of(dossier),
        open_rows(review),
        material_rows(dossier),
        (scene.document.number, scene.document.revision, scene.document.date),
        projects.line(review),
        any(name.startswith("pictures/") for name, _ in folder.files),
    )


def _keep_tables(dossier: Dossier, folder: Folder) -> None:
    scene, review, say = dossier.scene, dossier.review, Locale.of(dossier.scene).say
    folder.keep("data/review.json", say("file.review"), json_text(review_object(dossier.whole_review)))
    heights = with_cautions(heights_as_json(dossier.heights), scene)
    folder.keep("data/heights.json", say("file.heights"), json_text(heights))
    folder.keep("data/heads.csv", say("file.heads"), heads_csv(review))
    if review.areas:
        folder.keep("data/areas.csv", say("file.areas"), areas_csv(review))
    folder.keep("data/clearances.csv", say("file.clearances"), clearances_csv(review))
    folder.keep("data/schedule.csv", say("file.schedule"), schedule_csv(dossier))
    folder.keep("data/cautions.csv", say("file.cautions"), cautions_csv(scene))


def _keep_sheets(
    dossier: Dossier, settings: Settings, folder: Folder, without: tuple[Kind, ...] = ()
) -> Sheets:
    """The sheets together and one by one, and what their typeface has no letters for; the sheets."""
    from viz.sheets import sheets, usual_paper

    scene, locale = dossier.scene, Locale.of(dossier.scene)
    paper = settings.paper or usual_paper(scene)
    drawn = sheets(dossier, paper=paper, date=scene.document.date, without=without)
    whole, *each = unique_slugs([scene.name, *(sheet.slug for sheet in drawn.sheets)])
    title = locale.say("file.sheets", paper=drawn.paper)
    folder.keep(f"sheets/{whole}.pdf", title, drawn.pdf)
    folder.keep(f"sheets/{whole}.dxf", title, drawn.dxf)
    for sheet, name in zip(drawn.sheets, each, strict=True):
        title = locale.say("file.sheet", title=sheet.title, scale=sheet.scale_text)
        folder.keep(f"sheets/{name}.dxf", title, sheet.dxf)
        folder.keep(f"sheets/{name}.svg", title, sheet.svg)
    if unset := lettering.unset(scene):
        folder.left_out.append(unset)
    return drawn


def _keep_changes(dossier: Dossier, since: Path, drawn: Sheets, folder: Folder) -> None:
    """What changed since an earlier revision, clouded and listed; that nothing did, where nothing did."""
    from viz.sheets import NothingDiffers, changes_sheet
    from viz.words.changes import two_rooms

    _, old = read_dossier(since, dossier.scene.document.date, layout=dossier.scene.layout)
    say = Locale.of(dossier.scene).say
    if other := two_rooms(old.scene, dossier.scene):
        folder.left_out.append(other)
    try:
        made = changes_sheet(old, dossier, paper=drawn.paper, date=dossier.scene.document.date)
    except NothingDiffers as nothing:
        folder.left_out.append(str(nothing))
        return
    folder.keep("sheets/changes.pdf", say("file.changes", old=since.name), made.pdf)
    folder.keep("sheets/changes.dxf", say("file.changes", old=since.name), made.dxf)


def _keep_cards(dossier: Dossier, folder: Folder) -> Cards:
    """The hang cards together, and each by itself; the cards."""
    from viz.cards import cards

    say = Locale.of(dossier.scene).say
    made = cards(dossier, date=dossier.scene.document.date)
    folder.keep("cards/hang-cards.pdf", say("file.cards"), made.pdf)
    for card in made.cards:
        folder.keep(f"cards/{card.slug}.svg", say("file.card", array=card.array), card.svg)
    return made


def _keep_report(
    dossier: Dossier, settings: Settings, cover: dict[str, bytes], made: tuple[Sheets, Cards], folder: Folder
) -> None:
    from viz.report import report_pdf

    date = dossier.scene.document.date
    drawn, hung = made
    report = report_pdf(dossier, pictures=cover, paper=drawn.paper, date=date, drawn=drawn, hung=hung)
    folder.keep("report.pdf", Locale.of(dossier.scene).say("file.report"), report)


def _keep_client(dossier: Dossier, cover: dict[str, bytes], drawn: Sheets, folder: Folder) -> None:
    from viz.client import client_pdf

    date = dossier.scene.document.date
    made = client_pdf(dossier, pictures=cover, paper=drawn.paper, date=date)
    folder.keep("client.pdf", Locale.of(dossier.scene).say("file.client"), made)


def _keep_page(dossier: Dossier, corners: dict[str | None, bytes], folder: Folder) -> None:
    from viz.page import page

    scene = dossier.scene
    stills = {layout: small(corner) or corner for layout, corner in corners.items()}
    made = page(dossier, made_on=scene.document.date, stills=stills)
    folder.keep("page.html", Locale.of(scene).say("file.page"), made)


def _keep_model(stage: Stage, folder: Folder) -> None:
    from viz.gltf import glb_bytes

    folder.keep("model.glb", Locale.of(stage.scene).say("file.model"), glb_bytes(stage))


def _pictures(stage: Stage, settings: Settings, progress: Progress, folder: Folder) -> dict[str, bytes]:
    """The usual views by name; none, and why, where this machine cannot draw."""
    from viz import drawing, stills, views

    locale = Locale.of(stage.scene)
    try:
        drawing.ready()
    except GraphicsMissing as missing:
        folder.left_out.append(locale.say("handover.no pictures", why=str(missing)))
        return {}
    pictures: dict[str, bytes] = {}
    usual = views.usual(stage)
    slugs = unique_slugs(usual)
    for number, (name, slug) in enumerate(zip(usual, slugs, strict=True)):
        progress(locale.say("progress.picture", name=name), 0.05 + 0.5 * number / len(usual))
        still = stills.draw_still(stage, name, stills.Style(size=settings.size))
        pictures[name] = still.png
        folder.keep(f"pictures/{slug}.png", stills.described(still.view, stage.scene), still.png)
    return pictures


def cover_picture(props: Stage, size: tuple[int, int] = (2400, 1500)) -> bytes:
    """The room from a corner for the report's cover, which tells name and verdict itself. Raises GraphicsMissing."""
    from viz.stills import Style, draw_still

    return draw_still(props, "corner", Style(size=size, caption=False, legend=False)).png


def small(png: bytes | None, width: int = 1200) -> bytes | None:
    """The picture for a page that cannot draw: at most `width` across, in 256 colours, a quarter of the bytes."""
    if png is None:
        return None
    from PIL import Image

    image = Image.open(io.BytesIO(png)).convert("RGB")
    if image.width > width:
        image = image.resize((width, round(image.height * width / image.width)), Image.Resampling.LANCZOS)
    made = io.BytesIO()
    # the widest coverage, not the commonest colours: a state's colour is rare in a picture and must not change
    few = image.quantize(256, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.FLOYDSTEINBERG)
    few.save(made, "PNG", optimize=True)
    return made.getvalue()


def _keep_spec(spec: Spec, folder: Folder, locale: Locale) -> None:
    """Put the bytes that were read beside the rest, and the profiles file's, so that the copy reads alike."""
    source = spec.source
    assert source is not None
    name = _name_of_copy(Path(source.file).name, _NAMES)
    # as far down as the way to its profiles leads up, so that it finds them in the folder as it did at home
    up = 0 if source.library is None else PurePosixPath(os.path.normpath(source.library)).parts.count("..")
    if up:
        name = "/".join((*("room" for _ in range(up)), Path(source.file).name))
    folder.keep_as_read(name, locale.say("file.spec"), source.data)
    if source.library is None or source.library_data is None:
        return
    inside = os.path.normpath(PurePosixPath(name).parent / source.library)
    if not inside.startswith("..") and not (folder.path / inside).exists():
        folder.keep_as_read(inside, locale.say("file.profiles"), source.library_data)
    else:
        library = _name_of_copy(Path(source.library).name, {*_NAMES, name})
        title = locale.say("file.profiles copied", name=source.library)
        folder.keep_as_read(library, title, source.library_data)


_NAMES = {
    "index.html",
    "page.html",
    "report.pdf",
    "client.pdf",
    "model.glb",
    "data",
    "pictures",
    "sheets",
    "cards",
}
"""What a room's folder holds besides the spec and its profiles."""


def _name_of_copy(name: str, taken: Collection[str]) -> str:
    """The name itself, or the next free one if a folder's own files have it."""
    while name in taken:
        name = f"copy-{name}"
    return name


def summary_of(dossier: Dossier) -> dict[str, object]:
    """One room in a row of the project's table; lengths as text in the room's own units."""
    scene, review = dossier.whole, dossier.whole_review
    locale = Locale.of(scene)
    return {
        "room": scene.name,
        "arrays": len(review.arrays),
        "heights": ", ".join(said.height for said in array_words.arrays(review)),
        "bands": ", ".join(said.band for said in array_words.arrays(review)),
        "tolerance": tolerance.of_room(review),
        "covered": verdict_words.counts(review.counts, locale),
        "short": len(review.short),
        "verdict": review.verdict,
        "hold": caution_words.hold(review),
        "open": caution_words.still_open(review),
    }


GROUPS = ("documents", "cards", "sheets", "pictures", "data")
"""The groups of links, in order: each has the files of the folder of its name, the first all others."""
CORNER = "pictures/corner.png"


def index_html(dossier: Dossier, made: Made) -> str:
    """The index of a handover: the sentence first, then the picture, then links to everything."""
    from viz.html import rendered

    scene = dossier.scene
    locale = Locale.of(scene)
    return rendered(
        "handover/room.html",
        locale,
        **FRAME,
        title=locale.say("handover.title", room=dossier.whole.name),
        made=made,
        where=" · ".join(
            part for part in (scene.project, scene.document.number, scene.document.date) if part
        ),
        picture=CORNER if CORNER in (name for name, _ in made.files) else None,
        groups=_grouped(made.files),
        file=Path(scene.source.file).name,
        digest=scene.source.sha256[:12],
    )


FRAME = {"colours": palette.STATE_COLOURS, "clash": palette.CLASH}
"""What every page of a handover is coloured by."""


def _grouped(files: Sequence[tuple[str, str]]) -> list[tuple[str, list[tuple[str, list[str]]]]]:
    """Files by group and title, in order: where several have one title, it is of all of them."""
    groups: dict[str, dict[str, list[str]]] = {}
    for name, title in files:
        folder = name.partition("/")[0]
        group = groups.setdefault(folder if folder in GROUPS else GROUPS[0], {})
        group.setdefault(title, []).append(name)
    return [(group, list(groups[group].items())) for group in GROUPS if group in groups]


def together(rooms: Sequence[Made]) -> list[tuple[CautionText, str]]:
    """The cautions of several rooms, each once, with the rooms it is of in front where it is not of all."""
    found: dict[CautionText, list[str]] = {}
    for made in rooms:
        for caution in made.cautions:
            found.setdefault(caution, []).append(made.name)
    return [
        (
            caution,
            "" if len(names) == len(rooms) else Locale("m").say("handover.of rooms", rooms=", ".join(names)),
        )
        for caution, names in found.items()
    ]


def zipped(folder: Path, date: str | None) -> bytes:
    """What overtable wrote into a folder as a zip archive: names in order, every time the same date, so that bytes
    repeat."""
    day = datetime.date.fromisoformat(date or UNDATED)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name in sorted(read_manifest(folder) or ()):
            entry = zipfile.ZipInfo(name, (max(day.year, 1980), day.month, day.day, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, (folder / name).read_bytes())
    return made.getvalue()
