"""Numbers of a brief against published examples, closed forms, and turns flown by this tree's own simulation."""

import math
from dataclasses import replace

import numpy as np
import pytest
from briefed import ROLL_DEG_S, arc_chart, base_chart, briefed, hold_chart, number, turn_chart, wind_text
from synthetic import HERE, KT, Chart, Flown, Place, Straight, Turn, fly, holding, standard_rate_bank

from analyzer.brief.chances import Errors
from analyzer.brief.hold_pattern import hold_numbers
from analyzer.report.documents.brief_document import brief_document

FEW = Errors(flights=10)
BASE = base_chart("left", 18.0)
INBOUND = (HERE.outbound_true_deg - HERE.variation_deg + 180.0) % 360.0  # magnetic


def value(name, chart=None, **given):
    return number(briefed(chart or turn_chart(), errors=FEW, **given), name).value


@pytest.mark.parametrize(("turn", "wind_side"), [("right", -1.0), ("left", 1.0)])
def test_eight_degrees_inbound_are_twenty_four_outbound(turn, wind_side):
    # AIM 5-3-8 j.8(c): correct 8° to one side inbound, and 24° to the other outbound. At 120 kt 16.7 kt abeam need 8°.
    wind = 120.0 * math.sin(math.radians(8.0))
    made = briefed(hold_chart(turn), errors=FEW, winds=[wind_text((180.0 + wind_side * 90.0, wind))])
    drift = number(made, "drift inbound")  # away from where the wind is: inbound is 180, so from 90 it is on the left
    assert (drift.value, drift.unit) == (pytest.approx(8.0, abs=0.05), "° right" if wind_side < 0.0 else "° left")
    rule = number(made, "outbound heading in circuits").rule
    assert rule is not None
    outbound = INBOUND + 180.0
    assert math.remainder(rule.value - outbound, 360.0) == pytest.approx(-wind_side * 24.0, abs=0.1)


@pytest.mark.parametrize(
    ("speed", "bank"), [(80, 12.4), (90, 13.9), (100, 15.4), (120, 18.2), (140, 21.0), (160, 23.7), (180, 26.3), (215, 30.0)]
)
def test_bank_and_radius_of_standard_rate(speed, bank):
    # atan(V ω/g) and V/ω at 3°/s, which is 1 NM for 188.5 kt; from 210.2 kt on 30° of bank (FAA-H-8083-15B ch. 7) are less
    made = briefed(base_chart("left", 12.0), errors=FEW, true_speeds=[str(speed)])
    assert number(made, "bank").value == pytest.approx(bank, abs=0.05)
    # FAA-H-8083-25C ch. 5: R = V²/(11.26 tan bank) ft, whose rounded constant is 0.3 % off
    published = speed**2 / (11.26 * math.tan(math.radians(bank))) / 6076.1
    assert number(made, "radius").value == pytest.approx(published, rel=0.008)
    if speed < 210:
        assert number(made, "radius").value == pytest.approx(speed / 188.5, abs=0.001)
        assert number(made, "rate").value == pytest.approx(3.0, abs=1e-6)


@pytest.mark.parametrize(("speed", "lead"), [(120, 0.6), (150, 0.8)])
def test_leads_onto_a_ten_mile_arc(speed, lead):
    # CNATRA P-871: half a percent of the ground speed; at 150 kt 10.8 and 9.2 DME. Exact: the turn just touches the arc.
    made = briefed(arc_chart(10.0), true_speeds=[str(speed)])
    outside, inside = (number(made, f"lead onto it from {side}") for side in ("outside", "inside"))
    assert (outside.value, inside.value) == pytest.approx((lead, lead), abs=0.06)
    assert outside.rule is not None
    assert outside.rule.value == pytest.approx(speed / 200.0)
    bank = standard_rate_bank(speed)
    onto = fly([Turn("onto", 120.0, bank)], (0.0, 10.0 + outside.value), 180.0, speed)
    assert float(onto.distance_nm.min()) == pytest.approx(10.0, abs=0.002)
    onto = fly([Turn("onto", 180.0, bank)], (0.0, 10.0 - inside.value), 0.0, speed)
    assert float(onto.distance_nm.max()) == pytest.approx(10.0, abs=0.002)


def test_lead_radials_off_an_arc():
    # CNATRA P-1265: 60/arc times the lead, 12 DME and 0.6 NM give 3 radials. R is 0.6 NM at 113.1 kt.
    made = number(briefed(arc_chart(12.0), true_speeds=["113.1"]), "lead radials off it")
    assert made.rule is not None
    assert made.rule.value == pytest.approx(3.0, abs=0.01)
    assert made.value == pytest.approx(3.0, abs=0.05)
    lead = math.radians(made.value)
    start = -12.0 * math.sin(lead), 12.0 * math.cos(lead)
    off = fly([Turn("off", 90.0 + made.value, standard_rate_bank(113.1))], start, 90.0 - made.value, 113.1)
    assert float(off.x_nm[-1]) == pytest.approx(0.0, abs=0.002)


def test_the_wind_triangle_of_the_handbook():
    # FAA-H-8083-25C figures 16-19 to 16-23: course 090, wind 045 at 40 kt, 120 kt true: heading 076, ground speed 88 kt
    place = Place(outbound_true_deg=90.0, variation_deg=0.0)
    made = briefed(base_chart("left", 18.0, place), place, FEW, winds=["45/40"])
    outbound = brief_document(made)["parts"][0]
    assert outbound["heading_deg_magnetic"] == pytest.approx(76.37, abs=0.06)
    assert outbound["course_deg_magnetic"] == pytest.approx(90.0, abs=0.06)
    assert outbound["ground_speed_kt"] == pytest.approx(88.33, abs=0.06)


@pytest.mark.parametrize("turn", ["left", "right"])
@pytest.mark.parametrize(("minutes", "exact"), [(1.0, 35.31), (1.5, 23.96), (2.0, 18.09), (2.5, 14.51), (3.0, 12.11)])
def test_the_divergence_of_a_base_turn(minutes, exact, turn):
    # φ = 2 atan(R/(V T)) at rate one, for which ICAO Doc 8168 Vol II, table I-4-3-App C-1 charts 36/T; rolls begin half early
    half_roll = standard_rate_bank(120.0) / ROLL_DEG_S / 2.0
    made = number(briefed(base_chart(turn, exact), errors=FEW), "outbound time").value
    assert made == pytest.approx(60.0 * minutes - half_roll, abs=0.4)  # the spiral of a roll widens the turn by 2 m of 1,180
    charted = number(briefed(base_chart(turn, 36.0 / minutes), errors=FEW), "outbound time").value
    assert charted == pytest.approx(60.0 * minutes, abs=4.0)


@pytest.mark.parametrize(("speed", "feet", "true"), [(100, 5000, 107.67), (120, 5000, 129.17), (100, 10_000, 116.22)])
def test_true_airspeeds(speed, feet, true):
    # compressible flow in the standard atmosphere (ISO 2533)
    made = briefed(replace(BASE, floors_ft={"outbound": feet}), errors=FEW, speeds=[str(speed)])
    assert brief_document(made)["parts"][0]["true_airspeed_kt"] == pytest.approx(true, abs=0.06)


@pytest.mark.parametrize(("edge", "one", "other"), [(110, "direct", "teardrop"), (290, "parallel", "direct")])
def test_the_entry_and_its_neighbour(edge, one, other):
    # AIM 5-3-8 j.3 and j.8(d): sectors 110 and 290° from the inbound course, either entry within 5°
    for turn, sign in (("right", 1.0), ("left", -1.0)):
        for off, entry, neighbours in ((-6, one, ()), (-4, one, (other,)), (4, other, (one,)), (6, other, ())):
            made = briefed(hold_chart(turn), errors=FEW, arrival_deg=(INBOUND + sign * (edge + off)) % 360.0)
            numbers = hold_numbers(made.charted, made.conditions)
            assert (numbers.entry, numbers.neighbours) == (entry, neighbours)
            assert brief_document(made)["shape"] == f"hold-{entry}"


@pytest.mark.parametrize("speed", [90, 150])
def test_the_offset_leg_in_still_air(speed):
    # 2/ω = 38.197 s at 3°/s with instant rolls, at any speed; a roll takes its time of it
    assert value("offset leg, wings level", true_speeds=[str(speed)]) == pytest.approx(
        38.197 - standard_rate_bank(speed) / ROLL_DEG_S, abs=0.15
    )


@pytest.mark.parametrize(("feet", "speed"), [(3000, 200), (4000, 190)])
def test_four_and_a_half_miles_outbound_at_jet_speeds(feet, speed):
    # common practice, no source: out 4.5 NM, a 45/180 at jet speeds stays in 10 NM with about a mile to spare
    chart = Chart(floors_ft={"outbound": feet})
    assert value("margin to the limit", chart, speeds=[str(speed)], outbound="4.5") == pytest.approx(1.0, abs=0.4)


@pytest.mark.parametrize(("speed", "rate"), [(90, 478), (120, 637)])
def test_the_descent_of_three_degrees(speed, rate):
    # 318 ft/NM (FAA-H-8083-16B ch. 3), 5.307 ft/min for each knot: 1,592 ft over 5 NM to 50 ft over the threshold; the minimum
    # of 408 ft is passed 358 ft higher, 1.125 NM before it
    latitude, longitude = HERE.lay(np.array([0.0]), np.array([-5.0]))
    runway = {"threshold_latitude_deg": float(latitude[0]), "threshold_longitude_deg": float(longitude[0])}
    table = {"name": "25", "threshold_elevation_ft": 0.0, "true_heading_deg": 242.0, **runway}
    floors = {"outbound": 3000.0, "inbound": 1642.0, "final": 408.0}
    made = briefed(replace(BASE, floors_ft=floors, tables={"runway": table}), errors=FEW, true_speeds=[str(speed)])
    final = number(made, "final leg")
    assert final.value == pytest.approx(rate, abs=1.5)
    assert "318 ft/NM" in final.how
    assert final.rule is not None
    assert final.rule.value == pytest.approx(5.0 * speed, abs=0.5)
    assert number(made, "final leg to the threshold").value == pytest.approx(5.0, abs=0.001)
    assert number(made, "from the minimum to the threshold").value == pytest.approx(358.0 / 318.4, abs=0.002)


def test_slant_range():
    # FAA-H-8083-15B ch. 9: a mile for each thousand feet; hypot(5 NM, 5,000 ft) = 5.067 NM
    made = briefed(replace(BASE, floors_ft={"outbound": 5000.0}), errors=FEW, outbound="5")
    assert brief_document(made)["parts"][0]["end_slant_nm"] == pytest.approx(5.067, abs=0.006)


@pytest.mark.parametrize("angle", [40.0, 90.0, -75.0])
def test_the_lead_onto_the_outbound_course(angle):
    arrival = (INBOUND + 180.0 + angle) % 360.0
    lead = value("lead onto the outbound course", BASE, arrival_deg=arrival)
    way = math.radians(angle)
    turn = Turn("onto", -angle, standard_rate_bank(120.0))
    flown = fly([turn], (-lead * math.sin(way), -lead * math.cos(way)), angle, roll_deg_s=ROLL_DEG_S)
    assert float(flown.x_nm[-1]) == pytest.approx(0.0, abs=0.01)


def test_the_lead_onto_the_inbound_course():
    lead, way = value("lead onto the inbound course at 30°", BASE), math.radians(-30.0)
    turn = Turn("onto", 30.0, standard_rate_bank(120.0))
    flown = fly([turn], (-lead * math.sin(way), -lead * math.cos(way)), -30.0, roll_deg_s=ROLL_DEG_S)
    assert float(flown.x_nm[-1]) == pytest.approx(0.0, abs=0.01)


def timed_s(flown: Flown) -> float:
    """Time from over or abeam the fix, whichever is later, to the turn inbound of a flight that begins over the fix."""
    turns_s = flown.begins["back"]
    behind = np.flatnonzero((flown.y_nm < 0.0) & (flown.time_s < turns_s))
    if not len(behind):
        return turns_s
    k = behind[-1]
    share = flown.y_nm[k] / (flown.y_nm[k] - flown.y_nm[k + 1])
    return float(turns_s - flown.time_s[k] - share * (flown.time_s[k + 1] - flown.time_s[k]))


@pytest.mark.parametrize("wind", [(0.0, 0.0), (0.0, 20.0), (90.0, 20.0), (200.0, 15.0)])
@pytest.mark.parametrize("turn", ["left", "right"])
def test_a_circuit_comes_out_with_its_minute_inbound(turn, wind):
    made = briefed(hold_chart(turn), errors=FEW, winds=[wind_text(wind)])
    seconds = hold_numbers(made.charted, made.conditions).outbound_s
    briefed_number = number(made, "outbound heading in circuits")
    assert briefed_number.rule is not None
    home, bank, sign = holding(180.0, 120.0, wind), standard_rate_bank(120.0), 1.0 if turn == "right" else -1.0

    def circuit(magnetic, out_s):
        out = sign * ((sign * (magnetic - INBOUND + 180.0 - home)) % 360.0)
        path = [Turn("out", out, bank), Straight("outbound", out_s), Turn("back", 360.0 * sign - out, bank)]
        return fly(path, (0.0, 0.0), home, 120.0, wind, ROLL_DEG_S)

    flown = circuit(briefed_number.value, seconds)
    speed = 120.0 * math.cos(math.radians(home - 180.0)) + wind[1] * math.cos(math.radians(wind[0]))
    assert float(flown.x_nm[-1]) == pytest.approx(0.0, abs=0.01)
    assert float(flown.y_nm[-1]) == pytest.approx(speed * KT * 60.0 / 1852.0, abs=0.01)
    # AIM 5-3-8 j.4: outbound timing begins abeam the fix
    assert number(made, "outbound time in circuits").value == pytest.approx(timed_s(flown), abs=0.2)
    by_rule = number(made, "by the rule the turn rolls out")
    right = by_rule.value if by_rule.unit == "NM right" else -by_rule.value
    level_s = 60.0 + 60.0 - timed_s(circuit(briefed_number.rule.value, 60.0))  # so that the clock shows the minute
    ruled = circuit(briefed_number.rule.value, level_s)
    assert timed_s(ruled) == pytest.approx(60.0, abs=0.01)
    assert -float(ruled.x_nm[-1]) == pytest.approx(right, abs=0.01)
    if wind[1] == 0.0:  # FAA-H-8083-15B fig. 10-4: a minute each way, and no correction
        assert seconds == pytest.approx(60.0, abs=0.1)
        assert briefed_number.value == pytest.approx((INBOUND + 180.0) % 360.0, abs=0.1)
