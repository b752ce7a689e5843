"""The subject of pictures: one approach or hold of a flight, or the whole flight if none was recognised."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from analyzer.frozen import dataclass
from analyzer.legs.held import laps_of
from analyzer.legs.passages import find_passages
from analyzer.report.pictures.series import Series, series_of
from analyzer.report.pictures.style import LEG_TINT, shown_span
from analyzer.vocabulary import Leg

if TYPE_CHECKING:
    from analyzer.checks.figures import Farthest
    from analyzer.debriefs.data import Approach, DebriefData
    from analyzer.legs.reversal import Part
    from analyzer.motion.states import States

__all__ = ["Subject"]

_ON_ARC: Mapping[Leg, str] = {"outbound": "arc", "reversal": "turn"}


@dataclass(frozen=True, eq=False)
class Subject:
    """A debriefed flight and the approach in it that is drawn; None draws a flight in which none was recognised."""

    debrief: DebriefData
    approach: Approach | None

    @cached_property
    def states(self) -> States:
        """The states drawn."""
        states = self.debrief.motion.drawn_states
        return states if self.approach is None else states.between(*shown_span(self.debrief.motion, self.approach.reversal))

    @cached_property
    def series(self) -> Series:
        """The values of the states, second by second."""
        return series_of(self.debrief.motion, self.states, self.parts, held=self.held)

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts flown."""
        return self.approach.reversal.parts if self.approach is not None else ()

    @property
    def held(self) -> bool:
        """Whether a hold is flown, whose outbound legs lie off the course on purpose."""
        return self.approach is not None and self.approach.reversal.flown.startswith("hold")

    @property
    def laps(self) -> int:
        """The number of laps of the hold."""
        return len(laps_of(self.approach.reversal)) if self.approach is not None else 0

    @property
    def farthest(self) -> Farthest | None:
        """The farthest point from the fix."""
        return self.approach.figures.farthest if self.approach is not None else None

    @property
    def farthest_from_limit(self) -> Farthest | None:
        """The point farthest from the centre of the limit."""
        return self.approach.figures.farthest_from_limit if self.approach is not None else None

    @property
    def passages(self) -> tuple[float, ...]:
        """The passages of the fix that recognition used; all of them if nothing was recognised. [s]"""
        if self.approach is not None:
            return tuple(passage.time_s for passage in self.approach.reversal.passages)
        return tuple(passage.time_s for passage in find_passages(self.debrief.motion.states))

    def leg_spans(self, leg: Leg) -> tuple[tuple[float, float], ...]:
        """Start and end of each stretch of a leg. [s]"""
        return self.approach.reversal.leg_spans(leg) if self.approach is not None else ()

    def leg_name(self, leg: Leg) -> str:
        """What a leg is called in a picture: on an arc the outbound leg is the arc, and the reversal the turn off it."""
        if self.approach is None or self.approach.reversal.flown != "arc":
            return leg
        return _ON_ARC.get(leg, leg)

    def named_spans(self) -> Iterator[tuple[Leg, str, tuple[float, float]]]:
        """Every stretch of a leg, with its name, and every lap of a hold."""
        if self.approach is None:
            return
        for leg in LEG_TINT:
            if leg != "hold":
                yield from ((leg, self.leg_name(leg), span) for span in self.leg_spans(leg))
        for number, lap in enumerate(laps_of(self.approach.reversal), 1):
            yield "hold", f"lap {number}", (lap[0].start_s, lap[-1].end_s)
