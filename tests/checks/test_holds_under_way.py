"""A log that begins in a hold: the entry is not in it, and its laps are judged as those that follow an entry.

AIM 5-3-8 j.4: the first outbound leg is flown for a minute, the others for what makes the inbound leg a minute.
"""

import math
from dataclasses import replace
from functools import cache

import pytest
from checked import all_of, one_of, solve
from hold_flights import LEVEL_FT, chart, entered, held, laps_in, level
from missed_flights import Whole
from synthetic import CALM, Chart, Flown, Straight, Turn, fly, standard_rate_bank

from analyzer.report.words.summary import summary_text

TAIL_WIND = (0.0, 20.0)  # inbound


@cache
def due_s(wind) -> float:
    """The time outbound that makes the inbound leg a minute, by flying it; timed from wings level."""

    def inbound_s(out_s: float) -> float:
        flown = laps_in(wind, (out_s, out_s))
        return flown.begins["away2"] - flown.begins["in1"]

    return solve(inbound_s, 60.0, 40.0, 150.0)


def from_second(flown: Flown, begin_s: float) -> Whole:
    """The flight as logged from an instant on, level."""
    k = round(begin_s / 0.1)
    cut = {name: getattr(flown, name)[k:] for name in ("x_nm", "y_nm", "heading_deg", "bank_deg")}
    begins = {name: second - flown.time_s[k] for name, second in flown.begins.items()}
    return Whole(replace(flown, time_s=flown.time_s[k:] - flown.time_s[k], begins=begins, **cut), level())


def from_part(flown: Flown, part: str, into_s: float) -> Whole:
    return from_second(flown, flown.begins[part] + into_s)


def timings(approach) -> dict[tuple[int | None, str | None], str]:
    return {(finding.lap, finding.part): finding.verdict for finding in all_of(approach, "hold_timing")}


@pytest.mark.parametrize(("part", "into_s"), [("in1", 5.0), ("in1", 40.0), ("out1", 30.0), ("back1", 5.0)])
def test_a_long_outbound_leg_that_makes_a_minute_inbound_is_no_long_entry(part, into_s):
    out_s = due_s(TAIL_WIND)
    assert out_s > 75.0
    flown = laps_in(TAIL_WIND, (out_s,) * 4)
    whole = held(Whole(flown, level()))
    assert timings(whole)[1, "outbound"] == "outside"  # of the entry, which is timed
    later = held(from_part(flown, part, into_s))
    assert timings(later) == {(1, "inbound"): "inside", (2, "inbound"): "inside", (3, "inbound"): "inside"}
    entry = one_of(later, "hold_entry")
    assert (entry.verdict, entry.measured) == ("not assessed", None)
    assert "numbered from the first that it shows" in entry.sentence
    assert "the entry is not in the log" in str(entry.reason)


def test_an_inbound_leg_that_is_too_long_is_outside_in_the_first_lap_seen_too():
    flown = laps_in(CALM, (90.0,) * 4)  # in still air inbound as outbound
    outside = {(1, "inbound"): "outside", (2, "inbound"): "outside", (3, "inbound"): "outside"}
    assert timings(held(from_part(flown, "out1", 40.0))) == outside
    # from the inbound course on, the first lap seen may be the entry, whose inbound leg is as long as it comes
    perhaps = held(from_part(flown, "in1", 45.0))
    assert timings(perhaps) == {**outside, (1, "inbound"): "not assessed"}
    assert "may be the entry" in str(next(f.reason for f in all_of(perhaps, "hold_timing") if f.lap == 1))


def test_a_log_that_begins_on_the_way_to_the_hold_holds_the_entry():
    for kind in ("direct", "teardrop", "parallel"):
        assert one_of(held(entered(kind)), "hold_entry").verdict == "inside"


@pytest.mark.parametrize(("part", "into_s"), [("out1", 20.0), ("back1", 5.0), ("back1", 50.0), ("cut1", 5.0)])
def test_a_log_that_begins_in_a_parallel_entry_holds_none(part, into_s):
    """Out on the course or in the turn back, which goes the other way than those of the hold: AIM 5-3-8 j.3(a)."""
    approach = held(from_part(entered("parallel", further=2).flown, part, into_s))
    entry = one_of(approach, "hold_entry")
    assert (entry.verdict, entry.measured) == ("not assessed", None)
    assert (1, "outbound") not in timings(approach)


def test_the_report_does_not_name_an_entry_that_it_has_not_seen():
    flown = laps_in(CALM, (60.0,) * 3)
    text = " ".join(summary_text(from_part(flown, "out1", 20.0).debrief(chart())).split())
    assert "Hold flown: right turns, the log begins in it, 2 laps, numbered below." in text
    document = from_part(flown, "out1", 20.0).debrief(chart()).to_dict()
    assert [one["entry"] for one in document["holds"]] == [None]
    text = " ".join(summary_text(Whole(flown, level()).debrief(chart())).split())
    assert "Hold flown: direct entry, right turns, 3 laps" in text


def test_how_long_a_leg_is_by_length_needs_no_beginning():
    """0.35 NM beyond the fix the log begins, in the first turn: the length of a leg is read where it ends (AIM 5-3-8 j.5)."""
    flown = entered("direct", 2).flown
    begun = from_second(flown, flown.begins["away1"] + 12.0)
    found = begun.debrief(chart(leg_time_s=None, leg_length_nm=2.0, leg_by="along-track"))
    assert [text for text in found.doubts if "beyond OSSIN" in text]  # the fix of the hold, not that of the approach
    (hold,) = found.holds
    lengths = [f for f in all_of(hold.approaches[0], "hold_timing") if f.unit == "NM"]
    assert [(f.lap, f.verdict) for f in lengths] == [(1, "inside"), (2, "inside"), (3, "inside")]
    assert one_of(hold.approaches[0], "hold_entry").verdict == "not assessed"


def test_one_lap_round_the_wrong_way_may_be_a_parallel_entry_where_the_log_begins_in_its_turn():
    """AIM 5-3-8 j.3(a): it turns back the other way. Seen from before the fix it is a parallel entry, and turned right."""
    flown = entered("parallel", 0).flown
    whole = held(Whole(flown, level()))
    assert one_of(whole, "hold_turn").verdict == "inside"
    begun = held(from_second(flown, flown.begins["away1"] + 6.0 if "away1" in flown.begins else flown.begins["out1"] - 12.0))
    assert one_of(begun, "hold_turn").verdict != "outside"


@pytest.mark.parametrize("into_s", [10.0, 15.0])
def test_the_entry_is_not_judged_where_the_log_begins_in_its_turn(into_s):
    """A direct entry from 60° beyond the inbound course, turned through 240°: its heading at the fix is not in the log."""
    wide, narrow = standard_rate_bank(240.0, 1.8), standard_rate_bank(240.0, 2.4)  # as wide back as the hold is after it
    path = [Straight("arrival", 90.0), Turn("away1", 240.0, wide), Straight("out1", 150.0), Turn("back1", 180.0, narrow)]
    start = tuple(-6.0 * f(math.radians(120.0)) for f in (math.sin, math.cos))
    flown = fly([*path, Straight("in1", 150.0)], start, 120.0, 240.0, roll_deg_s=5.0)
    whole = held(Whole(flown, level()))
    assert one_of(whole, "hold_entry").verdict == "inside"
    begun = held(from_part(flown, "away1", into_s))
    assert one_of(begun, "hold_entry").verdict == "not assessed"


IN_LIEU = Chart(
    side=None,
    within_nm=None,
    reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0},
    floors_ft={"arrival": LEVEL_FT + 600.0, "outbound": LEVEL_FT - 100.0, "reversal": LEVEL_FT - 100.0},
)


@pytest.mark.parametrize(("part", "into_s"), [("out1", 20.0), ("back1", 5.0), ("back1", 30.0), ("in1", 5.0), ("in1", 30.0)])
def test_a_lap_that_the_log_begins_in_is_not_held_to_the_minimum_of_the_arrival(part, into_s):
    """In lieu of a procedure turn: descended to the altitude of the hold past the fix, as it may be (AIM 5-4-9 a.2)."""
    flown = laps_in(CALM, (60.0,) * 3)
    (whole,) = Whole(flown, level()).debrief(IN_LIEU).approaches
    assert one_of(whole, "altitude_floor", leg="arrival").verdict == "outside"
    (later,) = from_part(flown, part, into_s).debrief(IN_LIEU).approaches
    finding = one_of(later, "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.margin) == ("not assessed", None)
    assert "the log begins in the hold" in str(finding.reason)


def test_an_arrival_on_the_inbound_course_from_beyond_the_hold_is_held_to_its_minimum():
    (approach,) = Whole(entered("direct").flown, level()).debrief(IN_LIEU).approaches
    assert one_of(approach, "altitude_floor", leg="arrival").verdict == "outside"


def test_a_descent_in_a_lap_that_the_log_begins_in_is_no_early_one():
    """From 50 ft below the minimum of the arrival on the way out of a lap, which the log does not tell from an arrival."""
    flown = laps_in(CALM, (60.0,) * 3)
    begins_s = flown.begins["out1"] + 20.0
    heights = [(0.0, LEVEL_FT + 550.0), (5.0, LEVEL_FT + 550.0), (40.0, LEVEL_FT), (1e5, LEVEL_FT)]
    later = Whole(from_second(flown, begins_s).flown, heights)
    (approach,) = later.debrief(IN_LIEU).approaches
    assert {finding.verdict for finding in all_of(approach, "descent_timing") if finding.leg in ("arrival", "outbound")} == {
        "not assessed"
    }


@pytest.mark.parametrize(("before_s", "verdict"), [(12.0, "inside"), (8.0, "not assessed"), (6.0, "not assessed")])
def test_the_side_is_open_where_the_log_begins_as_the_turn_of_a_parallel_entry_ends(before_s, verdict):
    """It turns the other way than the laps, and a direct entry into the mirrored hold would turn so (AIM 5-3-8 j.3(a))."""
    flown = entered("parallel", 0).flown
    (whole,) = Whole(flown, level()).debrief(IN_LIEU).approaches
    assert one_of(whole, "reversal_side").verdict == "inside"
    (begun,) = from_part(flown, "out1", -before_s).debrief(IN_LIEU).approaches
    assert one_of(begun, "reversal_side").verdict == verdict
