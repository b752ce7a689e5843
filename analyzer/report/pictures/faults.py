"""Findings outside or too close to call, numbered from the worst, and marked with their numbers in every picture.

The badge shows the verdict without colour: a filled square is outside, an open circle too close to call.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.checks.finding import CLOSE, OUTSIDE
from analyzer.checks.overall import worst_first
from analyzer.frozen import dataclass
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Line, Mark, Marker, Words, straight
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import CLOSE_COLOUR, INK, PAPER, WARN

if TYPE_CHECKING:
    from analyzer.checks.finding import Finding
    from analyzer.debriefs.data import Approach
    from analyzer.legs.reversal import Reversal

__all__ = ["Fault", "badge", "badge_size", "faults_of", "leader", "span_of", "stretch", "underlay"]

_NAME = "fault"  # the class of its lines on a page
_UNDERLAY_PT, _OPACITY = 11.0, 0.2
_ROOM = 1.75  # size of a badge relative to the type of its number


@dataclass(frozen=True, eq=False)
class Fault:
    """A finding that is outside or too close to call, with its number, its stretch of the flight and the instant marked. [s]

    `span` is None if it has no stretch, as when something was not flown.
    """

    number: int
    finding: Finding
    span: tuple[float, float] | None
    at_s: float | None

    @property
    def outside(self) -> bool:
        """Whether it is outside rather than too close to call."""
        return self.finding.verdict == OUTSIDE


def faults_of(approach: Approach) -> tuple[Fault, ...]:
    """The faults of an approach: those outside, then those too close to call, the worst of each first."""
    by_verdict = ([finding for finding in approach.findings if finding.verdict == verdict] for verdict in (OUTSIDE, CLOSE))
    ordered = [finding for findings in by_verdict for finding in worst_first(findings)]
    faults = []
    for number, finding in enumerate(ordered, 1):
        span = span_of(finding, approach.reversal)
        at_s = finding.place.time_s if finding.place is not None else sum(span) / 2.0 if span is not None else None
        faults.append(Fault(number, finding, span, at_s))
    return tuple(faults)


def span_of(finding: Finding, reversal: Reversal) -> tuple[float, float] | None:
    """The stretch of the flight that a finding is about; None if it is not about one. [s]"""
    at_s = finding.place.time_s if finding.place is not None else None
    parts = [part for part in reversal.parts if finding.lap in (None, part.lap)]
    stretches = [(part.start_s, part.end_s) for part in parts if part.name == finding.part]
    if finding.lap is not None and parts:  # its part in that lap, or the whole lap
        start, end = stretches[0] if stretches else (parts[0].start_s, parts[-1].end_s)
        return (start, end) if at_s is None else (min(start, at_s), max(end, at_s))
    stretches = stretches or list(reversal.leg_spans(finding.leg))
    if at_s is None:
        return stretches[0] if stretches else None
    around = [(start, end) for start, end in stretches if start <= at_s <= end]
    return around[0] if around else (at_s, at_s)


def fault_colour(fault: Fault) -> str:
    """The colour of a fault's badge."""
    return WARN if fault.outside else CLOSE_COLOUR


def badge_size(layout: Layout) -> float:
    """The width of a badge. [points]"""
    return _ROOM * layout.small


def leader(fault: Fault, place: tuple[float, float], sign: tuple[float, float]) -> Line:
    """The line from the point of a fault to its badge."""
    return straight(place, sign, fault_colour(fault), 1.2, level=8.5, name=_NAME)


def stretch(fault: Fault, begin: float, end: float, y: float) -> Line:
    """The bar along the bottom of a curve for the duration of a fault."""
    return straight((begin, y), (end, y), fault_colour(fault), 4.0, level=3.5, name=_NAME)


def underlay(x: FloatArray, y: FloatArray) -> Line:
    """A broad line under the track where something was outside."""
    return Line(x, y, WARN, _UNDERLAY_PT, level=2.5, opacity=_OPACITY, name=_NAME)


def badge(fault: Fault, x: float, y: float, layout: Layout) -> list[Mark]:
    """The badge of a fault, with its number, centred at a point."""
    colour, size = fault_colour(fault), badge_size(layout)
    if fault.outside:
        sign = Marker(x, y, "square", size, colour, colour, 1.0, 9.0)
        return [sign, Words(x, y, str(fault.number), layout.small, PAPER, True, level=9.1)]
    sign = Marker(x, y, "circle", size, colour, PAPER, 1.6, 9.0)
    return [sign, Words(x, y, str(fault.number), layout.small, INK, True, level=9.1)]
