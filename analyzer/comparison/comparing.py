"""Comparison of debriefed flights: attempts side by side, figure by figure."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from analyzer.checks.finding import OUTSIDE
from analyzer.checks.phrases import FEET, HeightUnit, height_unit
from analyzer.comparison.attempt import Attempt, attempts_of
from analyzer.comparison.figures import FIGURES
from analyzer.comparison.measuring import Figure, Measured
from analyzer.comparison.trends import Trend, holm, trend_of
from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["Column", "ComparisonData", "Row", "changed_most", "figure_rows", "side_by_side", "tested"]

_SURE_SD = 2.0
_FEW = 3  # values needed for a spread


@dataclass(frozen=True, eq=False)
class Column:
    """One figure read from all attempts, in the order flown, and whether each is outside by the check that judges it."""

    figure: Figure
    values: tuple[Measured | None, ...]
    outside: tuple[bool, ...]

    def shown_in(self, height: HeightUnit) -> Column:
        """The column as it is shown for a chart in this unit of heights."""
        one = self.figure.in_one(height)
        values = tuple(None if value is None else value.times(one) for value in self.values)
        return Column(self.figure.shown_in(height), values, self.outside)


@dataclass(frozen=True, eq=False)
class Row:
    """One figure of all attempts.

    Attributes
    ----------
    values : tuple of Measured or None
        One per attempt, None if the attempt does not have it.
    best : tuple of int
        Numbers of the best attempts that are not outside, if the standard asks for the least possible deviation.
    spread : float, optional
        Standard deviation of the values.
    change, change_sd : float, optional
        Last value minus first value, and its standard deviation, if known.
    trend : Trend, optional
        The trend over the attempts.
    claimed : bool
        Whether the trend is statistically significant.
    """

    figure: Figure
    values: tuple[Measured | None, ...]
    best: tuple[int, ...]
    spread: float | None
    change: float | None
    change_sd: float | None
    trend: Trend | None
    claimed: bool

    @property
    def changed(self) -> float | None:
        """The change as a multiple of one that a pilot would notice; None if it is within two standard deviations."""
        if self.change is None or (self.change_sd is not None and abs(self.change) < _SURE_SD * self.change_sd):
            return None
        return abs(self.change) / self.figure.worth


@dataclass(frozen=True, eq=False)
class ComparisonData:
    """Attempts at one procedure with their figures side by side, heights in feet.

    `left_out` names the logs without an attempt.
    """

    attempts: tuple[Attempt, ...]
    rows: tuple[Row, ...]
    left_out: tuple[str, ...] = ()

    @property
    def height(self) -> HeightUnit:
        """The unit of heights of the chart."""
        return height_unit(self.attempts[0].debrief.motion.charted.altitude_unit)

    @property
    def rows_as_charted(self) -> tuple[Row, ...]:
        """The rows with heights in the unit of the chart, for words and pages."""
        if self.height == FEET:
            return self.rows
        return figure_rows([column.shown_in(self.height) for column in _columns(self.attempts)])

    @property
    def changed_most(self) -> tuple[Row, ...]:
        """The figures that changed most from first to last, relative to what a pilot would notice; at most three."""
        return changed_most(self.rows)

    @property
    def tested(self) -> int:
        """Number of figures tested for a trend."""
        return tested(self.rows)


def side_by_side(debriefs: Sequence[DebriefData]) -> ComparisonData:
    """Compare the approaches of several flights in the order flown, or flights of a hold if there are fewer than two.

    Raises
    ------
    AnalyzerError
        There are fewer than two of either, or they were debriefed by different procedures or standards.
    """
    attempts = attempts_of(debriefs)
    rows = figure_rows(_columns(attempts))
    compared = {id(attempt.debrief.motion.track) for attempt in attempts}
    left_out = tuple(debrief.motion.track.file for debrief in debriefs if id(debrief.motion.track) not in compared)
    return ComparisonData(attempts, rows, left_out)


def _columns(attempts: Sequence[Attempt]) -> list[Column]:
    """Every figure read from all attempts."""
    return [
        Column(figure, tuple(figure.read(a) for a in attempts), tuple(_outside(a, figure) for a in attempts))
        for figure in FIGURES
    ]


def figure_rows(columns: Sequence[Column]) -> tuple[Row, ...]:
    """The rows of the figures that any attempt has, with trends that are tested together."""
    shown = [column for column in columns if any(column.values)]
    trends = [trend_of([value.value for value in column.values if value is not None]) for column in shown]
    significant = holm([trend.p for trend in trends if trend is not None])
    claims = iter(significant)
    return tuple(_row(column, trend, trend is not None and next(claims)) for column, trend in zip(shown, trends, strict=True))


def changed_most(rows: Sequence[Row]) -> tuple[Row, ...]:
    """The figures that changed most from first to last, relative to what a pilot would notice; at most three."""
    rows = [row for row in rows if row.figure.key not in ("outside", "hold_laps", "wind_kt")]
    # the figure in still air replaces the one before it, if it is known for the first and the last attempt
    known = {row.figure.key for row in rows if None not in (row.values[0], row.values[-1])}
    followed = {before.figure.key for before, row in pairwise(rows) if row.figure.own and row.figure.key in known}
    noticed = [row for row in rows if row.figure.key in known - followed and (row.changed or 0.0) >= 1.0]
    return tuple(sorted(noticed, key=lambda row: -(row.changed or 0.0))[:3])


def tested(rows: Sequence[Row]) -> int:
    """Number of figures tested for a trend."""
    return sum(row.trend is not None for row in rows)


def _row(column: Column, trend: Trend | None, claimed: bool) -> Row:
    figure, values = column.figure, column.values
    known = [value for value in values if value is not None]
    best = _best(column) if figure.judged_by is not None else ()
    change = change_sd = None
    if len(known) > 1:
        change = known[-1].value - known[0].value
        sds = (known[0].sd, known[-1].sd)
        change_sd = None if sds[0] is None or sds[1] is None else (sds[0] ** 2 + sds[1] ** 2) ** 0.5
    spread = statistics.stdev(value.value for value in known) if len(known) >= _FEW else None
    return Row(figure, values, best, spread, change, change_sd, trend, claimed)


def _best(column: Column) -> tuple[int, ...]:
    """Numbers of the best attempts that are not outside.

    Empty if the difference between best and worst is within their errors, or disappears in rounding.
    """
    figure, values = column.figure, column.values
    sign = 1.0 if figure.better == "less" else -1.0
    order = sorted((sign * round(value.value, figure.decimals), value.sd or 0.0) for value in values if value is not None)
    (best, best_sd), (worst, worst_sd) = order[0], order[-1]
    if worst - best <= _SURE_SD * math.hypot(best_sd, worst_sd):
        return ()
    return tuple(
        number
        for number, (value, outside) in enumerate(zip(values, column.outside, strict=True), 1)
        if value is not None and sign * round(value.value, figure.decimals) == best and not outside
    )


def _outside(attempt: Attempt, figure: Figure) -> bool:
    findings = (*attempt.approach.findings, *attempt.hold_findings)
    return any(finding.check == figure.judged_by and finding.verdict == OUTSIDE for finding in findings)
