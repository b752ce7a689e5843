"""Missed approaches and holds side by side: as figures of the approaches, and flights that only hold lap by lap."""

import json
from dataclasses import replace
from importlib import resources

import away
import jsonschema
import numpy as np
import pytest
from synthetic import START_S, Chart, Log

import analyzer
from analyzer.errors import AnalyzerError
from analyzer.library.compare import compare
from analyzer.report.exports.json_text import compare_json_text
from analyzer.report.pages.compare_page import compare_page
from analyzer.report.pictures.compare_align import align
from analyzer.report.words.compare_text import compare_text

DAY_S = 86_400.0


def flight(flown, day: int, altitude_ft=3000.0, chart: Chart = away.CHART):
    track = Log(altitude_ft=altitude_ft, noise_m=1.0, seed=day, start_s=START_S + day * DAY_S).of(flown)
    return analyzer.debrief(replace(track, file=f"day{day}.csv"), chart.at())


def whole(day: int, laps: int = 2):
    return flight(away.missed_into_hold(laps), day, away.altitudes_ft())


def hold(day: int, laps: int, inbound_s: float = away.LAP_S):
    return flight(away.hold_alone(laps, inbound_s=inbound_s), day)


@pytest.fixture(scope="module")
def approaches():
    return compare([whole(0), whole(1, 3)])


@pytest.fixture(scope="module")
def holds():
    """Two logs of holds alone: three laps by the clock, two that are a quarter of a minute long."""
    return compare([hold(0, 3), hold(1, 2, 75.0)])


def values(comparison, key):
    row = next((row for row in comparison.rows if row.figure.key == key), None)
    return None if row is None else [None if value is None else value.value for value in row.values]


def test_the_missed_approach_and_its_hold_are_figures_of_the_approach(approaches):
    """The climb begins 0.3 NM before the point at 5.3 NM, at 1,500 ft; the turn after a minute of it at 900 ft/min."""
    assert [attempt.hold for attempt in approaches.attempts] == [None, None]
    assert values(approaches, "missed_begun_nm") == pytest.approx([-0.3] * 2, abs=0.05)
    assert values(approaches, "missed_turn_above_ft") == pytest.approx([2400.0 - 1700.0] * 2, abs=60.0)
    assert values(approaches, "missed_course_deg") == pytest.approx([0.0] * 2, abs=1.0)
    assert values(approaches, "missed_altitude_ft") == pytest.approx([0.0] * 2, abs=5.0)
    assert values(approaches, "hold_laps") == [2.0, 3.0]
    assert values(approaches, "hold_inbound_s") == pytest.approx([0.0] * 2, abs=2.0)


def test_an_approach_without_a_missed_approach_has_none_of_its_figures():
    landed = flight(away.APPROACH.flown, 2)
    comparison = compare([whole(0), landed])
    for key in ("missed_begun_nm", "missed_course_deg", "hold_laps", "hold_altitude_ft"):
        assert values(comparison, key)[1] is None
        assert values(comparison, key)[0] is not None


def test_flights_that_only_hold_are_compared_as_holds(holds):
    assert [(attempt.hold, len(attempt.laps)) for attempt in holds.attempts] == [("PELTO", 3), ("PELTO", 2)]
    assert values(holds, "hold_laps") == [3.0, 2.0]
    assert values(holds, "hold_outbound_s") == pytest.approx([0.0, 15.0], abs=2.0)
    assert values(holds, "hold_inbound_s") == pytest.approx([0.0, 15.0], abs=2.0)
    assert {row.figure.key for row in holds.changed_most} == {"hold_outbound_s", "hold_inbound_s"}
    assert values(holds, "missed_course_deg") is None


def test_an_approach_and_a_hold_alone_are_compared_by_the_hold_that_both_have():
    comparison = compare([whole(0), hold(1, 3)])
    assert [(attempt.hold, len(attempt.laps)) for attempt in comparison.attempts] == [("PELTO", 2), ("PELTO", 3)]


def test_one_approach_and_one_hold_apart_are_refused():
    """The hold of one flight is no attempt at the approach of another."""
    with pytest.raises(AnalyzerError, match="one approach and one hold recognised; a comparison needs at least two"):
        compare([flight(away.APPROACH.flown, 0), hold(1, 2)])


def test_the_laps_of_each_attempt_are_listed(holds):
    text = compare_text(holds)
    assert "Quorl Bank VOR, hold at PELTO | 2 attempts" in text
    assert text.count("lap 1: outbound") == text.count("lap 2: inbound") == 2
    assert text.count("lap 3: inbound") == 1
    assert max(map(len, text.splitlines())) <= 80
    page = compare_page(holds)
    assert page.count("lap 2: inbound") == 2
    assert "hold at PELTO" in page


@pytest.mark.parametrize("which", ["approaches", "holds"])
def test_the_json_keeps_its_schema(which, request):
    comparison = request.getfixturevalue(which)
    schema = json.loads(resources.files("analyzer.report").joinpath("compare.schema.json").read_text(encoding="utf-8"))
    document = json.loads(compare_json_text(comparison))
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(document)
    held = [attempt["hold"] and (attempt["hold"]["name"], len(attempt["hold"]["laps"])) for attempt in document["attempts"]]
    assert held == ([None, None] if which == "approaches" else [("PELTO", 3), ("PELTO", 2)])


def test_laps_are_laid_over_each_other_one_by_one(holds):
    """Both second laps take the same stretch; the third is only the first attempt's."""
    aligned = align(holds.attempts)
    assert [s.leg for s in aligned.segments] == ["arrival"] + ["hold"] * 12
    second = next(s for s in aligned.segments if s.name == "outbound 2")
    for attempt, series, position in zip(holds.attempts, aligned.series, aligned.positions, strict=True):
        part = next(part for part in attempt.laps[1] if part.name == "outbound")
        middle = np.interp((part.start_s + part.end_s) / 2.0, series.time_s, position)
        assert middle == pytest.approx((second.start + second.end) / 2.0, abs=0.002)


def test_the_missed_approach_is_laid_over_too(approaches):
    assert [s.leg for s in align(approaches.attempts).segments][-2:] == ["final", "missed"]


def test_altitudes_of_a_chart_in_metres_are_compared_in_feet():
    """The same flight by the same chart, written in metres: 100 ft above the minimum stays 100 ft."""
    in_metres = replace(away.CHART, tables=_in_metres(away.CHART.tables))
    flights = [flight(away.hold_alone(2), day, chart=in_metres) for day in (0, 1)]
    assert flights[0].motion.charted.altitude_unit == "m"
    assert values(compare(flights), "above_minimum_ft") == pytest.approx([100.0] * 2, abs=10.0)


def _in_metres(tables):
    def converted(value):
        if isinstance(value, dict):
            return {
                f"{key[:-2]}m" if key.endswith("_ft") else key: inner * 0.3048 if key.endswith("_ft") else converted(inner)
                for key, inner in value.items()
            }
        return [converted(one) for one in value] if isinstance(value, list) else value

    return {**converted(tables), "units": {"altitude": "m"}}


def test_a_log_without_such_an_attempt_is_said_to_be_left_out(approaches, holds):
    """Two approaches and a hold: approaches are compared; one approach and two holds: the holds are."""
    assert (approaches.left_out, holds.left_out) == ((), ())
    with_hold = compare([whole(0), whole(1, 3), hold(2, 3)])
    assert [attempt.hold for attempt in with_hold.attempts] == [None, None]
    assert with_hold.left_out == ("day2.csv",)
    assert "Left out, with no approach: day2.csv; logs of a hold alone are" in " ".join(compare_text(with_hold).split())
    assert "Left out, with no approach: day2.csv" in compare_page(with_hold)
    with_approach = compare([hold(0, 3), flight(away.APPROACH.flown, 1), hold(2, 2)])
    assert with_approach.left_out == ("day1.csv",)
    assert "Left out, with no hold at PELTO: day1.csv." in " ".join(compare_text(with_approach).split())
    schema = json.loads(resources.files("analyzer.report").joinpath("compare.schema.json").read_text("utf-8"))
    for one, left_out in ((with_hold, ["day2.csv"]), (holds, [])):
        document = json.loads(compare_json_text(one))
        jsonschema.validate(document, schema)
        assert document["left_out"] == left_out


def test_a_trend_that_was_not_tested_counts_no_figures(holds):
    assert "with 0 figures" not in compare_text(holds)
