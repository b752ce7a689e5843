"""A chart whose final course misses its runway withdraws the verdicts on a flight that comes back along another line."""

import math

import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

from analyzer import debrief
from analyzer.checks.overall import overall
from analyzer.debriefs.data import Approach

FLOWN = fly_approach(Pattern(arrival_deg=40.0, final_s=150.0)).flown
TRACK = Log(noise_m=1.0).of(FLOWN, HERE)


def chart(off_deg: float, ahead_nm: float = 5.0) -> Chart:
    """All courses typed wrong by so much, with the runway where it is: ahead of the fix along the course as flown."""
    inbound = math.radians(HERE.outbound_true_deg + 180.0)
    latitude = HERE.latitude_deg + ahead_nm / 60.0 * math.cos(inbound)
    longitude = HERE.longitude_deg + ahead_nm / 60.0 * math.sin(inbound) / math.cos(math.radians(HERE.latitude_deg))
    runway = {
        "name": "09", "threshold_latitude_deg": latitude, "threshold_longitude_deg": longitude, "threshold_elevation_ft": 100,
        "true_heading_deg": math.degrees(inbound) % 360.0,
    }  # fmt: skip
    outbound = (HERE.outbound_true_deg - HERE.variation_deg + off_deg) % 360.0
    courses = {"outbound_course_deg": outbound, "inbound_course_deg": (outbound + 180.0) % 360.0}
    return Chart(reversal=courses, tables={"runway": runway})


def verdict(approach: Approach) -> str:
    return overall(approach.findings, approach.reversal)[0]


def test_a_chart_that_fits_together_is_judged():
    result = debrief(TRACK, chart(0.0).at(HERE))
    assert not any("threshold" in doubt for doubt in result.doubts)
    assert verdict(result.approaches[0]) == "inside"


@pytest.mark.parametrize("off_deg", [10.0, -12.0])
def test_courses_that_miss_the_runway_and_were_not_flown_are_not_judged(off_deg):
    """By the typed courses the flight is ten degrees off throughout: the chart's error, not the pilot's."""
    result = debrief(TRACK, chart(off_deg).at(HERE))
    assert any("of the threshold, and the flight does not follow it" in doubt for doubt in result.doubts)
    assert all(finding.verdict != "outside" for one in result.approaches for finding in one.findings)


def test_a_course_that_misses_the_runway_but_was_flown_stays_judged_with_a_warning():
    """The runway is typed 2 NM aside: what was flown along the courses does not depend on it."""
    aside = chart(0.0)
    runway = {**aside.tables["runway"], "threshold_latitude_deg": aside.tables["runway"]["threshold_latitude_deg"] + 2.0 / 60.0}
    procedure = Chart(tables={"runway": runway}).at(HERE)
    result = debrief(TRACK, procedure)
    assert any("of the threshold of runway 09" in warning for warning in result.motion.charted.warnings)
    assert not any("does not follow it" in doubt for doubt in result.doubts)
    assert [f.verdict for f in result.approaches[0].findings if f.check == "outbound_course"] == ["inside"]
