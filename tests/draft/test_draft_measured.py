"""What a draft takes from a flight: the course from the inbound leg, floors from their own legs, and in little time."""

from dataclasses import replace

import away
import missed_flights
import numpy as np
import pytest
from drafted import not_as_flown
from missed_flights import A_SECOND, BANK, START_NM, course, first_reversal
from patterns import Pattern, fly_approach
from synthetic import HERE, Log, Straight, Turn, fly

from analyzer.draft.drafting import FixGiven, draft
from analyzer.legs import match
from analyzer.legs.decode import decode

FIX = FixGiven(HERE.latitude_deg, HERE.longitude_deg, variation_deg_east=HERE.variation_deg)
NOISY = Log(noise_m=2.0)


@pytest.mark.parametrize("turn_deg", [8.0, -20.0])
def test_the_inbound_course_is_that_of_the_inbound_leg(turn_deg, tmp_path):
    """A final on another course, flown for longer than the inbound leg, is not the inbound course."""
    inbound = fly_approach(Pattern(final_s=5.0)).flown
    flown = away.then(inbound, [Turn("onto final", turn_deg, 10.0), Straight("final", 300.0)])
    track = NOISY.of(flown)
    drafted = draft(track, FIX)
    assert drafted.procedure.reversal.inbound_course_deg == pytest.approx(course(180.0), abs=1.0)
    assert not_as_flown(track, FIX, tmp_path) == []


def test_an_inbound_leg_that_closes_with_the_course_is_not_the_course():
    """Home 9° off the course, on it a mile and a half before the fix, and on for four minutes: the final gives the course."""
    path = list(first_reversal()[:-2])
    path.append(Turn("reversal_turn", -216.0, BANK))
    there = fly(path, START_NM, roll_deg_s=5.0)
    offset = float(there.x_nm[-1]) - (float(there.y_nm[-1]) - 1.5) * np.tan(np.radians(9.0))
    # on a line that meets the course 1.5 NM before the fix: the flight is moved sideways, before the fix is passed
    assert abs(offset) < 3.0
    seconds = (float(there.y_nm[-1]) - 1.5) / np.cos(np.radians(9.0)) / A_SECOND
    path += [Straight("closing", seconds), Turn("onto it", -9.0, 5.0), Straight("on", 1.5 / A_SECOND + 240.0)]
    drafted = draft(NOISY.of(fly(path, (START_NM[0] - offset, START_NM[1]), roll_deg_s=5.0)), FIX)
    assert drafted.procedure.reversal.inbound_course_deg == pytest.approx(course(180.0), abs=2.0)


def levels(heights: list[tuple[float, float]], pattern: Pattern) -> dict[str, float]:
    track = replace(NOISY, altitude_ft=heights).of(fly_approach(pattern).flown)
    return draft(track, FIX).procedure.altitudes.by_leg()


LONG_WAY = Pattern(arrival_s=1200.0, final_s=180.0)  # begins 40 NM from the fix; within 25 NM of it after 450 s


def test_the_arrival_floor_is_of_the_arrival():
    """At 3,000 ft beyond 30 NM and at 5,000 ft within: what is flown beyond 25 NM is no arrival (AIM 5-4-5 e)."""
    assert levels([(0.0, 3000.0), (250.0, 3000.0), (330.0, 5000.0), (9999.0, 5000.0)], LONG_WAY)["arrival"] == 5000.0


def test_an_arrival_that_begins_in_a_climb_has_no_floor_above_where_it_began():
    """The first sample in the air, at 1,000 ft, is of the arrival and is held to its floor."""
    assert "arrival" not in levels([(0.0, 1000.0), (400.0, 5000.0), (9999.0, 5000.0)], Pattern(arrival_s=700.0, final_s=180.0))


def test_a_level_that_was_left_for_a_moment_is_no_floor():
    """5,040 ft, and 4,930 ft for half a minute: a floor of 5,000 ft was not kept."""
    dip = [(0.0, 5040.0), (300.0, 5040.0), (320.0, 4930.0), (350.0, 4930.0), (370.0, 5040.0), (9999.0, 5040.0)]
    assert levels(dip, Pattern(arrival_s=700.0, final_s=180.0))["arrival"] == 4900.0


def test_the_floors_of_a_second_approach_are_not_those_of_the_first():
    """Down from 6,000 ft to 3,000 ft before the first approach; the second arrives at 3,000 ft."""
    flight = missed_flights.missed_and_again()
    heights = [(0.0, 6000.0), (60.0, 6000.0), *((when, feet) for when, feet in flight.heights if when > 200.0)]
    drafted = draft(replace(NOISY, altitude_ft=heights).of(flight.flown), FIX)
    floors = drafted.procedure.altitudes.by_leg()
    assert floors["arrival"] == floors["outbound"] == 3000.0


@pytest.fixture(scope="module")
def long_log():
    """A missed approach, its hold and a second approach, six times over: some 17,000 samples and 36 passages of the fix."""
    path = [*first_reversal(), *missed_flights.missed(), *missed_flights.laps((60.0,) * 3), Straight("leave", 20.0)]
    path.append(Turn("leaving", -180.0, BANK))
    path += missed_flights.back_to_the_fix(path)

    def around(seconds: float) -> list[Straight | Turn]:
        return [Turn("off", 45.0, BANK), Straight("aside", seconds), Turn("around", -225.0, BANK)]

    path += missed_flights.closing(around, path)
    south_nm = START_NM[1] - float(fly(path, START_NM, roll_deg_s=5.0).y_nm[-1])
    path.append(Straight("back", south_nm / A_SECOND))
    return NOISY.of(fly(path * 6, START_NM, roll_deg_s=5.0))


def test_a_long_log_is_drafted_with_little_work(long_log, monkeypatch):
    """Most of the time goes into fitting shapes: each second of the log is fitted some 145 times, 1.3 s in all."""
    fitted: list[int] = []

    def counting(gain, *others):
        fitted.append(len(gain))
        return decode(gain, *others)

    monkeypatch.setattr(match, "decode", counting)
    assert len(long_log) > 15_000
    assert draft(long_log, FIX).flown == "45/180"
    assert sum(fitted) < 200 * len(long_log)


def test_a_hold_that_is_flown_again_and_again_is_drafted_once(long_log):
    """The hold of the missed approach, six times: one table, at the place that it is laid out at."""
    (hold,) = draft(long_log, FIX).procedure.holds
    there = missed_flights.hold()
    assert (hold.turn, hold.leg_time_s) == ("right", 60.0)
    assert hold.inbound_course_deg == pytest.approx(there["inbound_course_deg"], abs=1.0)
    assert hold.latitude_deg == pytest.approx(there["latitude_deg"], abs=0.003)
    assert hold.longitude_deg == pytest.approx(there["longitude_deg"], abs=0.003)


@pytest.mark.parametrize("level_ft", [None, 640.0])
def test_the_runway_is_no_minimum(level_ft):
    """Down to it, without a level or with one on the way, and half a minute along it at 20 kt and less."""
    approach = fly_approach(Pattern(final_s=180.0))
    over_s = approach.inbound_passage_s
    flown = away.then(approach.flown, [Straight("lands", 20.0, 25.0), Straight("rolls", 60.0, 10.0)])
    heights = [(0.0, 2600.0), (over_s, 2600.0)]
    heights += [] if level_ft is None else [(over_s + 80.0, level_ft), (over_s + 160.0, level_ft)]
    heights += [(over_s + 190.0, 40.0), (9999.0, 40.0)]
    drafted = draft(replace(NOISY, altitude_ft=heights).of(flown), FIX).procedure.altitudes
    assert drafted.final_ft in ((None,) if level_ft is None else (None, 600.0))
