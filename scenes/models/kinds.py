"""What a thing of a model is: by its class or its type's with the predefined type, and by its names only then."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

import yaml

from geometry.records import record

FurnitureKind = Literal["chair", "table", "other"]

NAMED_CLASSES: Final = (
    "IfcDistributionElement",
    "IfcBuildingElementProxy",
    "IfcFurnishingElement",
    "IfcDiscreteAccessory",
)
"""Classes of things that a name alone may make a device of."""
FURNISHING: Final = ("IfcFurnishingElement", "IfcBuildingElementProxy")
"""Classes of things that a name may make furniture of; a proxy is anything."""


@record(frozen=True, slots=True)
class Recognised:
    """The kind of a device (a spec's, or grille, camera, display, microphone) and whether that is a guess."""

    kind: str
    guessed: bool = False


@cache
def tables() -> dict[str, Any]:
    """What `kinds.yaml` says."""
    text = Path(__file__).with_name("kinds.yaml").read_text(encoding="utf-8")
    loaded: dict[str, Any] = yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return loaded


def plain(*names: str | None) -> str:
    """Names in small letters, words apart by one space, one at both ends.

    "M_Smoke-Detector:1" → " m smoke detector 1 ".
    """
    text = " ".join(name for name in names if name)
    text = re.sub(r"(?<=[^\W\d_])(?<=[a-zß-ÿ])(?=[A-ZÀ-Þ])", " ", text)  # camel case
    words = re.findall(r"[^\W_]+", text.casefold())
    return " ".join(["", *words, ""])


def says(text: str, words: Sequence[str]) -> bool:
    """Whether one of these words is in a text that `plain` made."""
    return any(word in text for word in words)


def type_of(thing: Any) -> Any | None:
    """The thing's type, None if it has none."""
    from ifcopenshell.util.element import get_type

    found = get_type(thing)
    return None if found is None or found == thing else found


def names_of(thing: Any, type: Any | None) -> str:
    """The thing's names and its type's, ready for `says`."""
    own = (thing.Name, getattr(thing, "ObjectType", None))
    of_type = () if type is None else (type.Name, getattr(type, "ElementType", None))
    return plain(*own, *of_type)


def device(thing: Any) -> Recognised | None:
    """What kind of device a thing is; None if it is none."""
    type = type_of(thing)
    names = names_of(thing, type)
    if says(names, tables()["never"]):
        return None
    found = _by_class(thing, type)
    if found is None:
        # a socket for a light is none, whatever is written on it; a light is one, whatever it stands in
        return _by_name(thing, names)
    if found == "light":
        found = _sort_of_light(names)
    if found == "grille":
        return _air(thing, names)
    return Recognised(found) if found else None


def furniture(thing: Any) -> FurnitureKind | None:
    """Whether a thing is a chair, a table or other furniture; None if nothing says that it is furniture."""
    type = type_of(thing)
    if not any(thing.is_a(name) for name in FURNISHING):
        return None
    given = tables()["predefined furniture"].get(predefined(thing, type))
    if given is not None:
        kind: FurnitureKind = given
        return kind
    words = tables()["furniture"]
    names = without_company(names_of(thing, type), words["with"])
    chair, table = says(names, words["chair"]), says(names, words["table"])
    if chair and table:
        # a desk chair is a chair; a table, 6 chairs is a table
        return (
            "table"
            if re.search(r" chairs | stühle | chaises | sillas | sedie | stoelen ", names)
            else "chair"
        )
    if chair:
        return "chair"
    if says(names, words["other"]):
        return "other"
    if table:
        return "table"
    return "other" if thing.is_a("IfcFurnishingElement") else None


def without_company(names: str, withs: Sequence[str]) -> str:
    """Names without what comes after a "with": a table with chairs is a table."""
    first = min((at for word in withs if (at := names.find(word)) > 0), default=len(names))
    return f"{names[:first].rstrip()} "


def unnamed(thing: Any) -> bool:
    """Whether neither a name nor a predefined type says what a thing is: only numbers, or nothing."""
    type = type_of(thing)
    return not re.search(r"[^\W\d_]{2}", names_of(thing, type)) and not predefined(thing, type)


def predefined(thing: Any, type: Any | None) -> str | None:
    """The predefined type of a thing, or its type's; None where that says nothing."""
    for one in (type, thing):
        value = getattr(one, "PredefinedType", None)
        if value not in (None, "NOTDEFINED", "USERDEFINED"):
            return str(value)
    return None


def is_ceiling(covering: Any) -> bool:
    """Whether an IfcCovering is a ceiling: by its predefined type, and by its names only where that says nothing."""
    type = type_of(covering)
    given = predefined(covering, type)
    return given == "CEILING" if given else says(names_of(covering, type), tables()["ceiling"])


def is_flooring(covering: Any) -> bool:
    """Whether an IfcCovering is a floor's."""
    type = type_of(covering)
    given = predefined(covering, type)
    return given == "FLOORING" if given else says(names_of(covering, type), tables()["flooring"])


def _by_class(thing: Any, type: Any | None) -> str | None:
    """A kind; empty where the class is known and no device; None where the class says nothing."""
    for one in (thing, type):
        name = "" if one is None else re.sub("(Type|Style)$", "", one.is_a())
        kinds = tables()["entities"].get(name)
        if kinds is not None:
            given = predefined(thing, type)
            return kinds.get(given, kinds["*"]) or ""
    return None


def _by_name(thing: Any, names: str) -> Recognised | None:
    if not any(thing.is_a(name) for name in NAMED_CLASSES) or says(names, tables()["never by name"]):
        return None
    words = tables()["furniture"]
    if thing.is_a("IfcFurnishingElement") and says(
        without_company(names, words["with"]), (*words["chair"], *words["table"], *words["other"])
    ):
        return None  # a monitor desk is a desk
    for kind, patterns in tables()["names"].items():
        if says(names, patterns):
            return Recognised(kind)
    return None


def _sort_of_light(names: str) -> str:
    for kind in ("exit sign", "emergency light"):
        if says(names, tables()["names"][kind]):
            return kind
    return "light"


def _air(thing: Any, names: str) -> Recognised:
    """An air terminal by its words, else by the way the air flows through its port, else as a supply, a guess."""
    if says(names, tables()["extracts"]):
        return Recognised("return grille")
    if says(names, tables()["supplies"]):
        return Recognised("supply diffuser")
    from ifcopenshell.util.system import get_ports

    flows = {port.FlowDirection for port in get_ports(thing)}
    if flows == {"SINK"}:  # air comes to it from the duct
        return Recognised("supply diffuser")
    if flows == {"SOURCE"}:
        return Recognised("return grille")
    return Recognised("supply diffuser", guessed=True)
