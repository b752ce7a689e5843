"""Remarks on the altitude reference with a verdict, where the log has another one than sea level, or does not state it.

In the standard atmosphere 1 hPa is 27.3 ft near sea level (ICAO Doc 7488). On an ordinary day the sea-level pressure of middle
latitudes is within 10 hPa of the standard one (from memory), so a pressure altitude may be 273 ft off.
"""

import datetime as dt
from dataclasses import replace

import pytest
from checked import NOISY
from descents import ELEVATION_FT, LANDING, MDA_FT, START_NM, TO_MDA, debriefed, logged, second
from final_flights import NORTH_OUT, runway
from patterns import Pattern, fly_approach
from synthetic import Chart, Log, Straight, fly

from analyzer.debriefs.judging import judge_charted
from analyzer.procedure.charted import resolve
from analyzer.report.documents.debrief_document import debrief_document
from analyzer.report.exports.markdown import debrief_markdown
from analyzer.report.words.summary import summary_text
from analyzer.track.air import Air

FLOWN = fly_approach(Pattern()).flown
FEET = 3000.0
SAYS = "the log does not state their reference"


def at(floor_ft, reference="unknown", log=None):
    """The debrief of a flight at 3,000 ft over a minimum on the reversal."""
    track = replace((log or Log(noise_m=1.0, altitude_ft=FEET)).of(FLOWN), altitude_reference=reference)
    chart = Chart(floors_ft={"reversal": floor_ft}).at()
    return judge_charted(track, resolve(chart, dt.date(2026, 6, 1)))


def remark(result):
    (approach,) = result.approaches
    return approach.altitude_remark


@pytest.mark.parametrize("above_ft", [780.0, 250.0, 60.0, -60.0, -250.0, -780.0])
def test_an_unknown_reference_is_remarked_where_the_weather_could_change_the_verdict(above_ft):
    result = at(FEET - above_ft)
    assert SAYS in remark(result)
    assert "--altitude-from" in remark(result)
    (floor,) = [finding for finding in result.approaches[0].findings if finding.check == "altitude_floor"]
    assert floor.verdict == ("inside" if above_ft > 0.0 else "outside")  # the verdict stands


@pytest.mark.parametrize("above_ft", [860.0, 1500.0, -860.0])
def test_an_unknown_reference_is_not_remarked_where_the_weather_would_not_change_the_verdict(above_ft):
    """Two standard deviations of sea-level pressure, 15 hPa each, are 820 ft."""
    assert remark(at(FEET - above_ft)) == ""


@pytest.mark.parametrize("reference", ["mean sea level", "pressure altitude, QNH applied"])
def test_there_is_no_remark_on_altitudes_above_sea_level(reference):
    assert remark(at(FEET - 20.0, reference)) == ""


@pytest.mark.parametrize(
    ("reference", "words"),
    [
        ("pressure altitude", ("pressure altitude", "820 ft", "--qnh")),
        ("ellipsoid", ("above the ellipsoid", "200 ft", "--altitude-from")),
        ("indicated altitude", ("altimeter", "QNH")),
    ],
)
def test_the_remark_on_another_reference_gives_its_effect_and_the_remedy(reference, words):
    said = remark(at(FEET - 150.0, reference))
    assert [word for word in words if word not in said] == []
    # a known reference other than sea level is remarked whatever the margin: a low of 990 hPa alone is 640 ft
    assert (remark(at(FEET - 1000.0, reference)) == "") is (reference != "pressure altitude")


def test_a_bust_by_pressure_altitude_alone_is_too_close_to_call():
    """Two standard deviations are 820 ft: neither 990 hPa (640 ft) nor 1,040 hPa (720 ft) makes a bust of what is none."""
    verdicts = {
        below: next(
            f.verdict for f in at(FEET + below, "pressure altitude").approaches[0].findings if f.check == "altitude_floor"
        )
        for below in (-900.0, -720.0, 640.0, 900.0)
    }
    assert verdicts == {-900.0: "inside", -720.0: "too close to call", 640.0: "too close to call", 900.0: "outside"}


def test_there_is_no_remark_without_altitudes():
    result = at(FEET, log=Log(noise_m=1.0, altitude_ft=None))
    assert remark(result) == ""
    assert debrief_document(result)["track"]["altitude_reference"] is None
    assert "Altitudes:" not in debrief_markdown(result)


def test_the_remark_is_under_the_verdict_and_in_the_section_of_the_log():
    result = at(FEET - 60.0)
    lines = summary_text(result).splitlines()
    verdict = next(number for number, line in enumerate(lines) if line.startswith(("INSIDE", "OUTSIDE", "TOO CLOSE", "NOT")))
    assert any(line.startswith("Altitudes: the log does not state") for line in lines[verdict : verdict + 4])
    before, after = debrief_markdown(result).split("## How the log was read")
    assert SAYS in before
    assert SAYS in after
    document = debrief_document(result)
    assert document["track"]["altitude_reference"] == "unknown"
    assert document["reversals"][0]["altitude_remark"] == remark(result)


def test_the_reference_is_in_the_section_of_the_log_only_where_no_verdict_is_close():
    before, after = debrief_markdown(at(FEET - 1500.0)).split("## How the log was read")
    assert SAYS not in before
    assert SAYS in after
    assert debrief_document(at(FEET - 1500.0))["reversals"][0]["altitude_remark"] is None


# in at 120 kt to the threshold, then slower and slower along the runway to 35 kt
TO_THRESHOLD_S = START_NM * 30.0
LANDED = fly([Straight("inbound", TO_THRESHOLD_S), Straight("roll", 40.0, to_kt=35.0)], (0.0, 10.0), 180.0)


def landed(off_ft, reference="unknown"):
    """A landing and roll-out, with an error in all altitudes."""
    heights = [(miles, feet + off_ft) for miles, feet in (*TO_MDA, (2.0, MDA_FT + 50.0), *LANDING)]
    heights.append((-2.0, ELEVATION_FT + off_ft))
    track = replace(logged(heights, NOISY).of(LANDED, NORTH_OUT), altitude_reference=reference)
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"inbound": 1650.0})
    procedure = replace(chart, tables={"runway": runway()}).at(NORTH_OUT)
    return judge_charted(track, resolve(procedure, dt.date(2026, 6, 1)))


@pytest.mark.parametrize("off_ft", [0.0, 30.0, -30.0])
def test_a_log_that_agrees_with_the_runway_needs_no_remark(off_ft):
    result = landed(off_ft)
    assert remark(result) == ""
    assert "on the runway they agree with the threshold's elevation" in debrief_markdown(result)


@pytest.mark.parametrize(("off_ft", "side"), [(75.0, "above"), (-75.0, "below")])
def test_a_log_that_disagrees_with_the_runway_is_remarked(off_ft, side):
    said = remark(landed(off_ft))
    assert SAYS in said
    assert any(f"on the runway they are {feet} ft {side} its elevation" in said for feet in range(65, 86))


@pytest.mark.parametrize("off_ft", [150.0, -150.0])
def test_what_a_doubt_says_of_the_runway_is_not_said_again(off_ft):
    result = landed(off_ft)
    assert [doubt for doubt in result.doubts if "landing roll" in doubt] == list(result.doubts) != []
    assert remark(result) == ""


def test_a_log_that_ends_before_the_roll_out_is_remarked():
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"inbound": 1650.0})
    result = debriefed((*TO_MDA, (2.0, MDA_FT + 50.0), *LANDING), log=replace(NOISY, end_s=second(-0.2)), chart=chart)
    assert SAYS in remark(result)


def test_a_qnh_that_is_not_applied_is_remarked():
    """A log that does not say what its altitudes count from is not corrected by a QNH."""
    flown = at(FEET - 150.0)
    track = replace(flown.motion.track, air=Air(qnh_pa=103_000.0))
    said = remark(judge_charted(track, flown.motion.charted))
    assert "the QNH was not applied" in said
    assert "--altitude-from pressure" in said
