"""Figures of an attempt, and the measured values of findings."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Literal

from analyzer.checks.finding import Finding
from analyzer.checks.phrases import HeightUnit
from analyzer.comparison.attempt import Attempt
from analyzer.frozen import dataclass
from analyzer.physics.units import FT
from analyzer.vocabulary import CheckName

__all__ = ["Figure", "Measured", "feet_per_unit", "greatest", "limited", "measured"]

Better = Literal["less", "more"]
_IN_FEET = {"m": 1.0 / FT}  # altitudes of a procedure in metres: figures are in feet


@dataclass(frozen=True)
class Measured:
    """A value in the figure's unit, with its standard deviation if known."""

    value: float
    sd: float | None = None

    def times(self, factor: float) -> Measured:
        """The same in a unit of which this many make one."""
        return Measured(self.value * factor, None if self.sd is None else self.sd * factor)


@dataclass(frozen=True)
class Figure:
    """A figure that attempts are compared by.

    Attributes
    ----------
    key, name, unit, decimals
        The key in JSON, and how it is shown.
    worth : float
        A change that a pilot would notice, by which changes of different figures are ranked. Common practice, no source.
    read : callable
        Reads the value from an attempt.
    better : {"less", "more"}, optional
        The better direction, if there is one.
    own : bool
        Whether it is the preceding figure without the effect of the wind.
    judged_by : str, optional
        The check by which the standard asks for the least possible deviation, not only for staying within a limit. Only such a
        figure has a best attempt.
    """

    key: str
    name: str
    unit: str
    decimals: int
    worth: float
    read: Callable[[Attempt], Measured | None]
    better: Better | None = None
    own: bool = False
    judged_by: CheckName | None = None

    def in_one(self, height: HeightUnit) -> float:
        """How many of the chart's unit of heights make one of the figure's: 0.3048 for feet shown in metres, else 1."""
        return FT / height.metres if self.unit == "ft" else 1.0

    def shown_in(self, height: HeightUnit) -> Figure:
        """How the figure is shown for a chart in this unit of heights."""
        return replace(self, unit=height.name, worth=self.worth * self.in_one(height)) if self.unit == "ft" else self


def measured(findings: Iterable[Finding], check: str, part: str | None = None) -> list[Measured]:
    """The values that a check measured, altitudes in feet."""
    return [
        Measured(float(f.measured) * feet_per_unit(f), _sd(f))
        for f in findings
        if f.check == check and part in (None, f.part) and isinstance(f.measured, float | int) and math.isfinite(f.measured)
    ]


def limited(findings: Iterable[Finding], check: str, unit: str | None = None, part: str | None = None) -> list[Measured]:
    """The amounts by which the measured values of a check exceed its limit, for findings with both; altitudes in feet."""
    return [
        Measured((float(f.measured) - float(f.limit)) * feet_per_unit(f), _sd(f))
        for f in findings
        if f.check == check
        and unit in (None, f.unit)
        and part in (None, f.part)
        and isinstance(f.measured, float | int)
        and math.isfinite(f.measured)
        and isinstance(f.limit, float | int)
    ]


def greatest(values: Iterable[Measured]) -> Measured | None:
    """The greatest of several values; None if there are none."""
    return max(values, key=lambda measured: measured.value, default=None)


def feet_per_unit(finding: Finding) -> float:
    """What takes a value of a finding into the unit of figures: feet for an altitude in metres, else 1."""
    return _IN_FEET.get(finding.unit, 1.0)


def _sd(finding: Finding) -> float | None:
    return None if finding.sd is None else finding.sd * feet_per_unit(finding)
