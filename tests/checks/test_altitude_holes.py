"""A log whose altitude is missing for a while, wherever that is: no crash, and no figure that is not a number."""

import json
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY
from missed_flights import Whole, chart, missed_and_again, whole

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
