"""A log that begins in a hold: the entry is not in it, and its laps are judged as those that follow an entry.

AIM 5-3-8 j.4: the first outbound leg is flown for a minute, the others for what makes the inbound leg a minute.
"""

from dataclasses import replace
from functools import cache

import pytest
from checked import all_of, one_of, solve
from hold_flights import LEVEL_FT, chart, entered, held, laps_in, level
from missed_flights import Whole
from synthetic import CALM, Chart, Flown

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


def test_a_lap_that_the_log_begins_in_is_not_held_to_the_minimum_of_the_arrival():
    """In lieu of a procedure turn: descended to the altitude of the hold past the fix, as it may be (AIM 5-4-9 a.2)."""
    hold = {"kind": "hold", "turn": "right", "leg_time_s": 60.0}
    in_lieu = Chart(
        side=None, within_nm=None, reversal=hold, floors_ft={"arrival": LEVEL_FT + 600.0, "outbound": LEVEL_FT - 100.0}
    )
    flown = laps_in(CALM, (60.0,) * 3)
    (whole,) = Whole(flown, level()).debrief(in_lieu).approaches
    assert one_of(whole, "altitude_floor", leg="arrival").verdict == "outside"
    (later,) = from_part(flown, "out1", 20.0).debrief(in_lieu).approaches
    finding = one_of(later, "altitude_floor", leg="arrival")
    assert (finding.verdict, finding.margin) == ("not assessed", None)
    assert "the log begins in the hold" in str(finding.reason)
