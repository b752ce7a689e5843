"""A comparison as a value: attempts side by side, figure by figure, made from debriefed flights."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from analyzer.comparison.attempt import Attempt, attempts_of
from analyzer.comparison.figures import FIGURES
from analyzer.comparison.measuring import Figure, Measured
from analyzer.comparison.trends import Trend, holm, trend_of

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["ComparisonData", "Row", "side_by_side"]

_SURE_SD = 2.0
_FEW = 3  # values of which a spread says something


@dataclass(frozen=True, eq=False)
class Row:
    """One figure of all attempts, None where an attempt does not tell it.

    `best` numbers the best attempts, where one way is better. `spread` is the standard deviation of the values. `change` is the
    last attempt's value less the first's, of those that have one, and `change_sd` its standard deviation where it is known.
    `claimed` tells whether the trend can be told from chance.
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
        """The change in what a pilot would notice; None where there is none beyond two standard deviations."""
        if self.change is None or (self.change_sd is not None and abs(self.change) < _SURE_SD * self.change_sd):
            return None
        return abs(self.change) / self.figure.worth


@dataclass(frozen=True, eq=False)
class ComparisonData:
    """Attempts at one procedure, and their figures side by side; `left_out` are the logs that hold no such attempt."""

    attempts: tuple[Attempt, ...]
    rows: tuple[Row, ...]
    left_out: tuple[str, ...] = ()

    @property
    def changed_most(self) -> tuple[Row, ...]:
        """The figures of the flying that changed most from first to last, by what a pilot would notice, at most three."""
        rows = [row for row in self.rows if row.figure.key not in ("outside", "hold_laps", "wind_kt")]
        # where the pilot's own part is known from first to last, it stands for the figure before it
        known = {row.figure.key for row in rows if None not in (row.values[0], row.values[-1])}
        followed = {before.figure.key for before, row in pairwise(rows) if row.figure.own and row.figure.key in known}
        noticed = [row for row in rows if row.figure.key in known - followed and (row.changed or 0.0) >= 1.0]
        return tuple(sorted(noticed, key=lambda row: -(row.changed or 0.0))[:3])

    @property
    def tested(self) -> int:
        """How many figures were tested for a trend."""
        return sum(row.trend is not None for row in self.rows)


def side_by_side(debriefs: Sequence[DebriefData]) -> ComparisonData:
    """Lay the approaches of some flights side by side, in the order flown; of flights that only hold, the holds.

    Raises
    ------
    AnalyzerError
        There are fewer than two of either, or they were debriefed by different procedures or standards.
    """
    attempts = attempts_of(debriefs)
    values = [tuple(figure.read(attempt) for attempt in attempts) for figure in FIGURES]
    told = [(figure, row) for figure, row in zip(FIGURES, values, strict=True) if any(row)]
    trends = [trend_of([value.value for value in row if value is not None]) for _, row in told]
    held = holm([trend.p for trend in trends if trend is not None])
    claims = iter(held)
    rows = tuple(
        _row(figure, row, trend, trend is not None and next(claims)) for (figure, row), trend in zip(told, trends, strict=True)
    )
    compared = {id(attempt.debrief.motion.track) for attempt in attempts}
    left_out = tuple(one.motion.track.file for one in debriefs if id(one.motion.track) not in compared)
    return ComparisonData(attempts, rows, left_out)


def _row(figure: Figure, values: tuple[Measured | None, ...], trend: Trend | None, claimed: bool) -> Row:
    known = [value for value in values if value is not None]
    best = _best(figure, values) if figure.better is not None else ()
    change = change_sd = None
    if len(known) > 1:
        change = known[-1].value - known[0].value
        sds = (known[0].sd, known[-1].sd)
        change_sd = None if sds[0] is None or sds[1] is None else (sds[0] ** 2 + sds[1] ** 2) ** 0.5
    spread = statistics.stdev(value.value for value in known) if len(known) >= _FEW else None
    return Row(figure, values, best, spread, change, change_sd, trend, claimed)


def _best(figure: Figure, values: tuple[Measured | None, ...]) -> tuple[int, ...]:
    """The numbers of the best attempts; none where best and worst cannot be told apart, by what is shown or by their error."""
    sign = 1.0 if figure.better == "less" else -1.0
    order = sorted((sign * round(value.value, figure.decimals), value.sd or 0.0) for value in values if value is not None)
    (best, best_sd), (worst, worst_sd) = order[0], order[-1]
    if worst - best <= _SURE_SD * math.hypot(best_sd, worst_sd):
        return ()
    return tuple(k for k, v in enumerate(values, 1) if v is not None and sign * round(v.value, figure.decimals) == best)
