"""Entry and timing of a charted hold against the published rules: inside, outside, at the limit, and not assessed.

Headings at the fix are counted from the inbound course in the direction of the hold's turns, as the sectors are.
"""

import datetime as dt
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from checked import NOISY, all_of, debriefed, homeward, one_of
from synthetic import CALM, HERE, START_S, Chart, Flown, Segment, Straight, Turn, Wind, fly, holding, standard_rate_bank

from analyzer import debrief, read_standard
from analyzer.checks.figures import measure
from analyzer.checks.finding import Context, Finding
from analyzer.checks.hold_timing import hold_timing
from analyzer.legs.find import find_reversals
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

RATE_ONE = standard_rate_bank(120.0)
WIDTH_NM = 4.0 / math.pi  # across a hold in still air: two radii of a standard rate turn at 120 kt
CUTS = {"direct": (30.0, -30.0, 10.0, -10.0), "teardrop": (30.0, -30.0, 10.0, -10.0), "parallel": (-45.0,)}


def chart(turn: int = 1, **limit: float) -> Chart:
    hold = {"kind": "hold", "turn": "right" if turn > 0 else "left", **(limit or {"leg_time_s": 60.0})}
    return Chart(side=None, within_nm=None, reversal=hold)


@cache
def entered(entry: str, from_inbound_deg: float, outbound_s: float = 60.0, wind: Wind = CALM) -> Flown:
    """An entry into a hold with right turns (AIM 5-3-8 j.3), whatever the heading, and back on the inbound course."""

    def hold(course: float) -> float:
        return holding(course, 120.0, wind)

    heading = 180.0 + from_inbound_deg
    to_fix = fly([Straight("arrival", 90.0)], (0.0, 0.0), heading, wind=wind)
    start = -float(to_fix.x_nm[-1]), -float(to_fix.y_nm[-1])
    out = hold(-30.0 if entry == "teardrop" else 0.0)
    by = (out - heading) % 360.0 if entry == "direct" else math.remainder(out - heading, 360.0)
    path: list[Segment] = [Straight("arrival", 90.0)]
    if abs(by) > 1.0:
        path.append(Turn("entry_turn", by, min(RATE_ONE, max(4.0, abs(by) / 2.0))))
    path.append(Straight("outbound", outbound_s))
    on = heading + by if abs(by) > 1.0 else heading
    for cut in CUTS[entry]:
        home = hold(180.0) - hold(180.0 + cut)
        back = (hold(180.0 + cut) - on) % 360.0 - (360.0 if entry == "parallel" else 0.0)
        turns = Turn("reversal_turn", back, RATE_ONE), Turn("join", home, 15.0)

        def run(seconds: float, *after: Segment, turns: tuple[Turn, Turn] = turns) -> Flown:
            segments = [*path, turns[0], Straight("cut", seconds), turns[1], *after]
            return fly(segments, start, heading, roll_deg_s=5.0, wind=wind)

        near, far = (float(run(seconds).x_nm[-1]) for seconds in (10.0, 20.0))
        if (cut_s := 10.0 - 10.0 * near / (far - near)) > 0.0:
            return run(cut_s, Straight("inbound", 180.0))
    raise ValueError(f"{entry} from {from_inbound_deg}: no way back onto the course")


def circuits(*legs_s: float) -> Flown:
    """A direct entry and circuits to the right, each with its own time outbound and, in still air, inbound."""
    path: list[Segment] = [Straight("arrival", 90.0)]
    for number, leg in enumerate(legs_s):
        path += [Turn(f"away{number}", 180.0, RATE_ONE), Straight(f"out{number}", leg)]
        path += [Turn(f"back{number}", 180.0, RATE_ONE), Straight(f"in{number}", leg)]
    return fly([*path, Straight("final", 60.0)], (0.0, 3.0), 180.0, roll_deg_s=5.0)


@pytest.mark.parametrize(
    ("entry", "from_inbound_deg", "called_for", "verdict"),
    [
        ("direct", 40.0, "direct", "inside"),
        ("direct", 112.0, "teardrop", "inside"),  # within 5° of the edge
        ("direct", 122.0, "teardrop", "outside"),
        ("direct", -75.0, "parallel", "too close to call"),
        ("direct", -82.0, "parallel", "outside"),
        ("teardrop", 150.0, "teardrop", "inside"),
        ("teardrop", 192.0, "parallel", "outside"),
        ("parallel", 168.0, "teardrop", "outside"),
        ("parallel", 175.0, "teardrop", "too close to call"),
        ("parallel", 240.0, "parallel", "inside"),
    ],
)
@pytest.mark.parametrize("turn", [1, -1])
def test_the_entry_for_the_heading(entry, from_inbound_deg, called_for, verdict, turn):
    # AIM 5-3-8 j.3: the 70-degree line, so sectors of 70° (teardrop), 110° (parallel) and 180°; j.8(d): ±5° at their edges.
    flown = entered(entry, from_inbound_deg)
    finding = one_of(debriefed(flown if turn > 0 else flown.mirrored(), chart=chart(turn)), "hold_entry")
    assert (finding.measured, finding.limit, finding.verdict) == (entry, called_for, verdict)
    assert "AIM 5-3-8" in finding.source
    magnetic = (62.0 + 11.0 + 180.0 + turn * from_inbound_deg) % 360.0  # the outbound course is 062 true, 073 magnetic
    assert finding.details["heading_deg_magnetic"] == pytest.approx(magnetic, abs=1.0)


@pytest.mark.parametrize("turn", [1, -1])
def test_a_direct_entry_into_the_mirrored_hold_is_not_taken_for_turns_as_charted(turn):
    """It is a parallel entry into the charted hold over the same ground: no turn of either shows which hold was meant."""
    flown = entered("direct", 60.0)
    approach = debriefed(flown if turn > 0 else flown.mirrored(), chart=chart(-turn))
    charted, other = ("left", "right") if turn > 0 else ("right", "left")
    entry, side = one_of(approach, "hold_entry"), one_of(approach, "reversal_side")
    assert (entry.measured, entry.limit, entry.verdict) == ("parallel", "direct", "outside")
    assert entry.sentence.endswith(f" A direct entry into a hold with {other} turns looks the same.")
    assert side.verdict == "not assessed"
    assert side.sentence == f"Parallel entry into a hold with {charted} turns, as charted; no lap of it was flown."
    assert side.reason == f"a direct entry into a hold with {other} turns looks the same"


@pytest.mark.parametrize(("entry", "from_inbound_deg"), [("direct", 40.0), ("teardrop", 150.0), ("parallel", 240.0)])
def test_the_entry_that_is_called_for_leaves_no_doubt_of_the_side(entry, from_inbound_deg):
    approach = debriefed(entered(entry, from_inbound_deg), chart=chart())
    assert "looks the same" not in one_of(approach, "hold_entry").sentence
    assert one_of(approach, "reversal_side").verdict == "inside"


def test_the_entry_is_judged_by_heading_not_track():
    # AIM 5-3-8 j.8(d). A wind from the left bends the track 18° to the right, which as a heading would call for a teardrop.
    from_inbound_deg, wind = 104.0, (180.0 + 104.0 - 90.0, 40.0)
    assert from_inbound_deg + math.degrees(math.atan(40.0 / 120.0)) > 115.0 + 5.0
    finding = one_of(debriefed(entered("direct", from_inbound_deg, wind=wind), chart=chart()), "hold_entry")
    assert finding.details["heading_deg_magnetic"] == pytest.approx((253.0 + from_inbound_deg) % 360.0, abs=2.0)
    assert (finding.measured, finding.limit, finding.verdict) == ("direct", "direct", "inside")


@pytest.mark.parametrize(("from_inbound_deg", "verdict"), [(150.0, "inside"), (185.0, "too close to call")])
def test_without_a_wind_the_track_is_used_away_from_the_edges(from_inbound_deg, verdict):
    # a log that ends after some 100° of the turn back is too short to estimate the wind
    flown = entered("teardrop", from_inbound_deg)
    approach = debriefed(flown, replace(NOISY, end_s=flown.begins["reversal_turn"] + 32.0), chart())
    assert approach.figures.wind is None
    finding = one_of(approach, "hold_entry")
    assert finding.verdict == verdict
    assert "; track " in finding.sentence


def test_a_gap_before_the_fix_leaves_no_heading():
    approach = debriefed(entered("direct", 40.0), replace(NOISY, hole_s=(78.0, 94.0)), chart())
    finding = one_of(approach, "hold_entry")
    assert (finding.verdict, finding.measured, finding.limit) == ("not assessed", "direct", None)
    assert finding.reason


def test_flying_another_shape_than_the_hold_is_outside():
    # AIM 5-4-9 a.5: a hold in lieu of a procedure turn is flown as depicted
    flown = homeward([Straight("arrival", 90.0), Straight("outbound", 90.0)], (0.0, -3.0), 0.0)
    approach = debriefed(flown, chart=chart(-1))
    finding = one_of(approach, "hold_entry")
    assert (finding.verdict, finding.measured) == ("outside", "45/180")
    assert all_of(approach, "hold_timing") == []


@pytest.mark.parametrize(
    ("leg_s", "verdict"), [(40.0, "inside"), (66.0, "inside"), (70.0, "too close to call"), (75.0, "outside")]
)
@pytest.mark.parametrize("turn", [1, -1])
def test_a_minute_outbound(leg_s, verdict, turn):
    # AIM 5-3-8 j.4: 1 minute; 5-4-9 a.5: not to be exceeded; ICAO Doc 8168 Vol. II I-4-3-7 h: timing ±10 s.
    flown = circuits(leg_s) if turn > 0 else circuits(leg_s).mirrored()
    finding = one_of(debriefed(flown, chart=chart(turn)), "hold_timing")
    assert (finding.verdict, finding.limit, finding.tolerance, finding.unit) == (verdict, 60.0, 10.0, "s")
    assert finding.measured == pytest.approx(leg_s, abs=2.0)


def test_the_charted_time_counts():
    assert one_of(debriefed(circuits(90.0), chart=chart(leg_time_s=90.0)), "hold_timing").verdict == "inside"
    assert one_of(debriefed(circuits(75.0), chart=chart(leg_time_s=45.0)), "hold_timing").verdict == "outside"


@pytest.mark.parametrize("from_inbound_deg", [-60.0, 60.0])
def test_outbound_is_timed_from_over_or_abeam_the_fix_whichever_is_later(from_inbound_deg):
    # AIM 5-3-8 j.4(b). After 240° of turn the aircraft is not yet abeam the fix, after 120° it is past it with its wings level.
    flown = entered("direct", from_inbound_deg, 80.0)
    level, turned = flown.begins["outbound"], flown.begins["reversal_turn"]
    abeam = max((float(t) for t, y in zip(flown.time_s, flown.y_nm, strict=True) if t < turned and y < 0.0), default=0.0)
    assert (abeam > level + 10.0) == (from_inbound_deg < 0.0)
    finding = one_of(debriefed(flown, chart=chart()), "hold_timing")
    assert finding.measured == pytest.approx(turned - abeam, abs=2.5)
    assert "from abeam the fix" in finding.sentence


@pytest.mark.parametrize(("entry", "from_inbound_deg"), [("teardrop", 150.0), ("parallel", 240.0)])
def test_the_leg_of_a_teardrop_or_parallel_entry_is_timed_from_over_the_fix(entry, from_inbound_deg):
    # AIM 5-3-8 j.3: outbound for a minute from the fix, including the turn
    flown = entered(entry, from_inbound_deg)
    over = float(flown.time_s[int(np.argmin(np.where(flown.time_s < 120.0, flown.distance_nm, np.inf)))])
    finding = one_of(debriefed(flown, chart=chart()), "hold_timing")
    assert finding.measured == pytest.approx(flown.begins["reversal_turn"] - over, abs=2.5)
    assert "from over the fix" in finding.sentence


def test_where_a_gap_hides_the_fix_the_leg_is_timed_from_wings_level():
    # AIM 5-3-8 j.4(b): where abeam cannot be determined, from completion of the turn outbound
    flown = circuits(60.0)
    hole = replace(NOISY, hole_s=(flown.begins["away0"] + 20.0, flown.begins["away0"] + 40.0))
    finding = one_of(debriefed(flown, hole, chart()), "hold_timing")
    assert finding.measured == pytest.approx(flown.begins["back0"] - flown.begins["out0"], abs=2.5)
    assert "from wings level" in finding.sentence


@pytest.mark.parametrize(
    ("end_nm", "verdict"), [(3.6, "inside"), (4.3, "inside"), (4.5, "too close to call"), (4.9, "outside")]
)
def test_a_charted_length(end_nm, verdict):
    # AIM 5-3-8, figure 5-3-5: the leg ends at a distance from the fix, here as a DME at it reads 3,000 ft below; AIM 1-1-7 b:
    # a DME is right to half a mile.
    flown = circuits(math.sqrt(end_nm**2 - WIDTH_NM**2) * 30.0)
    finding = one_of(debriefed(flown, chart=chart(leg_length_nm=4.0)), "hold_timing")
    assert (finding.verdict, finding.limit, finding.unit) == (verdict, 4.0, "NM")
    slant_nm = math.hypot(end_nm, 3000.0 * 0.3048 / 1852.0)
    assert finding.measured == pytest.approx(slant_nm, abs=0.06)  # two seconds' flight


def timing_without_a_charted_limit(altitude_ft: float) -> Finding:
    charted = replace(resolve(chart().at(), dt.date(2026, 6, 1)), leg_time_s=None)
    motion = analyse_motion(replace(NOISY, altitude_ft=altitude_ft).of(circuits(80.0)), charted)
    (reversal,) = find_reversals(motion)
    (finding,) = hold_timing(Context(motion, reversal, measure(motion, reversal), read_standard()))
    return finding


def test_a_minute_and_a_half_above_fourteen_thousand_feet():
    # AIM 5-3-8 j.4: 1 minute at or below 14,000 ft, a minute and a half above.
    low, high = timing_without_a_charted_limit(13_900.0), timing_without_a_charted_limit(14_100.0)
    assert (low.limit, low.verdict) == (60.0, "outside")
    assert (high.limit, high.verdict) == (90.0, "inside")


@pytest.mark.parametrize(("leg_s", "verdict"), [(30.0, "outside"), (55.0, "inside"), (90.0, "outside")])
def test_the_time_of_an_inbound_leg_is_a_target(leg_s, verdict):
    # AIM 5-3-8 j.4: outbound legs after the first are adjusted to make the inbound leg a minute.
    findings = all_of(debriefed(circuits(60.0, leg_s), chart=chart()), "hold_timing")
    assert [(finding.part, finding.verdict) for finding in findings] == [("outbound", "inside"), ("inbound", verdict)]


@pytest.mark.parametrize(
    ("leg_s", "verdict"), [(45.0, "outside"), (50.0, "too close to call"), (70.0, "too close to call"), (76.0, "outside")]
)
@pytest.mark.parametrize("turn", [1, -1])
def test_the_inbound_leg_is_timed_from_wings_level(leg_s, verdict, turn):
    # ICAO Doc 8168 Vol. II I-4-3-7 h: ±10 s. A turn onto the course ends seconds after the aircraft is established on it.
    flown = circuits(60.0, leg_s) if turn > 0 else circuits(60.0, leg_s).mirrored()
    approach = debriefed(flown, chart=chart(turn))
    finding, part = one_of(approach, "hold_timing", part="inbound"), approach.reversal.last_part("inbound")
    assert part is not None
    assert part.start_s - START_S < flown.begins["in1"] - 4.0
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(leg_s, abs=1.5)  # the standard deviation that is stated
    assert finding.place is not None
    assert finding.place.time_s - START_S == pytest.approx(flown.begins["in1"], abs=1.5)


def test_a_gap_makes_inside_not_assessed_but_leaves_outside():
    for leg_s, verdict in ((60.0, "not assessed"), (100.0, "outside")):
        hole = replace(NOISY, hole_s=(175.0, 190.0))  # some 20 s into the leg
        assert one_of(debriefed(circuits(leg_s), hole, chart()), "hold_timing").verdict == verdict


@pytest.mark.parametrize("before_s", [0.0, 10.0, 20.0, 40.0])
@pytest.mark.parametrize("hole_s", [50.0, 65.0, 80.0])
def test_an_outbound_leg_that_ends_in_a_hole_may_have_ended_where_the_hole_begins(before_s, hole_s):
    flown = entered("direct", 40.0)
    turned_s = flown.begins["reversal_turn"]
    log = replace(NOISY, hole_s=(turned_s - before_s, turned_s - before_s + hole_s))
    for result in debrief(log.of(flown, HERE), chart().at(HERE)).approaches:
        assert "outside" not in {finding.verdict for finding in all_of(result, "hold_timing")}


@pytest.mark.parametrize("before_s", [-30.0, 20.0])
def test_a_descent_in_a_later_circuit_waits_for_its_own_inbound_leg(before_s):
    """Level round the first lap, and down before, or after, being established on the inbound leg of the second.

    AIM 5-4-9 a: the altitude of the reversal is a minimum until established inbound.
    """
    flown, charted = circuits(60.0, 60.0), replace(chart(), floors_ft={"reversal": 3000.0, "inbound": 1800.0})
    level = debriefed(flown, replace(NOISY, altitude_ft=3040.0), charted)
    settled_s = [part.start_s - START_S for part in level.reversal.parts if part.name == "inbound"]
    assert len(settled_s) == 2
    begins = settled_s[1] + before_s
    heights = [(0.0, 3040.0), (begins, 3040.0), (begins + 100.0, 1840.0), (begins + 900.0, 1840.0)]  # 720 ft/min
    approach = debriefed(flown, replace(NOISY, altitude_ft=heights), charted)
    timing = one_of(approach, "descent_timing")
    # 100 ft below 3,000 ft, from 40 ft above it
    assert timing.measured == pytest.approx(before_s + 140.0 / 12.0, abs=3.0)
    if before_s > 0.0:
        assert timing.verdict == "inside"
        return
    low = one_of(approach, "altitude_floor", leg="reversal")
    assert low.verdict == "outside"
    assert low.lesson is not None
    early = float(str(low.lesson.cause).rpartition(" s before being established inbound")[0].rpartition(" ")[2])
    assert early == pytest.approx(-before_s, abs=6.0)  # begun 50 ft below its level
    assert str(low.lesson.advice).startswith("Wait until established")
