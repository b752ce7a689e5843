"""Gaps in the log that hide a passage of a hold's fix: what is flown after them may be another lap."""

from dataclasses import replace

import pytest
from checked import NOISY, all_of, one_of
from hold_flights import chart, entered, held, laps_in, level
from missed_flights import Whole
from synthetic import CALM, Chart

from analyzer import debrief

IN_LIEU = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0})


@pytest.mark.parametrize("before_s", [15.0, 25.0])
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_lap_after_a_gap_over_the_fix_is_no_final_course_off_it(before_s, mirrored):
    """The gap goes on until the outbound leg of the lap, which leads away from the final course and not along it."""
    flown = entered("direct", 2).flown
    hole = flown.begins["away3"] - before_s, flown.begins["away3"] + 62.0
    charted = replace(IN_LIEU, reversal={**IN_LIEU.reversal, "turn": "left" if mirrored else "right"})
    track = replace(NOISY, hole_s=hole).of(flown.mirrored() if mirrored else flown)
    for approach in debrief(track, charted.at()).approaches:
        assert {finding.verdict for finding in all_of(approach, "final_course")} <= {"not assessed"}


def test_the_first_lap_after_a_gap_is_not_timed_as_an_entry():
    """Its outbound leg of 80 s brings the inbound one to its minute, if it is a further lap."""
    flown = laps_in(CALM, (60.0, 80.0, 80.0))
    shown = flown.begins["away2"] - 40.0
    hole = shown - 260.0, shown
    laps = held(Whole(flown, level()), chart(), replace(NOISY, hole_s=hole))
    assert one_of(laps, "hold_entry").verdict == "not assessed"
    outbound = [finding for finding in all_of(laps, "hold_timing") if finding.part == "outbound"]
    assert {finding.verdict for finding in outbound} <= {"not assessed"}
