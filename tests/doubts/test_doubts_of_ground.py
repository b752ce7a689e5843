"""Whether the altitudes agree with the runway that the log lands on, and what is not judged where they do not.

A landing on a threshold at 500 ft from 1,700 ft level, with an error in all altitudes: the altitude flown is what is logged
less that error. Two standard deviations of a log's altitude error are 40 ft.
"""

import datetime as dt
from dataclasses import replace

import pytest
from checked import NOISY, all_of
from descents import ELEVATION_FT, LANDING, MDA_FT, START_NM, TO_MDA, logged
from final_flights import NORTH_OUT, runway
from synthetic import Chart, Straight, fly

from analyzer.checks.overall import overall
from analyzer.debriefs.judging import judge_charted
from analyzer.procedure.charted import resolve

# in at 120 kt to the threshold, then slower and slower along the runway to 35 kt
IN_S, ROLL_S = START_NM * 30.0, 40.0
LANDED = fly([Straight("inbound", IN_S), Straight("roll", ROLL_S, to_kt=35.0)], (0.0, 10.0), 180.0)
LEVEL_FT, ABOVE_FT = 1700.0, 50.0


def landed(off_ft, altitudes=None, reference="mean sea level", log=NOISY, at=None, rises_ft=0.0, minimum=None):
    """The debrief of the landing; the runway rises to the end of the roll, a mile on."""
    heights = [(miles, feet + off_ft) for miles, feet in (*TO_MDA, (2.0, MDA_FT + 50.0), *LANDING)]
    heights.append((-2.0, ELEVATION_FT + rises_ft + off_ft))
    track = replace(logged(heights, log).of(LANDED, NORTH_OUT), altitude_reference=reference)
    tables = {"runway": at or runway(), "altitudes": altitudes or {}, **({"minimum": minimum} if minimum else {})}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=tables)
    return judge_charted(track, resolve(chart.at(NORTH_OUT), dt.date(2026, 6, 1)))


def floor(off_ft, inbound_ft, **given):
    """The verdict on the minimum of the inbound leg, flown at 1,700 ft."""
    (approach,) = landed(off_ft, {"inbound_ft": inbound_ft}, **given).approaches
    (finding,) = all_of(approach, "altitude_floor")
    assert finding.measured == pytest.approx(LEVEL_FT + off_ft, abs=15.0)
    return finding


@pytest.mark.parametrize("reference", ["mean sea level", "unknown", "indicated altitude"])
@pytest.mark.parametrize("off_ft", [0.0, 30.0, -30.0, 50.0, -50.0])
def test_a_sound_log_raises_none(off_ft, reference):
    assert landed(off_ft, reference=reference).doubts == ()


@pytest.mark.parametrize("rises_ft", [80.0, -80.0])
def test_a_runway_with_a_slope_raises_none(rises_ft):
    # 80 ft in a mile and a half: a steep runway
    assert landed(0.0, rises_ft=rises_ft).doubts == ()


@pytest.mark.parametrize("off_ft", [120.0, -120.0, 300.0, -300.0])
def test_a_landing_roll_at_another_altitude_is_said(off_ft):
    (doubt,) = landed(off_ft).doubts
    said = [feet for feet in range(1000) if f" {feet} ft {'above' if off_ft > 0.0 else 'below'} the threshold" in doubt]
    assert said == [pytest.approx(abs(off_ft), abs=15.0)]


def test_what_the_error_decides_is_withdrawn_and_what_it_does_not_stands():
    # logged 1,550 ft and flown at 1,700
    decided = floor(-150.0, LEVEL_FT - ABOVE_FT)
    assert decided.verdict == "not assessed"
    assert "on the runway" in str(decided.reason)
    assert floor(-150.0, LEVEL_FT + 400.0).verdict == "outside"  # 400 ft low all the same
    assert floor(-150.0, LEVEL_FT - 300.0).verdict == "inside"
    # logged 1,850 ft and flown at 1,700: too low, where the log says inside
    assert floor(150.0, LEVEL_FT + ABOVE_FT).verdict == "not assessed"
    assert floor(150.0, LEVEL_FT - 100.0).verdict == "inside"
    # without a doubt each is judged as it is logged
    assert floor(0.0, LEVEL_FT + ABOVE_FT).verdict == "outside"


def test_a_maximum_is_withdrawn_by_the_other_sign():
    def highest(off_ft, maximum_ft):
        (approach,) = landed(off_ft, {"inbound_maximum_ft": maximum_ft}).approaches
        (finding,) = all_of(approach, "maximum_altitude")
        return finding.verdict

    # 100 ft above it is allowed (FAA-S-ACS-8C IR.VI.A.S9)
    assert highest(-150.0, LEVEL_FT - 200.0) == "not assessed"  # logged 50 ft above it, flown 200 ft above
    assert highest(-150.0, LEVEL_FT + 50.0) == "inside"
    assert highest(150.0, LEVEL_FT - 20.0) == "not assessed"  # logged 170 ft above it, flown 20 ft above
    assert highest(150.0, LEVEL_FT - 300.0) == "outside"


def test_only_altitudes_are_withdrawn_and_the_approach_does_not_pass():
    (approach,) = landed(-150.0, {"inbound_ft": LEVEL_FT - ABOVE_FT}).approaches
    withdrawn = {finding.check for finding in approach.findings if finding.withdrawn}
    assert withdrawn == {"altitude_floor"}
    assert overall(approach.findings, approach.reversal)[0] == "not assessed"


def test_an_error_that_the_reference_explains_raises_none():
    """Pressure altitude may be 546 ft off (two standard deviations of 10 hPa): the verdicts have that error already."""
    assert landed(-280.0, reference="pressure altitude").doubts == ()
    assert len(landed(-280.0, reference="pressure altitude, QNH applied").doubts) == 1


@pytest.mark.parametrize(
    "given",
    [
        {"log": replace(NOISY, end_s=IN_S + 5.0)},  # the log ends before the roll
        {"at": runway(east_nm=0.3)},  # another runway, beside the one charted
        {"at": runway(heading_deg=270.0)},  # or across it
    ],
)
def test_without_a_roll_on_the_charted_runway_there_is_none(given):
    assert landed(-150.0, **given).doubts == ()


def test_an_airfield_that_lies_elsewhere_is_not_compared():
    # more than a low or high of the weather explains
    assert [doubt for doubt in landed(1500.0).doubts if "landing roll" in doubt] == []
