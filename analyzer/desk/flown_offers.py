"""What a log offers for the fields of a chart: the values that it seems to have been flown by, to compare with the chart."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from analyzer.desk.cards import read_card
from analyzer.desk.chart_fields import answers_of
from analyzer.desk.flights import reading_of
from analyzer.desk.store import Store
from analyzer.draft.drafting import draft
from analyzer.draft.fix import FixGiven
from analyzer.errors import AnalyzerError
from analyzer.procedure.questions import Answers
from analyzer.track.read import read_track

__all__ = ["FLOWN", "flown_offers"]

FLOWN = "flown so; compare it with the chart"


def flown_offers(folder: str, log: str, answers: Answers) -> Mapping[str, tuple[str, str]]:
    """Field -> the text that is offered for it, and that it was flown so; nothing without a fix, or where nothing is found."""
    latitude, longitude = (answers.get(("fix", key)) for key in ("latitude_deg", "longitude_deg"))
    if latitude is None or longitude is None:
        return {}
    name, kind = answers.get(("fix", "name")) or "FIX", answers.get(("fix", "kind")) or "waypoint"
    return _drafted(folder, log, FixGiven(latitude, longitude, name, kind, answers.get(("fix", "variation_deg_east"))))


@lru_cache(maxsize=16)
def _drafted(folder: str, log: str, fix: FixGiven) -> Mapping[str, tuple[str, str]]:
    store = Store(Path(folder))
    try:
        drafted = draft(read_track(store.there("logs", log), reading_of(store, log, read_card(store, log))), fix)
    except AnalyzerError:  # nothing was recognised about that fix: there is nothing to offer
        return {}
    return {
        f"{table}.{key}": (_text(key, value), FLOWN)
        for (table, key), value in answers_of(drafted.procedure).items()
        if table and drafted.remarks.get(f"{table.split()[0]}.{key}", "").startswith("measured")
    }


def _text(key: str, value: Any) -> str:
    if not isinstance(value, float):
        return str(value)
    return f"{value:03.0f}" if key.endswith("course_deg") else f"{value:g}"
