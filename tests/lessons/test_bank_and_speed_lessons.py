"""Lessons on bank, speed, timed legs and entries: flown as advised, the flight is inside and within the distance limit."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, one_of
from patterns import Pattern, fly_approach
from synthetic import CALM, KT, Chart, Straight, Turn, Wind, fly, standard_rate_bank

from analyzer import debrief
from analyzer.checks.finding import Finding
from analyzer.checks.phrases import clock

BASE = Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0, outbound_s=150.0, intercept=True)
QUIET = replace(NOISY, noise_m=0.5)
WINDS: list[Wind] = [CALM, (180.0, 25.0), (0.0, 20.0), (90.0, 20.0)]


def of(
    pattern: Pattern, check: str, part: str | None = None, standard: str = "faa-instrument", chart: Chart | None = None
) -> Finding:
    track = QUIET.of(fly_approach(pattern).flown)
    (approach,) = debrief(track, (chart or Chart()).at(), standard).approaches
    return one_of(approach, check, part)


def degrees_advised(finding: Finding) -> float:
    assert finding.lesson is not None
    found = re.search(r"(\d+)°", str(finding.lesson.advice))
    assert found is not None, finding.lesson
    return float(found[1])


@pytest.mark.parametrize("bank_deg", [36.0, 40.0])
@pytest.mark.parametrize("wind", WINDS)
@pytest.mark.parametrize("standard", ["faa-instrument", "icao-ops"])
def test_the_bank_advised_for_a_steep_turn_is_inside_when_flown(bank_deg, wind, standard):
    steep = replace(BASE, back_bank_deg=bank_deg, wind=wind)
    finding = of(steep, "turn_bank", "reversal_turn", standard)
    assert finding.verdict == "outside"
    assert finding.lesson is not None
    assert finding.lesson.cause is not None
    # beyond the limit as flown, the place where to begin the turn is part of the lesson on that
    far = of(steep, "distance_limit", standard=standard)
    advice = f"{finding.lesson.advice} {far.lesson.advice if far.lesson is not None else ''}"
    earlier = re.search(r"([\d.]+) NM (?:\(\d+ s\) )?earlier", advice)
    out_s = steep.outbound_s - (float(earlier[1]) / (140.0 + wind[1]) * 3600.0 if earlier is not None else 0.0)
    again = replace(steep, bank_deg=degrees_advised(finding), back_bank_deg=degrees_advised(finding), outbound_s=out_s)
    assert of(again, "turn_bank", "reversal_turn", standard).verdict == "inside"
    assert of(again, "distance_limit").verdict == "inside"
    if standard == "icao-ops":
        # ICAO Doc 8168 Vol II I-4-3-7 f: the lesser of 25° and 3°/s on average; the advice may not be less
        assert of(again, "average_bank", "reversal_turn", standard).verdict == "inside"


def test_the_bank_and_speed_shown_give_the_rate_shown():
    # ω = g tan(bank) / V
    for bank_deg, speed_kt in ((36.0, 140.0), (41.0, 187.0), (33.0, 111.0)):
        finding = of(replace(BASE, speed_kt=speed_kt, back_bank_deg=bank_deg, outbound_s=60.0), "turn_bank", "reversal_turn")
        assert finding.lesson is not None
        bank, knots, rate = (float(word) for word in re.findall(r"\d+(?:\.\d+)?", str(finding.lesson.cause)))
        assert rate == pytest.approx(math.degrees(9.80665 * math.tan(math.radians(bank)) / (knots * KT)), abs=0.0501)


def test_a_shallower_turn_beyond_the_limit_is_advised_to_begin_earlier():
    # at 38° the turn back just reaches the limit; at standard rate it reaches half a mile farther
    steep = replace(BASE, bank_deg=38.0, back_bank_deg=38.0)
    reached = of(steep, "distance_limit").measured
    assert isinstance(reached, float)
    chart = Chart(within_nm=reached + 0.2)
    finding = of(steep, "turn_bank", "reversal_turn", chart=chart)
    assert finding.lesson is not None
    earlier = re.search(r"([\d.]+) NM earlier", str(finding.lesson.advice))
    assert earlier is not None
    bank = degrees_advised(finding)
    assert of(replace(steep, bank_deg=bank, back_bank_deg=bank), "distance_limit", chart=chart).verdict == "outside"
    sooner = replace(steep, bank_deg=bank, back_bank_deg=bank, outbound_s=150.0 - float(earlier[1]) / 140.0 * 3600.0)
    assert of(sooner, "distance_limit", chart=chart).verdict == "inside"


@pytest.mark.parametrize(("speed_kt", "asked_deg"), [(120.0, 18.2), (160.0, 23.7), (210.0, 25.0)])
def test_the_bank_advised_for_a_shallow_turn_is_at_least_the_required_one(speed_kt, asked_deg):
    shallow = replace(BASE, speed_kt=speed_kt, bank_deg=asked_deg - 6.0, back_bank_deg=asked_deg - 6.0, outbound_s=60.0)
    finding = of(shallow, "average_bank", "reversal_turn", "icao-ops")
    assert finding.verdict == "outside"
    shown, knots, rate, radius_nm, _ = (
        float(word) for word in re.findall(r"\d+(?:\.\d+)?", str(finding.lesson.cause if finding.lesson is not None else None))
    )
    assert rate == pytest.approx(math.degrees(9.80665 * math.tan(math.radians(shown)) / (knots * KT)), abs=0.0501)
    assert radius_nm == pytest.approx((knots * KT) ** 2 / (9.80665 * math.tan(math.radians(shown))) / 1852.0, abs=0.00501)
    assert asked_deg - 0.3 <= degrees_advised(finding) <= asked_deg + 1.3
    assert isinstance(finding.limit, float)
    assert degrees_advised(finding) >= finding.limit
    assert re.fullmatch(
        r"\d+° of bank at \d+ kt true gives \d\.\d°/s, a radius of \d\.\d\d NM; the area is designed for \d\.\d\d NM\.",
        str(finding.lesson.cause if finding.lesson is not None else None),
    )


@pytest.mark.parametrize(
    ("speed_kt", "bank_deg", "standard_rate"),
    # 3°/s takes atan(V × 3°/s / g): 18.2° at 120 kt, 21.1° at 140 and 30.0° at 210, where 5° are kept below the 30° of a turn
    [(120.0, 18.0, True), (140.0, 21.0, True), (210.0, 25.0, False)],
)
def test_a_bank_is_called_that_of_standard_rate_where_it_is(speed_kt, bank_deg, standard_rate):
    steep = replace(BASE, speed_kt=speed_kt, back_bank_deg=38.0, outbound_s=30.0)
    finding = of(steep, "turn_bank", "reversal_turn", chart=Chart(within_nm=20.0))
    assert degrees_advised(finding) == bank_deg
    assert finding.lesson is not None
    words = f"Bank {bank_deg:.0f}° for standard rate" if standard_rate else f"Bank {bank_deg:.0f}°"
    assert str(finding.lesson.advice).split(";")[0].split(":")[0] == words


@pytest.mark.parametrize("wind", WINDS)
def test_the_distance_that_is_said_of_another_bank_is_the_one_it_reaches(wind):
    steep = replace(BASE, bank_deg=34.0, back_bank_deg=36.0, outbound_s=90.0, wind=wind)
    finding = of(steep, "turn_bank", "reversal_turn")
    assert finding.lesson is not None
    said = re.search(r"would then reach ([\d.]+) NM", str(finding.lesson.advice))
    assert said is not None
    again = replace(steep, bank_deg=degrees_advised(finding), back_bank_deg=degrees_advised(finding))
    assert float(np.max(fly_approach(again).flown.distance_nm)) == pytest.approx(float(said[1]), abs=0.25)


def test_the_speed_of_a_lesson_is_that_of_its_own_turn():
    """The turn off the outbound course at 150 kt and the turn back at 110, slowed down to between them."""
    path = [Straight("arrival", 80.0), Straight("outbound", 100.0), Turn("offset_turn", 45.0, 34.0)]
    path += [Straight("offset_leg", 50.0, 110.0), Turn("reversal_turn", -225.0, 36.0), Straight("inbound", 120.0)]
    (approach,) = debrief(QUIET.of(fly(path, (0.0, -3.3), 0.0, 150.0, CALM, 5.0)), Chart().at()).approaches
    for part, speed_kt in (("offset_turn", 150.0), ("reversal_turn", 110.0)):
        finding = one_of(approach, "turn_bank", part)
        assert finding.lesson is not None
        shown = re.search(r"at (\d+) kt true", str(finding.lesson.cause))
        assert shown is not None
        assert float(shown[1]) == pytest.approx(speed_kt, abs=3.0)


@pytest.mark.parametrize(("at_fix_kt", "then_kt"), [(225.0, 225.0), (190.0, 225.0)])
@pytest.mark.parametrize("recorded", [True, False])
def test_an_overspeed_has_a_cause_and_advice(at_fix_kt, then_kt, recorded):
    # AIM 5-4-9 a.3: 200 KIAS; at 1,000 ft true airspeed is some 1.5 % more
    flown = fly_approach(replace(BASE, speed_kt=at_fix_kt, reversal_kt=then_kt, bank_deg=25.0)).flown
    track = replace(QUIET, altitude_ft=1000.0).of(flown)
    if recorded:
        begun = flown.begins["outbound"]
        second = track.time_s - track.time_s[0]
        gained = np.interp(second, [begun + 5.0, begun + 60.0], [at_fix_kt, then_kt])
        track = replace(track, recorded={"indicated_airspeed_mps": gained * KT / 1.015})
    (approach,) = debrief(track, Chart(within_nm=15.0).at()).approaches
    finding = one_of(approach, "speed_limit")
    assert finding.verdict == "outside"
    assert finding.lesson is not None
    if at_fix_kt == then_kt:
        # AIM 5-3-8 j.2(c): the reduction of speed begins within 3 minutes of the fix
        assert finding.lesson.advice == "Be at or below 200 kt when crossing the fix; slow within 3 minutes before it."
        return
    cause = str(finding.lesson.cause)
    crossed, passed, built_up = (float(word) for word in re.findall(r"(\d+) kt", cause))
    assert (crossed, passed) == (pytest.approx(at_fix_kt, abs=4.0), 200.0)
    assert built_up == round(float(finding.measured))
    assert finding.lesson.advice == f"Hold {crossed:.0f} kt or less until established inbound."
    assert "outbound leg" in cause or "outbound turn" in cause
    if recorded:
        # 35 kt gained evenly in 55 s from 5 s after the leg began; 200 kt indicated are 203 kt true
        passed_s = float(track.time_s[0]) + begun + 5.0 + 55.0 * 13.0 / 35.0
        assert set(re.findall(r"[\d:]{8}", cause)) <= {clock(passed_s), clock(passed_s + 1.0)}
        assert clock(passed_s)[:5] in cause


@pytest.mark.parametrize("over_kt", [0.3, 4.0])
def test_the_advice_for_a_speed_at_its_limit_is_a_reserve(over_kt):
    """Less than a knot over the limit is not a build-up; common practice, no source, is to keep a few knots in reserve."""
    flown = fly_approach(replace(BASE, speed_kt=200.0, reversal_kt=200.0, bank_deg=25.0)).flown
    track = replace(QUIET, altitude_ft=1000.0).of(flown)
    fast = np.full(len(track.time_s), (200.0 + over_kt) * KT)
    (approach,) = debrief(replace(track, recorded={"indicated_airspeed_mps": fast}), Chart(within_nm=15.0).at()).approaches
    finding = one_of(approach, "speed_limit")
    assert finding.lesson is not None
    at_limit = over_kt < 1.0
    assert (finding.lesson.cause is None) == at_limit
    assert ("Hold 195 kt" in str(finding.lesson.advice)) == at_limit


def circuits(*legs_s: float, wind: Wind = CALM, arrival_s: float = 90.0):
    path = [Straight("arrival", arrival_s)]
    for number, leg in enumerate(legs_s):
        bank = standard_rate_bank(120.0)
        path += [Turn(f"away{number}", 180.0, bank), Straight(f"out{number}", leg)]
        path += [Turn(f"back{number}", 180.0, bank), Straight(f"in{number}", leg)]
    return fly([*path, Straight("final", 60.0)], (0.0, 3.0), 180.0, wind=wind, roll_deg_s=5.0)


HOLD = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0})


def test_the_lesson_on_a_leg_that_is_too_long_gives_when_to_turn():
    (approach,) = debrief(QUIET.of(circuits(90.0)), HOLD.at()).approaches
    finding = one_of(approach, "hold_timing")
    assert finding.verdict == "outside"
    assert finding.lesson is not None
    assert finding.lesson.cause is None  # 30 s too long, as the finding says
    said = r"Start the clock abeam the fix, here at \d\d:\d\d:\d\d, and turn 60 s later, at \d\d:\d\d:\d\d\."
    assert re.fullmatch(said, str(finding.lesson.advice))
    started, turned = re.findall(r"\d\d:\d\d:(\d\d)", str(finding.lesson.advice))
    assert started == turned  # 60 s later


def test_the_lesson_on_a_clock_started_at_wings_level_gives_how_late_that_was():
    # AIM 5-3-8 j.4: outbound timing begins over or abeam the fix, whichever is later. The turn outbound begins 18 s before
    # the fix, so that it ends beyond it; a minute from wings level is too long by the time already passed.
    finding = one_of(debrief(QUIET.of(circuits(60.0, arrival_s=72.0)), HOLD.at()).approaches[0], "hold_timing")
    assert finding.verdict == "outside"
    assert isinstance(finding.measured, float)
    late = re.search(
        r"From wings level, (\d+) s later, it took 6\d s: the clock was probably started there",
        str(finding.lesson.cause if finding.lesson else None),
    )
    assert late is not None, finding
    assert float(late[1]) == pytest.approx(finding.measured - 60.0, abs=2.0)


@pytest.mark.parametrize("leg_s", [40.0, 85.0])
def test_an_inbound_leg_is_corrected_by_the_next_outbound_one(leg_s):
    # AIM 5-3-8 j.4: outbound legs are adjusted to make the inbound leg a minute; in still air that is a minute outbound
    (approach,) = debrief(QUIET.of(circuits(60.0, leg_s)), HOLD.at()).approaches
    finding = one_of(approach, "hold_timing", part="inbound")
    assert finding.verdict == "outside"
    assert outbound_told(finding) == [pytest.approx(leg_s, abs=2), pytest.approx(60, abs=2)]


def outbound_told(finding: Finding) -> list[int]:
    """The time of the outbound leg that was flown, and the one that is advised."""
    assert finding.lesson is not None
    return [int(text) for text in re.findall(r"(\d+) s from abeam the fix", f"{finding.lesson.cause} {finding.lesson.advice}")]


def test_each_inbound_leg_is_compared_with_the_outbound_one_before_it():
    # as above, with legs of 40 and 85 s in one hold: in still air the outbound leg before each was as long as that leg
    (approach,) = debrief(QUIET.of(circuits(60.0, 40.0, 85.0)), HOLD.at()).approaches
    inbound = [finding for finding in approach.findings if finding.check == "hold_timing" and finding.part == "inbound"]
    assert [outbound_told(finding) for finding in inbound] == [pytest.approx([40, 60], abs=2), pytest.approx([85, 60], abs=2)]
