"""What is asked once of a position gives what asking again would, however many are asked and whatever is forgotten."""

import numpy as np

from geometry import asked_once
from geometry.asked_once import AskedOnce


def counted(function, calls):
    """The function, with the number of positions of every call written down."""

    def asking(at):
        calls.append(len(at))
        return function(at)

    return asking


def test_numbers_are_those_of_the_functions_and_nothing_is_asked_twice():
    dice = np.random.default_rng(3)
    functions = [lambda at, k=k: at[:, k] - 0.5 for k in range(3)]
    calls, joint = [], []
    together = counted(lambda at: at[:, [0, 2]] - 0.5, joint)
    known = AskedOnce([counted(one, calls) for one in functions], ([0, 2], together))
    places = dice.uniform(size=(40, 3))
    for _ in range(30):
        at = places[dice.integers(40, size=dice.integers(1, 9))]
        for which, function in enumerate(functions):
            np.testing.assert_array_equal(known.of(which)(at), function(at))
    # the first and the last come in one call, each function sees each place once at most in a call's batch
    assert len(joint) > 0
    before = len(calls) + len(joint)
    for which in range(3):
        known.of(which)(places[np.unique(np.array([0, 5, 7]))])
        known.of(which)(places[[0, 5, 7]])
    assert len(calls) + len(joint) - before <= 2


def test_of_many_new_places_only_what_is_wanted_is_asked(monkeypatch):
    monkeypatch.setattr(asked_once, "TOGETHER", 4)
    joint = []
    known = AskedOnce(
        [lambda at: at[:, 0], lambda at: at[:, 1]], ([0, 1], counted(lambda at: at[:, :2], joint))
    )
    at = np.arange(30.0).reshape(-1, 3)
    np.testing.assert_array_equal(known.of(1)(at), at[:, 1])
    assert joint == []
    np.testing.assert_array_equal(known.of(0)(at[:4] + 0.5), at[:4, 0] + 0.5)
    assert joint == [4]


def test_what_is_forgotten_is_asked_again(monkeypatch):
    monkeypatch.setattr(asked_once, "KEPT", 10)
    known = AskedOnce([lambda at: at.sum(axis=1)])
    dice = np.random.default_rng(4)
    places = dice.uniform(size=(25, 3))
    for _ in range(20):
        at = places[dice.integers(25, size=7)]
        np.testing.assert_array_equal(known.of(0)(at), at.sum(axis=1))
    assert len(known.rows) <= 10
    assert known.of(0)(np.empty((0, 3))).shape == (0,)


def test_more_at_once_than_are_worth_keeping_are_asked_and_not_kept(monkeypatch):
    monkeypatch.setattr(asked_once, "AT_ONCE", 5)
    known = AskedOnce([lambda at: at[:, 2]])
    at = np.arange(18.0).reshape(-1, 3)
    np.testing.assert_array_equal(known.of(0)(at), at[:, 2])
    assert not known.rows
