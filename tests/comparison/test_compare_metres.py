"""Attempts by a chart in metres: words, pages and pictures have its unit, and the JSON has feet as always."""

import json
import re
import tomllib
from functools import cache
from html import unescape
from pathlib import Path

import pytest

import analyzer
from analyzer.comparison.comparing import ComparisonData, side_by_side
from analyzer.comparison.progress import KeptAttempt, kept_attempts, kept_rows
from analyzer.procedure.schema import Procedure
from analyzer.report.documents.compare_document import compare_document
from analyzer.report.pages.compare_page import compare_page
from analyzer.report.pictures.progress_pictures import progress_pictures
from analyzer.report.words.compare_text import compare_text

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
FOOT_M = 0.3048  # by definition


def in_metres(chart: str) -> Procedure:
    """The same procedure in metres, to the tenth of a millimetre."""
    text = re.sub(r"(\w+)_ft( *= *)([\d.]+)", lambda m: f"{m[1]}_m{m[2]}{float(m[3]) * FOOT_M:.4f}", chart)
    return Procedure.model_validate(tomllib.loads(f'units = {{ altitude = "m" }}\n{text}'))


@cache
def flights(chart: str, *logs: str) -> tuple[ComparisonData, ComparisonData]:
    """The comparison by the chart in feet, and by the same in metres."""
    text = (SAMPLES / chart).read_text(encoding="utf-8")
    tracks = [analyzer.read_track(SAMPLES / log) for log in logs]
    feet, metres = (
        side_by_side([analyzer.debrief(track, procedure) for track in tracks])
        for procedure in (Procedure.model_validate(tomllib.loads(text)), in_metres(text))
    )
    return feet, metres


def three() -> tuple[ComparisonData, ComparisonData]:
    return flights("wendle_island_vor24.toml", "clean.csv", "strong_wind.csv", "early_descent.gpx")


def test_heights_are_shown_in_metres_and_nothing_else_changes():
    feet, metres = three()
    heights = 0
    for row, shown in zip(feet.rows, metres.rows_as_charted, strict=True):
        one = FOOT_M if row.figure.unit == "ft" else 1.0
        heights += row.figure.unit == "ft"
        assert shown.figure.unit == ("m" if row.figure.unit == "ft" else row.figure.unit)
        assert shown.figure.worth == pytest.approx(row.figure.worth * one)
        for value, said in zip(row.values, shown.values, strict=True):
            assert value is not None
            assert said is not None
            assert said.value == pytest.approx(value.value * one, abs=0.01)
        assert shown.change == pytest.approx(row.change * one, abs=0.01)
        assert shown.spread == pytest.approx(row.spread * one, abs=0.01)
    assert heights == 2
    assert feet.rows_as_charted == feet.rows
    assert [row.figure.key for row in feet.changed_most] == [row.figure.key for row in metres.changed_most]


def test_words_and_page_have_no_feet():
    _, metres = three()
    text = compare_text(metres)
    page = unescape(re.sub(r"<(script|style|svg).*?</\1>|<[^>]+>", " ", compare_page(metres), flags=re.DOTALL))
    for said in (text, page):
        assert re.search(r"Changed: least height above a minimum from \d+ to −\d+ m, worse", " ".join(said.split()))
        assert "above a minimum, m" in said
        assert "altitude hold, m" in said
        assert not re.search(r"\bft\b", said)


def test_laps_of_a_hold_are_off_their_level_by_metres():
    feet, metres = flights("wendle_island_vorz24.toml", "missed_and_hold.csv", "clean.csv")
    found = [
        [float(one) for one in re.findall(rf"at most (\d+) {unit} off its level", compare_text(comparison))]
        for comparison, unit in ((feet, "ft"), (metres, "m"))
    ]
    assert "ft off" not in compare_text(metres)
    if found[0]:
        assert found[1] == pytest.approx([value * FOOT_M for value in found[0]], abs=0.7)


def test_the_json_has_feet():
    feet, metres = (compare_document(comparison) for comparison in three())
    for mine, theirs in zip(metres["figures"], feet["figures"], strict=True):
        assert (mine["figure"], mine["unit"], mine["best"]) == (theirs["figure"], theirs["unit"], theirs["best"])
        assert mine["values"] == pytest.approx(theirs["values"], abs=0.11)


def test_kept_attempts_are_compared_in_the_unit_of_the_chart():
    _, metres = three()
    written = json.dumps([one.to_json() for attempt in metres.attempts for one in kept_attempts(attempt.debrief)])
    kept = [KeptAttempt.of_json(one) for one in json.loads(written)]
    rows = kept_rows(kept)
    for mine, theirs in zip(rows, metres.rows_as_charted, strict=True):
        for name in ("values", "best", "spread", "change", "trend", "claimed"):
            assert getattr(mine, name) == getattr(theirs, name), (mine.figure.key, name)
        assert mine.figure.unit == theirs.figure.unit
    captions = {picture.key: picture.caption for picture in progress_pictures(rows, kept, "p-")}
    assert "[m]: first " in captions["altitude_hold_ft"]
    assert "limit 30." in captions["altitude_hold_ft"]  # 100 ft is 30.48 m
    assert not any("ft" in caption for caption in captions.values())
