"""What was found wrong or too close to call, numbered from the worst on, and marked with its number in every picture.

The sign tells the verdict without colour: a filled square is outside, an open circle too close to call.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyzer.checks.finding import CLOSE, OUTSIDE
from analyzer.checks.overall import worst_first
from analyzer.physics.units import FloatArray
from analyzer.report.pictures.drawing import Line, Mark, Marker, Words, straight
from analyzer.report.pictures.layout import Layout
from analyzer.report.pictures.style import CLOSE_COLOUR, INK, PAPER, WARN

if TYPE_CHECKING:
    from analyzer.checks.finding import Finding
    from analyzer.debriefs.data import Approach
    from analyzer.legs.reversal import Reversal

__all__ = ["Fault", "badge", "badge_size", "faults_of", "leader", "span_of", "stretch", "underlay"]

_NAME = "fault"  # of its lines, for a page
_UNDERLAY_PT, _OPACITY = 11.0, 0.2
_ROOM = 1.75  # a sign is so much larger than its number's type


@dataclass(frozen=True, eq=False)
class Fault:
    """A finding that is outside or too close to call: its number, its stretch of the flight and the instant marked in it. [s]

    `span` is None where it is about no stretch, as when something was not flown.
    """

    number: int
    finding: Finding
    span: tuple[float, float] | None
    at_s: float | None

    @property
    def outside(self) -> bool:
        """Whether it is outside, and not too close to call."""
        return self.finding.verdict == OUTSIDE


def faults_of(approach: Approach) -> tuple[Fault, ...]:
    """All faults of an approach: those outside, then those too close to call, each the worst first."""
    by_verdict = ([finding for finding in approach.findings if finding.verdict == verdict] for verdict in (OUTSIDE, CLOSE))
    found = [finding for findings in by_verdict for finding in worst_first(findings)]
    faults = []
    for number, finding in enumerate(found, 1):
        span = span_of(finding, approach.reversal)
        at_s = finding.place.time_s if finding.place is not None else sum(span) / 2.0 if span is not None else None
        faults.append(Fault(number, finding, span, at_s))
    return tuple(faults)


def span_of(finding: Finding, reversal: Reversal) -> tuple[float, float] | None:
    """The stretch of the flight that a finding is about; None where it is about none. [s]"""
    at_s = finding.place.time_s if finding.place is not None else None
    parts = [part for part in reversal.parts if finding.lap in (None, part.lap)]
    stretches = [(part.start_s, part.end_s) for part in parts if part.name == finding.part]
    if finding.lap is not None and parts:  # its part in that lap, or all of the lap
        start, end = stretches[0] if stretches else (parts[0].start_s, parts[-1].end_s)
        return (start, end) if at_s is None else (min(start, at_s), max(end, at_s))
    stretches = stretches or list(reversal.leg_spans(finding.leg))
    if at_s is None:
        return stretches[0] if stretches else None
    around = [(start, end) for start, end in stretches if start <= at_s <= end]
    return around[0] if around else (at_s, at_s)


def fault_colour(fault: Fault) -> str:
    """The colour of its sign."""
    return WARN if fault.outside else CLOSE_COLOUR


def badge_size(layout: Layout) -> float:
    """How wide a sign is. [points]"""
    return _ROOM * layout.small


def leader(fault: Fault, place: tuple[float, float], sign: tuple[float, float]) -> Line:
    """The line from where a fault happened to its sign."""
    return straight(place, sign, fault_colour(fault), 1.2, level=8.5, name=_NAME)


def stretch(fault: Fault, begin: float, end: float, y: float) -> Line:
    """The bar along the bottom of a curve where a fault lasted."""
    return straight((begin, y), (end, y), fault_colour(fault), 4.0, level=3.5, name=_NAME)


def underlay(x: FloatArray, y: FloatArray) -> Line:
    """The stretch of the track in which something was outside, under the track itself."""
    return Line(x, y, WARN, _UNDERLAY_PT, level=2.5, opacity=_OPACITY, name=_NAME)


def badge(fault: Fault, x: float, y: float, layout: Layout) -> list[Mark]:
    """The sign of a fault with its number, centred at a place."""
    colour, size = fault_colour(fault), badge_size(layout)
    if fault.outside:
        sign = Marker(x, y, "square", size, colour, colour, 1.0, 9.0)
        return [sign, Words(x, y, str(fault.number), layout.small, PAPER, True, level=9.1)]
    sign = Marker(x, y, "circle", size, colour, PAPER, 1.6, 9.0)
    return [sign, Words(x, y, str(fault.number), layout.small, INK, True, level=9.1)]
