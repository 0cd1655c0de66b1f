"""A new room by a form: the questions of `overtable new`, each answer read as it is typed, and the plan they make."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, TypeVar, get_args

from scenes.dossier import Dossier
from scenes.room.scene import Scene
from scenes.spec.lengths import METRES_IN
from scenes.spec.mistakes import SpecMistakes
from scenes.spec.reading import read_profiles
from scenes.starting import Question, StartMistake
from viz.commands.errors import WrongUse
from viz.commands.new import Answers, answered, first_spec, write_first
from viz.live import Refused
from viz.outputs import slug_of
from viz.plan_svg import plan_svg
from viz.refusals import Refusal
from viz.start.rooms import ENDINGS, files_of, inside
from viz.words import start as words
from viz.words.locale import Locale
from viz.words.mistakes import of_file, text_of
from viz.words.starting import beside

QUESTIONS: Final[tuple[Question, ...]] = get_args(Question)
LONGEST: Final = 2000
"""Letters of one answer."""
EXAMPLE: Final = "example"
MOST_PROFILES: Final = 60

Answer = TypeVar("Answer")


class Form:
    """The answers so far: what each is taken for, and what is wrong with it."""

    def __init__(self, folder: Path, given: object) -> None:
        self.folder, self.locale = folder, Locale("m")
        self.values: dict[str, str] = {}
        self.wrong: dict[str, str] = {}
        self.given = _texts(given)
        self.choices = profiles_of(folder)
        self.text: str | None = None
        self.scene: Scene | None = None
        self.read()

    def __call__(
        self, name: Question, given: str | None, default: str, read: Callable[[str], Answer], /
    ) -> Answer:
        """The answer to a question; where it cannot be read, why is kept and the default stands for it."""
        self.values[name] = self.given.get(name, default)
        try:
            return read(default if given is None else given)
        except StartMistake as error:
            self.wrong[name] = beside(error, self.locale)
        except (SpecMistakes, WrongUse, OSError) as error:
            self.wrong[name] = of_file(self.given[name], error)
        return read(default)

    @property
    def file(self) -> str:
        """The file to be written: as given, or by the room's name."""
        given = self.given.get("file", "").strip()
        if not given:
            return f"{slug_of(self.values['name']) or 'room'}.yaml"
        return given if Path(given).suffix.lower() in ENDINGS else f"{given}.yaml"

    @property
    def output(self) -> Path:
        """The file's path. Raises Refused where it is not in the folder."""
        return inside(self.folder, self.file, there=False)

    def read(self) -> None:
        """Read all answers; the text and scene they make, if they fit each other."""
        answers = dict(self.given)
        if not answers.get("name", "x").strip():
            del answers["name"]
        array = answers.get("array")
        if array is not None and array != EXAMPLE:
            if array not in self.choices:
                raise Refused("start.refused.no profile", profile=array[:80])
            answers["array"] = str(self.folder / array)
        known = {name: answers[name] for name in QUESTIONS if name in answers}
        start, example = answered(Answers(**known), self, self.folder / "room.yaml")
        self.values["file"] = self.file
        try:
            output = self.output
        except Refused as error:
            self.wrong["file"], output = str(error), self.folder / "room.yaml"
        if output.exists():
            self.wrong["file"] = self.locale.say("start.refused.there", file=self.file)
        elif not output.parent.is_dir():
            self.wrong["file"] = self.locale.say("start.refused.outside", file=self.file)
        try:
            # once more: a profiles file is named from where the spec lies
            start, example = answered(Answers(**known), self, output)
            self.text, self.scene = first_spec(start, example, output, self.locale)
        except StartMistake as error:
            self.wrong.setdefault(error.question, beside(error, self.locale))
        except SpecMistakes as error:
            self.wrong.setdefault("size", text_of(error))

    @property
    def command(self) -> str:
        """What one would type for the same."""
        given = [word for name in QUESTIONS if name in self.given for word in (f"--{name}", self.given[name])]
        return shlex.join(("overtable", "new", "-o", self.file, "--yes", *given))

    def message(self) -> dict[str, Any]:
        """The form as it stands: values, mistakes, and the plan if the answers fit each other."""
        told = {
            "kind": "form",
            "fields": [words.field(name, self.locale) for name in words.FIELDS],
            "values": self.values,
            "wrong": self.wrong,
            "choices": words.choices(tuple(METRES_IN), self.choices, self.locale),
            "command": self.command,
            "svg": None if self.scene is None else plan_svg(self.scene),
        }
        if self.scene is not None:
            told["about"] = words.of_new(Dossier.of(self.scene).whole_review)
        return told

    def write(self) -> dict[str, Any]:
        """Write the spec and its plan. Raises Refused where an answer is wrong, and what writing raises."""
        if self.wrong or self.text is None or self.scene is None:
            raise Refused("start.refused.answers")
        try:
            write_first(self.text, self.scene, self.output)
        except Refusal as error:
            raise Refused("start.refused.not written", why=error) from error
        return {
            "kind": "created",
            "file": self.file,
            "said": self.locale.say("start.created", file=self.file),
        }


def profiles_of(folder: Path) -> tuple[str, ...]:
    """The profiles in files of the folder, each as `devices.yaml:halo`."""
    found: list[str] = []
    for name in files_of(folder, rooms=False):
        try:
            found += [f"{name}:{profile}" for profile in read_profiles(folder / name)]
        except (SpecMistakes, OSError, ValueError):
            continue
    return tuple(found[:MOST_PROFILES])


def _texts(given: object) -> Mapping[str, str]:
    """The answers as texts, those that were given. Raises Refused for what is no answer."""
    if not isinstance(given, dict):
        raise Refused("live.refused.object")
    texts = {name: given[name] for name in (*QUESTIONS, "file") if name in given}
    if not all(isinstance(text, str) and len(text) <= LONGEST for text in texts.values()):
        raise Refused("live.refused.object")
    return texts
