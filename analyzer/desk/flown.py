"""The work behind the form in which a user says what was flown: shown, kept on the flight's card, and taken back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from analyzer.debriefs.data import DebriefData
from analyzer.desk.asked import FlownSeen, Shown
from analyzer.desk.cards import FlightCard, card_file, read_card
from analyzer.desk.changes import make_change
from analyzer.desk.flights import judged_as_kept, shown_of, track_of
from analyzer.desk.flown_form import flown_form
from analyzer.desk.locked import locked
from analyzer.desk.store import Store
from analyzer.errors import DeskError

__all__ = ["say_flown", "see_flown", "take_back_flown", "without_word"]


def see_flown(folder: str, log: str) -> FlownSeen:
    """The form for a flight as it is judged now. Raises `DeskError` where it has no procedure yet."""
    store = Store(Path(folder))
    card = _with_procedure(store, log)
    debrief, refused = judged_as_kept(store, log, card, track_of(store, log))
    return flown_form(debrief, card.flown, without_word(refused))


def say_flown(folder: str, log: str, said: Mapping[str, str]) -> FlownSeen | Shown:
    """The flight with what a user says was flown, fields ``passage`` and ``shape``, which is kept on its card.

    Where that cannot be, the form again with the reason. What is said of a passage takes the place of what was said before.
    """
    store = Store(Path(folder))
    card = _with_procedure(store, log)
    passage, shape = (said.get(key, "").strip()[:40] for key in ("passage", "shape"))
    if not passage and not shape:
        return replace(see_flown(folder, log), fault="Nothing was named: choose a passage, a shape, or both")
    words = [word for word in card.flown if passage and "T" in word and not word.startswith(passage)]
    given = card.model_copy(update={"flown": [*words, "=".join(filter(None, (passage, shape)))]})
    track = track_of(store, log)
    debrief, fault = judged_as_kept(store, log, given, track)
    if fault:
        now, _ = judged_as_kept(store, log, card, track)
        return flown_form(now, card.flown, without_word(fault), passage, shape)
    return _kept(store, log, given, debrief, "")


def take_back_flown(folder: str, log: str, word: str) -> Shown:
    """The flight without something that was said of it; with nothing left it is judged as it is recognised."""
    store = Store(Path(folder))
    card = _with_procedure(store, log)
    given = card.model_copy(update={"flown": [one for one in card.flown if one != word]})
    return _kept(store, log, given, *judged_as_kept(store, log, given, track_of(store, log)))


def _kept(store: Store, log: str, card: FlightCard, debrief: DebriefData, refused: str) -> Shown:
    """The flight shown, its card kept. What is different by the user's own word is no news."""
    with locked(store.folder):
        now = read_card(store, log).model_copy(update={"flown": card.flown})
        make_change(store, f"{log}: what was flown", card_file(log, now))
    return replace(shown_of(store, log, card, debrief, refused), moved=())


def without_word(fault: str) -> str:
    """What is wrong with something named, without the word that the form does not show.

    >>> without_word("flown 2026-06-01T10:06:36=hold: that cannot be: no turn follows")
    'That cannot be: no turn follows'
    """
    said = fault.partition(": ")[2] or fault
    return f"{said[:1].upper()}{said[1:]}"


def _with_procedure(store: Store, log: str) -> FlightCard:
    store.there("logs", log)
    card = read_card(store, log)
    if not card.procedure:
        raise DeskError(f"{log}: no procedure is chosen for it yet; choose one first")
    return card
