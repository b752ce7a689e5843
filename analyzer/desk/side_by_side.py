"""Attempts of a desk side by side: a flight with the last three by its procedure, or flights that a pilot ticked.

These functions run in worker processes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from urllib.parse import quote

from analyzer.comparison.comparing import side_by_side
from analyzer.desk.asked import Compared
from analyzer.desk.cards import FlightCard, read_card
from analyzer.desk.flights import judged_as_kept, track_of
from analyzer.desk.listing import flights_of
from analyzer.desk.pilots import pilot_key
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.report.pages.compare_page import compare_body
from analyzer.report.words.compare_text import title_words

__all__ = ["compared", "flights_compared"]

_BEFORE = 3  # flights that one is compared with
_MOST = 6


def compared(folder: str, log: str) -> Compared:
    """A flight next to the last three by the same procedure, and by the same pilot where it has one.

    Raises
    ------
    DeskError
        There is no other flight by this procedure yet.
    """
    store = Store(Path(folder))
    card, begins = read_card(store, log), {flight.file: flight.begins for flight in flights_of(store)}
    before, unnamed = [], []
    for other in begins:
        if other != log and begins[other] <= begins.get(log, ""):
            its = read_card(store, other)
            if its.procedure == card.procedure and (not card.pilot or pilot_key(its.pilot) == pilot_key(card.pilot)):
                before.append((begins[other], other, its))
            elif its.procedure == card.procedure and not its.pilot:
                unnamed.append(other)
    if not before:
        left_out = f"; {', '.join(sorted(unnamed))}: no pilot is named there" if unnamed else ""
        whose = " and pilot" if card.pilot else ""
        raise DeskError(f"{log}: no earlier flight by this procedure{whose} to compare it with{left_out}")
    before.sort(key=lambda one: one[:2])
    side = _compared(store, [*((name, other) for _, name, other in before[-_BEFORE:]), (log, card)])
    return replace(side, unnamed=tuple(sorted(unnamed)))


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
    return _compared(store, [(log, read_card(store, log)) for log in dict.fromkeys(logs)])


def _compared(store: Store, flights: Sequence[tuple[str, FlightCard]]) -> Compared:
    """The body of the page, where each attempt leads to its flight, and the pilot whom all of them carry."""
    debriefs = [judged_as_kept(store, log, card, track_of(store, log))[0] for log, card in flights]
    comparison = side_by_side(debriefs)
    at = {id(debrief.motion.track): log for debrief, (log, _) in zip(debriefs, flights, strict=True)}
    pages = {
        attempt.number: f"/flights/{quote(at[id(attempt.debrief.motion.track)], safe='')}" for attempt in comparison.attempts
    }
    pilot = flights[-1][1].pilot if len({pilot_key(card.pilot) for _, card in flights}) == 1 else ""
    return Compared(title_words(comparison), compare_body(comparison, pages), flights[-1][0], pilot)
