"""Frozen records: dataclasses of the standard library that cost a cold process little.

`dataclass(frozen=True)` writes the text of five functions for every class and compiles each of them, 0.3 ms a class: of
the 160 records that a `check` loads that was a quarter of its time. Here the library still reads the fields and makes
the slots, so that `fields`, `replace`, `asdict` and pattern matching work. The other functions are shared by all
records, and a record's own constructor is compiled when its first instance is made.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, fields
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, NoReturn

__all__ = ["record"]

if TYPE_CHECKING:
    # A type checker knows what `dataclass` does; a record does the same.
    from dataclasses import dataclass as record
else:

    def record(*, frozen: bool, slots: bool = False, eq: bool = True) -> Callable[[type], type]:
        """A decorator that makes of a class what `dataclass` would with the same arguments. `frozen` must be True;
        it is written out for who reads it. Without `eq`, records are equal if they are the same object."""
        assert frozen

        def decorate(cls: type) -> type:
            documented = cls.__doc__ is not None
            if not documented:
                cls.__doc__ = cls.__name__  # else the library works out a signature for it
            cls = dataclass(init=False, repr=False, eq=False, slots=slots)(cls)
            cls.__init__ = _first_constructor(cls)
            cls.__setattr__ = _refuse_to_assign
            cls.__delattr__ = _refuse_to_delete
            if "__repr__" not in cls.__dict__:
                cls.__repr__ = _described
            if slots:
                cls.__getstate__ = _state
                cls.__setstate__ = _restore
            if eq:
                _compare_by_value(cls)
            return cls

        return decorate


SEVERAL = 8
"""Instances of a record from which on a constructor of its own is worth its making."""


def _first_constructor(cls: type) -> Callable[..., None]:
    """A constructor for any record, which puts the record's own in its place when several were made, or one is wrong."""
    left = SEVERAL

    def construct(self: object, *arguments: object, **named: object) -> None:
        nonlocal left
        left -= 1
        if left >= 0 and _set_all(cls, self, arguments, named):
            return
        own = _constructor(cls)
        type.__setattr__(cls, "__init__", own)
        own(self, *arguments, **named)

    return construct


def _set_all(cls: Any, self: Any, arguments: tuple[object, ...], named: dict[str, object]) -> bool:
    """Whether these are what the record takes; then its fields are set. Nothing is done where they are not."""
    values = dict(zip(cls.__match_args__, arguments, strict=False)) | named
    if len(values) != len(arguments) + len(named):
        return False  # one too many, or given twice
    known = 0
    for one in fields(cls):
        if one.name in values:
            known += one.init
        elif one.default_factory is not MISSING:
            values[one.name], known = one.default_factory(), known + 1
        elif one.init and one.default is not MISSING:
            values[one.name], known = one.default, known + 1
        elif one.init:
            return False
    if known != len(values):
        return False
    for name, value in values.items():
        object.__setattr__(self, name, value)
    if hasattr(cls, "__post_init__"):
        self.__post_init__()
    return True


def _constructor(cls: type) -> Callable[..., None]:
    """The constructor that `dataclass` would give: fields in their order, defaults, then `__post_init__`."""
    known: dict[str, object] = {"_put": object.__setattr__, "_missing": MISSING}
    taken: list[str] = ["self"]
    lines: list[str] = []
    for one in fields(cls):
        value = _value_of(one, known)
        if one.init:
            taken.append(one.name + _default_of(one, known))
        if value is not None:
            lines.append(f" _put(self, {one.name!r}, {value})")
    if hasattr(cls, "__post_init__"):
        lines.append(" self.__post_init__()")
    text = f"def __init__({', '.join(taken)}):\n" + "\n".join(lines or [" pass"])
    exec(text, known)  # names of fields are names of Python
    made: Any = known["__init__"]
    made.__qualname__ = f"{cls.__qualname__}.__init__"
    made.__module__ = cls.__module__
    return made  # type: ignore[no-any-return]


def _default_of(one: Field[Any], known: dict[str, object]) -> str:
    if one.default is not MISSING:
        known[f"_default_{one.name}"] = one.default
        return f"=_default_{one.name}"
    return "" if one.default_factory is MISSING else "=_missing"


def _value_of(one: Field[Any], known: dict[str, object]) -> str | None:
    """What a field is set to, as Python; None of one that `__post_init__` sets."""
    if one.default_factory is MISSING:
        return one.name if one.init else None
    known[f"_new_{one.name}"] = one.default_factory
    new = f"_new_{one.name}()"
    return f"{new} if {one.name} is _missing else {one.name}" if one.init else new


def _compare_by_value(cls: type) -> None:
    names = [one.name for one in fields(cls) if one.compare]
    if len(names) > 1:
        values: Callable[[object], Any] = attrgetter(*names)
    else:
        # a tuple also of one: it calls the same object equal to itself, also where that is no number

        def values(self: object) -> Any:
            return tuple(getattr(self, name) for name in names)

    def equal(self: object, other: object) -> Any:
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    def hashed(self: object) -> int:
        return hash(values(self))

    # As `dataclass`: what the class defines itself stays.
    for name, function in (("__eq__", equal), ("__hash__", hashed)):
        if cls.__dict__.get(name) is None:
            setattr(cls, name, function)


def _refuse_to_assign(self: object, name: str, _value: object) -> NoReturn:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(self: object, name: str) -> NoReturn:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


@recursive_repr()
def _described(self: Any) -> str:
    values = ", ".join(f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
    return f"{type(self).__qualname__}({values})"


def _state(self: Any) -> list[object]:
    return [getattr(self, one.name) for one in fields(self)]


def _restore(self: Any, state: list[object]) -> None:
    for one, value in zip(fields(self), state, strict=True):
        object.__setattr__(self, one.name, value)
