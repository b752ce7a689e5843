"""The list of flights, from their cards and reports, with a cache that may be deleted at any time.

The cache holds a row for each log with the times at which its files were last written; a row is read anew where one of them
differs. So a folder of thousands of flights is listed as fast as its names can be read.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any

from analyzer.desk.asked import Flight
from analyzer.desk.cards import read_card
from analyzer.desk.store import CARD, Entry, Store
from analyzer.errors import DeskError

__all__ = ["list_flights"]

_CACHE, _VERSION = ".cache", 1
_VERDICTS = ("outside", "too close to call", "not assessed", "inside")  # the worst first: what a list shows of a flight


def list_flights(folder: str, find: str = "") -> tuple[Flight, ...]:
    """The flights of a folder, the latest first; those whose time is not known yet before them.

    With a text, those that have it in their name, file, procedure, pilot or aircraft.
    """
    store = Store(Path(folder))
    logs = {entry.name: entry for entry in store.entries("logs")}
    reports = {entry.name: entry for entry in store.entries("reports")}
    kept: dict[str, Any] = _kept(store)
    rows: dict[str, Any] = {}
    for name, entry in logs.items():
        if name.endswith(CARD):
            continue
        stamp = [_stamp(entry), _stamp(logs.get(name + CARD)), _stamp(reports.get(f"{name}.json"))]
        known = kept.get(name)
        row = _known_row(known, stamp)
        rows[name] = {"stamp": stamp, "row": asdict(_row(store, name) if row is None else row)}
    if rows != kept:
        _keep(store, rows)
    flights = [flight for one in rows.values() if _has(flight := Flight(**one["row"]), find)]
    return tuple(sorted(sorted(flights, key=lambda flight: flight.file), key=lambda flight: flight.begins or "9", reverse=True))


def _has(flight: Flight, find: str) -> bool:
    about = (flight.file, flight.name, flight.procedure, flight.pilot, flight.aircraft, flight.begins)
    return all(any(word in text.casefold() for text in about) for word in find.casefold().split())


def _stamp(entry: Entry | None) -> list[int]:
    return [] if entry is None else [entry.size_bytes, entry.changed_ns]


def _known_row(known: Any, stamp: list[list[int]]) -> Flight | None:
    if not isinstance(known, dict) or known.get("stamp") != stamp:
        return None
    try:
        return Flight(**known["row"])
    except (KeyError, TypeError):
        return None


def _row(store: Store, log: str) -> Flight:
    try:
        card = read_card(store, log)
    except DeskError as error:
        return Flight(log, log, "", "", "", fault=str(error))
    report = store.path("reports", f"{log}.json")
    found: Mapping[str, Any] = {}
    with suppress(DeskError, ValueError, OSError):
        text = report.read_text(encoding="utf-8") if report.is_file() and not report.is_symlink() else "{}"
        read = json.loads(text)
        found = read if isinstance(read, dict) else {}
    verdicts = [str(entry["overall"]["verdict"]) for kind in ("reversals", "holds") for entry in _tables(found.get(kind))
                if isinstance(entry.get("overall"), dict) and "verdict" in entry["overall"]]  # fmt: skip
    worst = next((verdict for verdict in _VERDICTS if verdict in verdicts), "")
    if card.procedure and found and not verdicts:
        worst = "nothing recognised"
    title = found.get("procedure", {}).get("title", "") if isinstance(found.get("procedure"), dict) else ""
    begins = found.get("track", {}).get("start", "") if isinstance(found.get("track"), dict) else ""
    return Flight(log, card.name or log, str(begins), str(title), worst, card.pilot, card.aircraft)


def _tables(value: object) -> list[dict[str, Any]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def _kept(store: Store) -> dict[str, Any]:
    """The rows of the cache; empty if it is missing or not readable."""
    with suppress(OSError, ValueError):
        path = store.folder / _CACHE / "flights.json"
        if not path.is_symlink() and not path.parent.is_symlink():
            read = json.loads(path.read_text(encoding="utf-8"))
            if isinstance(read, dict) and read.get("version") == _VERSION and isinstance(read.get("flights"), dict):
                return dict(read["flights"])
    return {}


def _keep(store: Store, rows: Mapping[str, Any]) -> None:
    """Save the rows for the next time; if that fails, they will be read again."""
    place = store.folder / _CACHE
    if place.is_symlink():
        return
    text = json.dumps({"version": _VERSION, "flights": rows}, separators=(",", ":"))
    with suppress(DeskError):
        store.write(place / "flights.json", text.encode())
