"""A first time round a hold that is turned the wrong way, before laps as charted: AIM 5-3-8 j.1, j.3(c)."""

import math

import pytest
from checked import one_of, solve
from hold_flights import SPEED_KT, chart, held, level
from missed_flights import A_SECOND, BANK, Whole
from synthetic import CALM, Chart, Flown, Log, Segment, Straight, Turn, fly

from analyzer import debrief

FAR_NM = 5.0  # before the fix


def entered_the_wrong_way(out_s: float) -> Flown:
    """In over the fix, right to the outbound heading, out, and back over the fix by a left turn; then laps."""
    return back_over_the_fix(180.0, 180.0, out_s)


def back_over_the_fix(heading_deg: float, away_deg: float, out_s: float) -> Flown:
    """In over the fix on a heading, round to the outbound one, out, and straight back over it by a left turn; then laps."""
    ahead = math.radians(heading_deg)
    begins = -FAR_NM * math.sin(ahead), -FAR_NM * math.cos(ahead)
    arrival = Straight("arrival", FAR_NM / A_SECOND)
    out: list[Segment] = [arrival, Turn("away0", away_deg, BANK), Straight("out0", out_s)]

    def run(path: list[Segment]) -> Flown:
        return fly(path, begins, heading_deg, SPEED_KT, CALM, 5.0)

    def misses_nm(turned: float) -> float:
        end = run([*out, Turn("back0", -turned, BANK)])
        heading = math.radians(end.heading_deg[-1])
        return float(end.x_nm[-1] * math.cos(heading) - end.y_nm[-1] * math.sin(heading))

    turned = solve(misses_nm, 0.0, 182.0, 270.0)
    path = [*out, Turn("back0", -turned, BANK)]
    path.append(Straight("to_fix", float(run(path).distance_nm[-1]) / A_SECOND))
    path += [Turn("away1", turned, BANK), Straight("out1", 60.0)]
    cut = min((30.0, -30.0, 10.0, -10.0), key=lambda angle: cut_s(run, path, angle) <= 0.0)
    path += [Turn("back1", 180.0 - cut, BANK), Straight("cut1", cut_s(run, path, cut)), Turn("join1", cut, BANK / 2.0)]
    path.append(Straight("in1", float(run(path).y_nm[-1]) / A_SECOND))
    path += [Turn("away2", 180.0, BANK), Straight("out2", 60.0), Turn("back2", 180.0, BANK), Straight("in2", 60.0)]
    return run([*path, Straight("on", 40.0)])


def cut_s(run, path: list[Segment], angle: float) -> float:
    """Seconds of an intercept of the inbound course at an angle, to which its distance is linear."""
    back, join = Turn("back1", 180.0 - angle, BANK), Turn("join1", angle, BANK / 2.0)
    near, far = (float(run([*path, back, Straight("cut1", s), join]).x_nm[-1]) for s in (10.0, 20.0))
    return 10.0 - 10.0 * near / (far - near)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("out_s", [40.0, 60.0])
def test_a_first_round_the_wrong_way_is_the_entry(out_s, mirrored):
    flown = entered_the_wrong_way(out_s)
    turns, other = ("left", "right") if mirrored else ("right", "left")
    hold = held(Whole(flown.mirrored() if mirrored else flown, level()), chart(turn=turns))
    finding = one_of(hold, "hold_turn")
    assert (finding.verdict, finding.measured, finding.limit) == ("outside", other, turns)
    assert finding.lesson is not None
    assert "calls for a direct entry" in finding.lesson.advice
    # one event
    entry = one_of(hold, "hold_entry")
    assert (entry.verdict, "hold turn" in entry.reason) == ("not assessed", True)


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_parallel_entry_that_returns_straight_to_the_fix_is_the_first_lap(mirrored):
    """AIM 5-3-8 j.3(a): outbound for a minute from over the fix, and back to it: lap 1 has no inbound leg."""
    flown = back_over_the_fix(30.0, -30.0, 60.0 - 13.6)  # the turn takes 10 s at 3°/s and 3.6 s more for its rolls
    hold = held(Whole(flown.mirrored() if mirrored else flown, level()), chart(turn="left" if mirrored else "right"))
    entry = one_of(hold, "hold_entry")
    assert (entry.verdict, entry.measured, entry.limit) == ("inside", "parallel", "parallel")
    outbound, *inbound = [finding for finding in hold.findings if finding.check == "hold_timing"]
    assert (outbound.part, outbound.lap, outbound.verdict) == ("outbound", 1, "inside")
    assert outbound.measured == pytest.approx(60.0, abs=2.0)
    assert [(finding.part, finding.lap) for finding in inbound] == [("inbound", 2), ("inbound", 3)]


def test_a_fix_that_is_crossed_long_before_the_hold_is_no_entry():
    """Ten miles away before turning round to it: en route, not in the hold."""
    hold = held(Whole(entered_the_wrong_way(300.0), level()))
    assert one_of(hold, "hold_turn").verdict == "inside"


def in_lieu(flown: Flown, turns: str):
    """The flight as that of a hold in lieu of a procedure turn."""
    charted = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": turns, "leg_time_s": 60.0})
    (approach,) = debrief(Log(noise_m=1.0).of(flown), charted.at()).approaches
    return approach


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("out_s", [40.0, 60.0])
def test_a_first_round_the_wrong_way_in_lieu_of_a_procedure_turn(out_s, mirrored):
    """AIM 5-4-9 a.5: the hold is flown as charted, and a round of it before that one is no arrival."""
    flown = entered_the_wrong_way(out_s)
    turns, other = ("left", "right") if mirrored else ("right", "left")
    approach = in_lieu(flown.mirrored() if mirrored else flown, turns)
    finding = one_of(approach, "reversal_side")
    assert (finding.verdict, finding.measured, finding.limit) == ("outside", other, turns)
    assert f"the turn back to it was to the {other}; {turns} turns are charted" in finding.sentence
    assert one_of(approach, "hold_entry").verdict == "not assessed"


def test_a_fix_of_a_hold_in_lieu_that_is_crossed_long_before_is_no_round_of_it():
    approach = in_lieu(entered_the_wrong_way(300.0), "right")
    assert one_of(approach, "reversal_side").verdict == "inside"
    assert one_of(approach, "hold_entry").verdict == "inside"


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_round_that_is_no_entry_leaves_open_which_entry_was_flown(mirrored):
    """Over the fix from the parallel sector, round to the outbound heading by the holding side, and back the other way."""
    flown = back_over_the_fix(30.0, 330.0, 40.0)
    hold = held(Whole(flown.mirrored() if mirrored else flown, level()), chart(turn="left" if mirrored else "right"))
    entry = one_of(hold, "hold_entry")
    assert (entry.verdict, "what was flown from there is not recognised" in entry.reason) == ("not assessed", True)
    first = next(finding for finding in hold.findings if finding.check == "hold_timing" and finding.part == "outbound")
    assert first.verdict == "not assessed"
