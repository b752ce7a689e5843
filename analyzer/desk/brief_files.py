"""Briefs in the folder of a desk: kept, listed, opened again, and compared with flights of their procedure.

A brief is a file as ``brief --json`` writes it, with what was asked for in it, so that the form can hold it again.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from analyzer.brief.brief_file import Card, read_card
from analyzer.desk.brief_values import BriefForm, BriefKept, Briefs, Laid
from analyzer.desk.briefing import ABOUT, brief_asked, brief_form
from analyzer.desk.cards import FlightCard, card_file
from analyzer.desk.cards import read_card as read_flight_card
from analyzer.desk.changes import make_change
from analyzer.desk.locked import locked
from analyzer.desk.names import safe_name
from analyzer.desk.store import CHART, Entry, Store
from analyzer.errors import AnalyzerError, BriefError, DeskError, ProcedureError
from analyzer.procedure.charted import Charted
from analyzer.procedure.read import read_procedure
from analyzer.report.exports.json_text import brief_json_text
from analyzer.toml_files import Line

__all__ = ["card_laid", "keep_brief", "laid_against", "lay_brief", "list_briefs", "open_brief"]

_BRIEF = ".json"
_MOST_SHOWN = 200
_MOST_FIELDS, _LONGEST = 60, 200


class _Asked(BaseModel):
    """What was asked for, as a form has it."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    chart: Line
    name: Line = ""
    fields: dict[Line, Line] = Field(default_factory=dict, max_length=_MOST_FIELDS)


def keep_brief(folder: str, sent: Mapping[str, str], today: str) -> tuple[str, str]:
    """Keep a brief as a new file, or over the one that it was opened from. Returns the file, and the change if it was one.

    Raises
    ------
    AnalyzerError
        It cannot be flown, or the file was changed since it was opened.
    """
    store = Store(Path(folder))
    fields = {name: text.strip()[:_LONGEST] for name, text in sent.items() if name not in ABOUT and text.strip()}
    name = " ".join(sent.get("name", "").split())[:_LONGEST]
    made = brief_asked(folder, sent, today)
    content = brief_json_text(made, {"chart": sent.get("chart", ""), "name": name, "fields": fields}).encode()
    file = sent.get("file", "")
    if file and sent.get("as") != "new":
        with locked(store.folder):
            if _version(store.there("briefs", file).read_bytes()) != sent.get("was", ""):
                raise DeskError(
                    f"{file}: changed by another page or program since it was opened here. What you set is still below: keep "
                    "it as a new brief, or open the brief again and compare"
                )
            return file, make_change(store, f"{file}: brief changed", {("briefs", file): content})
    stem = (name or made.charted.procedure.title).strip().lower().replace(" ", "_")
    return store.add("briefs", f"{safe_name(stem, 'brief')}{_BRIEF}", content), ""


def open_brief(folder: str, file: str, today: str) -> BriefForm:
    """A brief of the folder in its form. Raises `AnalyzerError` where it does not say what was asked for."""
    path = Store(Path(folder)).there("briefs", file)
    content = path.read_bytes()
    read_card(path)
    asked = _asked(content)
    if asked is None:
        raise DeskError(
            f"{file}: does not say what was asked for; a flight can be compared with it, but it cannot be changed here"
        )
    about = {"chart": asked.chart, "name": asked.name, "file": file, "was": _version(content)}
    return brief_form(folder, {**asked.fields, **about}, today)


def list_briefs(folder: str) -> Briefs:
    """The briefs of a folder, and the charts that one can be made of."""
    store = Store(Path(folder))
    charts = []
    for entry in sorted(store.entries("procedures"), key=lambda entry: entry.name):
        if entry.name.endswith(CHART):
            with suppress(ProcedureError):
                charts.append((entry.name, read_procedure(store.path("procedures", entry.name)).title))
    return Briefs(tuple(_row(store, entry)[0] for entry in _entries(store)), tuple(charts))


def lay_brief(folder: str, log: str, file: str) -> str:
    """Compare a flight with a brief from now on, or with none. Returns the name of the change. Raises `AnalyzerError`."""
    store = Store(Path(folder))
    store.there("logs", log)
    if file:
        read_card(store.there("briefs", file))
    with locked(store.folder):
        card = read_flight_card(store, log).model_copy(update={"brief": file})
        return make_change(
            store, f"{log}: compared with {f'brief {file.removesuffix(_BRIEF)}' if file else 'no brief'}", card_file(log, card)
        )


def card_laid(store: Store, card: FlightCard, charted: Charted) -> Card | None:
    """The brief that a flight is compared with; None where there is none, or it is not of this procedure any more."""
    return _laid(store, card, charted)[0]


def laid_against(store: Store, card: FlightCard, charted: Charted) -> Laid:
    """The briefs of a flight's procedure, and the one that it is compared with."""
    rows = ((row, found) for row, found in (_row(store, entry) for entry in _entries(store)) if found is not None)
    return Laid(tuple(row for row, found in rows if found.briefs(charted)), card.brief, _laid(store, card, charted)[1])


def _laid(store: Store, card: FlightCard, charted: Charted) -> tuple[Card | None, str]:
    """The brief that a flight is compared with, or why it cannot be."""
    if not card.brief:
        return None, ""
    try:
        found = read_card(store.there("briefs", card.brief))
    except (BriefError, DeskError) as error:
        return None, str(error).replace(f"{store.folder / 'briefs'}/", "")
    if found.briefs(charted):
        return found, ""
    return None, f"{card.brief}: briefs {found.procedure.title}, another procedure than this flight is judged by"


def _entries(store: Store) -> list[Entry]:
    """The files of briefs, the latest first, as many as a page shows."""
    found = (entry for entry in store.entries("briefs") if entry.name.endswith(_BRIEF))
    return sorted(found, key=lambda entry: (-entry.changed_ns, entry.name))[:_MOST_SHOWN]


def _row(store: Store, entry: Entry) -> tuple[BriefKept, Card | None]:
    """A row of the list, and the brief; None where the file is none."""
    kept = f"{dt.datetime.fromtimestamp(entry.changed_ns / 1e9, tz=dt.UTC):%Y-%m-%d %H:%M}"
    path = store.path("briefs", entry.name)
    try:
        card, asked = read_card(path), _asked(path.read_bytes())
    except (AnalyzerError, OSError) as error:
        return BriefKept(entry.name, entry.name, "", "", "", kept, fault=str(error).replace(f"{path}: ", "")), None
    name = (asked.name if asked is not None else "") or entry.name
    farthest = f"{card.farthest_nm:.2f} NM"
    chart = asked.chart if asked is not None else ""
    return BriefKept(entry.name, name, card.procedure.title, card.conditions, farthest, kept, chart), card


def _asked(content: bytes) -> _Asked | None:
    """What was asked for; None where the file does not say it."""
    try:
        document: Any = json.loads(content)
        return _Asked.model_validate(document["asked"])
    except (ValueError, KeyError, TypeError, RecursionError, ValidationError):
        return None


def _version(content: bytes) -> str:
    """What tells one version of a file from another."""
    return hashlib.sha256(content).hexdigest()
