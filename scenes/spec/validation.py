"""What pydantic finds wrong, as mistakes of the file."""

from __future__ import annotations

import re
from typing import Any, Final, get_args, get_origin

from pydantic import (
    BaseModel,
    TypeAdapter,
    ValidationError,
)

from scenes.spec.equipment import BoxBody, RoundBody
from scenes.spec.mistakes import MOST_TOLD, Mistake, Path, nearest_of, shown
from scenes.spec.occupants import AroundSeats, SeatRows, SingleSeat, StandingLine, StandingPoint
from scenes.spec.shell import TABLES
from scenes.spec.yaml_tree import Marks


def sound(adapter: TypeAdapter[Any], raw: Any, context: dict[str, Any]) -> Any:
    """The value, without those of its keys that are wrong; None where nothing can be made of it."""
    for _ in range(3):
        try:
            return adapter.validate_python(raw, context=context)
        except ValidationError as error:
            wrong = {
                next((str(key) for key in one["loc"] if not str(key).startswith("<")), None)
                for one in error.errors(include_url=False, include_context=False, include_input=False)
            }
            if not isinstance(raw, dict) or not wrong & raw.keys():
                return None
            raw = {key: value for key, value in raw.items() if key not in wrong}
    return None


def translated(error: ValidationError, marks: Marks, prefix: Path, root: type[BaseModel]) -> list[Mistake]:
    """What pydantic found wrong, as mistakes; a key that is missing because it is misspelt is one mistake."""
    mistakes: list[Mistake] = []
    missing: dict[tuple[Path, str], Mistake] = {}
    misspelt: set[tuple[Path, str | None]] = set()
    for one in error.errors(include_url=False)[: 5 * MOST_TOLD]:
        loc = one["loc"]
        of_keys = one["type"] in ("missing", "extra_forbidden")
        model = _model_at(root, loc[:-1] if of_keys else loc)
        path = _written_path(loc, prefix, marks)
        last = str(loc[-1]) if loc else ""
        if one["type"] == "missing":
            if path and path[-1] == loc[-1]:
                continue  # it is written, but named a profiles file that is itself wrong
            missing[path, last] = _missing(path, last, model, marks)
        elif (wrong := _told(one, path, last, model, marks)) is not None:
            mistakes.append(wrong)
            if one["type"] == "extra_forbidden":
                misspelt.add((path[:-1], wrong.nearest))
    return mistakes + [wrong for key, wrong in missing.items() if key not in misspelt]


def _written_path(loc: tuple[int | str, ...], prefix: Path, marks: Marks) -> Path:
    """The path in the file of a place that pydantic names."""
    path = list(prefix)
    for key in loc:
        if isinstance(key, str) and key.startswith("<"):
            continue
        if marks.node((*path, key)) is None:
            break  # below what is written: the height of a ceiling given as a number
        path.append(key)
    return tuple(path)


def _missing(path: Path, key: str, model: type[BaseModel] | None, marks: Marks) -> Mistake:
    field = _by_key(model).get(key)
    about = field.description if field is not None and field.description else ""
    return marks.mistake((*path, key), "missing-key", key=key, about=about)


def _told(one: Any, path: Path, key: str, model: type[BaseModel] | None, marks: Marks) -> Mistake | None:
    """One of pydantic's errors as a mistake; None where others say it already."""
    context = one.get("ctx", {})
    match one["type"]:
        case "mistake":
            return marks.mistake((*path, *context["at"]), context["code"], **context["allowed"])
        case "extra_forbidden":
            known = tuple(_by_key(model))
            nearest = nearest_of(key, known)
            return marks.mistake(path, "unknown-key", of_key=True, nearest=nearest, keys=known)
        case "literal_error" | "enum":
            # pydantic writes 'a', 'b' or 'c'
            return _one_of(path, re.findall(r"'([^']*)'", str(context.get("expected", ""))), marks)
        case "union_tag_invalid" | "union_tag_not_found":
            return _no_table(path, marks)
        case "model_type" | "model_attributes_type":
            return marks.mistake(path, "needs-keys", keys=tuple(_by_key(model)))
        case "tuple_type" | "list_type":
            return marks.mistake(path, "needs-list")
        case "dict_type":
            return marks.mistake(path, "needs-mapping")
        case "too_long":
            return marks.mistake(path, "too-many", most=context["max_length"])
        case "too_short":
            return _too_few(path, context["min_length"], marks)
    return marks.mistake(path, "other", because=shown(one["msg"], 200))


def _no_table(path: Path, marks: Marks) -> Mistake:
    """That this is no table: the only union that is told by the value of a key, its shape."""
    if (node := marks.node(path)) is not None and node.kind == "mapping":
        return _one_of((*path, "shape"), list(TABLES), marks)
    return marks.mistake(path, "needs-keys", keys=("id", "shape", "…"))


def _too_few(path: Path, least: int, marks: Marks) -> Mistake | None:
    """That a list is too short; None where there are enough, only wrong ones, each with its mistake."""
    node = marks.node(path)
    if node is not None and node.kind != "scalar" and len(node.value) >= least:
        return None
    return marks.mistake(path, "too-few", least=least)


def _one_of(path: Path, names: list[str], marks: Marks) -> Mistake:
    nearest = nearest_of(marks.found(path).text, names)
    return marks.mistake(path, "one-of", nearest=nearest, names=tuple(names))


def _by_key(model: type[BaseModel] | None) -> dict[str, Any]:
    if model is None:
        return {}
    return {field.alias or name: field for name, field in model.model_fields.items()}


_FORMS: Final[dict[str, type[BaseModel]]] = {
    **{f"<{shape}>": model for shape, model in TABLES.items()},
    "<around>": AroundSeats,
    "<single>": SingleSeat,
    "<rows>": SeatRows,
    "<standing>": StandingPoint,
    "<along>": StandingLine,
    "<cylinder>": RoundBody,
    "<box>": BoxBody,
}


def _model_at(root: type[BaseModel], loc: tuple[int | str, ...]) -> type[BaseModel] | None:
    """The model whose keys are expected at a place that pydantic names."""
    model: type[BaseModel] | None = root
    names_next = False  # the next key is a name of the file's own, not one of ours
    for key in loc:
        if names_next:
            names_next = False
        elif isinstance(key, str) and key in _FORMS:
            model = _FORMS[key]
        elif isinstance(key, str) and (field := _by_key(model).get(key)) is not None:
            names_next = get_origin(field.annotation) is dict
            model = _model_in(field.annotation)
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((model for part in get_args(annotation) if (model := _model_in(part)) is not None), None)
