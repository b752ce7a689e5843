"""What the page and the table in the terminal need of all rows, gathered in one pass: counts, spreads, pilots, the worst.

However many rows there are, what is held stays the same size. A spread keeps every value while they are few, then every second,
every fourth and so on, and says so.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE
from analyzer.checks.run import CHECKS
from analyzer.gradebook.rows import FIGURES, lost_parts

__all__ = ["MOST_ATTEMPTS", "Attempt", "Listed", "Spread", "Tally"]

Json = dict[str, Any]
Row = Mapping[str, Any]
_MOST_VALUES = 20_000
_MOST_LISTED = 2_000
MOST_ATTEMPTS = 100  # of a pilot
_MOST_PILOTS = 200
# The worst first; a log without a grade comes after what was outside, for somebody has to look at it.
_RANKS = {OUTSIDE: 0, None: 1, CLOSE: 2, NOT_ASSESSED: 3, INSIDE: 4}


@dataclass
class Spread:
    """Values of one figure: all of them, or every `step`-th."""

    values: list[float] = field(default_factory=list)
    step: int = 1
    seen: int = 0

    def add(self, value: float) -> None:
        """Take a value in."""
        if self.seen % self.step == 0:
            self.values.append(value)
            if len(self.values) > _MOST_VALUES:
                self.values = self.values[::2]
                self.step *= 2
        self.seen += 1


@dataclass(frozen=True)
class Listed:
    """A row as it is listed, with the parts of its mark that were not earned in full."""

    row: Row
    lost: tuple[str, ...]


@dataclass(frozen=True)
class Attempt:
    """One attempt of a pilot, at the approach or at a hold: each is numbered apart."""

    number: int
    file: str
    verdict: str
    percent: float | None
    hold: bool = False


@dataclass
class Tally:
    """The gathering of rows, in order. Copies of a log are counted as such and nowhere else."""

    rows: int = 0
    statuses: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    holds: int = 0  # of the verdicts
    undecided: int = 0  # of the verdicts: which procedure was flown
    checks: Mapping[str, Counter[str]] = field(default_factory=lambda: {check: Counter() for check in CHECKS})
    spreads: Mapping[str, Spread] = field(default_factory=lambda: {name: Spread() for name in FIGURES})
    pilots: dict[str, list[Attempt]] = field(default_factory=dict)
    pilots_left_out: set[str] = field(default_factory=set)
    _worst: list[tuple[tuple[float, ...], Listed]] = field(default_factory=list)

    def add(self, row: Row, approach: Json) -> None:
        """Count a row in."""
        self.statuses[row["status"]] += 1
        self._list(row, approach)
        self.rows += 1
        if row["duplicate_of"] is not None or row["verdict"] is None:
            return
        self.verdicts[row["verdict"]] += 1
        for check, verdicts in self.checks.items():
            if row[f"{check}_verdict"] is not None:
                verdicts[row[f"{check}_verdict"]] += 1
        self.holds += row["hold"] is not None
        self.undecided += row["procedure_rivals"] is not None
        for name, spread in self.spreads.items():
            if row[name] is not None and row["hold"] is None:  # a hold's length is no approach's
                spread.add(row[name])
        if row["attempt"] is not None:
            self._pilot(row)

    def _pilot(self, row: Row) -> None:
        if row["pilot"] not in self.pilots:
            if len(self.pilots) >= _MOST_PILOTS:
                if len(self.pilots_left_out) < _MOST_VALUES:
                    self.pilots_left_out.add(row["pilot"])
                return
            self.pilots[row["pilot"]] = []
        attempts = self.pilots[row["pilot"]]
        if len(attempts) < MOST_ATTEMPTS:
            attempts.append(Attempt(row["attempt"], row["file"], row["verdict"], row["mark_percent"], row["hold"] is not None))

    def _list(self, row: Row, approach: Json) -> None:
        percent = row["mark_percent"]
        badness = float(_RANKS[row["verdict"]]), percent if percent is not None else 101.0, float(self.rows)
        kept = tuple(-value for value in badness)  # the heap's smallest is the best of those kept
        if len(self._worst) >= _MOST_LISTED and kept < self._worst[0][0]:
            return
        shown = {name: row[name] for name in _LISTED}
        listed = Listed(shown, lost_parts(approach) if approach else ())
        if len(self._worst) < _MOST_LISTED:
            heapq.heappush(self._worst, (kept, listed))
        else:
            heapq.heapreplace(self._worst, (kept, listed))

    def worst(self, most: int = _MOST_LISTED) -> Sequence[Listed]:
        """The worst rows, the worst first."""
        return [listed for _, listed in sorted(self._worst, key=lambda entry: entry[0], reverse=True)[:most]]


_LISTED = (
    "file", "pilot", "date", "attempt", "approach", "approaches", "procedure", "status", "reason", "flown", "verdict",
    "verdict_sentence", "mark_percent", "mark_earned", "mark_possible", "mark_failed_outright", "mark_incomplete", "remark",
    "page", "duplicate_of", "hold", "laps",
)  # fmt: skip
