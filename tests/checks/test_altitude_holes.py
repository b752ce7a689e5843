"""A log whose altitude is missing for a while, wherever that is: no crash, and no figure that is not a number."""

import json
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY
from missed_flights import Whole, chart, missed_and_again, whole
from patterns import Pattern, fly_approach
from synthetic import Chart

from analyzer import debrief

FLIGHTS = {"missed approach, hold and second approach": whole, "two approaches": missed_and_again}


def emptied(flight: Whole, first_s: int, seconds: int) -> str:
    """The debrief as JSON, with no altitude from a second on for so long."""
    track = replace(NOISY, altitude_ft=flight.heights).of(flight.flown)
    altitude = track.altitude_m.copy()
    altitude[first_s : first_s + seconds] = np.nan
    result = debrief(replace(track, altitude_m=altitude), chart().at())
    return json.dumps(result.to_dict(), allow_nan=False) + str(result)


@pytest.mark.parametrize("name", FLIGHTS)
@pytest.mark.parametrize(("seconds", "every_s"), [(60, 90), (200, 170)])
def test_altitudes_that_are_missing_for_a_while_crash_nothing(name, seconds, every_s):
    flight = FLIGHTS[name]()
    length = int(flight.flown.time_s[-1])
    for first in range(0, length, every_s):
        assert "nan" not in emptied(flight, first, seconds)


def test_an_arrival_without_altitudes_where_its_minimum_begins_is_not_assessed():
    """From 40 NM out, with altitudes on the first 12 NM and half a minute after the fix: the minimum holds within 25 NM."""
    pattern = Pattern(arrival_s=1200.0)
    track = replace(NOISY, altitude_ft=3040.0).of(fly_approach(pattern).flown)
    altitude = track.altitude_m.copy()
    altitude[360:1230] = np.nan
    (approach,) = debrief(replace(track, altitude_m=altitude), Chart(floors_ft={"arrival": 3000.0}).at()).approaches
    (floor,) = (finding for finding in approach.findings if finding.check == "altitude_floor")
    assert (floor.verdict, floor.reason) == ("not assessed", "altitude is missing from part of it")
