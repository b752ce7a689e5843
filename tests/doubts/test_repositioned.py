"""Logs of a simulator in which the aircraft was set elsewhere: each flight is debriefed as it is alone, and it is said."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Log

from analyzer import debrief, read_track
from analyzer.debriefs.data import Approach
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve
from analyzer.report.words.summary import summary_text
from analyzer.track.track import Track

FLOWN = fly_approach(Pattern(arrival_deg=40.0, speed_kt=110.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown
LEVELS = [(0.0, 3040.0), (150.0, 3040.0), (250.0, 2540.0), (460.0, 2540.0), (540.0, 1830.0), (2000.0, 1830.0)]
CHART = Chart(floors_ft={"arrival": 3000.0, "outbound": 2500.0, "reversal": 2500.0, "inbound": 1800.0, "final": 900.0}).at(HERE)
TRACK = Log(noise_m=1.0, altitude_ft=LEVELS).of(FLOWN, HERE)
FAST = fly_approach(Pattern(arrival_deg=40.0, speed_kt=160.0, wind=(70.0, 12.0), roll_deg_s=4.0, final_s=150.0)).flown


def joined(pieces: Sequence[Track], pause_s: float = 1.0) -> Track:
    """Flights one after the other in one log, a moment apart."""
    times, ends_s = [], pieces[0].time_s[0] - pause_s
    for piece in pieces:
        times.append(piece.time_s - piece.time_s[0] + ends_s + pause_s)
        ends_s = times[-1][-1]
    names = ("latitude_rad", "longitude_rad", "altitude_m")
    return replace(
        pieces[0],
        time_s=np.concatenate(times),
        **{name: np.concatenate([getattr(piece, name) for piece in pieces]) for name in names},
    )


def rows(track: Track, first: int, last: int) -> Track:
    return replace(
        track, **{n: getattr(track, n)[first:last] for n in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")}
    )


def judged(approach: Approach) -> list[tuple[str, str]]:
    return [(f.check, f.verdict) for f in approach.findings]


@pytest.mark.parametrize("pause_s", [1.0, 5.0, 20.0])
@pytest.mark.parametrize("flown_s", [len(TRACK), 700, 400, 250])
def test_the_flight_after_it_is_judged_as_it_is_alone(flown_s, pause_s):
    """The first is broken off where it may be, and the aircraft put back to where the log began."""
    alone = debrief(TRACK, CHART).approaches
    both = debrief(joined([rows(TRACK, 0, flown_s), TRACK], pause_s), CHART)
    assert judged(both.approaches[-1]) == judged(alone[0])
    assert {"inside", "outside"} & {f.verdict for f in both.approaches[-1].findings}
    first = debrief(rows(TRACK, 0, flown_s), CHART)
    assert [judged(one) for one in both.approaches[:-1]] == [judged(one) for one in first.approaches]
    assert both.doubts[0].startswith("The aircraft was set elsewhere at ")


def test_it_is_said_first_and_how_often():
    thrice = debrief(joined([TRACK, TRACK, TRACK]), CHART)
    assert len(thrice.approaches) == 3
    assert " and " in thrice.doubts[0]
    assert "so this log holds 3 flights. Each is debriefed by itself" in thrice.doubts[0]
    assert summary_text(thrice).index("set elsewhere") < summary_text(thrice).index("Approach 1 of 3")


def test_a_state_loaded_on_the_way_out_is_not_carried_across():
    """Back by 100 s on the outbound leg: of what follows the beginning is missing, and what came before goes no further."""
    again = debrief(joined([rows(TRACK, 0, 240), rows(TRACK, 140, len(TRACK))]), CHART)
    alone = debrief(rows(TRACK, 140, len(TRACK)), CHART)
    assert judged(again.approaches[-1]) == judged(alone.approaches[-1])
    assert "outside" not in {f.verdict for one in again.approaches for f in one.findings}
    (before_the_fix,) = alone.doubts
    assert before_the_fix.startswith("The log begins ")
    assert again.doubts[1:] == (f"In the flight from 10:04:00 on: {before_the_fix}",)


def test_half_a_minute_without_records_and_seven_miles_farther_is_another_flight():
    later = debrief(joined([rows(TRACK, 0, 200), rows(TRACK, 350, len(TRACK))], 30.0), CHART)
    assert "set elsewhere" in later.doubts[0]
    assert judged(later.approaches[-1]) == judged(debrief(rows(TRACK, 350, len(TRACK)), CHART).approaches[-1])


@pytest.mark.parametrize("back_s", [40, 60])
def test_no_flight_turns_round_twice_in_half_a_minute(back_s):
    """A state of the outbound leg is loaded again while nothing is logged: no farther than was flown, but not so turned."""
    since = 240 - back_s
    later = debrief(joined([rows(TRACK, 0, 240), rows(TRACK, since, len(TRACK))], 30.0), CHART)
    assert "set elsewhere" in later.doubts[0]
    assert judged(later.approaches[-1]) == judged(debrief(rows(TRACK, since, len(TRACK)), CHART).approaches[-1])


def test_each_flight_has_an_airspeed_of_its_own():
    """110 kt, then 160 kt, in one wind from 70° off the outbound course: it comes out as it was, and so do both speeds."""
    fast = Log(noise_m=1.0, altitude_ft=LEVELS).of(FAST, HERE)
    both = debrief(joined([TRACK, fast]), CHART)
    for approach, speed_kt in zip(both.approaches, (110.0, 160.0), strict=True):
        wind = approach.figures.wind
        assert wind is not None
        assert np.hypot(wind.to_north_mps, wind.to_east_mps) / 0.514444 == pytest.approx(12.0, abs=2.0)
        (speed,) = [f.measured for f in approach.findings if f.check == "speed_limit"]
        assert speed * 1.04 == pytest.approx(speed_kt, rel=0.05)  # indicated, some thousand feet up


def test_positions_that_jump_to_and_fro_are_no_flights():
    """Ten seconds out of forty are of a place five miles off."""
    away = np.arange(len(TRACK)) % 40 >= 30
    broken = replace(TRACK, latitude_rad=TRACK.latitude_rad + np.where(away, 5.0 / 60.0 * np.pi / 180.0, 0.0))
    result = debrief(broken, CHART)
    assert not any("set elsewhere" in doubt for doubt in result.doubts)
    assert all(f.verdict == "not assessed" for one in result.approaches for f in one.findings)


@pytest.mark.parametrize("flown_s", [700, 400])
def test_where_the_clock_begins_again_another_flight_does(flown_s):
    """No jump of the position shows where the second begins a mile on along the way that the first ended on."""
    first, second = rows(TRACK, 0, flown_s), rows(TRACK, flown_s + 30, len(TRACK))
    both = joined([first, second])
    again = replace(both, begins_s=(float(both.time_s[flown_s]),))
    result = debrief(again, CHART)
    assert result.doubts[0].startswith("The log's clock begins again, and the positions with it, at ")
    alone = [one for part in (first, second) for one in debrief(part, CHART).approaches]
    assert [judged(one) for one in result.approaches] == [judged(one) for one in alone]


@pytest.mark.parametrize("pause_s", [200.0, 600.0])
@pytest.mark.parametrize("since", [0, 140, 300])
def test_a_state_loaded_after_minutes_without_records(since, pause_s):
    """It could have been flown to in that time, but not so that all of the state is as it was."""
    exact = Log(altitude_ft=LEVELS).of(FLOWN, HERE)
    first, second = rows(exact, 0, 480), rows(exact, since, len(exact))
    both = debrief(joined([first, second], pause_s), CHART)
    assert "set elsewhere" in both.doubts[0]
    alone = [one for part in (first, second) for one in debrief(part, CHART).approaches]
    assert [judged(one) for one in both.approaches] == [judged(one) for one in alone]


@pytest.mark.parametrize("step", [5, 10])
def test_the_path_before_is_found_between_samples_far_apart(step):
    """A state of the outbound leg, with other samples than those of the first time there."""
    thinned = [
        replace(part, **{n: getattr(part, n)[::step] for n in ("time_s", "latitude_rad", "longitude_rad", "altitude_m")})
        for part in (rows(TRACK, 0, 450), rows(TRACK, 177, len(TRACK)))
    ]
    both = debrief(joined(thinned, float(step)), CHART)
    assert "set elsewhere" in both.doubts[0]
    assert judged(both.approaches[-1]) == judged(debrief(thinned[1], CHART).approaches[-1])


def test_many_states_loaded_are_no_fixes_between_straight_lines(tmp_path):
    """Next to a jump the course changes between straight lines, which is no turn whose samples were filled in."""
    path = tmp_path / "log.csv"
    exact = Log(altitude_ft=LEVELS).of(FLOWN, HERE)
    both = joined([*[rows(exact, 0, 60 + k) for k in range(20)], exact])
    written = np.column_stack(
        [both.time_s, np.degrees(both.latitude_rad), np.degrees(both.longitude_rad), both.altitude_m / 0.3048]
    )
    np.savetxt(path, written, "%.7f", ",", header="time,lat,lon,alt_ft", comments="")
    track = read_track(path)
    assert not track.filled_in
    result = debrief(track, CHART)
    assert judged(result.approaches[-1]) == judged(debrief(exact, CHART).approaches[-1])


def test_a_flight_of_such_a_log_is_one():
    """Each flight knows those places alone at which itself was set elsewhere, which are none."""
    flights = analyse_motion(joined([TRACK, TRACK, TRACK]), resolve(CHART, dt.date(2026, 6, 1))).flights
    assert [one.flights for one in flights] == [(one,) for one in flights]


def test_a_near_place_at_another_height_is_another_flight():
    """The arrival is begun again 1.5 NM from where it was broken off, and 2,000 ft higher: no receiver errs so."""
    higher = replace(TRACK, altitude_m=TRACK.altitude_m + 2000.0 * 0.3048)
    again = debrief(joined([rows(TRACK, 0, 50), higher]), CHART)
    assert again.doubts[0].startswith("The aircraft was set elsewhere at ")
    assert judged(again.approaches[-1]) == judged(debrief(higher, CHART).approaches[-1])
    same = debrief(joined([rows(TRACK, 0, 50), replace(TRACK, latitude_rad=TRACK.latitude_rad + 4e-4)]), CHART)
    assert not any("set elsewhere" in doubt for doubt in same.doubts)
