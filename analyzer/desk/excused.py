"""Excuses on the card of a flight: given for a finding, and taken back. Each is a change that can be undone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analyzer.checks.excuse_file import ExcuseTable
from analyzer.checks.phrases import check_name
from analyzer.desk.cards import card_file, read_card
from analyzer.desk.changes import make_change
from analyzer.desk.locked import locked
from analyzer.desk.store import Store
from analyzer.errors import DeskError
from analyzer.toml_files import checked

__all__ = ["excuse_table_of", "give_excuse", "take_back_excuse"]

_MOST = 200  # excuses of a flight
_WORDS = ("check", "leg", "part", "fix", "sentence")
_NUMBERS = ("approach", "hold", "lap")


def give_excuse(folder: str, log: str, said: Mapping[str, str], today: str) -> str:
    """Excuse a finding of a flight, as the form at the finding says; `today` is the day, as 2026-06-29. Returns the change.

    Where the finding is excused already, the new reason takes the place of the earlier one.

    Raises
    ------
    DeskError
        The reason or the name is missing, or the form names no finding.
    """
    store, given = Store(Path(folder)), excuse_table_of(said, today)
    store.there("logs", log)
    with locked(store.folder):
        card = read_card(store, log)
        others = [one for one in card.excused if _finding(one) != _finding(given)]
        if len(others) >= _MOST:
            raise DeskError(f"{log}: {_MOST} findings are excused already; take some back first")
        files = card_file(log, card.model_copy(update={"excused": [*others, given]}))
        return make_change(store, f"{log}: {check_name(given.check)} excused", files)


def take_back_excuse(folder: str, log: str, key: str) -> str:
    """Take an excuse back, by its key. Returns the change, empty if there is no such excuse any more."""
    store = Store(Path(folder))
    store.there("logs", log)
    with locked(store.folder):
        card = read_card(store, log)
        kept = [one for one in card.excused if one.excuse().key != key]
        gone = [check_name(one.check) for one in card.excused if one.excuse().key == key]
        words = f"{log}: {', '.join(gone)} not excused any more"
        return make_change(store, words, card_file(log, card.model_copy(update={"excused": kept})))


def excuse_table_of(said: Mapping[str, str], today: str) -> ExcuseTable:
    """The excuse that a form gives. Raises `DeskError`."""
    line = {key: " ".join(said.get(key, "").split()) for key in (*_WORDS, *_NUMBERS, "reason", "by", "time_s")}
    if not line["reason"] or not line["by"]:
        raise DeskError("an excuse needs a reason and the name of who gives it; go back and fill in both")
    tables: dict[str, Any] = {key: line[key] for key in (*_WORDS, "reason", "by") if line[key]}
    try:
        tables |= {key: int(line[key]) for key in _NUMBERS if line[key]}
        if line["time_s"]:
            tables["time"] = dt.datetime.fromtimestamp(round(float(line["time_s"])), tz=dt.UTC)
        tables["on"] = dt.date.fromisoformat(today)
    except (ValueError, OverflowError, OSError) as error:
        raise DeskError("this form names no finding; go back to the flight and open it again") from error
    return checked(ExcuseTable, tables, "excuse", DeskError)


def _finding(one: ExcuseTable) -> dict[str, Any]:
    """What an excuse says of the finding that it means."""
    return one.model_dump(exclude={"reason", "by", "on", "sentence"})
