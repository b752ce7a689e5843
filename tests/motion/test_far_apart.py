"""Wind and airspeed where the fixes are so far apart that a turn has only a few."""

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, KT, Chart, Log

from analyzer import debrief

WINDS = ((70.0, 12.0), (200.0, 25.0), (320.0, 18.0))


@pytest.mark.parametrize("interval_s", [12.0, 15.0, 18.0, 20.0])
def test_the_airspeed_is_that_flown_within_its_error_and_mostly_well_known(interval_s):
    """110 kt all along, in three winds. Half a turn at 3°/s takes a minute; the curve between its fixes is no measurement."""
    sds = []
    for shape in ("45/180", "80/260"):
        for wind in WINDS:
            pattern = Pattern(shape=shape, arrival_deg=40.0, speed_kt=110.0, wind=wind, roll_deg_s=4.0, final_s=150.0)
            log = Log(step_s=interval_s, noise_m=0.3).of(fly_approach(pattern).flown, HERE)
            motion = debrief(log, Chart().at(HERE)).motion
            sd = float(np.median(motion.errors(motion.states).true_airspeed_mps)) / KT
            assert abs(float(np.median(motion.states.true_airspeed_mps)) / KT - 110.0) < 2.0 * sd
            sds.append(sd)
    assert np.median(sds) < 4.0
