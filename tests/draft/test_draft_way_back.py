"""Logs that hold only a final and a missed approach: the way back to the fix is drafted as no reversal."""

from dataclasses import replace

import missed_flights
import numpy as np
import pytest
from drafted import drafted_again
from missed_flights import BANK
from synthetic import HERE, START_S, Flown, Log, Straight, Turn, fly

from analyzer.draft.drafting import FixGiven, draft

FIX = FixGiven(HERE.latitude_deg, HERE.longitude_deg, variation_deg_east=HERE.variation_deg)
NOISY = Log(noise_m=2.0)


def between(begin_s: float, end_s: float):
    """The flight of a missed approach and a second approach, from one instant to another."""
    flight = missed_flights.missed_and_again()
    track = replace(NOISY, altitude_ft=flight.heights).of(flight.flown)
    second = track.time_s - START_S
    kept = (second >= begin_s) & (second <= end_s)
    arrays = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    return replace(track, **{name: getattr(track, name)[kept] for name in arrays})


BEGINS = missed_flights.missed_and_again().flown.begins


@pytest.mark.parametrize("until", ["second_arrival", "second_outbound"])
def test_a_final_a_missed_approach_and_the_way_back_are_a_straight_in(until, tmp_path):
    drafted, approach, _ = drafted_again(between(BEGINS["inbound"], BEGINS[until] + 20.0), FIX, tmp_path)
    assert (drafted.flown, drafted.procedure.reversal.kind) == ("straight-in", "none")
    assert drafted.procedure.reversal.inbound_course_deg == pytest.approx(missed_flights.course(180.0), abs=1.0)
    assert approach.reversal.flown == "straight-in"


def test_the_second_approach_is_drafted_where_the_log_has_it():
    drafted = draft(between(BEGINS["inbound"], np.inf), FIX)
    assert (drafted.flown, drafted.procedure.reversal.side) == ("45/180", "right")


@pytest.fixture(scope="module")
def round_and_back() -> Flown:
    """In to the fix, on for four minutes, round by the right and straight back to it: the path of a base turn."""
    path = [Straight("in", 300.0), Straight("final", 135.0), Straight("climb", 110.0), Turn("left", -35.0, BANK)]
    return fly([*path, Turn("round", 225.0, BANK), Straight("back", 330.0)], (0.0, 10.0), 180.0, roll_deg_s=5.0)


DOWN = [(0.0, 3000.0), (200.0, 3000.0), (295.0, 2000.0), (300.0, 2000.0), (400.0, 1000.0), (435.0, 1000.0), (675.0, 3000.0)]


def test_what_climbs_away_and_comes_back_is_no_reversal(round_and_back):
    assert draft(replace(NOISY, altitude_ft=DOWN).of(round_and_back), FIX).procedure.reversal.kind == "none"


def test_the_same_path_in_level_flight_is_one(round_and_back):
    """Without a descent and a climb nothing distinguishes it from a reversal."""
    assert draft(replace(NOISY, altitude_ft=3000.0).of(round_and_back), FIX).procedure.reversal.kind != "none"
    assert draft(replace(NOISY, altitude_ft=None).of(round_and_back), FIX).procedure.reversal.kind != "none"


def test_a_climb_out_from_the_field_into_a_reversal_is_no_missed_approach():
    """Off the ground below the fix and out: who climbs without having descended has flown no final."""
    flight = missed_flights.gone_around()
    climb = [(0.0, 600.0), (90.0, 1500.0), (240.0, 3000.0), (9999.0, 3000.0)]
    assert draft(replace(NOISY, altitude_ft=climb).of(flight.flown), FIX).flown == "45/180"
