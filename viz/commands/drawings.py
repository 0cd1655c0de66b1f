"""The work of `overtable import` on a drawing: its closed areas listed, or the one at a point written as a spec."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from viz.commands.errors import Unusable, WrongUse
from viz.commands.options import day_of

if TYPE_CHECKING:
    from geometry.shapes import Point2
    from scenes.models.drawing import Asked, Drawing, Leak
    from viz.commands.importing import DrawingOptions, RoomChoice

HIGHEST_M = 100
"""No room is higher: more is a slip of the unit."""
USES = ("walls", "openings", "rooms")


def import_drawing(
    files: Sequence[Path], options: DrawingOptions, asked: RoomChoice, output: Path | None, *, force: bool
) -> None:
    """List a drawing's closed areas, or write the one at a point. Raises WrongUse, ModelRefused."""
    from scenes.models.drawing import Drawing
    from viz.outputs import protect

    if len(files) > 1:
        raise WrongUse("use.one drawing")
    if asked.room is not None or asked.all:
        raise WrongUse("use.no rooms")
    question = _asked(options)
    protect(files[0])
    drawing = Drawing.read(files[0])
    if output is None:
        _list(drawing, question)
        return
    if question.at is None or question.ceiling_m is None:
        raise WrongUse("use.no point")
    _write(drawing, question, asked, output, force=force)


def _asked(options: DrawingOptions) -> Asked:
    from scenes.models.drawing import Asked
    from scenes.spec.lengths import UNITS

    if options.units is not None and options.units not in UNITS:
        raise WrongUse("use.units", units=options.units, allowed=", ".join(UNITS))
    return Asked(
        at=None if options.at is None else _place("--at", options.at),
        ceiling_m=_height("--ceiling", options.ceiling),
        structure_m=_height("--structure", options.structure),
        units=options.units,
        layers=None if options.layers is None else _layers(options.layers),
        cuts=tuple(_cut(text) for text in options.cut or ()),
    )


def _place(option: str, text: str) -> Point2:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        raise WrongUse("use.point", option=option, text=text) from None
    return x, y


def _cut(text: str) -> tuple[Point2, Point2]:
    ends = text.split()
    if len(ends) != 2:
        raise WrongUse("use.cut", text=text)
    return _place("--cut", ends[0]), _place("--cut", ends[1])


def _height(option: str, text: str | None) -> float | None:
    from scenes.spec.lengths import LengthMistake, parse_length
    from viz.words import mistakes as words
    from viz.words.locale import Locale

    if text is None:
        return None
    try:
        height_m = parse_length(text, "m")
    except LengthMistake as error:
        raise Unusable(words.option(option, text, error, Locale("m"))) from None
    if not 0 < height_m <= HIGHEST_M:
        raise WrongUse("use.height", option=option, text=text, most=HIGHEST_M)
    return height_m


def _layers(path: Path) -> Mapping[str, Sequence[str]]:
    """A mapping file: for walls, openings and rooms the layers, with * for any letters."""
    import yaml

    from viz.outputs import protect

    protect(path)
    try:
        tree = yaml.safe_load(path.read_text("utf-8"))
    except (OSError, UnicodeError, yaml.YAMLError):
        raise WrongUse("use.layers", path=path) from None
    good = isinstance(tree, dict) and set(tree) <= set(USES)
    if not good or not all(
        isinstance(names, list) and all(isinstance(one, str) for one in names) for names in tree.values()
    ):
        raise WrongUse("use.layer", path=path)
    return {str(use): tuple(names) for use, names in tree.items()}


def _list(drawing: Drawing, asked: Asked) -> None:
    from scenes.spec.lengths import METRES_IN
    from viz.words.locale import Locale
    from viz.words.models import candidate, unit_taken

    found = drawing.candidates(asked)
    locale = Locale("m")
    if not found:
        print(locale.say("drawing.none"))
        return
    unit = found[0][2]
    print(unit_taken(unit.name, unit.header, unit.sure, locale))
    for name, area, _ in found:
        point = area.representative_point()
        area_m2 = area.area * float(METRES_IN[unit.name]) ** 2
        print(candidate(name, area_m2, (float(point.x), float(point.y)), locale))
    print(locale.say("drawing.next", file=str(drawing.path)))


def _write(drawing: Drawing, question: Asked, asked: RoomChoice, output: Path, *, force: bool) -> None:
    from dataclasses import replace

    from scenes.models.drawing import OutlineLeaks
    from scenes.models.writing import Written, spec_text
    from viz.commands.importing import profile_of, relative, today
    from viz.outputs import write_files
    from viz.words.locale import Locale
    from viz.words.models import after_import, remark, unit_taken

    profile = profile_of(asked.profiles, asked.profile)
    try:
        room, unit = drawing.room(question)
    except OutlineLeaks as error:
        picture = _draw_leak(error.leak, output, force=force)
        print(Locale("m").say("drawing.leak picture", file=str(picture)))
        raise
    locale = Locale("ft" if unit.name in ("ft", "in") else "m")
    folder = output.parent
    about = Written(
        units=locale.units,
        files=(replace(drawing.facts, file=relative(drawing.path, folder)),),
        taken=day_of(asked.date) if asked.date is not None else today(),
        name=room.name or output.stem,
        profiles=None if asked.profiles is None else relative(asked.profiles, folder),
        profile=profile,
    )
    text = spec_text(room, about, lambda note: remark(note, locale))
    for path in write_files({output: text}, force=force):
        print(path)
    print(unit_taken(unit.name, unit.header, unit.sure, locale))
    print(after_import([str(output)], [room], profile is not None, locale))


def _draw_leak(leak: Leak, output: Path, *, force: bool) -> Path:
    """A picture of the walls with their loose ends, beside where the spec would be."""
    from viz.outputs import write_file
    from viz.plan_svg import lines_svg

    path = output.with_name(f"{output.stem}-leaks.svg")
    return write_file(path, lines_svg(output.stem, leak.lines, leak.loose_m, leak.at_m), force=force)
