"""Attempts of a desk side by side: a flight with the last three by its procedure, or flights that a pilot ticked.

These functions run in worker processes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from urllib.parse import quote

from analyzer.comparison.comparing import side_by_side
from analyzer.debriefs.data import DebriefData
from analyzer.desk.asked import Compared
from analyzer.desk.cards import FlightCard, read_card
from analyzer.desk.flights import judged_as_kept, track_of
from analyzer.desk.listing import NOTHING_RECOGNISED, flights_of
from analyzer.desk.pilots import pilot_key
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.report.pages.compare_page import compare_body
from analyzer.report.words.compare_text import title_words

__all__ = ["compared", "count_before", "flights_compared"]

_BEFORE = 3  # flights that one is compared with
_MOST = 6


def compared(folder: str, log: str) -> Compared:
    """A flight next to the last three by the same procedure, and by the same pilot where it has one.

    Where there is none, its own approaches next to each other.

    Raises
    ------
    DeskError
        There is no other flight by this procedure yet, and no other approach in this one.
    """
    store = Store(Path(folder))
    before, unnamed = _before(store, log)
    card = read_card(store, log)
    flights = [*((other, read_card(store, other)) for other in before), (log, card)]
    debriefs = _debriefs(store, flights)
    if not before and len(debriefs[0].approaches) < 2:
        left_out = f"; {', '.join(unnamed)}: no pilot is named there" if unnamed else ""
        whose = " and pilot" if card.pilot else ""
        raise DeskError(f"{log}: no earlier flight by this procedure{whose} to compare it with{left_out}")
    return replace(_compared(flights, debriefs), unnamed=unnamed)


def count_before(folder: str, log: str) -> int:
    """How many flights `compared` lays next to one, without its own approaches."""
    return len(_before(Store(Path(folder)), log)[0])


def _before(store: Store, log: str) -> tuple[list[str], tuple[str, ...]]:
    """The last three flights before one by its procedure and pilot, the earliest first, and those left out without a pilot."""
    flights = flights_of(store)
    this = next((flight for flight in flights if flight.file == log), None)
    if this is None:
        return [], ()
    others = [
        flight
        for flight in flights
        if flight.file != log and flight.begins <= this.begins
        if flight.chart == this.chart and flight.verdict not in ("", NOTHING_RECOGNISED)
    ]
    same = [one for one in others if not this.pilot or pilot_key(one.pilot) == pilot_key(this.pilot)]
    before = sorted(same, key=lambda one: (one.begins, one.file))[-_BEFORE:]
    unnamed = sorted(one.file for one in others if one not in same and not one.pilot)
    return [one.file for one in before], tuple(unnamed)


def flights_compared(folder: str, logs: Sequence[str]) -> Compared:
    """Two or more flights next to each other, with all their approaches.

    A log that is named twice is one flight, whose own approaches are compared.

    Raises
    ------
    AnalyzerError
        There are fewer than two, or too many, or they were not judged by the same procedure, clearance and standard.
    """
    store = Store(Path(folder))
    if not 2 <= len(logs) <= _MOST:
        raise DeskError(f"{len(logs) or 'none'} ticked: tick two to {_MOST} attempts to lay them side by side")
    flights = [(log, read_card(store, log)) for log in dict.fromkeys(logs)]
    return _compared(flights, _debriefs(store, flights))


def _debriefs(store: Store, flights: Sequence[tuple[str, FlightCard]]) -> list[DebriefData]:
    return [judged_as_kept(store, log, card, track_of(store, log))[0] for log, card in flights]


def _compared(flights: Sequence[tuple[str, FlightCard]], debriefs: Sequence[DebriefData]) -> Compared:
    """The body of the page, where each attempt leads to its flight, and the pilot whom all of them carry."""
    comparison = side_by_side(debriefs)
    at = {id(debrief.motion.track): log for debrief, (log, _) in zip(debriefs, flights, strict=True)}
    pages = {
        attempt.number: f"/flights/{quote(at[id(attempt.debrief.motion.track)], safe='')}" for attempt in comparison.attempts
    }
    pilot = flights[-1][1].pilot if len({pilot_key(card.pilot) for _, card in flights}) == 1 else ""
    return Compared(title_words(comparison), compare_body(comparison, pages), flights[-1][0], pilot)
