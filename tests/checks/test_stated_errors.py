"""The errors stated of where the aircraft was established, and of distances in coarse logs, against flights of known path.

They have to cover the errors without being idle: the root mean square of error over standard deviation lies between a quarter
and 1.2, and none is beyond four. The wander of a receiver, which these logs have none of, is in what is stated.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from checked import PLAIN, debriefed, one_of
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Floats, Flown, Log, Place

from analyzer import debrief
from analyzer.track.track import Track

PATTERNS = [
    replace(PLAIN, speed_kt=speed_kt, leg_s=leg_s, side=side)
    for speed_kt in (90.0, 120.0, 160.0)
    for leg_s in (34.0, 39.0, 44.0)
    for side in (1, -1)
]


def established_nm(flown: Flown) -> float:
    """Distance from the fix where a path is first, and stays, within 5° of the course and 15° of its direction."""
    x, y = flown.x_nm, flown.y_nm
    track = np.degrees(np.arctan2(np.gradient(x), np.gradient(y)))
    off = np.degrees(np.arctan2(np.abs(x), y))
    home = (off < 5.0) & (np.abs((track - 180.0 + 180.0) % 360.0 - 180.0) < 15.0) & (y > 0.0)
    passed = int(np.flatnonzero(home)[-1])
    since = int(np.flatnonzero(~home[:passed])[-1]) + 1
    return float(np.hypot(x[since], y[since]))


@dataclass(frozen=True)
class Rounded(Log):
    """A log whose coordinates have so many decimals of a degree."""

    decimals: int = 3

    def of(self, flown: Flown, place: Place = HERE) -> Track:
        track = super().of(flown, place)
        latitude, longitude = np.degrees(track.latitude_rad), np.degrees(track.longitude_rad)
        coarse = [np.radians(np.round(angle, self.decimals)) for angle in (latitude, longitude)]
        return replace(track, latitude_rad=coarse[0], longitude_rad=coarse[1])


def shares(errors: list[float]) -> Floats:
    assert len(errors) > 10
    return np.abs(np.array(errors))


def pattern_chart(pattern: Pattern) -> Chart:
    return Chart(side="right" if pattern.side > 0 else "left")


LOGS = {
    "1 s": Log(noise_m=1.0),
    "5 s": Log(noise_m=1.0, step_s=5.0),
    "8 s": Log(noise_m=1.0, step_s=8.0),
    "four decimals": Rounded(decimals=4),
    "three decimals": Rounded(decimals=3),
}


@pytest.mark.parametrize("log", LOGS.values(), ids=LOGS)
def test_the_place_of_being_established_is_as_sure_as_it_says(log):
    errors = []
    for number, pattern in enumerate(PATTERNS):
        flown = fly_approach(pattern).flown
        finding = one_of(debriefed(flown, replace(log, seed=number), pattern_chart(pattern)), "established")
        errors.append((finding.measured - established_nm(flown)) / finding.sd)
    share = shares(errors)
    assert 0.25 < np.sqrt(np.mean(share**2)) < 1.2
    assert share.max() < 4.0


@pytest.mark.parametrize("decimals", [3, 4])
@pytest.mark.parametrize("step_s", [1.0, 5.0])
def test_distances_of_rounded_positions_are_as_sure_as_they_say(decimals, step_s):
    errors = []
    for number, pattern in enumerate(PATTERNS):
        flown = fly_approach(pattern).flown
        place = replace(HERE, outbound_true_deg=20.0 * number)  # along lines of the grid, and across them
        log = Rounded(decimals=decimals, step_s=step_s, seed=number)
        (approach,) = debrief(log.of(flown, place), pattern_chart(pattern).at(place)).approaches
        finding = one_of(approach, "distance_limit")
        errors.append((finding.measured - float(flown.distance_nm.max())) / finding.sd)
    share = shares(errors)
    assert np.sqrt(np.mean(share**2)) < 1.2
    assert share.max() < 4.0


def test_rounding_is_in_the_error_of_a_position():
    """A value rounded to a unit is off by that unit over the root of twelve."""
    flown = fly_approach(PLAIN).flown
    for decimals, metres in ((3, 111.2), (4, 11.12)):
        motion = debrief(Rounded(decimals=decimals).of(flown), Chart().at()).motion
        assert motion.position_sd_m == pytest.approx(np.hypot(3.0, metres / np.sqrt(12.0)), rel=0.02)
    assert debrief(Log().of(flown), Chart().at()).motion.position_sd_m == pytest.approx(3.0, abs=1e-6)
