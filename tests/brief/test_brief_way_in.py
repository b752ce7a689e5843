"""The way in from established: gate to gate at rates that keep what is charted, by closed forms and by debriefing the plan."""

import math
from dataclasses import replace

import numpy as np
import pytest
from briefed import briefed, hold_chart, number, parts_of, turn_chart, wind_text
from synthetic import CALM, HERE, NM, Chart, Wind

from analyzer.brief.chances import Errors
from analyzer.brief.steadiest_descent import NORMAL_MPS, Bound, taut
from analyzer.debriefs.plan import debrief_of_plan
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.words.brief_final import missed_sentence
from analyzer.report.words.brief_text import brief_text

FEW = Errors(flights=10)
TIGHT = {"outbound": 4000.0, "reversal": 4000.0, "inbound": 2500.0}
FAF, STEP = 5.0, 8.0
END = 11.0
KT_FPM = 6076.115 / 60.0  # feet a minute of a knot
WAYPOINT = {"kind": "waypoint"}


def laid(chart: Chart, fixes, end=END, floors=TIGHT, **tables) -> Chart:
    """The chart with fixes on the inbound course, by name, role, distance and altitudes, and a threshold at 80 ft."""
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([-end]))
    place = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    runway = {"name": "24", "threshold_elevation_ft": 80.0, "true_heading_deg": 242.0, **place}
    rows = [{"name": name, "role": role, "distance_nm": at, **given} for name, role, at, given in fixes]
    given = {"fixes": rows, "minimum": {"kind": "mda", "altitude_ft": 700.0}, **tables}
    return replace(chart, fix=WAYPOINT, floors_ft=floors, tables={**chart.tables, "runway": runway, **given})


FIXES = (
    ("TARRO", "final-approach-fix", FAF, {"minimum_ft": 2500.0}),
    ("DELBI", "step-down", STEP, {"minimum_ft": 1400.0}),
    ("RW24", "missed-approach-point", END, {}),
)
HOLD = hold_chart(leg_length_nm=4.0, leg_by="along-track")
APART = laid(HOLD, FIXES)


def segments_of(made):
    return {segment["to"]: segment for segment in brief_document(made)["segments"]}


def text_of(made) -> str:
    return " ".join(brief_text(made).split())


def judged(made, *checks):
    (approach,) = debrief_of_plan(made).approaches
    return [finding for finding in approach.findings if finding.check in checks]


def kept(made) -> None:
    """The plan, debriefed: inside every minimum until it ends; below the minimum altitude only on the way to the runway."""
    found = judged(made, "altitude_floor", "step_down", "minimum_altitude", "maximum_altitude")
    assert {"altitude_floor", "minimum_altitude"} <= {finding.check for finding in found}
    for finding in found:
        if finding.check == "minimum_altitude":
            assert finding.verdict == "inside" or "in sight" in (finding.reason or ""), finding.sentence
        else:
            assert finding.verdict == "inside", finding.sentence


def test_inbound_leads_to_the_final_approach_fix():
    made = briefed(APART, errors=FEW)
    parts = [part for part in brief_document(made)["parts"] if part["leg"] in ("inbound", "final")]
    assert [part["part"] for part in parts] == ["inbound", "inbound", "final", "final"]
    inbound = [part for part in parts if part["part"] == "inbound"]
    assert sum(part["length_nm"] for part in inbound) == pytest.approx(4.0 + FAF, abs=0.05)  # abeam 4 NM out, in still air
    # 1,500 ft over all of it at 120 kt: 9 NM take 270 s
    for part in inbound:
        assert part["descent_fpm"] == pytest.approx(1500.0 / 4.5, abs=3.0)
    assert (inbound[0]["altitude_start_ft"], inbound[-1]["altitude_end_ft"]) == (4000.0, 2500.0)


@pytest.mark.parametrize(
    ("wind", "speed"),
    [
        (CALM, 120.0),
        ((180.0, 20.0), 100.0),  # the inbound course is 180° from the outbound one: a headwind
        ((0.0, 10.0), 130.0),
        ((90.0, 30.0), math.sqrt(120.0**2 - 30.0**2)),  # straight across
    ],
)
def test_each_segment_by_distance_speed_and_time(wind: Wind, speed: float):
    """Time is distance over ground speed, and the rate is the fall over the time: 1,100 ft in 3 NM to the step-down."""
    made = briefed(APART, errors=FEW, winds=[wind_text(wind)])
    step = segments_of(made)["DELBI"]
    assert step["ground_speed_kt"] == pytest.approx(speed, abs=0.15)
    assert step["length_nm"] == pytest.approx(STEP - FAF, abs=0.01)
    assert step["duration_s"] == pytest.approx(3600.0 * (STEP - FAF) / speed, abs=0.3)
    assert (step["altitude_start_ft"], step["altitude_end_ft"]) == (2500.0, 1400.0)
    assert step["descent_fpm"] == pytest.approx(1100.0 / (60.0 * (STEP - FAF) / speed), abs=3.0)
    assert step["minimum_ft"] == 1400.0
    # from there to 50 ft over the threshold steadily: 1,270 ft in 3 NM, the minimum passed after 700 of them
    low = segments_of(made)["MDA 700"]
    assert low["length_nm"] == pytest.approx(3.0 * 700.0 / 1270.0, abs=0.02)
    assert (low["altitude_start_ft"], low["altitude_end_ft"], low["minimum_ft"]) == (1400.0, 700.0, 700.0)
    last = segments_of(made)["threshold"]
    assert (last["visual"], last["minimum_ft"], last["altitude_end_ft"]) == (True, None, 130.0)


@pytest.mark.parametrize("wind", [CALM, (180.0, 25.0), (0.0, 15.0), (90.0, 30.0), (290.0, 20.0)])
@pytest.mark.parametrize("chart", [APART, laid(turn_chart(), FIXES)])
def test_the_plan_keeps_what_is_charted_when_it_is_debriefed(chart, wind):
    made = briefed(chart, errors=FEW, true_speeds=["110"], winds=[wind_text(wind)])
    kept(made)
    assert {finding.fix for finding in judged(made, "step_down")} == {"TARRO", "DELBI"}


def test_a_great_altitude_at_a_fix_is_kept():
    fixes = (
        ("PELLA", "intermediate-fix", 2.0, {"maximum_ft": 3000.0}),
        ("TARRO", "final-approach-fix", FAF, {"minimum_ft": 2500.0}),
        ("DELBI", "step-down", STEP, {"minimum_ft": 1400.0, "maximum_ft": 1400.0}),
    )
    made = briefed(laid(HOLD, fixes), errors=FEW)
    found = segments_of(made)
    assert found["PELLA"]["altitude_end_ft"] == 3000.0
    assert found["PELLA"]["maximum_ft"] == 3000.0
    assert found["DELBI"]["altitude_end_ft"] == 1400.0
    # 1,000 ft in 6 NM to PELLA, then 500 ft in 3 NM
    assert found["PELLA"]["descent_fpm"] == pytest.approx(1000.0 / 3.0, abs=3.0)
    assert found["TARRO"]["descent_fpm"] == pytest.approx(500.0 / 1.5, abs=3.0)
    assert "Pass PELLA at or below 3,000 ft, DELBI at or below 1,400 ft" in text_of(made)


def test_the_minimum_is_reached_before_the_visual_descent_point_and_kept_to_it():
    minimum = {"kind": "mda", "altitude_ft": 700.0, "visual_descent_point_nm": 1.5}
    made = briefed(laid(HOLD, FIXES[:1], minimum=minimum), errors=FEW)
    document = brief_document(made)["segments"]
    down, level, visual = document[-3:]
    assert [segment["ends"] for segment in document[-3:]] == ["minimum", "leave", "threshold"]
    assert (level["altitude_start_ft"], level["altitude_end_ft"], level["descent_fpm"]) == (700.0, 700.0, 0.0)
    assert level["duration_s"] == pytest.approx(15.0, abs=0.2)
    assert visual["length_nm"] == pytest.approx(1.5, abs=0.01)
    assert visual["descent_fpm"] == pytest.approx(570.0 / (1.5 / 120.0 * 60.0), abs=4.0)
    assert down["length_nm"] == pytest.approx(END - FAF - 1.5 - 15.0 * 120.0 / 3600.0, abs=0.02)
    kept(made)


def test_the_minimum_is_reached_before_a_missed_approach_point_short_of_the_runway():
    point = ("MAPAR", "missed-approach-point", END - 2.5, {})
    made = briefed(laid(HOLD, (FIXES[0], point)), errors=FEW, true_speeds=["90"])
    found = segments_of(made)
    assert found["MDA 700"]["altitude_end_ft"] == found["MAPAR"]["altitude_end_ft"] == 700.0
    assert found["MAPAR"]["descent_fpm"] == 0.0
    # then down at 3° (318 ft/NM, FAA-H-8083-16B ch. 3) from where that path comes to 700 ft: 570 ft above its crossing height
    assert found["threshold"]["length_nm"] == pytest.approx(570.0 / 318.4, abs=0.01)
    kept(made)


def test_a_long_shallow_final_stays_at_its_minimum_until_a_normal_descent():
    made = briefed(laid(HOLD, (), floors={**TIGHT, "inbound": 1500.0}), errors=FEW)
    found = segments_of(made)
    assert found["3° path"]["descent_fpm"] == 0.0
    assert found["threshold"]["descent_fpm"] == pytest.approx(120.0 * KT_FPM * math.tan(math.radians(3.0)), abs=4.0)
    kept(made)


@pytest.mark.parametrize(("angle", "speed"), [(3.0, 120.0), (3.5, 90.0)])
def test_a_glide_path_is_flown_at_its_own_rate(angle, speed):
    path = {"angle_deg": angle, "threshold_crossing_height_ft": 50.0}
    fixes = (("TARRO", "final-approach-fix", FAF, {"minimum_ft": 1500.0}),)
    decision, floors = {"kind": "da", "altitude_ft": 300.0}, {**TIGHT, "inbound": 1500.0}
    chart = laid(HOLD, fixes, minimum=decision, glide_path=path, floors=floors)
    made = briefed(chart, errors=FEW, true_speeds=[f"{speed:g}"])
    found = segments_of(made)
    assert found["glide path"]["descent_fpm"] == 0.0
    rate = speed * KT_FPM * math.tan(math.radians(angle))
    assert found["DA 300"]["descent_fpm"] == pytest.approx(rate, rel=0.01)
    assert found["threshold"]["descent_fpm"] == pytest.approx(rate, rel=0.01)
    met = found["DA 300"]["length_nm"] + found["threshold"]["length_nm"]
    assert met == pytest.approx(1370.0 / 6076.115 / math.tan(math.radians(angle)), abs=0.02)  # 1,370 ft above the crossing
    kept(made)


def test_too_steep_a_segment_is_cautioned_and_flown_above_its_minimums():
    # 1,100 ft in 3 NM at 180 kt take a minute: 1,100 ft/min
    made = briefed(APART, errors=FEW, true_speeds=["180"])
    assert "From TARRO to DELBI the charted altitudes need 1,100 ft/min" in text_of(made)
    step = segments_of(made)["DELBI"]
    assert step["descent_fpm"] == pytest.approx(1000.0, abs=2.0)
    assert step["altitude_end_ft"] == pytest.approx(1500.0, abs=3.0)
    assert "need" not in text_of(briefed(APART, errors=FEW, true_speeds=["120"]))


def test_a_maximum_that_is_not_made_is_said():
    fixes = (("PELLA", "intermediate-fix", 0.0, {"maximum_ft": 1600.0}), *FIXES[1:])
    made = briefed(laid(HOLD, fixes, floors={**TIGHT, "inbound": 1500.0}), errors=FEW)
    # 2,400 ft in the 120 s of 4 NM: 2,000 ft/min; at 1,000 it is passed 400 ft too high
    assert "PELLA is passed 400 ft above its maximum of 1,600 ft" in text_of(made)


def test_on_the_field_the_final_approach_fix_is_before_the_facility():
    fixes = (("TARRO", "final-approach-fix", -5.0, {"minimum_ft": 2000.0}), ("QRL", "missed-approach-point", 0.0, {}))
    chart = laid(turn_chart(), fixes, end=-0.6, floors={"outbound": 3000.0, "reversal": 2600.0, "inbound": 2000.0})
    made = briefed(chart, errors=FEW)
    assert parts_of(brief_document(made))[-3:] == ["reversal_turn", "inbound", "final"]
    assert segments_of(made)["TARRO"]["altitude_end_ft"] == 2000.0
    assert number(made, "time to the missed approach point").value == pytest.approx(150.0, abs=0.5)  # 5 NM at 120 kt
    kept(made)
    near = briefed(laid(turn_chart(), ((*FIXES[0][:2], -7.0, {"minimum_ft": 2000.0}),), end=-0.6), errors=FEW)
    assert "inside the final approach fix TARRO, which is not passed inbound" in text_of(near)


@pytest.mark.parametrize(("wind", "speed"), [(CALM, 120.0), ((180.0, 30.0), 90.0)])
def test_the_charted_time_to_the_missed_approach_point_in_proportion(wind, speed):
    missed = {"time_s": 240.0, "time_at_kt": 90.0, "climb_ft": 1500.0, "altitude_ft": 3000.0}
    made = briefed(laid(HOLD, FIXES[:1], missed_approach=missed), errors=FEW, winds=[wind_text(wind)])
    assert number(made, "time to the missed approach point").value == pytest.approx(240.0 * 90.0 / speed, abs=0.2)


def test_the_time_to_the_missed_approach_point_by_distance():
    made = briefed(APART, errors=FEW, winds=[wind_text((180.0, 20.0))])
    found = number(made, "time to the missed approach point")
    assert found.value == pytest.approx(3600.0 * (END - FAF) / 100.0, abs=0.5)  # 216 s
    assert "3:36 from TARRO: 6.0 NM at 100 kt" in found.how
    assert "4:00 at 10 kt less, 3:16 at 10 kt more" in found.how  # 6 NM at 90 and at 110 kt


def test_the_missed_approach_in_words():
    final = (HERE.outbound_true_deg - HERE.variation_deg + 180.0) % 360.0
    missed = {"climb_ft": 1500.0, "turn": "right", "course_deg": round((final + 110.0) % 360.0), "altitude_ft": 3000.0}
    sentence = missed_sentence(briefed(laid(HOLD, FIXES, missed_approach=missed), errors=FEW))
    course = f"{round((final + 110.0) % 360.0):03d}°"
    assert sentence.startswith("Missed approach at RW24: climb on the final course to 1500 ft, then turn right onto course ")
    assert f"{course}, climbing to 3000 ft. First turn: right by 110°, not before 1500 ft" in sentence
    latitude, longitude = HERE.lay(np.array([5.0]), np.array([-5.0]))
    place = {"latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0])}
    hold = {"name": "ORVIN", "role": "missed-approach", "inbound_course_deg": 30.0, "turn": "left", "leg_time_s": 60.0, **place}
    direct = {"turn": "left", "to": "ORVIN", "altitude_ft": 3000.0}
    made = briefed(laid(HOLD, FIXES, missed_approach=direct, holds=[hold]), errors=FEW)
    sentence = missed_sentence(made)
    assert "turn left direct to ORVIN, climbing to 3000 ft, then hold at ORVIN, inbound 030°, left turns" in sentence
    assert "First turn: left, not before the missed approach point." in sentence
    assert " ".join(sentence.split()) in text_of(made)
    assert brief_document(made)["missed_approach"] == sentence


@pytest.mark.parametrize("wind", [CALM, (0.0, 25.0), (180.0, 25.0), (90.0, 20.0)])
@pytest.mark.parametrize("arrival", [None, 310.0, 55.0])
@pytest.mark.parametrize("by", ["along-track", "dme", "from-fix"])
def test_a_leg_charted_by_length_is_flown_to_it(by, arrival, wind):
    """Abeam or slant from the fix, whatever the wind: AIM 5-3-8 j.5 and j.7."""
    chart = replace(hold_chart(leg_length_nm=4.0, leg_by=by), floors_ft={"outbound": 3000.0})
    given = {} if arrival is None else {"arrival_deg": (HERE.outbound_true_deg - HERE.variation_deg + arrival) % 360.0}
    made = briefed(chart, errors=FEW, winds=[wind_text(wind)], **given)
    number_of = [part.part for part in made.plan.parts].index("outbound")
    end = made.plan.path.ends[number_of]
    north, east = float(made.plan.path.north_m[end]) / NM, float(made.plan.path.east_m[end]) / NM
    out = math.radians(HERE.outbound_true_deg)
    height = 3000.0 / 6076.115
    reads = {
        "along-track": north * math.cos(out) + east * math.sin(out),
        "from-fix": math.hypot(north, east),
        "dme": math.hypot(north, east, height),
    }
    assert reads[by] == pytest.approx(4.0, abs=0.01)
    assert number(made, "outbound leg in circuits").value == pytest.approx(4.0)
    (timing,) = [finding for finding in judged(made, "hold_timing") if finding.unit == "NM"]
    assert timing.verdict in ("inside", "too close to call")
    assert timing.measured == pytest.approx(4.0, abs=0.1)


def test_a_string_pulled_taut_keeps_its_bounds():
    """Over random stairs: never below what binds, never rising, never steeper than normal; without stairs a straight line."""
    rng = np.random.default_rng(7)
    for _ in range(200):
        times = np.cumsum(rng.uniform(20.0, 200.0, 4))
        leasts = np.sort(rng.uniform(100.0, 900.0, 4))[::-1]
        bounds = [Bound(float(time), least_m=float(least)) for time, least in zip(times, leasts, strict=True)]
        end = float(times[-1] + 60.0)
        flown = taut(0.0, 1000.0, bounds, Bound(end, most_m=50.0))
        at, height = (np.array(values) for values in zip(*flown.points, strict=True))
        assert np.all(np.interp(times, at, height) >= leasts - 1e-6)
        rates = -np.diff(height) / np.diff(at)
        assert np.all(rates >= -1e-9)
        assert np.all(rates <= NORMAL_MPS + 1e-9)
    straight = taut(0.0, 400.0, [], Bound(100.0, most_m=100.0))
    assert straight.points == ((0.0, 400.0), (100.0, pytest.approx(100.0)))
