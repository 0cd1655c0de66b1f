"""A record does what a frozen dataclass of the standard library does with the same fields."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace
from typing import Any, ClassVar

import pytest

from geometry.records import SEVERAL, record

Decorator = Callable[..., Any]


def defined(decorator: Decorator, slots: bool) -> type[Any]:
    """A class with every kind of field there is in the house, made by this decorator."""

    @decorator(frozen=True, slots=slots)
    class Base:
        where: tuple[float, ...]
        kind: ClassVar[str] = "base"

    @decorator(frozen=True, slots=slots)
    class Room(Base):
        """A room."""

        name: str
        area_m2: float = 3.0
        doors: list[str] = field(default_factory=list)
        note: str = field(default="", compare=False, repr=False)
        corners: int = field(init=False)
        kind: ClassVar[str] = "room"

        def __post_init__(self) -> None:
            if self.area_m2 < 0:
                raise ValueError("area")
            object.__setattr__(self, "corners", len(self.where))

    return Room


PAIRS = [(defined(record, slots), defined(dataclass, slots)) for slots in (True, False)]
each_pair = pytest.mark.parametrize(("ours", "theirs"), PAIRS, ids=["slots", "dict"])


@each_pair
def test_constructors_take_and_refuse_the_same(ours: Any, theirs: Any) -> None:
    for _ in range(2 * SEVERAL):  # the shared constructor gives way to the record's own
        for arguments, named in (
            (((1.0, 2.0), "oak"), {}),
            (((1.0,), "oak", 4.0, ["north"], "a note"), {}),
            ((), {"name": "oak", "where": (), "doors": ["south"]}),
        ):
            mine, other = ours(*arguments, **named), theirs(*arguments, **named)
            assert [getattr(mine, one.name) for one in fields(mine)] == [
                getattr(other, one.name) for one in fields(other)
            ]
            assert repr(mine) == repr(other)
            assert asdict(mine) == asdict(other)
        for arguments, named in (
            ((), {}),
            (((1.0,),), {}),
            (((1.0,), "oak"), {"colour": "red"}),
            (((1.0,), "oak"), {"corners": 3}),
            (((1.0,), "oak", 1.0, [], "", 3), {}),
        ):
            with pytest.raises(TypeError) as refused:
                theirs(*arguments, **named)
            with pytest.raises(TypeError) as ours_refused:
                ours(*arguments, **named)
            assert str(ours_refused.value) == str(refused.value)
        with pytest.raises(ValueError, match="area"):
            ours((), "oak", -1.0)


@each_pair
def test_nothing_of_a_record_changes(ours: Any, theirs: Any) -> None:
    for cls in (ours, theirs):
        one = cls((1.0,), "oak")
        for name in ("name", "colour"):
            with pytest.raises((FrozenInstanceError, TypeError)):
                setattr(one, name, "ash")
        with pytest.raises(FrozenInstanceError):
            one.name = "ash"
        with pytest.raises(FrozenInstanceError):
            del one.name
        assert one.name == "oak"
        assert not ours((), "a").doors  # each has a list of its own
        one.doors.append("north")
        assert not cls((), "b").doors


@each_pair
def test_records_are_equal_by_value_and_class(ours: Any, theirs: Any) -> None:
    nan = float("nan")
    for cls in (ours, theirs):
        one = cls((1.0, nan), "oak", note="a")
        assert one == cls((1.0, nan), "oak", note="b")
        assert one != cls((1.0, nan), "ash")
        assert one != cls((1.0, nan), "oak", 4.0)
        assert one.__eq__((1.0, "oak")) is NotImplemented
        assert replace(one, name="ash") == cls((1.0, nan), "ash")
    assert ours((1.0,), "oak") != theirs((1.0,), "oak")


@each_pair
def test_classes_look_alike(ours: Any, theirs: Any) -> None:
    assert is_dataclass(ours)
    assert [one.name for one in fields(ours)] == [one.name for one in fields(theirs)]
    assert ours.__match_args__ == theirs.__match_args__
    assert ours.kind == theirs.kind == "room"
    assert hasattr(ours, "__slots__") == hasattr(theirs, "__slots__")
    assert copy.deepcopy(ours((1.0,), "oak", doors=["n"])) == ours((1.0,), "oak", doors=["n"])
    assert copy.copy(ours((1.0,), "oak")) == ours((1.0,), "oak")


@record(frozen=True, slots=True)
class Single:
    value: float


@record(frozen=True, slots=True)
class Nothing:
    pass


@record(frozen=True, eq=False)
class Same:
    value: float


@record(frozen=True)
class Loud:
    value: float

    def __repr__(self) -> str:
        return "loud"

    def __eq__(self, other: object) -> bool:
        return True

    def __hash__(self) -> int:
        return 7


def test_the_first_instances_are_as_all_others() -> None:
    """With a shared constructor and with the record's own: a wrong call does not end what the shared one knows."""
    for slots in (True, False):
        ours = defined(record, slots)
        shared = ours.__init__
        made = [ours((1.0,), "oak", doors=["north"]) for _ in range(SEVERAL)]
        assert ours.__init__ is shared
        assert made[0].doors is not ours((1.0,), "oak").doors
        assert ours.__init__ is not shared
        assert all(one == ours((1.0,), "oak", 3.0, ["north"]) for one in made)
        assert {(one.corners, one.note) for one in made} == {(1, "")}


def test_few_fields_and_functions_of_ones_own() -> None:
    nan = float("nan")
    assert Single(nan) == Single(nan)  # the same object, as in a tuple
    assert Single(1.0) != Single(2.0)
    assert hash(Single(1.0)) == hash(Single(1.0))
    assert Nothing() == Nothing()
    assert hash(Nothing()) == hash(Nothing())
    one = Same(1.0)
    assert one == one
    assert one != Same(1.0)
    assert len({one, Same(1.0)}) == 2
    assert (repr(Loud(1.0)), Loud(1.0) == 3, hash(Loud(1.0))) == ("loud", True, 7)
    with pytest.raises(FrozenInstanceError):
        Loud(1.0).value = 2.0  # type: ignore[misc]


def test_records_travel_between_processes() -> None:
    for one in (Single(1.5), Loud(2.5)):
        again = pickle.loads(pickle.dumps(one))
        assert type(again) is type(one)
        assert again.value == one.value
