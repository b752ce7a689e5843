"""The list of flights, from their cards and reports, with a cache that may be deleted at any time.

The cache holds one row per log, with the sizes and modification times of its files; a row is rebuilt when any of them changes.
A folder of thousands of flights is thus listed as fast as its names can be read. Without the cache every card and report is
read, the reports only for a few named values, since parsing thousands of them in full takes seconds.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import fields
from pathlib import Path
from typing import Any

from analyzer.desk.asked import Flight, Listed
from analyzer.desk.cards import read_card
from analyzer.desk.store import CARD, CHART, Entry, Store
from analyzer.errors import DeskError

__all__ = ["NOTHING_RECOGNISED", "chart_titles", "flights_of", "list_charts", "list_flights"]

NOTHING_RECOGNISED = "nothing recognised"  # in the place of a verdict
_CACHE, _VERSION = ".cache", 3
_VERDICTS = ("outside", "too close to call", "not assessed", "inside")  # worst first; the list shows the worst of a flight
_COLUMNS = tuple(one.name for one in fields(Flight))
# Values in a report, found by name. A quoted name followed by a colon is always a name: within strings, quotes are escaped
# (RFC 8259, section 7).
_TITLE = re.compile(r'"procedure":\s*\{[^{}]*?"title":\s*("(?:[^"\\]|\\.)*")')
_START = re.compile(r'"track":\s*\{[^{}\[\]]*?"start":\s*"([^"\\]*)"')
_OVERALL = re.compile(r'"overall":\s*\{[^{}]*?"verdict":\s*"([^"\\]*)"')
_CHART_TITLE = re.compile(r"^title\s*=[^\n]*", re.MULTILINE)
_Row = list[str]


def list_flights(folder: str, find: str = "", first: int = 0, most: int = 100) -> Listed:
    """Return part of a folder's flights, latest first; flights whose time is not known yet come before the others.

    `find` keeps those with every one of its words in their name, file, procedure, pilot or aircraft. `first` is the index of
    the first flight returned, from 0, and `most` limits their number.
    """
    found = [flight for flight in flights_of(Store(Path(folder))) if _has(flight, find)]
    return Listed(tuple(found[first : first + most]), len(found))


def list_charts(folder: str) -> tuple[tuple[str, str], ...]:
    """The files of a folder's charts with their titles, by title."""
    titles = chart_titles(Store(Path(folder)))
    return tuple(sorted(titles.items(), key=lambda one: (one[1].casefold(), one[0])))


def chart_titles(store: Store) -> Mapping[str, str]:
    """The title of each chart by its file, as written there; the name of a file that has none that can be read."""
    titles = {}
    for entry in store.entries("procedures"):
        if entry.name.endswith(CHART):
            titles[entry.name] = entry.name
            with suppress(DeskError, ValueError):
                line = _CHART_TITLE.search(store.text(store.path("procedures", entry.name)) or "")
                title = tomllib.loads(line[0])["title"] if line is not None else ""
                titles[entry.name] = title if isinstance(title, str) and title.strip() else entry.name
    return titles


def flights_of(store: Store) -> list[Flight]:
    """All flights of a folder, the latest first; those whose time is not known yet before them."""
    logs = {entry.name: entry for entry in store.entries("logs")}
    reports = {entry.name: entry for entry in store.entries("reports")}
    kept = _kept(store)
    rows: dict[str, dict[str, Any]] = {}
    for name, entry in logs.items():
        if name.endswith(CARD):
            continue
        stamp = [_stamp(entry), _stamp(logs.get(name + CARD)), _stamp(reports.get(f"{name}.json"))]
        known: Any = kept.get(name)
        if _is_row(known, stamp):
            rows[name] = known
        else:
            rows[name] = {"stamp": stamp, "row": _row(store, name, has_card=bool(stamp[1]), has_report=bool(stamp[2]))}
    if rows != kept:
        _keep(store, rows)
    found = [Flight(*one["row"]) for one in rows.values()]
    found.sort(key=lambda flight: flight.file)
    found.sort(key=lambda flight: flight.begins or "9", reverse=True)
    return found


def _has(flight: Flight, find: str) -> bool:
    texts = [getattr(flight, column).casefold() for column in _COLUMNS if column != "chart"] if find else []
    return all(any(word in text for text in texts) for word in find.casefold().split())


def _stamp(entry: Entry | None) -> list[int]:
    return [] if entry is None else [entry.size_bytes, entry.changed_ns]


def _is_row(known: Any, stamp: list[list[int]]) -> bool:
    """Whether a cached row matches the files as they are now."""
    if not isinstance(known, dict) or known.get("stamp") != stamp:
        return False
    row = known.get("row")
    return isinstance(row, list) and len(row) == len(_COLUMNS) and all(isinstance(text, str) for text in row)


def _row(store: Store, log: str, *, has_card: bool, has_report: bool) -> _Row:
    """Build a row of the list; `store.entries` has checked that card and report are regular files with safe names."""
    try:
        card = _card(store, log) if has_card else {}
    except DeskError as error:
        return [log, log, "", "", "", "", "", str(error), ""]
    text = ""
    if has_report:
        with suppress(OSError, ValueError):
            text = (store.folder / "reports" / f"{log}.json").read_text(encoding="utf-8")
    verdicts = _OVERALL.findall(text)
    worst = next((verdict for verdict in _VERDICTS if verdict in verdicts), "")
    title, start = _TITLE.search(text), _START.search(text)
    name, pilot, aircraft, chart = (card.get(key, "") for key in ("name", "pilot", "aircraft", "procedure"))
    if chart and start is not None and not verdicts:
        worst = NOTHING_RECOGNISED
    begins, procedure = start[1] if start else "", _unquoted(title[1]) if title else ""
    return [log, name or log, begins, procedure, worst, pilot, aircraft, "", chart]


def _card(store: Store, log: str) -> Mapping[str, str]:
    """The values on a card. Raises `DeskError` if the file is not a card."""
    try:
        card = tomllib.loads((store.folder / "logs" / (log + CARD)).read_text(encoding="utf-8"))
        if all(isinstance(card.get(key, ""), str) for key in ("name", "pilot", "aircraft", "procedure")):
            return card
    except (OSError, ValueError, RecursionError):
        pass
    return read_card(store, log).model_dump()  # raises with what is wrong


def _unquoted(text: str) -> str:
    with suppress(ValueError):
        return str(json.loads(text))
    return ""


def _kept(store: Store) -> dict[str, Any]:
    """The cached rows; empty if the cache is missing or unreadable."""
    with suppress(OSError, ValueError, RecursionError):
        path = store.folder / _CACHE / "flights.json"
        if not path.is_symlink() and not path.parent.is_symlink():
            read = json.loads(path.read_text(encoding="utf-8"))
            if isinstance(read, dict) and read.get("version") == _VERSION and isinstance(read.get("flights"), dict):
                return dict(read["flights"])
    return {}


def _keep(store: Store, rows: Mapping[str, Any]) -> None:
    """Save the rows for next time; if that fails, they are read again then."""
    place = store.folder / _CACHE
    if place.is_symlink():
        return
    text = json.dumps({"version": _VERSION, "flights": rows}, separators=(",", ":"))
    with suppress(DeskError):
        store.write(place / "flights.json", text.encode())
