"""What a figure of an attempt is, and reading the values that findings measured."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from analyzer.checks.finding import Finding
from analyzer.comparison.attempt import Attempt
from analyzer.physics.units import FT

__all__ = ["Figure", "Measured", "greatest", "limited", "measured"]

Better = Literal["less", "more"]
_IN_FEET = {"m": 1.0 / FT}  # altitudes of a procedure in metres: figures are in feet


@dataclass(frozen=True)
class Measured:
    """A value in the figure's unit, and its standard deviation where that is known."""

    value: float
    sd: float | None = None


@dataclass(frozen=True)
class Figure:
    """One figure: its key in JSON, its name, unit and decimals, which way is better where one is, and how it is read.

    `worth` is a change that a pilot would notice, by which changes of different figures are ranked: common practice, no source.
    `own` tells that it is the pilot's own part of the figure before it, the wind's taken off.
    """

    key: str
    name: str
    unit: str
    decimals: int
    worth: float
    read: Callable[[Attempt], Measured | None]
    better: Better | None = None
    own: bool = False


def measured(findings: Iterable[Finding], check: str, part: str | None = None) -> list[Measured]:
    """The numbers that a check measured, altitudes in feet."""
    return [
        Measured(float(f.measured) * _scale(f), _sd(f))
        for f in findings
        if f.check == check and part in (None, f.part) and isinstance(f.measured, float | int) and math.isfinite(f.measured)
    ]


def limited(findings: Iterable[Finding], check: str, unit: str | None = None, part: str | None = None) -> list[Measured]:
    """By how much what a check measured is above its limit, of findings that have both; altitudes in feet."""
    return [
        Measured((float(f.measured) - float(f.limit)) * _scale(f), _sd(f))
        for f in findings
        if f.check == check
        and unit in (None, f.unit)
        and part in (None, f.part)
        and isinstance(f.measured, float | int)
        and math.isfinite(f.measured)
        and isinstance(f.limit, float | int)
    ]


def greatest(found: Iterable[Measured]) -> Measured | None:
    """The one of the greatest value; None of none."""
    return max(found, key=lambda one: one.value, default=None)


def _scale(finding: Finding) -> float:
    return _IN_FEET.get(finding.unit, 1.0)


def _sd(finding: Finding) -> float | None:
    return None if finding.sd is None else finding.sd * _scale(finding)
