"""Attempts kept as plain values are compared as `compare` compares the flights: every value, trend, claim and best attempt."""

import json
from functools import cache
from pathlib import Path

import pytest
from patterns import Pattern, fly_approach
from synthetic import Chart, Log

import analyzer
from analyzer.checks.excuse import Excuse
from analyzer.comparison.comparing import side_by_side
from analyzer.comparison.progress import KeptAttempt, kept_attempts, kept_rows
from analyzer.debriefs.data import DebriefData

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
VOR24 = analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml")
VORZ24 = analyzer.read_procedure(SAMPLES / "wendle_island_vorz24.toml")
CHART = Chart(floors_ft={"outbound": 2900.0, "inbound": 2900.0})


@cache
def nine() -> tuple[DebriefData, ...]:
    """Nine flights, each with a shorter outbound leg than the one before, so that a trend can be claimed."""
    flights = []
    for k in range(9):
        log = Log(altitude_ft=3000.0, noise_m=0.5, seed=k, start_s=1780308000.0 + 86400.0 * k)
        flown = fly_approach(Pattern(outbound_s=250.0 - 15.0 * k)).flown
        flights.append(analyzer.debrief(log.of(flown), CHART.at()))
    return tuple(flights)


def samples(*names: str) -> tuple[DebriefData, ...]:
    return tuple(analyzer.debrief(analyzer.read_track(SAMPLES / name), VOR24) for name in names)


def read_back(debriefs: tuple[DebriefData, ...]) -> list[KeptAttempt]:
    """The attempts as a later program reads them from a file."""
    written = json.dumps([one.to_json() for debrief in debriefs for one in kept_attempts(debrief)])
    return sorted((KeptAttempt.of_json(one) for one in json.loads(written)), key=lambda one: one.start_s)


@pytest.mark.parametrize("flights", ["nine", "samples"])
def test_a_comparison_of_kept_attempts_is_that_of_the_flights(flights):
    debriefs = nine() if flights == "nine" else samples("clean.csv", "strong_wind.csv", "early_descent.gpx")
    compared, kept = side_by_side(debriefs), read_back(debriefs)
    assert len({one.basis for one in kept}) == 1
    rows = kept_rows(kept)
    assert [row.figure.key for row in rows] == [row.figure.key for row in compared.rows]
    for mine, theirs in zip(rows, compared.rows, strict=True):
        for name in ("values", "best", "spread", "change", "change_sd", "trend", "claimed"):
            assert getattr(mine, name) == getattr(theirs, name), (mine.figure.key, name)
    assert [one.verdict for one in kept] == [attempt.verdict for attempt in compared.attempts]


def test_there_are_trends_to_claim_in_the_nine():
    assert {row.figure.key for row in kept_rows(read_back(nine())) if row.claimed} >= {"farthest_nm", "outbound_length_nm"}


def test_holds_are_attempts_of_their_own():
    """The sample flies the approach, holds, and flies it again."""
    debrief = analyzer.debrief(analyzer.read_track(SAMPLES / "missed_and_hold.csv"), VORZ24)
    kept = kept_attempts(debrief)
    assert [(one.of, one.number, one.hold) for one in kept] == [("reversal", 1, ""), ("hold", 1, "WND"), ("reversal", 2, "")]
    assert len({one.basis for one in kept}) == 2
    assert kept[1].values["hold_laps"].value == 3.0  # as the sample is flown


def test_what_was_judged_by_something_else_is_another_series():
    track = analyzer.read_track(SAMPLES / "clean.csv")
    bases = {
        kept_attempts(analyzer.debrief(track, VOR24, **judged))[0].basis
        for judged in ({}, {"cleared": "vectors"}, {"standard": "icao-ops"}, {"cleared": ["inbound=3000"]})
    }
    assert len(bases) == 4


def test_limits_are_those_of_chart_and_standard():
    """The chart: 10 NM, and its minimums, 0 ft above which is the least.

    Altitude ±100 ft, heading ±10° and three quarters of full scale, which is 10° for a VOR: FAA-S-ACS-8C, IR.VI.A.S9. Bank 30°:
    FAA-H-8083-15B, chapter 7, Procedure Turn. 200 kt: AIM 5-4-9 a.3. An overshoot of 1 NM: common practice, no source.
    """
    for debrief in samples("clean.csv", "strong_wind.csv", "early_descent.gpx"):
        (kept,) = kept_attempts(debrief)
        limits = {key: round(one.limit, 6) + 0.0 for key, one in kept.limits.items()}
        assert limits == {
            "farthest_nm": 10.0,
            "above_minimum_ft": 0.0,
            "altitude_hold_ft": 100.0,
            "outbound_deviation_deg": 7.5,
            "inbound_deviation_deg": 7.5,
            "steepest_bank_deg": 30.0,
            "greatest_speed_kt": 200.0,
            "offset_heading_deg": 10.0,
            "overshoot_nm": 1.0,
        }
        for key, one in kept.limits.items():
            beyond = kept.values[key].value - one.limit
            sign = -1.0 if key == "above_minimum_ft" else 1.0
            assert one.verdict == ("outside" if sign * beyond > 0.0 else "inside"), key


def test_an_offset_course_that_is_not_charted_leaves_no_error_of_its_heading():
    """AIM 5-4-9 a.1: the angle is then the pilot's choice, and no departure from anything."""
    free = VOR24.model_copy(update={"reversal": VOR24.reversal.model_copy(update={"offset_course_deg": None})})
    track = analyzer.read_track(SAMPLES / "clean.csv")
    (drawn,), (chosen,) = (kept_attempts(analyzer.debrief(track, chart)) for chart in (VOR24, free))
    assert drawn.values["offset_heading_deg"].value < 5.0
    assert "offset_heading_deg" not in chosen.values
    assert "offset_heading_deg" not in {row.figure.key for row in kept_rows([chosen, chosen])}


def test_what_is_excused_is_no_fault_of_the_kept_attempt():
    track = analyzer.read_track(SAMPLES / "strong_wind.csv")
    excuse = Excuse("distance_limit", "cleared to 12 NM", "B. Instructor")
    (kept,) = kept_attempts(analyzer.debrief(track, VOR24, excused=[excuse]))
    assert (kept.verdict, kept.outside, kept.excused) == ("inside", (), 1)
    assert (kept.limits["farthest_nm"].verdict, kept.values["outside"].value) == ("excused", 0.0)


@pytest.mark.parametrize(
    "broken",
    [
        {},
        {"values": 3},
        {"limits": {"x": 1}},
        {"values": {"x": []}},
        {"values": {"x": [float("nan"), None]}},
        {"start_s": "now"},
    ],
)
def test_values_that_are_none_are_refused(broken):
    (kept,) = kept_attempts(samples("clean.csv")[0])
    with pytest.raises((KeyError, TypeError, ValueError, AttributeError)):
        KeptAttempt.of_json({**kept.to_json(), **broken} if broken else {})
