"""A published hold, lap by lap: direction of turn, timing, level, minimum and drift correction."""

import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, all_of, one_of
from hold_flights import LEVEL_FT, SPEED_KT, chart, correction_deg, entered, heading, held, laps_in, level
from missed_flights import A_SECOND, HOLD_FT, Heights, Whole, missed_into_hold
from missed_flights import chart as chart_of_approach
from missed_flights import hold as hold_table
from synthetic import Flown, Wind

from analyzer import debrief
from analyzer.checks.finding import GAP
from analyzer.checks.overall import overall
from analyzer.debriefs.data import Approach

TIMING_S = 10.0  # ICAO Doc 8168 Vol. II I-4-3-7 h
HELD_FT = 100.0  # FAA-S-ACS-8C IR.IV.A.S1
TURN_S = 180.0 / 3.0 + 18.2 / 5.0  # half a turn at 3° a second, and half each of rolling in and out at 5° a second


def in_hold(flight: Whole, **hold: object) -> Approach:
    """The hold after a missed approach."""
    (only,) = flight.debrief(chart_of_approach(holds=[hold_table(**hold)])).holds
    return only.approaches[0]


def by_lap(approach: Approach, check: str) -> dict[tuple[int | None, str | None], str]:
    return {(finding.lap, finding.part): finding.verdict for finding in all_of(approach, check)}


def bumped(flown: Flown, lap: int, feet: float, level_ft: float = LEVEL_FT) -> Heights:
    """Level but for a departure in the outbound leg of a lap: there and back in 20 s each, and 10 s of it."""
    begun = flown.begins[f"out{lap}"] + 5.0
    off = [(0.0, level_ft), (20.0, level_ft + feet), (30.0, level_ft + feet), (50.0, level_ft)]
    return [(0.0, level_ft), *((begun + second, at) for second, at in off)]


@pytest.mark.parametrize(("charted", "verdict"), [("right", "inside"), ("left", "outside")])
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_direction_of_the_turns(charted, verdict, mirrored):
    """AIM 5-3-8 j.1: it is part of the hold. The entry is direct, which to either side begins on the inbound course."""
    flown = entered("direct").flown
    turns = {"right": "left", "left": "right"}[charted] if mirrored else charted
    approach = held(Whole(flown.mirrored() if mirrored else flown, level()), chart(turn=turns))
    finding = one_of(approach, "hold_turn")
    flown_to = "left" if mirrored else "right"
    assert (finding.measured, finding.limit, finding.verdict) == (flown_to, turns, verdict)
    assert (finding.leg, finding.part) == ("hold", "turn_inbound")


@pytest.mark.parametrize("kind", ["direct", "teardrop", "parallel"])
def test_each_entry_is_named_and_judged(kind):
    finding = one_of(held(entered(kind)), "hold_entry")
    assert (finding.measured, finding.leg) == (kind, "hold")
    assert finding.verdict == "inside"


def test_the_entry_is_timed_outbound_and_every_further_lap_inbound():
    """AIM 5-3-8 j.4: the inbound leg of the entry is not judged; its time sets that of the next outbound leg."""
    flown = missed_into_hold((80.0, 60.0, 85.0))
    timed = by_lap(in_hold(flown), "hold_timing")
    assert timed == {(1, "outbound"): "outside", (2, "inbound"): "inside", (3, "inbound"): "outside"}


@pytest.mark.parametrize(
    ("leg_s", "verdict"), [(45.0, "inside"), (66.0, "inside"), (70.0, "too close to call"), (76.0, "outside")]
)
def test_a_minute_outbound_in_the_entry_lap(leg_s, verdict):
    (finding,) = [f for f in all_of(in_hold(missed_into_hold((leg_s, 60.0))), "hold_timing") if f.lap == 1]
    assert (finding.part, finding.verdict, finding.limit, finding.tolerance) == ("outbound", verdict, 60.0, TIMING_S)
    assert finding.measured == pytest.approx(leg_s, abs=1.5)  # the standard deviation that is stated
    assert finding.margin == pytest.approx(60.0 + TIMING_S - leg_s, abs=1.5)


@pytest.mark.parametrize(
    ("leg_s", "verdict"), [(44.0, "outside"), (50.0, "too close to call"), (60.0, "inside"), (76.0, "outside")]
)
def test_a_minute_inbound_in_each_further_lap(leg_s, verdict):
    (finding,) = [f for f in all_of(in_hold(missed_into_hold((60.0, leg_s))), "hold_timing") if f.lap == 2]
    assert (finding.part, finding.verdict) == ("inbound", verdict)
    assert finding.measured == pytest.approx(leg_s, abs=1.5)
    assert finding.margin == pytest.approx(TIMING_S - abs(leg_s - 60.0), abs=1.5)


def test_the_length_of_every_outbound_leg_is_judged():
    """AIM 5-3-8 j.5: along the course for RNAV; a waypoint, away from any station. 45, 60 and 90 s are 1.5, 2.0 and 3.0 NM."""
    approach = in_hold(missed_into_hold((45.0, 60.0, 90.0)), leg_time_s=60.0)
    assert {finding.unit for finding in all_of(approach, "hold_timing")} == {"s"}
    by_length = {key: value for key, value in hold_table(leg_length_nm=2.0).items() if key != "leg_time_s"}
    (only,) = missed_into_hold((45.0, 60.0, 90.0)).debrief(chart_of_approach(holds=[by_length])).holds
    found = all_of(only.approaches[0], "hold_timing")
    assert [(f.lap, f.part, f.unit) for f in found] == [(lap, "outbound", "NM") for lap in (1, 2, 3)]
    assert [f.measured for f in found] == pytest.approx([45.0 * A_SECOND, 60.0 * A_SECOND, 90.0 * A_SECOND], abs=0.06)
    assert [f.verdict for f in found] == ["inside", "inside", "outside"]


@pytest.mark.parametrize(("off_ft", "verdict"), [(60.0, "inside"), (-60.0, "inside"), (150.0, "outside"), (-150.0, "outside")])
def test_the_level_is_judged_lap_by_lap(off_ft, verdict):
    # FAA-S-ACS-8C IR.IV.A.S1: ±100 ft, in the lap that it happened in
    flown = entered("direct").flown
    found = {f.lap: f for f in all_of(held(Whole(flown, bumped(flown, 2, off_ft))), "hold_altitude")}
    assert set(found) == {1, 2}
    assert (found[1].verdict, found[1].measured) == ("inside", pytest.approx(0.0, abs=1.0))
    assert found[2].verdict == verdict
    assert found[2].measured == pytest.approx(abs(off_ft), abs=5.0)
    assert found[2].margin == pytest.approx(HELD_FT - abs(off_ft), abs=5.0)
    assert f"ft {'above' if off_ft > 0.0 else 'below'}" in found[2].sentence
    assert found[2].sentence.startswith("Lap 2: ")


def test_a_different_level_in_the_next_lap_is_not_a_departure():
    """Cleared down 1,000 ft between laps: two levels."""
    flown = entered("direct", 2).flown
    begun = flown.begins["away3"]
    heights = [(0.0, LEVEL_FT), (begun, LEVEL_FT), (begun + 60.0, LEVEL_FT - 1000.0)]
    assert {f.verdict for f in all_of(held(Whole(flown, heights)), "hold_altitude")} == {"inside"}


@pytest.mark.parametrize("low_s", [60.0, 80.0, 100.0])
def test_the_level_is_the_one_before_and_after_however_long_it_is_left(low_s):
    """270 ft lower for as long as the level was held, and longer: the departure is that from the level, not from in between."""
    flown = entered("direct").flown
    begun = flown.begins["out2"]
    low = [(0.0, LEVEL_FT), (32.0, LEVEL_FT - 270.0), (32.0 + low_s, LEVEL_FT - 270.0), (64.0 + low_s, LEVEL_FT)]
    heights = [(0.0, LEVEL_FT), *((begun + second, at) for second, at in low)]
    found = {f.lap: f for f in all_of(held(Whole(flown, heights)), "hold_altitude")}
    assert (found[1].verdict, found[2].verdict) == ("inside", "outside")
    assert found[2].measured == pytest.approx(270.0, abs=5.0)
    assert found[2].details["level_ft"] == pytest.approx(LEVEL_FT, abs=5.0)


def test_without_altitude_no_level_is_judged():
    track = replace(NOISY, altitude_ft=None).of(entered("direct").flown)
    (only,) = debrief(track, chart(minimum_ft=3000.0).at()).holds
    for check in ("hold_altitude", "altitude_floor"):
        finding = one_of(only.approaches[0], check)
        assert (finding.verdict, finding.reason) == ("not assessed", "the log has no altitude")


@pytest.mark.parametrize(("below_ft", "verdict"), [(-30.0, "inside"), (0.0, "too close to call"), (120.0, "outside")])
def test_the_minimum_of_the_hold_counts_in_each_lap(below_ft, verdict):
    """The ±100 ft of FAA-S-ACS-8C apply to altitudes held and do not lower a minimum. Lap 2 goes below, or not."""
    flown = entered("direct").flown
    approach = held(Whole(flown, bumped(flown, 2, -200.0)), chart(minimum_ft=LEVEL_FT - 200.0 + below_ft))
    found = {f.lap: f for f in all_of(approach, "altitude_floor")}
    assert found[1].margin == pytest.approx(200.0 - below_ft, abs=2.0)
    assert found[2].margin == pytest.approx(-below_ft, abs=5.0)
    assert (found[1].verdict, found[2].verdict) == ("inside", verdict)
    assert {f.leg for f in found.values()} == {"hold"}


def test_a_level_lost_below_the_minimum_counts_once():
    """One event: it counts for the minimum, not also for the level of the same lap."""
    flown = entered("direct").flown
    approach = held(Whole(flown, bumped(flown, 2, -200.0)), chart(minimum_ft=LEVEL_FT - 50.0))
    assert {f.lap: f.verdict for f in all_of(approach, "altitude_floor")} == {1: "inside", 2: "outside"}
    level_of = {f.lap: f for f in all_of(approach, "hold_altitude")}
    assert (level_of[1].verdict, level_of[2].verdict) == ("inside", "not assessed")
    assert "altitude floor" in str(level_of[2].reason)


def climbing_into(minimum_s: float) -> Whole:
    """A missed approach that climbs steadily to 3,000 ft in some seconds."""
    flight = missed_into_hold()
    begun = flight.flown.begins["climb"]
    down = [point for point in flight.heights if point[0] <= begun]
    return Whole(flight.flown, [*down, (begun + minimum_s, HOLD_FT)])


def test_the_minimum_counts_once_the_climb_reached_it():
    """A missed approach climbs in the hold: until the minimum is reached, in lap 2 here, nothing is below it."""
    flight = climbing_into(700.0)
    lap_2 = flight.flown.begins["away2"] - flight.flown.begins["climb"]
    assert lap_2 < 700.0 < lap_2 + 240.0
    found = {f.lap: f.verdict for f in all_of(in_hold(flight), "altitude_floor")}
    assert found == {2: "inside", 3: "inside"}


def test_a_climb_that_stops_below_the_minimum_is_outside():
    flight = climbing_into(250.0)
    low = Whole(flight.flown, [(second, min(feet, HOLD_FT - 200.0)) for second, feet in flight.heights])
    found = all_of(in_hold(low), "altitude_floor")
    assert {f.lap: f.verdict for f in found} == {1: "outside", 2: "outside", 3: "outside"}
    # 2,950 ft is charted
    assert {round(f.margin / 5.0) * 5.0 for f in found} == {-150.0}


def test_the_charted_maximum_speed_of_a_hold_counts():
    """115 kt indicated are flown at 3,000 ft for 120 kt true; without one of its own AIM 5-3-8 j.2: 200 kt to 6,000 ft.

    Each lap is judged, for a limit that is kept in one lap may be passed in the next.
    """
    own = all_of(in_hold(missed_into_hold(), maximum_speed_kias=100), "speed_limit")
    assert [(f.lap, f.verdict, f.limit, f.leg) for f in own] == [
        (lap, "outside", pytest.approx(100.0), "hold") for lap in (1, 2, 3)
    ]
    published = all_of(in_hold(missed_into_hold()), "speed_limit")
    assert [(f.lap, f.verdict, f.limit) for f in published] == [(lap, "inside", pytest.approx(200.0)) for lap in (1, 2, 3)]


@pytest.mark.parametrize(("altitude_ft", "limit_kt"), [(6000.0, 200.0), (6100.0, 230.0), (14000.0, 230.0), (14100.0, 265.0)])
def test_the_published_speeds_depend_on_the_level_held(altitude_ft, limit_kt):
    # AIM 5-3-8 j.2: through 6,000 ft, from 6,001 through 14,000 ft, from 14,001 ft
    found = all_of(held(Whole(entered("direct").flown, level(altitude_ft))), "speed_limit")
    assert [f.limit for f in found] == [pytest.approx(limit_kt)] * 2


def drift(wind: Wind, out_s: float) -> dict[int | None, dict[str, float]]:
    """The figures of drift by lap, of two laps with the same time outbound."""
    approach = held(Whole(laps_in(wind, (out_s, out_s)), level()))
    found = all_of(approach, "hold_drift")
    assert {f.verdict for f in found} == {"not assessed"}  # a rule of thumb informs
    return {f.lap: dict(f.details) for f in found}


@pytest.mark.parametrize("wind", [(90.0, 20.0), (270.0, 15.0), (45.0, 15.0), (0.0, 20.0)])
def test_the_corrections_are_those_of_the_wind_triangle(wind):
    """Inbound sin(correction) = cross wind / airspeed; outbound what the flight was made with. Left is negative."""
    inbound = heading(180.0, wind) - 180.0
    assert math.sin(math.radians(inbound)) == pytest.approx(wind[1] * math.sin(math.radians(wind[0] - 180.0)) / SPEED_KT)
    for figures in drift(wind, 60.0).values():
        assert figures["inbound_correction_deg"] == pytest.approx(inbound, abs=0.7)
        assert figures["outbound_correction_deg"] == pytest.approx(correction_deg(60.0, wind), abs=0.7)


@pytest.mark.parametrize("along_kt", [20.0, 10.0, -10.0, -20.0])
def test_the_outbound_time_that_would_have_made_a_minute_inbound(along_kt):
    """With a wind w against the inbound leg: in × (V - w) = out × (V + w) + w × the turn, out from abeam the fix."""
    wind = (180.0, along_kt) if along_kt > 0.0 else (0.0, -along_kt)
    due = (60.0 * (SPEED_KT - along_kt) - along_kt * TURN_S) / (SPEED_KT + along_kt)
    for figures in drift(wind, 60.0).values():
        assert figures["outbound_due_s"] == pytest.approx(due, abs=3.0)


def test_flying_the_reported_outbound_time_makes_a_minute_inbound():
    """The outbound time reported for one flight, flown in the next."""
    wind = (150.0, 18.0)
    outbound_s = drift(wind, 60.0)[2]["outbound_due_s"]
    # from abeam the fix to wings level: the turn outbound drifts, and the rest is timed from there
    outbound = next(f for f in all_of(held(Whole(laps_in(wind, (60.0, 60.0)), level())), "hold_timing") if f.lap == 1)
    again = held(Whole(laps_in(wind, (outbound_s - (outbound.measured - 60.0),) * 2), level()))
    (inbound,) = [f for f in all_of(again, "hold_timing") if f.lap == 2]
    assert inbound.measured == pytest.approx(60.0, abs=3.0)
    assert inbound.verdict == "inside"


@pytest.mark.parametrize("kind", ["teardrop", "parallel"])
def test_an_offset_entry_leg_has_no_drift_finding(kind):
    assert [f.lap for f in all_of(held(entered(kind)), "hold_drift")] == [2]


def test_a_hold_is_judged_as_a_hold_and_an_approach_is_not():
    debriefed = missed_into_hold().debrief()
    (laps,) = (one.approaches[0] for one in debriefed.holds)
    (approach,) = debriefed.approaches
    assert all(finding.leg == "hold" for finding in laps.findings)
    assert not {"hold_turn", "hold_altitude", "hold_drift", "hold_entry"} & {f.check for f in approach.findings}
    assert not {"distance_limit", "reversal_side", "missed_point", "final_course"} & {f.check for f in laps.findings}


@pytest.mark.parametrize("before_s", [10.0, 20.0, 40.0])
def test_an_inbound_leg_that_the_end_of_the_log_cuts_off_has_no_time(before_s):
    """The recorder is stopped in the hold, on the inbound leg of the second lap: it took longer than the log shows."""
    whole = entered("direct")
    names = ("time_s", "x_nm", "y_nm", "heading_deg", "bank_deg")
    last = int(np.searchsorted(whole.flown.time_s, whole.flown.begins["on"] - before_s))
    cut = replace(whole.flown, **{name: getattr(whole.flown, name)[:last] for name in names})
    finding = next(one for one in all_of(held(replace(whole, flown=cut)), "hold_timing") if one.lap == 2)
    assert (finding.verdict, finding.reason) == ("not assessed", "the log ends in it")
    assert by_lap(held(whole), "hold_timing")[2, "inbound"] == "inside"


def test_a_hold_with_a_minimum_and_no_altitude_in_it_is_no_pass():
    """The altitudes of the approach before it are known; those of the hold are missing."""
    flight = missed_into_hold()
    track = replace(NOISY, altitude_ft=flight.heights).of(flight.flown)
    since = track.time_s - track.time_s[0]
    blank = np.where(since > flight.flown.begins["climb"] + 20.0, np.nan, track.altitude_m)
    result = debrief(replace(track, altitude_m=blank), chart_of_approach(holds=[hold_table(minimum_ft=HOLD_FT)]).at())
    (approach,) = result.holds[0].approaches
    floor = one_of(approach, "altitude_floor")
    assert (floor.verdict, floor.reason) == ("not assessed", "the log has no altitude")
    assert overall(approach.findings, approach.reversal)[0] == "not assessed"


@pytest.mark.parametrize("kind", ["direct", "teardrop"])
def test_a_gap_that_hides_a_turn_at_the_fix_begins_no_new_hold(kind):
    flight = entered(kind, further=2)
    turned_s = flight.flown.begins["away3"]
    approach = held(flight, chart(minimum_ft=LEVEL_FT - 30.0), replace(NOISY, hole_s=(turned_s + 3.0, turned_s + 60.0)))
    assert max(part.lap or 0 for part in approach.reversal.parts) == 3
    assert one_of(approach, "hold_entry").verdict == "inside"
    assert "outside" not in {finding.verdict for finding in approach.findings}
    floors = {finding.lap: finding.verdict for finding in all_of(approach, "altitude_floor")}
    assert floors == {1: "inside", 2: "inside", 3: "not assessed"}


@pytest.mark.parametrize("kind", ["direct", "teardrop", "parallel"])
def test_an_entry_whose_turn_a_gap_hides_is_not_judged(kind):
    """Which entry it was shows only in the turn at the fix."""
    flight = entered(kind)
    over_s = sorted(flight.flown.begins.values())[1]
    approach = held(flight, log=replace(NOISY, hole_s=(over_s + 1.0, over_s + 60.0)))
    for finding in (one_of(approach, "hold_entry"), all_of(approach, "hold_timing")[0]):
        assert (finding.verdict, finding.reason) == ("not assessed", GAP)
