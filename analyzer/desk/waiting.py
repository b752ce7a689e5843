"""Flights that wait for their first debrief, debriefed all at once: those whose log leaves nothing open and fits one chart."""

from __future__ import annotations

import time
from pathlib import Path

from analyzer.desk.asked import Look
from analyzer.desk.cards import read_card
from analyzer.desk.flights import choose, describe, open_flight, procedures_for
from analyzer.desk.listing import flights_of
from analyzer.desk.store import Store
from analyzer.errors import AnalyzerError

__all__ = ["debrief_waiting"]


def debrief_waiting(folder: str, pilot: str, seconds: float) -> int:
    """Debrief flights by the one chart that each fits well, for some time at most. Returns how many were debriefed.

    A flight is left alone where its log has open questions, or fits no chart well, or several. `pilot` is put on the cards
    of the others that have no pilot yet; it may be empty.
    """
    until, done = time.monotonic() + seconds, 0
    for flight in flights_of(Store(Path(folder))):
        if flight.verdict or flight.fault:
            continue
        if done and time.monotonic() > until:
            break
        try:
            done += _debriefed(folder, flight.file, pilot)
        except AnalyzerError:
            continue  # its page says what is wrong
    return done


def _debriefed(folder: str, log: str, pilot: str) -> bool:
    card = read_card(Store(Path(folder)), log)
    if not card.procedure:
        seen = open_flight(folder, log)
        if not isinstance(seen, Look) or seen.asks or seen.fault:
            return False
        fitting = [one.file for one in procedures_for(folder, log) if one.well]
        if len(fitting) != 1:
            return False
        choose(folder, log, fitting[0])
    if pilot and not card.pilot:
        describe(folder, log, {"pilot": pilot})
    return not isinstance(open_flight(folder, log), Look)
