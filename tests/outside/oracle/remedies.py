"""What a placement tells to help (`conflict.try`): applied to the file, placed again, and judged."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml

from tests.outside.oracle import product
from tests.outside.oracle.reading import METRES
from tests.outside.oracle.rooms import write_room

CASES = Path(__file__).parents[1] / "cases"


def case_differences(name: str, folder: Path) -> list[str]:
    """`remedy_differences` of a case of this folder, in which some remedy is told to work."""
    path = folder / name
    shutil.copy(CASES / name, path)
    told = product.asked("place", path)
    assert any(remedy["works"] for remedy in told["conflict"]["try"])
    return remedy_differences(path, told)


def random_differences(seed: int, folder: Path) -> list[str]:
    """`remedy_differences` of a random room in which one array cannot cover everybody."""
    path = write_room(seed, folder)
    told = product.asked("place", path)
    assert told["conflict"]["try"]
    return remedy_differences(path, told)


def remedy_differences(path: Path, told: Mapping[str, Any]) -> list[str]:
    """What of conflict.try[] is not so: applied, placed and checked, a remedy works if it is told to, and only then."""
    wrong = []
    tried = 0
    for remedy in told["conflict"]["try"]:
        options: list[str] = []
        changed = _changed(yaml.safe_load(path.read_text("utf-8")), remedy, options)
        if changed is not None:
            tried += 1
            trial = path.with_name(f"{path.stem}-{remedy['change']}.yaml")
            trial.write_text(yaml.safe_dump(changed, sort_keys=False), encoding="utf-8")
            wrong += list(_applied(trial, remedy, options))
    return wrong if tried else ["nothing that is told can be applied"]


def _applied(trial: Path, remedy: Mapping[str, Any], options: list[str]) -> Iterator[str]:
    """The changed room placed, written and checked: whether it does what the remedy says."""
    answer = product.run("place", trial, "--write", "--even-if-worse", "--json", *options)
    if not answer.out.startswith("{") or "mistakes" in json.loads(answer.out):
        yield f"{remedy}: the changed room is refused: {answer.out[:300]}{answer.err[:300]}"
        return
    placed = json.loads(answer.out)
    verdict = product.asked("check", trial)["verdict"] if placed["arrays"] else "fail"
    if (verdict != "fail") != remedy["works"]:
        yield f"{remedy}: applied, the verdict is {verdict}, the bound {placed['bound_m']}"
    # what would help is told without wishes, as `free` is
    if remedy["works"] and placed["free"]["margin_m"] < remedy["margin_m"] - 0.002:
        yield f"{remedy}: applied, the largest margin is {placed['free']['margin_m']}"


def _changed(tree: dict[str, Any], remedy: Mapping[str, Any], options: list[str]) -> dict[str, Any] | None:
    """The file with the remedy in it; None where there is nothing to put in, or it is no change of the file."""
    tree, value = copy.deepcopy(tree), remedy["value"]
    if value is None:
        return None
    unit = METRES[tree["units"]]
    if remedy["change"] == "ceiling":
        ceiling = tree["room"]["ceiling"]
        if isinstance(ceiling, dict):
            ceiling["height"] = value / unit
        else:
            tree["room"]["ceiling"] = value / unit
    elif remedy["change"] == "arrays":
        options += ["--arrays", str(int(value))]
    elif remedy["change"] == "lean":
        _lean(tree, value / unit)
    elif remedy["change"] == "reach":
        profile = tree["profiles"][tree["arrays"][0]["profile"]]
        profile["reach"] = [profile["reach"][0], value / unit]
    elif remedy["change"] == "without" and any(one["id"] == value for one in tree.get("overhead", ())):
        tree["overhead"] = [one for one in tree["overhead"] if one["id"] != value]
    else:
        return None
    return tree


def _lean(tree: dict[str, Any], sway: float) -> None:
    for group in (*tree.get("seats", ()), *tree.get("standing", ())):
        group.pop("sway", None)
    people = tree.setdefault("people", {})
    for posture in ("seated", "standing"):
        people.setdefault(posture, {})["sway"] = sway
