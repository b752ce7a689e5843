"""After a landing the aircraft rolls, taxies and stands: off the course that is no deviation from it, and at no level."""

from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, one_of
from patterns import fly_approach
from synthetic import HERE, Chart

from analyzer import debrief
from analyzer.track.track import Track

FLOWN = fly_approach(replace(PLAIN, final_s=200.0)).flown
EARTH_M = 6_371_000.0


GPS = Chart(tables={"guidance": {"kind": "gps"}})  # 0.3 NM of full scale on final (AIM 1-1-17)
AWAY = np.radians(35.0)  # from the way that was flown last


def going_on(speed_mps: float, seconds: int) -> Track:
    """From the end of the flight on aside of the course, at one height."""
    track = replace(NOISY, altitude_ft=1000.0).of(FLOWN, HERE)
    latitude, longitude, shrink = track.latitude_rad, track.longitude_rad, np.cos(track.latitude_rad[-1])
    ahead = np.arctan2((longitude[-1] - longitude[-60]) * shrink, latitude[-1] - latitude[-60]) + AWAY
    gone = speed_mps * np.arange(1, seconds + 1) / EARTH_M
    return replace(
        track,
        time_s=np.append(track.time_s, track.time_s[-1] + np.arange(1, seconds + 1)),
        latitude_rad=np.append(latitude, latitude[-1] + gone * np.cos(ahead)),
        longitude_rad=np.append(longitude, longitude[-1] + gone * np.sin(ahead) / shrink),
        altitude_m=np.append(track.altitude_m, np.full(seconds, track.altitude_m[-1])),
    )


def final_course(track: Track) -> tuple[str, float]:
    finding = one_of(debrief(track, GPS.at(HERE)).approaches[0], "final_course")
    assert isinstance(finding.measured, float)
    return finding.verdict, finding.measured


@pytest.mark.parametrize("speed_mps", [6.0, 12.0])
def test_taxiing_off_the_course_is_no_deviation_from_it(speed_mps):
    flown = final_course(replace(NOISY, altitude_ft=1000.0).of(FLOWN, HERE))
    assert flown[0] == "inside"
    assert final_course(going_on(speed_mps, 240)) == ("inside", pytest.approx(flown[1], abs=0.05))


def test_flying_off_the_course_is():
    """At 55 m/s for 40 s, 0.7 NM aside."""
    assert final_course(going_on(55.0, 40))[0] == "outside"


def landing(*paces_mps: float, seconds: int = 60) -> Track:
    """Down from 2,000 ft over the fix to a runway at 100 ft, and on along it, so long at each pace."""
    track = replace(NOISY, altitude_ft=1000.0).of(FLOWN, HERE)
    since_s = track.time_s - track.time_s[-1]
    height_ft = np.interp(since_s, [-500.0, -380.0, -200.0, 0.0], [3000.0, 3000.0, 2000.0, 100.0])
    speed = np.concatenate([np.linspace(60.0, paces_mps[0], 25), *(np.full(seconds, pace) for pace in paces_mps)])
    latitude, longitude, shrink = track.latitude_rad, track.longitude_rad, np.cos(track.latitude_rad[-1])
    ahead = np.arctan2((longitude[-1] - longitude[-60]) * shrink, latitude[-1] - latitude[-60])
    gone = np.cumsum(speed) / EARTH_M
    return replace(
        track,
        time_s=np.append(track.time_s, track.time_s[-1] + np.arange(1, len(speed) + 1)),
        latitude_rad=np.append(latitude, latitude[-1] + gone * np.cos(ahead)),
        longitude_rad=np.append(longitude, longitude[-1] + gone * np.sin(ahead) / shrink),
        altitude_m=np.append(height_ft, np.full(len(speed), 100.0)) * 0.3048,
    )


@pytest.mark.parametrize("paces_mps", [(0.0, 0.0), (8.0, 8.0), (21.0, 5.0), (25.0, 0.0, 0.0)])
def test_on_the_runway_no_level_is_held(paces_mps):
    """Standing on it, taxiing, or still rolling at 40 or 50 kt for a minute."""
    approach = debrief(landing(*paces_mps), Chart().at(HERE)).approaches[0]
    assert approach.reversal.parts[-1].leg == "final"
    levels = {finding.leg: finding for finding in approach.findings if finding.check == "altitude_hold"}
    assert "final" not in levels
    assert levels  # those before it


def test_a_level_before_the_landing_is_one():
    """A minute at 600 ft on the final leg, then down to the runway and to a stop."""
    track = landing(0.0, 0.0)
    since_s = track.time_s - (track.time_s[-1] - 145.0)  # when it is down
    heights = np.interp(since_s, [-200.0, -130.0, -50.0, 0.0, 1e4], [2000.0, 600.0, 600.0, 100.0, 100.0])
    level = replace(track, altitude_m=np.where(since_s > -200.0, heights * 0.3048, track.altitude_m))
    finding = one_of(debrief(level, Chart().at(HERE)).approaches[0], "altitude_hold", leg="final")
    assert finding.details["level_ft"] == pytest.approx(600.0, abs=5.0)
    assert finding.verdict == "inside"
