"""What pydantic finds wrong, as mistakes of the file."""

from __future__ import annotations

import re
from typing import Any, Final, get_args, get_origin

from pydantic import (
    BaseModel,
    TypeAdapter,
    ValidationError,
)

from scenes.spec.mistakes import MOST_TOLD, Mistake, Path, nearest_of, shown
from scenes.spec.model import (
    TABLES,
    AroundSeats,
    BoxBody,
    RoundBody,
    SeatRows,
    SingleSeat,
    StandingLine,
    StandingPoint,
)
from scenes.spec.yaml_tree import Marks

# What pydantic found wrong, in the words of this house.


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
    told = []
    for one in error.errors(include_url=False)[: 5 * MOST_TOLD]:
        loc = one["loc"]
        model = _model_at(root, loc[:-1] if one["type"] in ("missing", "extra_forbidden") else loc)
        path = list(prefix)
        for key in loc:
            if isinstance(key, str) and key.startswith("<"):
                continue
            if marks.node((*path, key)) is None:
                break  # below what is written: the height of a ceiling given as a number
            path.append(key)
        if one["type"] == "missing" and path and path[-1] == loc[-1]:
            continue  # it is written, but named a profiles file that is told to be wrong
        last = str(loc[-1]) if loc else ""
        told.append(_told(one["type"], one.get("ctx", {}), one["msg"], tuple(path), last, model, marks))
    return [one for one in told if one is not None]


def _told(
    kind: str,
    context: dict[str, Any],
    message: str,
    path: Path,
    key: str,
    model: type[BaseModel] | None,
    marks: Marks,
) -> Mistake | None:
    if kind == "allowed":
        at = tuple(context["at"])
        return marks.mistake((*path, *at), context["allowed"], found=context["found"])
    if kind == "missing":
        field = _by_key(model).get(key)
        what = f" ({field.description})" if field is not None and field.description else ""
        return marks.mistake((*path, key), f"the key {key}, which is required{what}", found="nothing")
    if kind == "extra_forbidden":
        known = list(_by_key(model))
        allowed = "the keys " + ", ".join(known) + nearest_of(key, known)
        return marks.mistake(path, allowed, found=f"the unknown key {shown(key, 40)}", of_key=True)
    if kind in ("literal_error", "enum"):
        # pydantic writes 'a', 'b' or 'c'
        expected = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        found = marks.found(path)
        return marks.mistake(path, "one of " + ", ".join(expected) + nearest_of(found, expected))
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        shapes = list(TABLES)
        if (node := marks.node(path)) is not None and node.kind == "mapping":
            found = marks.found((*path, "shape"))
            return marks.mistake((*path, "shape"), "one of " + ", ".join(shapes) + nearest_of(found, shapes))
        return marks.mistake(path, "a mapping with the keys id, shape, …")
    if kind in ("model_type", "model_attributes_type"):
        known = list(_by_key(model))
        return marks.mistake(path, "a mapping with the keys " + ", ".join(known))
    if kind in ("tuple_type", "list_type"):
        return marks.mistake(path, "a list")
    if kind == "dict_type":
        return marks.mistake(path, "a mapping")
    if kind == "too_long":
        return marks.mistake(path, f"at most {context['max_length']} of them")
    if kind == "too_short":
        node = marks.node(path)
        if node is not None and node.kind != "scalar" and len(node.value) >= context["min_length"]:
            return None  # enough of them, only wrong ones, which are told each
        return marks.mistake(path, f"at least {context['min_length']} of them")
    return marks.mistake(path, shown(message, 200))


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
