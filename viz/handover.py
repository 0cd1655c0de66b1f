"""Everything about a room at once: spec, review, tables, pictures, sheets, report, page, model, and an index.

The folder is made aside and moved in place when it is complete. The same input gives the same bytes:
every date is the spec's or the one given. Where this machine cannot draw, pictures are left out with a
line that says so, and everything else is there.
"""

from __future__ import annotations

import datetime
import html
import io
import zipfile
from collections.abc import Callable, Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from scenes.dossier import Dossier
from scenes.numbers import json_text
from scenes.review.heights import heights_as_json
from scenes.room.build import build, require_places
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.model import Spec
from scenes.spec.reading import read_spec
from viz import palette
from viz.csvs import cautions_csv, clearances_csv, heads_csv, schedule_csv, schedule_rows, schedules_csv
from viz.drawing import GraphicsMissing
from viz.folders import read_manifest, whole_folder
from viz.json_objects import review_object, with_cautions
from viz.outputs import protect, slug_of, unique_slugs, write_file
from viz.sheets import lettering
from viz.sheets.drawing import UNDATED
from viz.stage import Stage, staged
from viz.words import arrays as array_words
from viz.words import cautions as caution_words
from viz.words import tolerance
from viz.words import verdict as verdict_words
from viz.words.cautions import CautionText
from viz.words.locale import DASH, Locale
from viz.words.mistakes import text_of

Progress = Callable[[str, float], None]
"""Called with what is being made and the share that is done, 0 to 1."""


@dataclass(frozen=True)
class Made:
    """What a handover holds: its files with a title each, and what was left out and why."""

    name: str
    slug: str
    verdict: str
    sentence: str
    files: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]
    cautions: tuple[CautionText, ...]
    mark: str | None
    line: str
    advice: str
    schedule: list[list[object]] = field(default_factory=list)
    summary: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Settings:
    """How a handover is made."""

    paper: str = "A4"
    date: str | None = None
    size: tuple[int, int] = (2400, 1500)
    pictures: bool = True


def read_dossier(path: Path, date: str | None = None) -> tuple[Spec, Dossier]:
    """The spec of a file and the dossier of its room, whose arrays must all have a place. Raises SpecMistakes.

    `date` is the document's where the spec gives none.
    """
    spec = read_spec(path)
    protect(*spec.files)
    scene = build(spec)
    require_places(spec, scene)
    if scene.document.date is None and date is not None:
        scene = replace(scene, document=replace(scene.document, date=date))
    return spec, Dossier(scene)


def hand_over(
    path: Path, folder: Path, settings: Settings, progress: Progress = lambda what, share: None
) -> Made:
    """Fill `folder` with everything about the room of a spec file. Raises SpecMistakes before anything is made."""
    spec, dossier = read_dossier(path, settings.date)
    return fill(spec, dossier, folder, settings, progress)


def fill(spec: Spec, dossier: Dossier, folder: Path, settings: Settings, progress: Progress) -> Made:
    """Fill a folder with everything about one room."""
    scene, review = dossier.scene, dossier.review
    files: list[tuple[str, str]] = []
    left_out: list[str] = []

    def keep(name: str, title: str, content: bytes | str) -> None:
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        write_file(target, content)
        files.append((name, title))

    date = scene.document.date
    _keep_spec(spec, folder, files)
    progress("review and tables", 0.0)
    keep("data/review.json", "The review as JSON", json_text(review_object(review)))
    keep(
        "data/heights.json",
        "Hanging heights as JSON",
        json_text(with_cautions(heights_as_json(dossier.heights), scene)),
    )
    keep("data/heads.csv", "Every talker as a table", heads_csv(review))
    keep("data/clearances.csv", "Every clearance as a table", clearances_csv(review))
    keep("data/schedule.csv", "The installer's schedule as a table", schedule_csv(dossier))
    keep("data/cautions.csv", "The cautions as a table", cautions_csv(scene))

    props = staged(dossier)
    pictures: dict[str, bytes] = {}
    if settings.pictures:
        pictures = _pictures(props, settings, progress, keep, left_out)
    else:
        left_out.append("No pictures: left out with --no-pictures.")

    progress("sheets", 0.55)
    from viz.sheets import sheets

    drawn = sheets(dossier, paper=settings.paper, date=date)
    whole, *each = unique_slugs([scene.name, *(sheet.slug for sheet in drawn.sheets)])
    keep(f"sheets/{whole}.pdf", f"All sheets, {settings.paper}", drawn.pdf)
    keep(f"sheets/{whole}.dxf", f"All sheets, {settings.paper}", drawn.dxf)
    for sheet, name in zip(drawn.sheets, each, strict=True):
        keep(f"sheets/{name}.dxf", f"{sheet.title}, {sheet.scale_text}", sheet.dxf)
        keep(f"sheets/{name}.svg", f"{sheet.title}, {sheet.scale_text}", sheet.svg)

    if unset := lettering.unset(scene):
        left_out.append(unset)
    progress("report", 0.65)
    cover = {"corner": cover_picture(props, settings.size)} if pictures else {}
    from viz.report import report_pdf

    keep(
        "report.pdf",
        "The design report",
        report_pdf(dossier, pictures=cover, paper=settings.paper, date=date, drawn=drawn),
    )

    progress("page", 0.85)
    from viz.page import page

    keep(
        "page.html",
        "Interactive 3D view",
        page(dossier, still_png=small(pictures.get("corner")), made_on=date),
    )

    progress("model", 0.95)
    from viz.exports import glb_bytes

    keep("model.glb", "The room as a model (glTF)", glb_bytes(props))
    made = Made(
        scene.name,
        slug_of(scene.name),
        review.verdict,
        verdict_words.paragraph(review),
        tuple(files),
        tuple(left_out),
        caution_words.full(scene),
        caution_words.mark(review),
        caution_words.line(review),
        caution_words.advice(Locale.of(scene)),
        schedule_rows(dossier),
        summary_of(dossier),
    )
    progress("index", 0.99)
    write_file(folder / "index.html", index_html(dossier, made))
    return made


def _pictures(
    props: Stage,
    settings: Settings,
    progress: Progress,
    keep: Callable[[str, str, bytes | str], None],
    left_out: list[str],
) -> dict[str, bytes]:
    from viz import drawing, stills, views

    try:
        drawing.ready()
    except GraphicsMissing as missing:
        left_out.append(f"No pictures: {missing}")
        return {}
    pictures: dict[str, bytes] = {}
    usual = views.usual(props)
    slugs = unique_slugs(usual)
    for number, (name, slug) in enumerate(zip(usual, slugs, strict=True)):
        progress(f"picture {name}", 0.05 + 0.5 * number / len(usual))
        still = stills.draw_still(props, name, stills.Style(size=settings.size))
        pictures[name] = still.png
        keep(f"pictures/{slug}.png", stills.described(still.view, props.scene), still.png)
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


def _keep_spec(spec: Spec, folder: Path, files: list[tuple[str, str]]) -> None:
    """Put the bytes that were read beside the rest, and the profiles file's, so that the copy reads alike."""
    source = spec.source
    assert source is not None
    name = _name_of_copy(Path(source.file).name, _NAMES)
    (folder / name).write_bytes(source.data)  # as it was read: a seal would change it
    files.append((name, "Room file (spec)"))
    if source.library is None or source.library_data is None:
        return
    # a library outside the spec's folder would leave the handover: its copy goes where the name leads inside it
    inside = (folder / source.library).resolve()
    if inside.is_relative_to(folder.resolve()) and not inside.exists():
        inside.parent.mkdir(parents=True, exist_ok=True)
        inside.write_bytes(source.library_data)
        files.append((source.library, "Array profiles"))
    else:
        library = _name_of_copy(Path(source.library).name, {*_NAMES, name})
        (folder / library).write_bytes(source.library_data)
        files.append((library, f"Array profiles, named {source.library} in the spec"))


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
    scene, review = dossier.scene, dossier.review
    locale = Locale.of(scene)
    return {
        "room": scene.name,
        "arrays": len(review.arrays),
        "heights": ", ".join(said.height for said in array_words.arrays(review)),
        "bands": ", ".join(said.band for said in array_words.arrays(review)),
        "tolerance": tolerance.short(review.tolerance, locale) if review.tolerance else DASH,
        "covered": verdict_words.counts(review.counts, locale),
        "short": len(review.short),
        "verdict": review.verdict,
        "hold": caution_words.hold(review),
        "open": caution_words.open_here(review),
    }


_STYLE = f"""
:root {{ color-scheme: light; --ink: #23303a; --quiet: #5b6770; --line: #d9dee2; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0; background: #fff; color: var(--ink); font: 16px/1.55 system-ui, sans-serif; }}
main {{ max-width: 62rem; margin: 0 auto; padding: 3rem 1.5rem 4rem; }}
h1 {{ font-size: 2rem; line-height: 1.2; margin: 0 0 .2rem; }}
h2 {{ font-size: 1.1rem; margin: 2.4rem 0 .6rem; }}
p.where {{ color: var(--quiet); margin: 0 0 1.6rem; }}
p.said {{ font-size: 1.2rem; border-left: .35rem solid var(--state); padding-left: 1rem; }}
.pass {{ --state: {palette.STATE_COLOURS["covered"]}; }}
.caution {{ --state: {palette.STATE_COLOURS["marginal"]}; }}
.fail {{ --state: {palette.STATE_COLOURS["missed"]}; }}
img {{ width: 100%; height: auto; border: 1px solid var(--line); border-radius: .4rem; margin-top: 1.2rem; }}
ul {{ list-style: none; padding: 0; columns: 2; column-gap: 2rem; }}
li {{ break-inside: avoid; padding: .25rem 0; border-bottom: 1px solid var(--line); }}
a {{ color: #20528f; }}
table {{ border-collapse: collapse; width: 100%; }}
th, td {{ text-align: left; padding: .45rem .8rem .45rem 0; border-bottom: 1px solid var(--line); }}
p.held {{ font-weight: 650; color: {palette.CLASH}; border: 2px solid {palette.CLASH}; border-radius: .3rem;
  padding: .45rem .8rem; }}
p.open {{ margin: 0 0 1rem; }}
td .held {{ font-weight: 650; color: {palette.CLASH}; }}
.quiet {{ color: var(--quiet); font-size: .9rem; }}
@media (max-width: 44rem) {{ ul {{ columns: 1; }} main {{ padding-top: 1.5rem; }} .wide {{ overflow-x: auto; }} }}
"""


def _page(title: str, body: str) -> str:
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src 'self'; "
        "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
        f"<title>{html.escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n{body}</main>\n</body>\n"
        "</html>\n"
    )


def index_html(dossier: Dossier, made: Made) -> str:
    """The index of a handover: the sentence first, then the picture, then links to everything."""
    scene = dossier.scene
    where = " · ".join(part for part in (scene.project, scene.document.number, scene.document.date) if part)
    parts = [
        f"<h1>{html.escape(scene.name)}</h1>\n",
        f'<p class="where">{html.escape(where)}</p>\n' if where else "",
        _mark(made),
        f'<p class="said {made.verdict}">{html.escape(made.sentence)}</p>\n',
    ]
    names = [name for name, _ in made.files]
    if "pictures/corner.png" in names:
        alt = f"{scene.name} from a corner, with its arrays, the listening bands and the talkers"
        picture = f'<img src="pictures/corner.png" alt="{html.escape(alt)}" width="2400" height="1500">'
        parts.append(f'<a href="page.html">{picture}</a>\n')
    groups: dict[str, list[tuple[str, str]]] = {}
    for name, title in made.files:
        groups.setdefault(_GROUPS.get(name.partition("/")[0], "Documents"), []).append((name, title))
    for heading in ("Documents", "Sheets", "Pictures", "Data"):
        if heading in groups:
            links = "".join(f"<li>{entry}</li>\n" for entry in _entries(groups[heading]))
            parts.append(f"<h2>{heading}</h2>\n<ul>\n{links}</ul>\n")
    for line in made.left_out:
        parts.append(f'<p class="quiet">{html.escape(line)}</p>\n')
    parts.append("<h2>Cautions</h2>\n")
    parts += [_caution(caution) for caution in made.cautions]
    parts.append(f'<p class="quiet">{html.escape(made.advice)}</p>\n')
    source = scene.source
    parts.append(
        f'<p class="quiet">Made by overtable from {html.escape(Path(source.file).name)} '
        f"(SHA-256 {source.sha256[:12]}…).</p>\n"
    )
    return _page(f"{scene.name}: handover", "".join(parts))


def _mark(made: Made) -> str:
    """Why a room that fails is not for installation, or what is open in one that cautions."""
    if made.mark is None:
        return ""
    kind = "held" if made.verdict == "fail" else "open"
    return f'<p class="{kind}">{html.escape(made.mark)}</p>\n'


def _caution(caution: CautionText, where: str = "") -> str:
    return (
        f"<p>{where}<b>{html.escape(caution.title)}.</b> {html.escape(caution.text)} "
        f'<span class="quiet">{html.escape(caution.defers)}</span></p>\n'
    )


def _entries(files: Sequence[tuple[str, str]]) -> list[str]:
    """A line per title: a link on it, or, where several files have one title, a link on each ending."""
    by_title: dict[str, list[str]] = {}
    for name, title in files:
        by_title.setdefault(title, []).append(name)
    lines = []
    for title, names in by_title.items():
        if len(names) == 1:
            lines.append(
                f'<a href="{html.escape(names[0])}">{html.escape(title)}</a> '
                f'<span class="quiet">{html.escape(names[0].rpartition("/")[2])}</span>'
            )
        else:
            links = " · ".join(
                f'<a href="{html.escape(name)}">{html.escape(name.rpartition(".")[2].upper())}</a>'
                for name in names
            )
            lines.append(f"{html.escape(title)} {links}")
    return lines


_GROUPS = {"sheets": "Sheets", "pictures": "Pictures", "data": "Data"}


def project_html(rooms: Sequence[Made], mistaken: Sequence[tuple[str, str]]) -> str:
    """The index of a project: one row per room, what holds it or is open, and the files that could not be read."""
    columns = ("room", "arrays", "heights", "bands", "tolerance", "covered", "short", "verdict")
    heads = "".join(f'<th scope="col">{name if name != "short" else "too close"}</th>' for name in columns)
    rows = ""
    for made in rooms:
        cells = "".join(f"<td>{html.escape(str(made.summary[name]))}</td>" for name in columns[1:])
        link = f'<a href="{made.slug}/index.html">{html.escape(made.name)}</a>'
        rows += f"<tr><td>{link}</td>{cells}</tr>\n"
        if made.mark is not None:
            kind = "held" if made.verdict == "fail" else "open"
            mark = html.escape(made.mark)
            rows += f'<tr><td></td><td colspan="{len(columns) - 1}"><span class="{kind}">{mark}</span></td></tr>\n'
    wrong = "".join(
        f'<p class="said fail">{html.escape(file)}: {html.escape(told)}</p>\n' for file, told in mistaken
    )
    told = "".join(_caution(one, html.escape(where)) for one, where in together(rooms))
    body = (
        f"<h1>{Locale('m').counted(len(rooms), 'room')}</h1>\n"
        f'<div class="wide"><table>\n<tr>{heads}</tr>\n{rows}</table></div>\n{wrong}'
        f'<p><a href="schedule.csv">The installer\'s schedule of all rooms</a></p>\n<h2>Cautions</h2>\n{told}'
        + "".join(
            f'<p class="quiet">{html.escape(one)}</p>\n' for one in dict.fromkeys(r.advice for r in rooms)
        )
    )
    return _page("Handover", body)


def together(rooms: Sequence[Made]) -> list[tuple[CautionText, str]]:
    """The cautions of several rooms, each once, with the rooms it is of in front where it is not of all."""
    found: dict[CautionText, list[str]] = {}
    for made in rooms:
        for caution in made.cautions:
            found.setdefault(caution, []).append(made.name)
    return [
        (caution, "" if len(names) == len(rooms) else f"{', '.join(names)}: ")
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


def hand_over_many(
    paths: Sequence[Path],
    folder: Path,
    settings: Settings,
    progress: Progress,
    *,
    force: bool = False,
    kept: Callable[[Sequence[str]], None] = lambda names: None,
) -> tuple[list[Made], list[tuple[Path, Exception]]]:
    """One folder a room, a project index and a summary table, on all cores; one room's mistake stops no other.

    With one spec the folder is the room's own. Returns what was made and what could not be, in order; `kept` is
    called with the names of a person's files that stay in the folder, if there are any.
    """
    for path in paths:
        # a room's mistakes are told when it is made; whatever they are, its file must not be replaced
        protect(path)
        with suppress(SpecMistakes):
            protect(*read_spec(path).files)
    if len(paths) == 1:
        with whole_folder(folder, force=force, kept=kept) as aside:
            made = hand_over(paths[0], aside, settings, progress)
        return [made], []
    from viz.parallel import each

    rooms: list[Made] = []
    wrong: list[tuple[Path, Exception]] = []
    with whole_folder(folder, force=force, kept=kept) as aside:
        slugs = unique_slugs([path.stem for path in paths])
        jobs = [(path, aside / slug, settings, slug) for path, slug in zip(paths, slugs, strict=True)]
        for path, outcome in zip(paths, each(_one_room, jobs, progress), strict=True):
            if isinstance(outcome, Exception):
                wrong.append((path, outcome))
            else:
                rooms.append(outcome)
        if not rooms:
            raise wrong[0][1]
        write_file(aside / "index.html", project_html(rooms, [(p.name, text_of(e)) for p, e in wrong]))
        write_file(aside / "rooms.json", json_text([made.summary for made in rooms]))
        write_file(aside / "schedule.csv", schedules_csv(row for made in rooms for row in made.schedule))
    return rooms, wrong


def _one_room(job: tuple[Path, Path, Settings, str]) -> Made:
    path, folder, settings, slug = job
    spec, dossier = read_dossier(path, settings.date)
    folder.mkdir()
    return replace(fill(spec, dossier, folder, settings, lambda what, share: None), slug=slug)
