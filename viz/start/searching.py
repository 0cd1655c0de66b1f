"""`place` for the page of a folder: run in a process of its own, its progress and its answer a JSON object a line."""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from typing import Any, Final, get_args

from geometry.aims import AimName
from scenes.dossier import Dossier
from scenes.findings.placement import Far
from scenes.findings.review import Review
from scenes.room.build import build
from scenes.spec.mistakes import SpecMistakes, WriteRefused
from scenes.spec.model import Spec
from scenes.spec.reading import read_spec
from scenes.spec.writing import changes
from viz.commands.errors import Unusable, WrongUse
from viz.commands.placing import Found, PlaceOptions, found_for, text_with, why_unwritten
from viz.plan_svg import standing_svg
from viz.start.rooms import command, standing
from viz.words import placement as words
from viz.words import start as start_words
from viz.words.locale import Locale
from viz.words.mistakes import text_of

AIMS: Final[tuple[AimName, ...]] = get_args(AimName)
OFTEN_S: Final = 0.1
"""Between two lines of progress."""


def options_for(aim: AimName | None) -> PlaceOptions:
    """The options of `place SPEC [--aim AIM] --write`."""
    return PlaceOptions(
        aim=aim,
        enough="0.10 m",
        hold=(),
        arrays=None,
        profile=None,
        free=False,
        snap=None,
        ignore_clearances=False,
        write=True,
        even_if_worse=False,
        certificate=None,
        ladder=None,
        picture=None,
        json=False,
        force=False,
    )


def answer(spec: Spec, name: str, aim: AimName | None, found: Found) -> dict[str, Any]:
    """What was found, as the page shows it; `text` is what would be written, None where it must not be."""
    options = options_for(aim)
    locale = Locale.of(found.scene)
    refused = why_unwritten(spec, found, options)
    text = None if refused is not None else text_with(spec, found.placement)
    before = spec.source.text if spec.source is not None else ""
    told = {
        "kind": "placement",
        "room": name,
        "aim": aim or "",
        "command": command("place", name, *(("--aim", aim) if aim else ()), "--write"),
        "current": _shown(found.today, Dossier.of(found.scene).whole_review),
        "proposed": None if found.judged is None else _shown(found.judged, found.judged),
        "sentences": list(start_words.of_search(found.placement, found.unconstrained, found.beside)),
        "remedies": list(start_words.remedies(found.placement)),
        "table": start_words.aims_table(found.placement),
        "refused": refused,
        "same": locale.say("place.nothing to write") if text == before else None,
        "lines": changes(spec, text) if text is not None and text != before else None,
        "text": text,
        "before": before,
    }
    if found.judged is not None:
        told["beside"] = words.standing(found.today, found.judged)
    return told


def _shown(judged: Review | None, look: Review) -> dict[str, Any]:
    return {**standing(judged or look), "svg": standing_svg(judged or look, lettered=True)}


def main(arguments: list[str]) -> int:
    """Search for the room of a file by an aim, or by none (an empty name). Exit status as for `place`."""
    file, name, aim_asked = arguments
    aim = next((one for one in AIMS if one == aim_asked), None)
    last = 0.0
    try:
        spec = read_spec(Path(file))
        locale = Locale.of(build(spec))

        def show(far: Far) -> None:
            nonlocal last
            if time.monotonic() - last >= OFTEN_S:
                last = time.monotonic()
                _say({"kind": "progress", "text": words.progress(far, locale)})

        _say({"kind": "progress", "text": locale.say("search.begin")})
        _say(answer(spec, name, aim, found_for(spec, options_for(aim), show)))
    except (SpecMistakes, WriteRefused, WrongUse, Unusable, OSError, ValueError) as error:
        _say({"kind": "refused", "why": text_of(error)})
        return 2
    return 0


def _say(message: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(message, ensure_ascii=False) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
