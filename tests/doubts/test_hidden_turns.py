"""A gap over the turn back hides which shape was flown and to which side: neither is judged, whatever fits what is left."""

from dataclasses import replace

import pytest
from hold_flights import chart, entered
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

from analyzer import debrief
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, wind=(70.0, 12.0))).flown
TRACK = Log(noise_m=1.0).of(FLOWN, HERE)
CHART = Chart().at(HERE)
SHAPE = ("reversal_shape", "reversal_side", "hold_entry")


def without(track: Track, from_s: float, to_s: float) -> Track:
    """The log without its records between two instants."""
    since = track.time_s - track.time_s[0]
    kept = (since <= from_s) | (since >= to_s)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    return replace(track, **{name: getattr(track, name)[kept] for name in names})


def turning_s() -> tuple[float, float]:
    """The turn back, in seconds after the first record."""
    (approach,) = debrief(TRACK, CHART).approaches
    part = approach.reversal.part("reversal_turn")
    return part.start_s - TRACK.time_s[0], part.end_s - TRACK.time_s[0]


@pytest.mark.parametrize(("before_s", "after_s"), [(0.0, 0.0), (60.0, 0.0), (0.0, 60.0), (80.0, 40.0)])
def test_neither_shape_nor_side_is_judged_over_a_gap(before_s, after_s):
    begin, end = turning_s()
    result = debrief(without(TRACK, begin - before_s, end + after_s), CHART)
    for approach in result.approaches:
        assert {f.verdict for f in approach.findings if f.check in SHAPE} <= {"not assessed"}
        if approach.reversal.flown != "straight-in":
            assert any("gap" in doubt and "over a turn" in doubt for doubt in result.doubts)


def test_a_gap_on_a_straight_leg_hides_no_shape():
    begin, _ = turning_s()
    outbound = debrief(TRACK, CHART).approaches[0].reversal.part("outbound")
    middle = 0.5 * (outbound.start_s + outbound.end_s) - TRACK.time_s[0]
    result = debrief(without(TRACK, middle - 20.0, middle + 20.0), CHART)
    assert begin > middle + 20.0
    assert not any("over a turn" in doubt for doubt in result.doubts)
    assert [f.verdict for f in result.approaches[0].findings if f.check == "reversal_side"] == ["inside"]


def test_a_gap_over_the_offset_turn_of_a_45_180_hides_which_reversal_it_was():
    """What is left of it leads out, off the course and back, as a teardrop does."""
    reversal = debrief(TRACK, CHART).approaches[0].reversal
    assert reversal.flown == "45/180"
    turn = reversal.part("offset_turn")
    begin, end = turn.start_s - TRACK.time_s[0], turn.end_s - TRACK.time_s[0]
    result = debrief(without(TRACK, begin - 20.0, end + 25.0), CHART)
    (approach,) = result.approaches
    assert approach.reversal.flown == "base-turn"
    assert any("over a turn" in doubt for doubt in result.doubts)
    assert {f.verdict for f in approach.findings if f.check in SHAPE} <= {"not assessed"}


def test_the_whole_log_shows_both():
    assert not any("over a turn" in doubt for doubt in debrief(TRACK, CHART).doubts)


@pytest.mark.parametrize("seconds", [40, 90])
def test_a_hold_whose_entry_is_hidden_has_none_judged(seconds):
    """The first lap may have been another entry than the one that what is left of it looks like."""
    flight = entered("parallel", further=2)
    gap = flight.flown.begins["arrival"] + 100.0, flight.flown.begins["arrival"] + 100.0 + seconds
    track = without(replace(Log(noise_m=1.0), altitude_ft=flight.heights).of(flight.flown), *gap)
    for one in debrief(track, chart().at()).holds:
        for approach in one.approaches:
            assert {f.verdict for f in approach.findings if f.check == "hold_entry"} <= {"not assessed"}


@pytest.mark.parametrize("entry", ["direct", "teardrop", "parallel"])
@pytest.mark.parametrize("lap", [2, 3])
def test_a_gap_over_a_turn_of_a_later_lap_hides_no_entry(entry, lap):
    flight = entered(entry, further=2)
    whole = replace(Log(noise_m=1.0), altitude_ft=flight.heights).of(flight.flown)
    (held,) = debrief(whole, chart().at()).holds
    turn = next(part for part in held.approaches[0].reversal.parts if part.name == "turn_inbound" and part.lap == lap)
    middle = 0.5 * (turn.start_s + turn.end_s) - whole.time_s[0]
    result = debrief(without(whole, middle - 18.0, middle + 18.0), chart().at())
    (held,) = result.holds
    assert not any("over a turn" in doubt for doubt in result.doubts)
    assert {f.verdict for f in held.approaches[0].findings if f.check in ("hold_entry", "hold_turn")} == {"inside"}


@pytest.mark.parametrize("entry", ["direct", "parallel"])
def test_a_gap_over_a_turn_of_a_later_circuit_in_lieu_hides_no_entry_either(entry):
    flight = entered(entry, further=2)
    whole = replace(Log(noise_m=1.0), altitude_ft=flight.heights).of(flight.flown)
    lieu = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0}).at()
    turns = [part for part in debrief(whole, lieu).approaches[0].reversal.parts if part.name == "reversal_turn"]
    middle = 0.5 * (turns[1].start_s + turns[1].end_s) - whole.time_s[0]
    result = debrief(without(whole, middle - 18.0, middle + 18.0), lieu)
    assert not any("over a turn" in doubt for doubt in result.doubts)
    assert {f.verdict for f in result.approaches[0].findings if f.check in ("hold_entry", "reversal_side")} == {"inside"}
