"""A whole flight in order: reversal, final leg, missed approach, laps of a hold, second approach and landing; and holds alone.

The instants are those of the construction (`missed_flights`, `hold_flights`): geometry, and nothing of the program's.
"""

import datetime as dt
import tomllib
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from checked import NOISY
from hold_flights import ESTABLISHED_S, entered, laps_in, level
from hold_flights import chart as chart_of_hold
from missed_flights import (
    A_SECOND,
    CLIMB_FPM,
    HOLD_FT,
    MINIMUM_FT,
    Whole,
    chart,
    gone_around,
    hold,
    missed_and_again,
    missed_into_hold,
    whole,
)
from synthetic import START_S, Chart

import analyzer
from analyzer.legs.flight import find_flight
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve
from analyzer.procedure.schema import Procedure

WITHIN_S = 2.0
HALF_S = 0.5  # positions scatter by a metre, of 62 m a second
SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"


def begins(parts: tuple[Part, ...]) -> list[float]:
    """When each part begins, from the start of the log."""
    return [part.start_s - START_S for part in parts]


def names(flown: Reversal) -> list[str]:
    return [part.name for part in flown.parts]


def test_the_flight_is_told_in_the_order_flown():
    flight = whole().flight()
    first, second = flight.approaches
    (held,) = flight.holds
    assert first.flown == second.flown == "45/180"
    assert names(first) == ["arrival", "outbound", "offset_turn", "offset_leg", "reversal_turn", "inbound", "final", "missed"]
    assert names(second) == ["arrival", "outbound", "offset_turn", "offset_leg", "reversal_turn", "inbound", "final"]
    assert (first.ending, second.ending) == ("climbed away", "reached the runway")
    assert held.hold.name == "WND"
    assert [len(laps) for laps in laps_of(held.flown)] == [4, 4, 4]
    flown = [part for one in (first, held.flown, second) for part in one.parts]
    # without overlap, and without a hole but the way on from the hold, which is the second arrival
    assert all(part.end_s == then.start_s for part, then in pairwise(flown))


def test_the_debrief_tells_them_in_that_order():
    sections = whole().debrief(chart()).sections
    assert [(one.of, one.number, one.title) for one in sections] == [
        ("reversal", 1, "Approach 1 of 2"), ("hold", 1, "Hold at WND"), ("reversal", 2, "Approach 2 of 2"),
    ]  # fmt: skip


def test_final_leg_and_missed_approach_begin_where_they_were_begun():
    flight, flown = whole().flight(), whole().flown.begins
    first, second = flight.approaches
    (held,) = flight.holds
    assert begins(first.parts)[-2:] == pytest.approx([flown["final"], flown["climb"]], abs=WITHIN_S)
    assert begins(second.parts)[-1] == pytest.approx(flown["landing"], abs=WITHIN_S)
    assert first.parts[-1].leg == "missed"
    assert first.parts[-1].end_s == held.start_s


def test_each_part_of_each_lap_begins_where_it_was_begun():
    (held,) = whole().flight().holds
    flown = whole().flown.begins
    laps = laps_of(held.flown)
    for lap, parts in enumerate(laps, 1):
        assert [part.name for part in parts] == ["entry_turn", "outbound", "turn_inbound", "inbound"]
        assert {(part.leg, part.lap) for part in parts} == {("hold", lap)}
        # the inbound leg begins when established: with the track within 15° of the course (common practice, no source)
        inbound = flown[f"in{lap}"] - ESTABLISHED_S
        built = [flown[f"away{lap}"], flown[f"out{lap}"], flown[f"back{lap}"], inbound]
        assert begins(parts) == pytest.approx(built, abs=WITHIN_S)
    assert held.end_s - START_S == pytest.approx(flown["leave"], abs=WITHIN_S)


@pytest.mark.parametrize(("kind", "first"), [("direct", "away1"), ("teardrop", "out1"), ("parallel", "away1")])
def test_a_log_that_is_only_a_hold(kind, first):
    flight, flown = entered(kind).flight(chart_of_hold()), entered(kind).flown.begins
    assert flight.approaches == ()
    (held,) = flight.holds
    assert held.flown.flown == f"hold-{kind}"
    entry, further = laps_of(held.flown)
    assert held.start_s - START_S == pytest.approx(flown[first], abs=WITHIN_S)
    by_name = {part.name: part.start_s - START_S for part in entry}
    assert by_name["outbound"] == pytest.approx(flown["out1"], abs=WITHIN_S)
    assert by_name["turn_inbound"] == pytest.approx(flown["back1"], abs=WITHIN_S)
    assert by_name["inbound"] == pytest.approx(flown["in1"] - ESTABLISHED_S, abs=WITHIN_S)
    assert [part.name for part in further] == ["entry_turn", "outbound", "turn_inbound", "inbound"]
    built = [flown["away2"], flown["out2"], flown["back2"], flown["in2"] - ESTABLISHED_S]
    assert begins(further) == pytest.approx(built, abs=WITHIN_S)


@pytest.mark.parametrize("kind", ["direct", "teardrop", "parallel"])
@pytest.mark.parametrize("turn", ["right", "left"])
def test_the_instants_of_a_hold_to_half_a_second(kind, turn):
    """Rolls of 5° a second take 3.6 s each: an entry taken to begin in the middle of one is 1.8 s late."""
    flown = entered(kind).flown if turn == "right" else entered(kind).flown.mirrored()
    (held,) = Whole(flown, level()).flight(chart_of_hold(turn=turn)).holds
    for lap, parts in enumerate(laps_of(held.flown), 1):
        at = {f"{name}{lap}": flown.begins.get(f"{name}{lap}") for name in ("away", "out", "back", "in")}
        built = {"entry_turn": at[f"away{lap}"], "outbound": at[f"out{lap}"], "turn_inbound": at[f"back{lap}"]}
        built["inbound"] = flown.begins[f"in{lap}"] - ESTABLISHED_S
        found = dict(zip((part.name for part in parts), begins(parts), strict=True))
        assert found == pytest.approx({name: second for name, second in built.items() if second is not None}, abs=HALF_S)
    assert held.start_s == held.flown.parts[1].start_s
    assert held.flown.parts[0].name == "arrival"


def test_laps_in_a_wind_are_as_many_as_were_flown():
    # 20 kt across: the turns come out on the course because the outbound heading is corrected thrice (AIM 5-3-8 j.8(c))
    flown = laps_in((90.0, 20.0), (60.0, 60.0))
    (held,) = Whole(flown, level()).flight(chart_of_hold()).holds
    laps = laps_of(held.flown)
    assert [lap[0].start_s - START_S for lap in laps] == pytest.approx(
        [flown.begins["away1"], flown.begins["away2"]], abs=WITHIN_S
    )


def test_a_hold_that_is_not_charted_is_none():
    flight = missed_into_hold().flight(chart(holds=[]))
    assert flight.holds == ()
    (approach,) = flight.approaches
    assert approach.parts[-1].name == "missed"


def test_of_holds_beside_each_other_the_one_that_fits_is_flown():
    """The same fix, held on another course with the other turns."""
    other = hold(name="OTHER", role="published", inbound_course_deg=(hold()["inbound_course_deg"] + 90.0) % 360.0, turn="left")
    (held,) = missed_into_hold().flight(chart(holds=[other, hold()])).holds
    assert held.hold.name == "WND"
    assert len(laps_of(held.flown)) == 3


def test_passing_the_fix_of_a_hold_is_no_hold():
    flight = gone_around(on_s=400.0).flight()
    assert flight.holds == ()
    (approach,) = flight.approaches
    assert approach.parts[-1].name == "missed"


@pytest.mark.parametrize("sample", ["clean.csv", "strong_wind.csv", "early_descent.gpx"])
def test_no_hold_is_invented_on_the_sample_tracks(sample):
    """With one charted at the fix on the inbound course, and one on the way out."""
    tables = tomllib.loads((SAMPLES / "wendle_island_vor24.toml").read_text(encoding="utf-8"))
    at_fix = {key: tables["fix"][key] for key in ("latitude_deg", "longitude_deg")}
    course = {"inbound_course_deg": tables["reversal"]["inbound_course_deg"], "turn": "right", "leg_time_s": 60.0}
    out = {"latitude_deg": at_fix["latitude_deg"] + 0.03, "longitude_deg": at_fix["longitude_deg"] + 0.06}
    tables = {**tables, "holds": [{"name": "ONE", **at_fix, **course}, {"name": "TWO", **out, **course}]}
    resolved = resolve(Procedure.model_validate(tables), dt.date(2026, 6, 1))
    flight = find_flight(analyse_motion(analyzer.read_track(SAMPLES / sample), resolved))
    assert flight.holds == ()
    assert [approach.flown for approach in flight.approaches] == ["45/180"]


def test_a_missed_approach_that_leads_to_a_second_approach_belongs_to_the_first():
    flight, flown = missed_and_again().flight(chart(holds=[])), missed_and_again().flown.begins
    first, second = flight.approaches
    missed = first.parts[-1]
    assert (missed.name, first.ending) == ("missed", "climbed away")
    assert "missed" not in names(second)
    assert missed.start_s - START_S == pytest.approx(flown["climb"], abs=WITHIN_S)
    # it is over where the climb is, at 500 ft/min; what comes then is the way to the next
    climbed_s = (HOLD_FT - MINIMUM_FT - 20.0) / CLIMB_FPM * 60.0
    assert missed.end_s - START_S == pytest.approx(flown["climb"] + climbed_s, abs=WITHIN_S)
    assert second.parts[0].name == "arrival"
    assert second.parts[0].start_s == missed.end_s


def test_a_landing_has_no_missed_approach():
    (_, second) = whole().flight().approaches
    assert second.parts[-1].name == "final"
    assert second.parts[-1].end_s - START_S == pytest.approx(whole().flown.begins["landing"] + 5.0 / A_SECOND, abs=WITHIN_S)


def test_level_flight_past_the_missed_approach_point_is_still_the_final_leg():
    flight = gone_around(late_s=20.0)
    (approach,) = flight.flight().approaches
    assert approach.parts[-1].start_s == pytest.approx(flight.begin("climb"), abs=WITHIN_S)


def test_without_altitude_nothing_is_told_of_a_missed_approach():
    flight = whole()
    track = replace(NOISY, altitude_ft=None).of(flight.flown)
    found = find_flight(analyse_motion(track, resolve(chart().at(), dt.date(2026, 6, 1))))
    assert all(part.name != "missed" for approach in found.approaches for part in approach.parts)
    assert [len(laps_of(held.flown)) for held in found.holds] == [3]


def test_a_hold_at_the_fix_of_the_reversal_is_a_hold_where_nothing_follows_it():
    """What is flown is the same track as a racetrack under the barb; no final leg follows."""
    here = hold(name="QRL", latitude_deg=Chart().at().fix.latitude_deg, longitude_deg=Chart().at().fix.longitude_deg)
    here["inbound_course_deg"] = Chart().at().reversal.inbound_course_deg
    flight = Whole(entered("direct").flown, level()).flight(chart(holds=[here]))
    assert flight.approaches == ()
    assert [(held.hold.name, len(laps_of(held.flown))) for held in flight.holds] == [("QRL", 2)]
