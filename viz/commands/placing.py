"""The work of `overtable place`: the search run, told, written into the spec, and its proof put into a file."""

from __future__ import annotations

import json as json_module
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, Literal

from rich.markup import escape

from geometry.aims import AimName
from geometry.band import ON_EDGE_M
from geometry.records import record
from scenes.findings.ladder import Ladder
from scenes.findings.layouts import LayoutPrice
from scenes.findings.placement import Far
from scenes.findings.review import VERDICTS, Review
from scenes.place.fewest import fewest_on_lattice
from scenes.place.ladder import ladder_json, ladder_of
from scenes.place.layouts import as_json as price_json
from scenes.place.layouts import prices
from scenes.place.placement import Placement
from scenes.place.pressing import margin_cost_m, pressed_by, pressing_names, pressing_on
from scenes.place.problem import HOLDS
from scenes.place.refusals import PlaceRefused
from scenes.place.search import place_scene
from scenes.place.snap import larger_on_lattice, snap_placement, whole_step_m
from scenes.place.wished import place_as_wished
from scenes.project.reading import ProjectRoom, is_project
from scenes.review.review import review
from scenes.room.build import build, require_places
from scenes.room.scene import Scene
from scenes.spec.equipment import Array
from scenes.spec.lengths import LengthMistake, parse_length
from scenes.spec.model import Spec
from scenes.spec.reading import read_spec
from scenes.spec.values import MOST_ARRAYS
from scenes.spec.writing import NewPlace, appended, changes, check_again, keep, spliced
from viz.commands.errors import WRONG, Unusable, WrongUse
from viz.commands.options import require_ending, rungs_of
from viz.commands.projects import each_room
from viz.commands.streams import print_json
from viz.json_objects import with_cautions
from viz.json_placement import placement_object
from viz.outputs import protect, write_file
from viz.terminal.console import console, print_cautions
from viz.terminal.placement import print_ladder, print_placement, print_verdict
from viz.terminal.progress import Searching
from viz.terminal.project import print_project
from viz.words import layouts, projects
from viz.words import placement as words
from viz.words.locale import Locale
from viz.words.mistakes import option
from viz.words.projects import RoomLine


@record(frozen=True, slots=True)
class PlaceOptions:
    """The options of `overtable place` as they were given."""

    aim: AimName | None
    enough: str
    hold: tuple[Literal["at", "height", "band"], ...]
    arrays: str | None
    profile: str | None
    free: bool
    snap: str | None
    ignore_clearances: bool
    write: bool
    even_if_worse: bool
    certificate: Path | None
    ladder: tuple[int, ...] | None
    picture: Path | None
    json: bool
    force: bool


@record(frozen=True, slots=True)
class Wanted:
    """What the options ask of the search, read: lengths in metres, the lattice of the places, how many arrays."""

    enough_m: float
    snap_to: Literal["tile"] | float | None
    count: int | Literal["fewest"] | None
    rungs: int | None


@record(frozen=True, slots=True)
class Found:
    """What the searches found in a scene, which has an array at least.

    `unconstrained`: without clearances, where that was asked for. `beside`: the same, or a search of its own where
    something pushed the array away. `today`: the review of the places in the file, where all have one.
    """

    scene: Scene
    placement: Placement
    unconstrained: Placement | None
    beside: Placement | None
    today: Review | None
    ladder: Ladder | None
    prices: tuple[LayoutPrice, ...] = ()

    @property
    def judged(self) -> Review | None:
        """The review of the places found."""
        return self.placement.judged


def run_place(path: Path, options: PlaceOptions) -> int:
    """Place the arrays of a spec, tell it, and write what was asked for. Exit status as for every command."""
    if is_project(path):
        return _place_project(path, options)
    spec = read_spec(path)
    protect(*spec.files)
    locale = Locale(spec.units)
    out = console(stderr=options.json)
    with Searching(locale.say("search.begin")) as so_far:
        found = found_for(spec, options, lambda far: so_far(words.progress(far, locale)))
    scene = found.scene
    proof = found.placement.certificate_json()
    if options.certificate is not None and proof is None:
        raise WrongUse("place.no certificate")
    refused = why_unwritten(spec, found, options) if options.write else None
    if options.json:
        print_json(with_cautions(_found_json(found, refused), scene))
    else:
        _print_found(out, found, scene, options)
    if options.picture is not None and found.ladder is not None:
        _draw(options.picture, found.ladder, Locale.of(scene), force=options.force)
    if options.certificate is not None:
        write_file(options.certificate, json_module.dumps(proof) + "\n", force=options.force)
        out.print(Locale.of(scene).say("place.proof", file=escape(str(options.certificate))))
    if refused is not None:
        print(f"overtable: --write: {refused}", file=sys.stderr)
        return WRONG
    if options.write:
        write_placement(path, spec, found.placement, out)
    return _status(found)


def _place_project(path: Path, options: PlaceOptions) -> int:
    """Place the arrays of every room of a project, and tell them in its table; the exit status.

    What --write writes goes into the rooms' own files; one made of a template has none.
    """
    if options.certificate is not None or options.ladder is not None or options.picture is not None:
        raise WrongUse("place.project")
    out = console(stderr=options.json)
    lines: list[RoomLine] = []
    answers: list[dict[str, Any]] = []

    def place(room: ProjectRoom, name: str) -> int:
        text = room.readable if room.writable is None or not options.write else room.writable
        spec = text.spec()
        protect(*spec.files)
        locale = Locale(spec.units)
        with Searching(locale.say("search.begin")) as so_far:
            found = found_for(spec, options, lambda far: so_far(words.progress(far, locale)))
        refused = why_unwritten(spec, found, options) if options.write else None
        if options.write and refused is None and room.writable is None:
            refused = Locale("m").say("place.of template")
        answers.append(with_cautions(_found_json(found, refused), found.scene))
        if found.judged is not None:
            lines.append(projects.line(found.judged))
        if refused is not None:
            print(Locale("m").say("handover.of", room=name, text=refused), file=sys.stderr)
            return WRONG
        if options.write:
            write_placement(Path(text.file), spec, found.placement, out, text.added)
        return _status(found)

    status = each_room(path, place)
    if options.json:
        print_json(answers)
    else:
        print_project(out, path.name, lines)
    return status


def _with_an_array(spec: Spec, scene: Scene, profile: str | None) -> Scene:
    """The scene, and where the spec has no array one of its profile. Raises SpecMistakes and WrongUse."""
    if scene.arrays:
        if profile is not None:
            raise WrongUse("place.profile with arrays")
        return scene
    names = list(spec.profiles)
    if not names:
        require_places(spec, scene)
    listed = Locale(spec.units).listed(names)
    if profile is None and len(names) > 1:
        raise WrongUse("place.which profile", profiles=listed)
    if profile is not None and profile not in names:
        raise WrongUse("place.no such profile", profile=profile, profiles=listed)
    array = Array.model_validate({"id": scene.fresh_array_id(), "profile": profile or names[0]})
    return build(spec.model_copy(update={"arrays": (array,)}))


def _wanted(options: PlaceOptions, spec: Spec, scene: Scene) -> Wanted:
    """The options read, and what could not be had refused before the search. Raises Unusable and WrongUse."""
    enough_m = _length(options.enough, "--enough", spec.units, least=0.0)
    snap_to = _snap(options, spec.units)
    grids = [scene.room.grid, *(part.grid for part in scene.room.parts)]
    if snap_to == "tile" and not any(grids):
        raise Unusable(words.refused(PlaceRefused("no grid"), Locale(spec.units)))
    count = _count(options.arrays)
    if options.write:
        _require_writable(spec, count)
    rungs = _rungs(options)
    return Wanted(enough_m, snap_to, count, rungs)


def found_for(spec: Spec, options: PlaceOptions, show: Callable[[Far], None]) -> Found:
    """Search as the options ask, telling `show` how far it is, and judge the file's own places.

    Raises SpecMistakes, WrongUse and Unusable.
    """
    scene = _with_an_array(spec, build(spec), options.profile)
    wanted = _wanted(options, spec, scene)
    try:
        placement, unconstrained, beside = _searched(scene, options, wanted, show)
        ladder = _climbed(scene, options, wanted, show)
        costs = _prices(scene, placement)
    except PlaceRefused as wrong:
        raise Unusable(words.refused(wrong, Locale.of(scene))) from None
    today = review(scene) if all(array.placed for array in scene.arrays) else None
    return Found(scene, placement, unconstrained, beside, today, ladder, costs)


def _prices(scene: Scene, placement: Placement) -> tuple[LayoutPrice, ...]:
    """What each of several layouts costs the others, by the wishes that the placement keeps and for as many arrays."""
    if not scene.layouts:
        return ()

    def again(others: Scene) -> Placement:
        count = len(placement.arrays) if len(placement.arrays) != len(scene.arrays) else None
        return place_scene(
            others,
            aim="margin",
            kept=placement.kept,
            hold=tuple(one for one in HOLDS if one in placement.held),
            arrays=count or None,
            advise=False,
            tabled=False,
            rooms=False,
        )

    return prices(scene, placement.searched or placement, again)


def _searched(
    scene: Scene, options: PlaceOptions, wanted: Wanted, show: Callable[[Far], None]
) -> tuple[Placement, Placement | None, Placement | None]:
    """The placement on its lattice, the one without clearances if asked for, and the one to tell beside it."""
    search = partial(
        place_scene,
        scene,
        aim=options.aim,
        enough_m=wanted.enough_m,
        hold=options.hold,
        arrays=wanted.count,
    )
    record = options.certificate is not None
    # how far arrays may move is told of the places that are told, and those are on the lattice
    whole = search if options.free else partial(place_as_wished, *search.args, **search.keywords)
    placement = whole(record=record, rooms=wanted.snap_to is None, progress=show)
    search = partial(search, kept=placement.kept)
    unconstrained = None
    if options.ignore_clearances:
        unconstrained = search(record=record, clearances=False, progress=show)
    beside = unconstrained
    if beside is None and len(scene.arrays) == 1 and wanted.count in (None, 1) and _pressed(placement):
        # one search more, so that what pushed the array away is told with what that cost
        beside = search(clearances=False, advise=False, rooms=False)
    if wanted.snap_to is not None and placement.arrays:
        nearby = options.snap is None
        snap = partial(snap_placement, to=wanted.snap_to, nearby=nearby, rooms=True)
        if wanted.count == "fewest" and not nearby:
            placement = fewest_on_lattice(
                placement, snap, lambda count: search(rooms=False, progress=show, arrays=count)
            )
        else:
            placement = snap(placement)
        if placement.aim == "margin" and len(placement.arrays) == 1:
            roomy = search(aim="tolerance", advise=False, rooms=False)
            placement = larger_on_lattice(placement, roomy, wanted.snap_to, nearby=nearby)
    return placement, unconstrained, beside


def _climbed(
    scene: Scene, options: PlaceOptions, wanted: Wanted, show: Callable[[Far], None]
) -> Ladder | None:
    """The ladder, where one was asked for."""
    if wanted.rungs is None:
        return None
    tiles = not options.free and options.snap in (None, "tile")
    return ladder_of(scene, wanted.rungs, enough_m=wanted.enough_m, tiles=tiles, progress=show)


def _found_json(found: Found, refused: str | None) -> dict[str, Any]:
    """The placement's object, with what stands beside it."""
    placement, unconstrained, beside = found.placement, found.unconstrained, found.beside
    pushed_by = None if beside is None else pressed_by(placement.scene, beside.scene, -ON_EDGE_M)
    return placement_object(placement) | {
        "without_clearances": None if unconstrained is None else placement_object(unconstrained),
        "up_against": pressing_names(pressing_on(placement)),
        "pushed_by": None if pushed_by is None else pressing_names(pushed_by),
        "keeping_clear_costs_m": None if beside is None else margin_cost_m(placement, beside),
        "today": None if found.today is None else _standing_json(found.today),
        "so_placed": None if found.judged is None else _standing_json(found.judged),
        "not_written": refused,
        "layouts": [price_json(one) for one in found.prices],
        **ladder_json(found.ladder),
    }


def _print_found(out: Any, found: Found, scene: Scene, options: PlaceOptions) -> None:
    """The placement, its verdict beside the file's own, and the cautions: all of them where it is written."""
    judged = found.judged
    if found.ladder is not None:
        print_ladder(out, found.ladder, Locale.of(scene))
    print_placement(
        out, found.placement, found.unconstrained, found.beside, tell_lattice=options.snap is not None
    )
    for line in layouts.prices(found.prices, Locale.of(scene)):
        out.print(line, markup=False)
    if judged is not None:
        print_verdict(out, judged, found.today)
        off_tees = any(c.kind == "grid" for c in (*judged.short, *judged.advised))
        if off_tees and options.snap in (None, "none"):
            out.print(Locale.of(scene).say("lattice.off the tees"))
    print_cautions(out, scene, judged or found.today, full=options.write)


def _status(found: Found) -> int:
    """1 where the room as placed fails, or where it is proven that nobody's place covers everybody."""
    bound_m, judged = found.placement.bound_m, found.judged
    return 1 if judged is None or judged.verdict == "fail" or (bound_m is not None and bound_m < 0) else 0


def _pressed(placement: Placement) -> bool:
    """Whether an array is up against something, or something leaves it no place at all."""
    return not placement.arrays or bool(pressing_on(placement))


def _require_writable(spec: Spec, count: int | Literal["fewest"] | None) -> None:
    """Refuse before the search what could not be written after it. Raises WrongUse."""
    if count is None or not spec.arrays:
        return
    ids = [array.id for array in spec.arrays]
    if count != "fewest" and count < len(ids):
        surplus = Locale(spec.units).listed(ids[count:])
        raise WrongUse("place.surplus", there=len(ids), asked=count, surplus=surplus)
    first = spec.arrays[0].profile
    others = [array.id for array in spec.arrays if array.profile != first]
    if others:
        named = Locale(spec.units).listed(others)
        raise WrongUse("place.profiles", first=first, others=named)


def why_unwritten(spec: Spec, found: Found, options: PlaceOptions) -> str | None:
    """Why what was found is not written; None if it may be."""
    locale, judged = Locale.of(found.placement.scene), found.judged
    why = _unwritten(spec, found.placement, judged, options, locale)
    if why is None and judged is not None and found.today is not None and not options.even_if_worse:
        why = _worse(judged, found.today, locale)
    return None if why is None else locale.say("unwritten", why=why)


def _unwritten(
    spec: Spec, placement: Placement, judged: Review | None, options: PlaceOptions, locale: Locale
) -> str | None:
    """What of the placement cannot stand in the file."""
    if judged is None:
        return locale.say("unwritten.no place")
    ids = [array.id for array in spec.arrays]
    enough = len(placement.arrays)
    if enough < len(ids):
        return locale.say("unwritten.fewer", enough, there=len(ids), surplus=locale.listed(ids[enough:]))
    unsnapped = [id for id, found in placement.snapped.items() if found.position is None]
    if unsnapped and options.snap is not None:
        return locale.say("unwritten.lattice", arrays=locale.listed(unsnapped))
    return None


def _worse(judged: Review, today: Review, locale: Locale) -> str | None:
    """That fewer talkers would be covered than now, or that the verdict would be worse."""
    now, then = today.counts.covered or 0, judged.counts.covered or 0
    if judged.counts.lacking > today.counts.lacking:
        return locale.say("unwritten.covers fewer", then=then, talkers=judged.counts.talkers, now=now)
    if judged.counts.lacking == today.counts.lacking and VERDICTS.index(judged.verdict) > VERDICTS.index(
        today.verdict
    ):
        return locale.say(
            "unwritten.worse",
            then=locale.say(f"standing.verdict.{judged.verdict}"),
            now=locale.say(f"standing.verdict.{today.verdict}"),
        )
    return None


def text_with(spec: Spec, placement: Placement) -> str:
    """The spec's text with the places of a placement, read again and compared.

    Arrays that the spec does not have are added behind its last one. Raises SpecMistakes and WriteRefused.
    """
    places = {
        array.id: NewPlace(
            (array.centre_m[0], array.centre_m[1]),
            None if array.profile.mount == "flush" else array.centre_m[2],
            str(array.band_name),
        )
        for array in placement.scene.arrays
    }
    there = {array.id for array in spec.arrays}
    moved = {id: place for id, place in places.items() if id in there}
    text = spliced(spec, moved)
    check_again(spec, text, moved)
    for array in placement.scene.arrays:
        if array.id not in there:
            text = appended(spec, text, array.id, array.profile.name, places[array.id], array.turn_deg)
    return text


def write_placement(path: Path, spec: Spec, placement: Placement, out: Any, added: str = "") -> None:
    """Show the changed lines and keep the new text. Raises SpecMistakes and WriteRefused.

    `added` are lines of the spec's text that the file does not have: what its project says of the room.
    """
    text = text_with(spec, placement)
    assert spec.source is not None
    if text == spec.source.text:
        out.print(Locale(spec.units).say("place.nothing to write"))
        return
    # lines of a file: never wrapped
    out.print(escape(changes(spec, text)), soft_wrap=True)
    keep(path, _without(text, added), _without(spec.source.text, added))
    out.print(Locale(spec.units).say("place.written", file=escape(str(path))))


def _without(text: str, added: str) -> str:
    before, _, after = text.rpartition(added) if added else (text, "", "")
    return before + after


def _standing_json(judged: Review) -> dict[str, Any]:
    return {
        "covered": judged.counts.covered,
        "talkers": judged.counts.talkers,
        "arrays": len(judged.arrays),
        "margin_m": judged.margin_m,
        "verdict": judged.verdict,
    }


def _length(text: str, name: str, units: str, *, least: float) -> float:
    try:
        metres = parse_length(text, units)
    except LengthMistake as mistake:
        raise Unusable(option(name, text, mistake, Locale(units))) from None
    if metres < least:
        locale = Locale(units)
        least_text = locale.as_written(least)
        raise Unusable(locale.say("option.too small", option=name, found=text, least=least_text))
    return metres


def _snap(options: PlaceOptions, units: str) -> Literal["tile"] | float | None:
    """The lattice that places are on; None for places as they are found."""
    text = options.snap
    if options.free and text not in (None, "none"):
        raise WrongUse("place.free", text=text)
    if options.free or text == "none":
        return None
    if text is None:
        return whole_step_m(units)
    if text == "tile":
        return "tile"
    if not any(letter.isdigit() for letter in text):
        raise WrongUse("place.snap", text=text)
    return _length(text, "--snap", units, least=0.001)


def _rungs(options: PlaceOptions) -> int | None:
    """How many rungs the ladder is asked to have; None where none is asked for. Raises WrongUse."""
    if options.ladder is None:
        if options.picture is not None:
            raise WrongUse("place.picture without ladder")
        return None
    if options.hold:
        raise WrongUse("place.ladder held")
    if options.picture is not None:
        require_ending(options.picture, ".svg", ".png")
    return rungs_of(options.ladder)


def _draw(picture: Path, ladder: Ladder, locale: Locale, *, force: bool) -> None:
    from viz.ladder_picture import ladder_picture

    form: Literal["svg", "png"] = "svg" if picture.suffix.lower() == ".svg" else "png"
    write_file(picture, ladder_picture(ladder, locale, form), force=force)


def _count(text: str | None) -> int | Literal["fewest"] | None:
    if text is None or text == "fewest":
        return text  # type: ignore[return-value]  # mypy does not narrow str by ==
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= MOST_ARRAYS:
        raise WrongUse("place.count", text=repr(text), most=MOST_ARRAYS)
    return int(text)
