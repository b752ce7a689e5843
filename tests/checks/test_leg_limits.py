"""Time and length of outbound legs, how the length is read, and reversals without a charted distance limit."""

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from checked import NOISY, all_of, debriefed, one_of
from patterns import Pattern, fly_approach
from synthetic import FT, NM, Chart, Flown, Place, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief

HERE = Place()
MAGNETIC = HERE.outbound_true_deg - HERE.variation_deg
WIDTH_NM = 4.0 / math.pi  # across a hold in still air: two radii of a standard rate turn at 120 kt
RATE_ONE = standard_rate_bank(120.0)

CLOCK = re.compile(r"\d\d:\d\d:\d\d")


def base_turn(**reversal: Any) -> Chart:
    out = {"outbound_course_deg": MAGNETIC - 20.0, "inbound_course_deg": (MAGNETIC + 180.0) % 360.0}
    return Chart(side=None, within_nm=None, reversal={"kind": "base-turn", "turn": "right", **out, **reversal})


def out_for(seconds: float) -> Flown:
    """A base turn entered on its outbound track, with some seconds outbound from over the fix."""
    start = 4.0 * math.sin(math.radians(20.0)), -4.0 * math.cos(math.radians(20.0))
    back = Turn("reversal_turn", 200.0, 18.0)
    return fly(
        [Straight("arrival", 120.0), Straight("outbound", seconds), back, Straight("inbound", 200.0)],
        start,
        -20.0,
        roll_deg_s=5.0,
    )


@pytest.mark.parametrize(
    ("seconds", "verdict"),
    [(100.0, "inside"), (106.0, "inside"), (110.0, "too close to call"), (118.0, "outside"), (70.0, "not assessed")],
)
def test_a_charted_time_is_nominal_and_ten_seconds_more_are_allowed(seconds, verdict):
    # ICAO Doc 8168 Vol II I-4-3-7 h: outbound timing ±10 s; shorter exceeds nothing
    finding = one_of(debriefed(out_for(seconds), chart=base_turn(leg_time_s=100.0)), "leg_limit")
    assert (finding.verdict, finding.limit, finding.tolerance, finding.unit) == (verdict, 100.0, 10.0, "s")
    assert finding.measured == pytest.approx(seconds, abs=2.0)
    assert ("for information" in str(finding.reason)) == (verdict == "not assessed")
    # the form of the sentence is that of a hold's leg
    timed = rf"Outbound leg flown {finding.measured:.0f} s, timed from (over|abeam) the fix at {CLOCK.pattern}; "
    assert re.fullmatch(timed + r"100 s charted \(\+10 s\)\.", finding.sentence)


@pytest.mark.parametrize(("seconds", "verdict"), [(114.0, "inside"), (120.0, "too close to call"), (126.0, "outside")])
def test_the_maximum_time_has_no_tolerance(seconds, verdict):
    finding = one_of(debriefed(out_for(seconds), chart=base_turn(maximum_time_s=120.0)), "leg_limit")
    assert (finding.verdict, finding.limit, finding.tolerance) == (verdict, 120.0, 0.0)
    assert finding.sentence.endswith("; at most 120 s charted.")


def test_the_lesson_on_a_long_leg_gives_when_to_turn():
    finding = one_of(debriefed(out_for(140.0), chart=base_turn(leg_time_s=100.0)), "leg_limit")
    assert finding.lesson is not None
    assert finding.lesson.cause is None  # 40 s too long, as the finding says
    started, turned = (
        sum(int(part) * 60**k for k, part in enumerate(reversed(one.split(":"))))
        for one in CLOCK.findall(str(finding.lesson.advice))
    )
    assert turned - started == 100


@pytest.mark.parametrize(("seconds", "verdict"), [(120.0, "inside"), (150.0, "outside")])
def test_the_leg_of_a_procedure_turn_can_be_limited_too(seconds, verdict):
    flown = fly_approach(Pattern(roll_deg_s=5.0, outbound_s=seconds, intercept=True))
    assert one_of(debriefed(flown, chart=Chart(reversal={"leg_time_s": 120.0})), "leg_limit").verdict == verdict


def test_without_a_limit_there_is_no_finding():
    assert all_of(debriefed(out_for(150.0), chart=base_turn()), "leg_limit") == []


@pytest.mark.parametrize(("end_nm", "verdict"), [(5.0, "inside"), (5.5, "too close to call"), (5.9, "outside")])
def test_a_length_by_the_dme_of_the_fix(end_nm, verdict):
    # slant range from 3,000 ft above the station; AIM 1-1-7 b: right to half a mile
    over_ground = math.sqrt(end_nm**2 - (3000.0 * FT / NM) ** 2)
    finding = one_of(debriefed(out_for(over_ground * 30.0), chart=base_turn(leg_length_nm=5.0)), "leg_limit")
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, 5.0, "NM")
    assert finding.measured == pytest.approx(end_nm, abs=0.07)
    assert finding.sentence.endswith("; 5.0 NM charted (+0.5 NM).")


def held(leg_nm: float, altitude_ft: float = 3000.0, chart: Chart | None = None):
    """The finding on the length of a leg in a hold with right turns, after a direct entry."""
    path = [
        Straight("arrival", 90.0),
        Turn("away", 180.0, RATE_ONE),
        Straight("out", leg_nm * 30.0),
        Turn("back", 180.0, RATE_ONE),
    ]
    flown = fly([*path, Straight("in", leg_nm * 30.0), Straight("final", 60.0)], (0.0, 3.0), 180.0, roll_deg_s=5.0)
    return one_of(debriefed(flown, replace(NOISY, altitude_ft=altitude_ft), chart or hold()), "hold_timing")


def hold(kind: str = "vor", tables: dict[str, Any] | None = None, **reversal: Any) -> Chart:
    row = {"kind": "hold", "turn": "right", "leg_length_nm": 4.0, **reversal}
    return Chart(side=None, within_nm=None, fix={"kind": kind}, reversal=row, tables=tables or {})


@pytest.mark.parametrize(
    ("kind", "by", "measured_nm"),
    [
        # 4 NM along the course and the width of a turn from it, 12,000 ft above the station
        ("waypoint", None, 4.0),
        ("vor", None, math.sqrt(16.0 + WIDTH_NM**2 + (12_000.0 * FT / NM) ** 2)),
        ("ndb", None, math.hypot(4.0, WIDTH_NM)),
        ("vor", "along-track", 4.0),
        ("vor", "from-fix", math.hypot(4.0, WIDTH_NM)),
        ("marker", None, 4.0),  # flown by GPS
    ],
)
def test_how_the_length_of_a_leg_is_read(kind, by, measured_nm):
    # AIM 5-3-8 j.5 and j.7(a)(4): RNAV legs are along the track; AIM 1-1-7 b: a DME reads the slant range
    finding = held(4.0, 12_000.0, hold(kind, **({} if by is None else {"leg_by": by})))
    assert finding.measured == pytest.approx(measured_nm, abs=0.07)


def station(inbound_nm: float) -> dict[str, Any]:
    """A DME on the inbound course, some miles beyond the fix as seen inbound; negative before it."""
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([-inbound_nm]))
    return {
        "dme": {"name": "WNE", "latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0]), "elevation_ft": 0.0}
    }


@pytest.mark.parametrize(("station_nm", "leg_nm", "turn_at_nm"), [(10.0, 5.0, 15.0), (-28.0, 8.0, 20.0)])
def test_a_dme_apart_from_the_fix_ends_the_leg_by_the_difference_of_its_readings(station_nm, leg_nm, turn_at_nm):
    # AIM figures 5-3-5 and 5-3-6: towards the station, fix at 10, legs of 5: turn at 15; away from it, at 28, legs of 8: at 20
    chart = hold(tables=station(station_nm), leg_length_nm=leg_nm, leg_by="dme")
    finding = held(leg_nm, 3000.0, chart)
    assert finding.measured == pytest.approx(leg_nm, abs=0.15)
    assert finding.verdict == "inside"
    assert f"reads {turn_at_nm:.1f} there" in finding.sentence.replace(f"{turn_at_nm + 0.1:.1f}", f"{turn_at_nm:.1f}")


@pytest.mark.parametrize("kind", ["hold", "arc", "none"])
def test_the_default_of_ten_miles_applies_to_procedure_turns_only(kind):
    # AIM 5-4-9 a.3 is about procedure turns
    rows = {"hold": {"kind": "hold", "turn": "right", "leg_time_s": 60.0}, "none": {"kind": "none"}}
    flown = fly_approach(Pattern(roll_deg_s=5.0, outbound_s=330.0, intercept=True))
    if kind == "arc":
        latitude, longitude = HERE.latitude_deg, HERE.longitude_deg
        arc = {"latitude_deg": latitude, "longitude_deg": longitude, "radius_nm": 12.0}
        chart = Chart(side=None, within_nm=None, reversal={"kind": "arc", "turn": "right"}, tables={"arc": arc})
    else:
        chart = Chart(side=None, within_nm=None, reversal=rows[kind])
    finding = one_of(debriefed(flown, chart=chart), "distance_limit")
    assert (finding.verdict, finding.limit, finding.margin) == ("not assessed", None, None)
    assert "for information" in str(finding.reason)
    assert finding.measured > 11.0


@pytest.mark.parametrize(("limit", "judged"), [({}, True), ({"leg_time_s": 400.0}, False), ({"maximum_time_s": 400.0}, False)])
def test_a_base_turn_with_another_limit_has_no_default_distance(limit, judged):
    # AIM 5-4-9 a.3: normally 10 NM
    finding = one_of(debriefed(out_for(330.0), chart=base_turn(**limit)), "distance_limit")
    assert (finding.verdict == "outside") == judged
    assert (finding.limit is None) != judged


@pytest.mark.parametrize(("within_nm", "verdict"), [(5.0, "outside"), (5.9, "inside")])
def test_a_limit_by_dme_is_slant_range(within_nm, verdict):
    # 2 minutes out and a turn: some 4.6 NM over the ground, 5.5 by a DME 18,000 ft below
    chart = replace(base_turn(within_nm=within_nm, within_by="dme"), tables=station(0.0))
    flown = debriefed(out_for(120.0), replace(NOISY, altitude_ft=18_000.0), chart)
    finding = one_of(flown, "distance_limit")
    ground = flown.figures.farthest.distance_m / NM
    assert finding.measured == pytest.approx(math.hypot(ground, 18_000.0 * FT / NM), abs=0.03)
    assert finding.verdict == verdict
    assert "as its DME reads" in finding.sentence


@pytest.mark.parametrize(("kind", "known"), [("vor", True), ("ndb", False), ("waypoint", False), ("marker", False)])
@pytest.mark.parametrize("charted", [True, False])
def test_the_dme_reading_is_reported_only_where_a_dme_is_charted(kind, known, charted):
    flown = fly_approach(Pattern(roll_deg_s=5.0, intercept=True))
    chart = Chart(fix={"kind": kind}, tables=station(0.0) if charted else {})
    finding = one_of(debriefed(flown, chart=chart), "distance_limit")
    assert ("The DME reads" in finding.sentence) == (known and charted)
    assert ("slant_nm" in finding.details) == known


@pytest.mark.parametrize("turn", ["right", "left"])
def test_a_hold_is_described_by_its_turns(turn):
    path = [Straight("arrival", 90.0), Turn("away", 180.0, RATE_ONE), Straight("out", 60.0), Turn("back", 180.0, RATE_ONE)]
    flown = fly([*path, Straight("in", 60.0), Straight("final", 60.0)], (0.0, 3.0), 180.0, roll_deg_s=5.0)
    chart = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": turn, "leg_time_s": 60.0})
    finding = one_of(debriefed(flown if turn == "right" else flown.mirrored(), chart=chart), "reversal_side")
    assert (finding.verdict, finding.measured, finding.limit) == ("inside", turn, turn)
    assert f"with {turn} turns" in finding.sentence


@pytest.mark.parametrize(("category", "most"), [("B", 804.0), ("C", 1197.0)])
def test_the_rate_of_descent_is_reported_with_the_design_maximum(category, most):
    # ICAO Doc 8168 Vol II table I-4-3-1
    approach = fly_approach(Pattern(roll_deg_s=5.0, outbound_s=120.0, intercept=True))
    start = approach.outbound_passage_s
    heights = [(0.0, 4000.0), (start, 4000.0), (start + 120.0, 2800.0), (1e4, 2800.0)]
    chart = replace(Chart(), tables={"category": category})
    (result,) = debrief(replace(NOISY, altitude_ft=heights).of(approach.flown), chart.at(), "icao-ops").approaches
    finding = one_of(result, "descent_rate", leg="outbound")
    assert (finding.verdict, finding.limit, finding.unit) == ("not assessed", most, "fpm")
    assert finding.measured == pytest.approx(600.0, abs=15.0)
    assert "for information" in str(finding.reason)
