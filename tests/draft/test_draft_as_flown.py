"""Every draft debriefs its own flight as it was flown: shape, side, course, limits, minima and the legs of holds."""

import hold_flights
import missed_flights
import pytest
from drafted import drafted_again, not_as_flown
from missed_flights import Whole
from patterns import Pattern, fly_approach
from sampled import FLIGHTS, SAMPLES
from synthetic import CALM, HERE, Log, replace

import analyzer
from analyzer.draft.drafting import FixGiven, draft

FIX = FixGiven(HERE.latitude_deg, HERE.longitude_deg, variation_deg_east=HERE.variation_deg)
NOISY = Log(noise_m=2.0)


def logged(flight: Whole, log: Log = NOISY):
    return replace(log, altitude_ft=flight.heights).of(flight.flown)


@pytest.mark.parametrize("log", FLIGHTS)
def test_sample_flights(log, tmp_path):
    assert not_as_flown(analyzer.read_track(SAMPLES / log), FLIGHTS[log], tmp_path) == []


@pytest.mark.parametrize("wind", [CALM, (70.0, 15.0), (200.0, 30.0)])
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("shape", ["45/180", "80/260"])
def test_procedure_turns(shape, side, wind, tmp_path):
    flown = fly_approach(Pattern(side=side, shape=shape, wind=wind, intercept=wind != CALM, final_s=180.0)).flown
    assert not_as_flown(Log(noise_m=3.0).of(flown), FIX, tmp_path) == []


@pytest.mark.parametrize("further", [0, 1, 3])
@pytest.mark.parametrize("kind", ["direct", "teardrop", "parallel"])
def test_holds_by_every_entry(kind, further, tmp_path):
    """A teardrop entry without a further lap is the path of a base turn, and is drafted as one."""
    track = logged(hold_flights.entered(kind, further))
    assert not_as_flown(track, FIX, tmp_path) == []
    drafted = draft(track, FIX)
    assert drafted.flown == ("base-turn" if (kind, further) == ("teardrop", 0) else f"hold-{kind}")
    assert drafted.procedure.reversal.turn == "right"
    assert drafted.procedure.reversal.inbound_course_deg == pytest.approx(missed_flights.course(180.0), abs=1.0)


@pytest.mark.parametrize("wind", [(90.0, 20.0), (180.0, 25.0), (10.0, 20.0)])
def test_laps_in_wind(wind, tmp_path):
    assert not_as_flown(NOISY.of(hold_flights.laps_in(wind, [60.0, 60.0, 60.0])), FIX, tmp_path) == []


@pytest.mark.parametrize("seconds", [40.0, 75.0, 85.0])
@pytest.mark.parametrize("laps", [1, 3])
def test_the_time_of_a_hold_is_that_flown(seconds, laps, tmp_path):
    track = NOISY.of(hold_flights.laps_in(CALM, [seconds] * laps))
    assert not_as_flown(track, FIX, tmp_path) == []
    assert draft(track, FIX).procedure.reversal.leg_time_s == pytest.approx(seconds, abs=5.0)


@pytest.mark.parametrize("seconds", [150.0, 240.0])
def test_long_legs_are_drafted_by_length(seconds, tmp_path):
    """At 120 kt abeam the fix and so many seconds on: 2 NM a minute."""
    track = NOISY.of(hold_flights.laps_in(CALM, [seconds] * 2))
    assert not_as_flown(track, FIX, tmp_path) == []
    reversal = draft(track, FIX).procedure.reversal
    assert (reversal.leg_time_s, reversal.leg_by) == (None, "along-track")
    assert reversal.leg_length_nm == pytest.approx(seconds / 30.0, abs=0.25)


@pytest.mark.parametrize("flight", ["whole", "missed_and_again", "missed_into_hold", "gone_around"])
@pytest.mark.parametrize("step_s", [1.0, 5.0])
def test_whole_approaches(flight, step_s, tmp_path):
    track = logged(getattr(missed_flights, flight)(), replace(NOISY, step_s=step_s))
    assert not_as_flown(track, FIX, tmp_path) == []
    assert draft(track, FIX).flown == "45/180"


def test_a_reversal_beyond_ten_miles_is_inside_its_own_limit(tmp_path):
    """Six minutes out at 120 kt: 12 NM, and the turn beyond."""
    flown = fly_approach(Pattern(outbound_s=360.0, final_s=180.0)).flown
    drafted, approach, _ = drafted_again(NOISY.of(flown), FIX, tmp_path)
    farthest = float(flown.distance_nm.max())
    assert farthest < drafted.procedure.reversal.within_nm <= farthest + 1.1
    assert next(one for one in approach.findings if one.check == "distance_limit").verdict == "inside"
    assert "assumed" in drafted.remarks["reversal.within_nm"]
    assert f"{farthest:.1f} NM" in drafted.remarks["reversal.within_nm"]


def test_what_is_flown_twenty_miles_out_is_no_reversal():
    """Twelve minutes out at 120 kt: 24 NM. No chart has a limit of so much: about 15 NM is the longest, AIM 5-4-9 a.1."""
    flown = fly_approach(Pattern(outbound_s=720.0, final_s=180.0)).flown
    drafted = draft(NOISY.of(flown), FIX)
    assert (drafted.procedure.reversal.kind, drafted.flown) == ("none", "straight-in")  # home along one course for 24 NM
