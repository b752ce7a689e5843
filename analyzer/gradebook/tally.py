"""Counts, spreads, pilots and the worst rows of a class, gathered in one pass for the page and the terminal.

Its memory does not grow with the number of rows.
"""

from __future__ import annotations

import dataclasses
import heapq
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE
from analyzer.checks.run import CHECKS
from analyzer.frozen import dataclass
from analyzer.gradebook.flown_tracks import ProcedureTracks, RowKey, key_of
from analyzer.gradebook.rows import FIGURES, NOT_RECOGNISED, lost_parts
from analyzer.gradebook.sample import Sample

__all__ = ["MOST_ATTEMPTS", "Attempt", "Listed", "Tally", "Unflown"]

Json = dict[str, Any]
Row = Mapping[str, Any]
_MOST_LEFT_OUT = 20_000
_MOST_LISTED = 2_000
MOST_ATTEMPTS = 100  # attempts of a pilot
_MOST_PILOTS = 200
_MOST_PROCEDURES = 12  # procedures that have a picture
_MOST_NAMES = 200  # flights outside by a check
# The worst first; a log without a grade comes right after those outside, as somebody has to look at it.
_RANKS = {OUTSIDE: 0, None: 1, CLOSE: 2, NOT_ASSESSED: 3, INSIDE: 4}


@dataclass(frozen=True)
class Listed:
    """A row of the list, with the parts of its mark that were not earned in full, and its worst findings in sentences.

    `excused` has the excused findings: how each reads, and the excuse in words.
    """

    row: Row
    lost: tuple[str, ...]
    reasons: tuple[str, ...] = ()
    excused: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Attempt:
    """An attempt of a pilot at the approach or at a hold, which are numbered separately."""

    number: int
    file: str
    verdict: str
    percent: float | None
    hold: bool = False


@dataclass(frozen=True)
class Unflown:
    """A log of a pilot in which nothing was judged, and why."""

    file: str
    status: str


@dataclasses.dataclass
class Tally:
    """The tally of rows, added in order. Copies of a log are counted as such and nowhere else."""

    rows: int = 0
    statuses: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    holds: int = 0  # of the verdicts
    undecided: int = 0  # of the verdicts, by procedure
    only_named: int = 0  # of the verdicts, named by the roster and not recognised
    checks: Mapping[str, Counter[str]] = field(default_factory=lambda: {check: Counter() for check in CHECKS})
    outside: Mapping[str, list[RowKey]] = field(default_factory=lambda: {check: [] for check in CHECKS})
    spreads: Mapping[str, Sample[float]] = field(default_factory=lambda: {name: Sample() for name in FIGURES})
    tracks: dict[str, ProcedureTracks] = field(default_factory=dict)
    pilots: dict[str, list[Attempt]] = field(default_factory=dict)
    unflown: dict[str, list[Unflown]] = field(default_factory=dict)
    pilots_left_out: set[str] = field(default_factory=set)
    _worst: list[tuple[tuple[float, ...], Listed]] = field(default_factory=list)

    def add(self, row: Row, approach: Json) -> None:
        """Add a row."""
        self.statuses[row["status"]] += 1
        self._list(row, approach)
        self.rows += 1
        if row["duplicate_of"] is not None:
            return
        if row["verdict"] is None:
            if row["pilot"] is not None and self._room_for(row["pilot"]):
                self.unflown.setdefault(row["pilot"], []).append(Unflown(row["file"], row["status"]))
            return
        self.verdicts[row["verdict"]] += 1
        for check, verdicts in self.checks.items():
            if row[f"{check}_verdict"] is not None:
                verdicts[row[f"{check}_verdict"]] += 1
                if row[f"{check}_verdict"] == OUTSIDE and len(self.outside[check]) < _MOST_NAMES:
                    self.outside[check].append(key_of(row))
        self.holds += row["hold"] is not None
        self.undecided += row["procedure_rivals"] is not None
        self.only_named += row["named"] == NOT_RECOGNISED
        for name, spread in self.spreads.items():
            if row[name] is not None and row["hold"] is None:  # figures of a hold are not comparable with those of an approach
                spread.add(row[name])
        track = approach.get("track")
        if track is not None and row["hold"] is None:
            self._track(row, track)
        if row["attempt"] is not None and self._room_for(row["pilot"]):
            self._pilot(row)

    def _track(self, row: Row, track: Json) -> None:
        if row["procedure"] not in self.tracks:
            if len(self.tracks) >= _MOST_PROCEDURES:
                return
            self.tracks[row["procedure"]] = ProcedureTracks(row["start"], (track["fix_deg"][0], track["fix_deg"][1]))
        self.tracks[row["procedure"]].add(row, track)

    def _room_for(self, pilot: str) -> bool:
        """Whether there is room to list a pilot; beyond the limit pilots are only counted."""
        if pilot in self.pilots or pilot in self.unflown or len({*self.pilots, *self.unflown}) < _MOST_PILOTS:
            return True
        if len(self.pilots_left_out) < _MOST_LEFT_OUT:
            self.pilots_left_out.add(pilot)
        return False

    def _pilot(self, row: Row) -> None:
        attempts = self.pilots.setdefault(row["pilot"], [])
        if len(attempts) < MOST_ATTEMPTS:
            attempts.append(Attempt(row["attempt"], row["file"], row["verdict"], row["mark_percent"], row["hold"] is not None))

    def _list(self, row: Row, approach: Json) -> None:
        percent = row["mark_percent"]
        badness = float(_RANKS[row["verdict"]]), percent if percent is not None else 101.0, float(self.rows)
        kept = tuple(-value for value in badness)  # the smallest item of the heap is the best of the rows kept
        if len(self._worst) >= _MOST_LISTED and kept < self._worst[0][0]:
            return
        shown = {name: row[name] for name in _LISTED}
        listed = Listed(shown, ())
        if approach:
            excused = tuple((one["sentence"], one["words"]) for one in approach["excused"])
            listed = Listed(shown, lost_parts(approach), tuple(approach["reasons"]), excused)
        if len(self._worst) < _MOST_LISTED:
            heapq.heappush(self._worst, (kept, listed))
        else:
            heapq.heapreplace(self._worst, (kept, listed))

    def worst(self, most: int = _MOST_LISTED) -> Sequence[Listed]:
        """The worst rows, the worst first."""
        return [listed for _, listed in sorted(self._worst, key=lambda entry: entry[0], reverse=True)[:most]]


_LISTED = (
    "file", "pilot", "date", "attempt", "approach", "approaches", "procedure", "procedure_rivals", "status", "reason", "flown",
    "verdict", "verdict_sentence", "mark_percent", "mark_earned", "mark_possible", "mark_failed_outright", "mark_incomplete",
    "mark_computed_percent", "mark_changed_by", "mark_change_reason", "mark_change_note", "instructor_remark", "doubts",
    "remark", "excused", "page", "sheet", "duplicate_of", "hold", "laps",
)  # fmt: skip
