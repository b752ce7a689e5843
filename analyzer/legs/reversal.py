"""What was flown: passages of the fix, parts with their legs, and the reversal that they make up."""

from __future__ import annotations

from functools import cached_property
from itertools import groupby, takewhile
from typing import Final, Literal

from analyzer.frozen import dataclass
from analyzer.vocabulary import LEG_OF_PART, Ending, Leg, PartName, ShapeName

__all__ = ["STRAIGHT_IN", "NamedAs", "Part", "Passage", "Reversal"]

STRAIGHT_IN: Final = "straight-in"

_HOME: tuple[PartName, ...] = ("reversal_turn", "turn_inbound", "intercept", "inbound")  # from the reversing turn to the fix


@dataclass(frozen=True)
class Passage:
    """A passage of the fix: the instant abeam it, how far off, and whether the aircraft went out or came in by it."""

    time_s: float
    distance_m: float
    direction: Literal["outbound", "inbound"]


@dataclass(frozen=True)
class Part:
    """One part of what was flown. `turn` is the direction of a part that is a turn, +1 right, and None elsewhere.

    `of_leg` is the leg where it is not the one that parts of that name are of: the final leg of an inbound part with the
    facility on the field, and that of a hold. `lap` counts the laps of a hold from 1.
    """

    name: PartName
    start_s: float
    end_s: float
    turn: int | None = None
    of_leg: Leg | None = None
    lap: int | None = None

    @property
    def leg(self) -> Leg:
        """The leg that the part belongs to."""
        return self.of_leg or LEG_OF_PART[self.name]

    @property
    def duration_s(self) -> float:
        """How long the part took."""
        return self.end_s - self.start_s


@dataclass(frozen=True)
class NamedAs:
    """What of an approach the user named, and what that costs.

    `passage` and `shape` say what was named; what was not, the search found. `recognised` is the shape that recognition by
    itself finds there, None for none. `against` is what speaks against the shape, a clause each, and `unlike` are the parts
    that are not flown as those of the shape are.
    """

    passage: bool
    shape: bool
    recognised: ShapeName | None
    against: tuple[str, ...] = ()
    unlike: tuple[PartName, ...] = ()


@dataclass(frozen=True)
class Reversal:
    """One approach: a course reversal with what came before and after it, or a straight-in.

    `flown` names the shape; `score_gap` is how much better it explains the flight than the next shape (difference of
    log-likelihood, taken as if seconds were independent: good for ranking, not a probability). `side` is the side of the
    outbound course that the reversal lay on, `turn` the direction of the reversing turn, both +1 right, None for a
    straight-in. `parts` are in order without overlap. `established_s` is the instant of being established inbound, None where
    the log ends before; after further circuits of a hold it is that of the last, and `entered_s` that of the entry.
    `ending` says how the final leg ends, None where there is none. `named` is what of it the user named; then `score_gap` is
    less than zero where another shape, or none at all, explains the flight better. `begins_on` says where in the laps of a hold
    the log begins, so that the entry is not in it: on a ``lap``, or on what may be an ``inbound leg`` or the way to the entry;
    else None.
    """

    flown: ShapeName
    score_gap: float | None
    side: int | None
    turn: int | None
    passages: tuple[Passage, ...]
    parts: tuple[Part, ...]
    established_s: float | None
    entered_s: float | None = None
    ending: Ending | None = None
    named: NamedAs | None = None
    begins_on: Literal["lap", "inbound leg"] | None = None

    @property
    def only_named(self) -> bool:
        """Whether the shape rests on what the user said: recognition by itself finds none there, or another."""
        return self.named is not None and self.named.recognised != self.flown

    @property
    def first_established_s(self) -> float | None:
        """The first instant of being established inbound."""
        return self.entered_s if self.entered_s is not None else self.established_s

    def established_after(self, time_s: float) -> float | None:
        """When the aircraft was next established inbound, in circuits of a hold in that lap; else the first time. [s]

        None where it was never established.
        """
        first = self.first_established_s
        if first is None:
            return None
        later = (part.start_s for part in self.parts if part.name == "inbound" and part.start_s > first)
        return next((settled for settled in (first, *later) if settled > time_s), first)

    def part(self, name: PartName) -> Part | None:
        """The first part of that name, or None where it was not flown."""
        return next((part for part in self.parts if part.name == name), None)

    def last_part(self, name: PartName) -> Part | None:
        """The last part of that name, which after further circuits of a hold is not the first."""
        return next((part for part in reversed(self.parts) if part.name == name), None)

    def leg_spans(self, name: Leg) -> tuple[tuple[float, float], ...]:
        """First and last instant of each stretch of a leg: none where it was not flown, several in circuits of a hold. [s]"""
        return tuple(span for leg, span in self._legs if leg == name)

    @cached_property
    def _legs(self) -> tuple[tuple[Leg, tuple[float, float]], ...]:
        """The legs in the order flown, with their first and last instants. [s]"""
        stretches = ((leg, tuple(parts)) for leg, parts in groupby(self.parts, key=lambda part: part.leg))
        return tuple((leg, (parts[0].start_s, parts[-1].end_s)) for leg, parts in stretches)

    @property
    def home_spans(self) -> tuple[tuple[float, float], ...]:
        """From each reversing turn to the end of the way home, except for a turn in which the log ends. [s]"""
        turns = [number for number, part in enumerate(self.parts) if part.name == "reversal_turn"]
        spans = []
        for number in turns:
            home = list(takewhile(lambda part: part.name in _HOME, self.parts[number:]))
            if number != turns[-1] or home[-1].name == "inbound" or self.came_home:
                spans.append((home[0].start_s, home[-1].end_s))
        return tuple(spans)

    @property
    def came_home(self) -> bool:
        """Whether the fix was passed inbound after the last reversing turn, or after its substitute."""
        return self.passage_home is not None

    @property
    def passage_home(self) -> Passage | None:
        """The inbound passage of the fix after the last reversing turn, or after its substitute; None without one."""
        turn = self.last_part("reversal_turn")
        since = turn.start_s if turn is not None else self.parts[0].start_s
        return next((one for one in self.passages if one.direction == "inbound" and one.time_s >= since), None)

    def passage(self, direction: Literal["outbound", "inbound"]) -> Passage | None:
        """The passage of the fix in that direction, or None."""
        return next((passage for passage in self.passages if passage.direction == direction), None)

    def part_at(self, time_s: float) -> Part | None:
        """The part that an instant falls in, or None."""
        return next((part for part in self.parts if part.start_s <= time_s < part.end_s), None)

    @property
    def begun_s(self) -> float:
        """When the first part other than the arrival begins, or the arrival where there is nothing else. [s]"""
        return next((part.start_s for part in self.parts if part.name != "arrival"), self.parts[0].start_s)

    @property
    def reversal_span_s(self) -> tuple[float, float] | None:
        """From the outbound passage until established inbound, or failing that until the inbound passage of the fix.

        Until the end of the parts where the log holds neither; None without an outbound passage.
        """
        outbound = self.passage("outbound")
        if outbound is None:
            return None
        if self.established_s is not None:
            return outbound.time_s, self.established_s
        home = self.passage_home
        return outbound.time_s, home.time_s if home is not None else self.parts[-1].end_s
