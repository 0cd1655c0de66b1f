"""`overtable new`: a first spec from eight short answers, drawn at once."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, Protocol, TypeVar

from cyclopts import Parameter

from geometry.records import record
from viz.commands.errors import Unusable, WrongUse, told
from viz.commands.options import Force

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scenes.room.scene import Scene
    from scenes.starting import Ceiling, Question, Start, Table
    from viz.words.locale import Locale

SIZES = {"m": "6.4 x 4.4", "cm": "640 x 440", "mm": "6400 x 4400", "ft": "21 x 14.5", "in": "252 x 174"}
CEILINGS = {
    "m": "suspended 2.7",
    "cm": "suspended 270",
    "mm": "suspended 2700",
    "ft": "suspended 9",
    "in": "suspended 108",
}
"""The answers that Enter gives, by unit."""
EXAMPLE = "wreath"
"""The profile of the demo rooms that stands for the array until its data sheet is there."""

Listed = Literal["shapes", "kinds", "rules", "populations"]


Answer = TypeVar("Answer")


@Parameter(name="*")
@record(frozen=True)
class Answers:
    """The answers that were given as options; None: not given."""

    name: Annotated[str | None, Parameter(help="Name of the room.")] = None
    units: Annotated[str | None, Parameter(help="m, cm, mm, ft or in.")] = None
    size: Annotated[str | None, Parameter(help='"7.2 x 4.8", or corners "0,0 7.2,0 7.2,4.8 0,4.8".')] = None
    ceiling: Annotated[str | None, Parameter(help='"suspended 2.7, grid 0.6", "open 3.2", "hard 2.6".')] = (
        None
    )
    table: Annotated[str | None, Parameter(help='"2.4 x 1.2", "boat 3.6 x 1.4", "round 1.5", "none".')] = None
    seats: Annotated[str | None, Parameter(help='"round the table", or "rows 4 x 6".')] = None
    array: Annotated[
        str | None, Parameter(help='A profile in a file, such as devices.yaml:halo, or "example".')
    ] = None
    devices: Annotated[
        str | None, Parameter(help='"lights 0.6 x 0.6 in two rows; 4 sprinklers", "none".')
    ] = None
    presenter: Annotated[str | None, Parameter(help="Somebody walks in front of the room: yes or no.")] = None


def new(
    *,
    output: Annotated[Path, Parameter(name=["-o", "--output"], help="Spec file to write.")] = Path(
        "room.yaml"
    ),
    answers: Answers | None = None,
    yes: Annotated[bool, Parameter(negative="", help="Ask nothing and take the defaults.")] = False,
    list: Annotated[
        Listed | None, Parameter(help="Print the names you can use in a spec, and write nothing.")
    ] = None,
    force: Force = False,
) -> int:
    """Write a first spec from eight short answers, and draw its plan.

    Answers you do not give as options are asked for; Enter takes the default. With --yes, or away from a terminal,
    nothing is asked. The plan is saved beside the spec as SVG.
    """
    if list is not None:
        _print_list(list)
        return 0
    from scenes.starting import StartMistake
    from viz.words.locale import Locale
    from viz.words.starting import mistake, not_asked

    locale = Locale("m")
    try:
        ask = _Asker(not yes and sys.stdin.isatty(), locale)
        start, example = answered(answers or Answers(), ask, output)
        if ask.defaults and not yes:
            print(not_asked(ask.defaults, locale), file=sys.stderr)
        _write(start, example, output, locale, force)
    except StartMistake as error:
        raise Unusable(mistake(error, locale)) from None
    return 0


class _Asker:
    """Asks what was not given, again until the answer can be read; away from a terminal the default answers."""

    def __init__(self, asks: bool, locale: Locale) -> None:
        self.asks, self.locale = asks, locale
        self.defaults: list[Question] = []
        """What was neither given nor asked."""

    def __call__(
        self, name: Question, given: str | None, default: str, read: Callable[[str], Answer]
    ) -> Answer:
        from scenes.spec.mistakes import SpecMistakes
        from scenes.starting import StartMistake
        from viz.words.starting import mistake, question

        if given is not None:
            return read(given)
        if not self.asks:
            self.defaults.append(name)
            return read(default)
        while True:
            print(question(name, default, self.locale), end="", file=sys.stderr, flush=True)
            line = sys.stdin.readline()
            if not line:
                raise WrongUse("use.answers")
            try:
                return read(line.strip() or default)
            except StartMistake as error:
                print(mistake(error, self.locale), file=sys.stderr)
            except (SpecMistakes, WrongUse) as error:  # of a file of profiles
                told(error, as_json=False)


class Ask(Protocol):
    """Gives the answer to a question out of what was given, or out of its default."""

    def __call__(
        self, name: Question, given: str | None, default: str, read: Callable[[str], Answer], /
    ) -> Answer:
        """The answer as it is read."""
        ...


def answered(given: Answers, ask: Ask, output: Path) -> tuple[Start, str]:
    """The answers, and the text of the example profile if it stands for the array."""
    from scenes import starting

    name = ask("name", given.name, "Meeting Room", lambda text: text.strip())
    units = ask("units", given.units, "m", starting.read_units)
    outline, rectangular = ask("size", given.size, SIZES[units], lambda text: starting.read_size(text, units))
    ceiling: Ceiling = ask(
        "ceiling", given.ceiling, CEILINGS[units], lambda text: starting.read_ceiling(text, units)
    )
    proposed = starting.proposed_table(outline)
    table: Table | None = ask(
        "table", given.table, _as_answer(proposed, units), lambda text: starting.read_table(text, units)
    )
    default = "round the table" if table is not None else "rows 2 x 3"
    rows = ask("seats", given.seats, default, starting.read_seats)
    profiles, profile = ask("array", given.array, "example", lambda text: _profile(text, output))
    devices = ask("devices", given.devices, "none", lambda text: starting.read_devices(text, units))
    presenter = ask("presenter", given.presenter, "no", lambda text: starting.read_yes(text, "presenter"))
    start = starting.Start(
        name, units, outline, rectangular, ceiling, table, rows, profiles, profile, devices, presenter
    )
    return start, "" if profiles is not None else _example(units)


def _as_answer(table: Table | None, units: str) -> str:
    from scenes.models.writing import plain_number
    from scenes.spec.lengths import METRES_IN

    if table is None:
        return "none"
    return " x ".join(plain_number(side / float(METRES_IN[units]), 1) for side in table.size_m)


def _profile(text: str, output: Path) -> tuple[str | None, str]:
    """The profiles file as the spec names it, and the profile; (None, the example's name) for the example."""
    import os

    from scenes.spec.reading import read_profiles

    if text == "example":
        return None, EXAMPLE
    file, _, profile = text.rpartition(":")
    path = Path(file or profile)
    names = [*read_profiles(path)]
    if not file and len(names) == 1:
        profile = names[0]
    if profile not in names:
        raise WrongUse("use.profiles", path=path, names=", ".join(names), first=names[0])
    return Path(os.path.relpath(path.resolve(), output.parent.resolve())).as_posix(), profile


def _example(units: str) -> str:
    """The example profile as lines of a spec, its lengths with their own unit where the spec's is another."""
    from viz.commands.demo import PROFILES, room_text

    lines = room_text(PROFILES).splitlines()
    first = lines.index(f"  {EXAMPLE}:")
    end = next((i for i in range(first + 1, len(lines)) if not lines[i].startswith("    ")), len(lines))
    text = "\n".join(lines[first:end])
    if units == "m":
        return text
    import re

    def with_unit(match: re.Match[str]) -> str:
        return re.sub(r"\d+\.?\d*", lambda number: f'"{number[0]} m"', match[0])

    return re.sub(r"(?:body|reach|spread):.*", with_unit, text)


def first_spec(start: Start, example: str, output: Path, locale: Locale) -> tuple[str, Scene]:
    """The text of a first spec, and its scene. Raises StartMistake where the answers do not fit each other."""
    from scenes.room.build import build
    from scenes.spec.reading import read_spec_text
    from scenes.starting import start_text
    from viz.words.starting import remark

    text = start_text(start, example, lambda name: remark(name, locale))
    # whatever the answers, what is written is what every command reads
    return text, build(read_spec_text(text, str(output), output.parent))


def write_first(text: str, scene: Scene, output: Path, *, force: bool = False) -> Sequence[Path]:
    """Write a first spec and its plan beside it; their names. Raises OutputInTheWay."""
    from viz.outputs import write_files
    from viz.plan_svg import plan_svg

    return write_files({output: text, output.with_suffix(".svg"): plan_svg(scene)}, force=force)


def _write(start: Start, example: str, output: Path, locale: Locale, force: bool) -> None:
    from viz.commands.options import require_ending

    require_ending(output, ".yaml", ".yml")
    text, scene = first_spec(start, example, output, locale)
    for path in write_first(text, scene, output, force=force):
        print(path)
    print(locale.say("new.then", file=str(output)))


def _print_list(what: Listed) -> None:
    from scenes.room.populations import LIKE
    from scenes.rulebook import rules
    from scenes.starting import device_kinds, table_shapes

    names = {
        "shapes": lambda: [*table_shapes(), "polygon"],
        "kinds": lambda: [*device_kinds()],
        "rules": lambda: [*rules()],
        "populations": lambda: [*LIKE],
    }
    print("\n".join(names[what]()))
