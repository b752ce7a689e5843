"""What the pages of pilots show: plain values, without anything that takes long to load."""

from __future__ import annotations

from dataclasses import replace

from analyzer.frozen import dataclass

__all__ = ["AttemptSeen", "CheckSeen", "FigureSeen", "PilotSeen", "PilotsSeen", "SeriesSeen"]


@dataclass(frozen=True)
class PilotsSeen:
    """The pilots, each with the number of flights, the day of the last and the results in words; flights without a name."""

    pilots: tuple[tuple[str, int, str, str], ...]
    nameless: int


@dataclass(frozen=True)
class AttemptSeen:
    """An attempt, or a flight without one: what the flight carries, the result and why, and its number in its series."""

    file: str
    name: str
    begins: str
    aircraft: str
    remark: str
    procedure: str
    verdict: str = ""
    why: str = ""
    number: int = 0

    def with_result(self, verdict: str, why: str, number: int) -> AttemptSeen:
        """The same with its result."""
        return replace(self, verdict=verdict, why=why, number=number)


@dataclass(frozen=True)
class CheckSeen:
    """How often a check was outside and so on; each attempt counts once, with its worst finding."""

    name: str
    outside: int
    close: int
    inside: int
    not_assessed: int


@dataclass(frozen=True)
class FigureSeen:
    """A figure over time: its picture (SVG), a caption, alternative text, and whether it has a limit."""

    svg: str
    caption: str
    alt: str
    limited: bool


@dataclass(frozen=True)
class SeriesSeen:
    """The attempts that can be compared: the procedure or hold, what was settled, what changed, and the figures over time.

    `small` are trends that can be claimed and come to less than a pilot would notice.
    """

    title: str
    settled: str
    count: int
    sentences: tuple[str, ...]
    small: tuple[str, ...]
    figures: tuple[FigureSeen, ...]


@dataclass(frozen=True)
class PilotSeen:
    """A pilot: totals in words, flights that are not measured yet, attempts in order, checks, and series."""

    name: str
    said: str
    unmeasured: int
    attempts: tuple[AttemptSeen, ...]
    checks: tuple[CheckSeen, ...]
    series: tuple[SeriesSeen, ...]
    note: str
