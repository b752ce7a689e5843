"""What a user says was flown, where recognition finds nothing or something else: a passage, a shape, or both.

It is a constraint on the one search that there is, not a search of its own: `find_reversals` fits the shapes that are allowed
from the passage that is named, and the reversal that comes of it says that it was named, and what recognition misses in it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from analyzer.errors import FlownError
from analyzer.frozen import dataclass
from analyzer.legs.grammar import SHAPES
from analyzer.legs.passages import Abeam
from analyzer.vocabulary import SHAPE_NAMES, ShapeName

__all__ = ["FLOWN_WORDS", "Named", "begins_at_fix", "clock", "passage_of", "passed_words", "read_flown"]

_HOLDS: tuple[ShapeName, ...] = ("hold-direct", "hold-teardrop", "hold-parallel")
# The words for shapes: their names, and those of the trade for some of them.
FLOWN_WORDS: Mapping[str, tuple[ShapeName, ...]] = {
    **{name: (name,) for name in SHAPE_NAMES},
    "teardrop": ("base-turn",),
    "racetrack": ("hold-direct",),
    "hold": _HOLDS,
}
_TIME_OF_DAY = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?", re.ASCII)
_DAY_S = 86400.0
_NEAR_S = 90.0  # from the instant given, at most, the passage is that is meant
_MOST_LISTED = 12


@dataclass(frozen=True)
class Named:
    """One approach as it is named. `word` is what was given, for messages.

    `time_s` is near the passage of the fix that the reversal begins with, or that an arc or a straight-in leads to; None where
    it is left to the search. `shapes` are those that it may be, empty for any.
    """

    word: str
    time_s: float | None
    shapes: tuple[ShapeName, ...]


def read_flown(words: Sequence[str], begins_s: float, ends_s: float) -> tuple[Named, ...]:
    """The approaches named by words: a time, a shape, or both, as ``15:41:30``, ``base-turn``, ``15:41:30=base-turn``.

    Times are UTC: of the day, or of a log over more than a day with the date, ``2026-06-28T15:41:30``. `begins_s` and `ends_s`
    are the first and last instant of the log. Raises `FlownError`.

    >>> named = read_flown(["15:41:30=teardrop"], 1782661200.0, 1782662118.0)
    >>> named[0].time_s - 1782661200.0, named[0].shapes
    (90.0, ('base-turn',))
    """
    read = tuple(_read(word, begins_s, ends_s) for word in words)
    if len(read) > 1 and any(named.time_s is None for named in read):
        raise FlownError("flown: of several approaches name the passage of each, like 15:41:30=base-turn")
    return read


def _read(word: str, begins_s: float, ends_s: float) -> Named:
    time, equals, shape = word.strip().partition("=")
    if not equals and time in FLOWN_WORDS:
        time, shape = "", time
    if shape and shape not in FLOWN_WORDS:
        raise FlownError(f"flown {word}: {shape} is no shape; choose from {', '.join(FLOWN_WORDS)}")
    if not time and not shape:
        raise FlownError("flown: give a time of passing the fix, a shape, or both, like 15:41:30=base-turn")
    return Named(word.strip(), _instant(word, time, begins_s, ends_s) if time else None, FLOWN_WORDS.get(shape, ()))


def _instant(word: str, text: str, begins_s: float, ends_s: float) -> float:
    """The instant that a time of day or a date with a time names in the log. [s since 1970-01-01 UTC]"""
    parts = _TIME_OF_DAY.fullmatch(text)
    if parts is None:
        try:
            instant = datetime.fromisoformat(text)
        except ValueError as error:
            raise FlownError(
                f"flown {word}: {text} is neither a time like 15:41:30 nor a shape; shapes are {', '.join(FLOWN_WORDS)}"
            ) from error
        return (instant if instant.tzinfo else instant.replace(tzinfo=UTC)).timestamp()
    of_day_s = int(parts[1]) * 3600.0 + int(parts[2]) * 60.0 + int(parts[3] or 0)
    first_day = int((begins_s - _NEAR_S) // _DAY_S)
    days = [first_day + k for k in range(int((ends_s - begins_s) // _DAY_S) + 3)]
    there = [day * _DAY_S + of_day_s for day in days if begins_s - _NEAR_S <= day * _DAY_S + of_day_s <= ends_s + _NEAR_S]
    if not there:
        raise FlownError(f"flown {word}: the log runs from {clock(begins_s)} to {clock(ends_s)} UTC; give a time in it")
    if len(there) > 1:
        raise FlownError(f"flown {word}: the log holds this time on {len(there)} days; give the date too, {_stamp(there[0])}")
    return there[0]


def passage_of(named: Named, passages: Sequence[Abeam]) -> Abeam | None:
    """The passage that a time names, None where none is named. Raises `FlownError` where there is none near that time."""
    if named.time_s is None:
        return None
    time_s = named.time_s
    near = min(passages, key=lambda passage: abs(passage.time_s - time_s), default=None)
    if near is None or abs(near.time_s - time_s) > _NEAR_S:
        raise FlownError(f"flown {named.word}: the fix is not passed at that time; {passed_words(passages)}")
    return near


def passed_words(passages: Sequence[Abeam]) -> str:
    """When the fix is passed, for messages."""
    if not passages:
        return "it is passed nowhere in the log: is it the right procedure?"
    more = f" and {len(passages) - _MOST_LISTED} times more" if len(passages) > _MOST_LISTED else ""
    return f"it is passed at {', '.join(clock(passage.time_s) for passage in passages[:_MOST_LISTED])}{more}"


def begins_at_fix(shapes: Sequence[ShapeName]) -> bool:
    """Whether shapes begin with a passage of the fix, as reversals do; an arc and a straight-in lead to one."""
    return not shapes or any(shape.from_passage for shape in SHAPES if shape.name in shapes)


def clock(time_s: float) -> str:
    """Time of day, UTC, to the second, for messages: ``14:03:21``."""
    return datetime.fromtimestamp(round(time_s), tz=UTC).strftime("%H:%M:%S")


def _stamp(time_s: float) -> str:
    return datetime.fromtimestamp(round(time_s), tz=UTC).strftime("%Y-%m-%dT%H:%M:%S")
