"""Frozen dataclasses made on first use, against those of the standard library."""

import copy
import dataclasses
import inspect
import pickle
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer import frozen

numbers = st.one_of(st.integers(-3, 3), st.floats(-2.0, 2.0))


def classes(decorated: Any) -> tuple[type, type, type]:
    """A class with defaults, one that checks itself, and one below the first."""

    @decorated(frozen=True)
    class Pair:
        """Two values and more."""

        a: float
        b: "float"
        more: tuple[int, ...] = ()
        made: dict[str, int] = dataclasses.field(default_factory=dict, compare=False)
        quiet: str = dataclasses.field(default="", repr=False)

        @property
        def total(self) -> float:
            return self.a + self.b

    @decorated(frozen=True)
    class Checked:
        """A value that is not negative."""

        a: float = 1.0

        def __post_init__(self) -> None:
            if self.a < 0.0:
                raise ValueError("negative")

    @decorated(frozen=True)
    class Three(Pair):
        """A value more."""

        c: float = 0.0

    return Pair, Checked, Three


OURS, THEIRS = classes(frozen.dataclass), classes(dataclasses.dataclass)
Kept = OURS[0]
Kept.__qualname__ = "Kept"  # as pickle looks for it


def said(call: Any) -> str:
    with pytest.raises(Exception) as raised:  # noqa: PT011 (which one is what is asked)
        call()
    return f"{raised.type.__name__}: {raised.value}"


@pytest.mark.parametrize("which", range(3))
def test_the_parameters_are_the_same(which):
    ours, theirs = (inspect.signature(kinds[which]).parameters for kinds in (OURS, THEIRS))
    assert [(one.name, one.kind, one.annotation) for one in ours.values()] == [
        (one.name, one.kind, one.annotation) for one in theirs.values()
    ]
    assert [one.name for one in dataclasses.fields(OURS[which])] == [one.name for one in dataclasses.fields(THEIRS[which])]
    assert OURS[which].__match_args__ == THEIRS[which].__match_args__


@given(numbers, numbers, numbers, numbers)
def test_values_compare_and_hash_by_their_fields(a, b, c, d):
    (one, other), (their_one, their_other) = ((kind(a, b), kind(c, d)) for kind in (OURS[0], THEIRS[0]))
    assert (one == other) is (their_one == their_other) is ((a, b) == (c, d))
    assert hash(one) == hash(their_one)
    assert one == OURS[0](a, b, made={"other": 1})
    assert one != their_one
    assert one != OURS[2](a, b)


def test_they_are_printed_alike():
    def printed(kinds):
        return [repr(kind) for kind in (kinds[0](1.0, b=2, quiet="x"), kinds[1](), kinds[2](1, 2, (3,), c=4))]

    assert [text.partition("(")[2] for text in printed(OURS)] == [text.partition("(")[2] for text in printed(THEIRS)]
    assert printed(OURS)[1].endswith("Checked(a=1.0)")


def test_defaults_are_made_for_each():
    one, other = OURS[0](1, 2), OURS[0](1, 2)
    assert one.made == {}
    assert one.made is not other.made
    assert (one.more, one.quiet, one.total) == ((), "", 3)


def test_nothing_can_be_changed():
    for kinds in OURS, THEIRS:
        value = kinds[0](1, 2)
        assert said(lambda value=value: setattr(value, "a", 3)) == "FrozenInstanceError: cannot assign to field 'a'"
        assert said(lambda value=value: delattr(value, "a")) == "FrozenInstanceError: cannot delete field 'a'"
        assert value.a == 1


def test_wrong_arguments_are_refused_in_the_same_words():
    def faults(kind):
        return [said(lambda: kind(1)), said(lambda: kind(1, 2, nothing=3)), said(lambda: kind(1, 2, a=3))]

    assert faults(OURS[2]) == faults(THEIRS[2])


def test_a_value_that_checks_itself_does():
    assert OURS[1](0.0).a == 0.0
    assert said(lambda: OURS[1](-1.0)) == "ValueError: negative"


def test_they_are_replaced_copied_kept_and_taken_apart():
    value = Kept(1.0, 2.0, (3,))
    assert dataclasses.replace(value, b=5.0) == Kept(1.0, 5.0, (3,))
    assert dataclasses.asdict(value) == {"a": 1.0, "b": 2.0, "more": (3,), "made": {}, "quiet": ""}
    assert copy.deepcopy(value) == pickle.loads(pickle.dumps(value)) == value  # noqa: S301 (our own)


def test_without_comparison_each_is_its_own():
    @frozen.dataclass(frozen=True, eq=False, repr=False)
    class Alone:
        """A value like no other."""

        a: int

    assert Alone(1) != Alone(1)
    assert len({Alone(1), Alone(1)}) == 2
    assert "a=1" not in repr(Alone(1))


def test_own_methods_are_kept():
    @frozen.dataclass(frozen=True)
    class Own:
        """A value with its own words."""

        a: int

        def __repr__(self) -> str:
            return "own"

    assert repr(Own(1)) == "own"
    assert Own(1) == Own(1)
