"""The bank while an aircraft rolls, and the peak of a sharp turn: known less well between positions that are farther apart."""

import datetime as dt

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, START_S, Chart, Log

from analyzer import debrief
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

ROLLS = (4.0, 5.0, 6.0, 8.0)


@pytest.mark.parametrize("noise_m", [0.5, 2.0, 5.0])
@pytest.mark.parametrize("step_s", [1.0, 3.0, 5.0])
def test_the_stated_error_holds_while_the_aircraft_rolls(step_s, noise_m):
    """Of a normal deviate 68 % lie within one standard deviation and 95 % within two."""
    charted, scores = resolve(Chart().at(HERE), dt.date(2026, 6, 1)), []
    for seed, roll in enumerate(ROLLS):
        flown = fly_approach(Pattern(arrival_deg=40.0, bank_deg=26.0, speed_kt=100.0, wind=(70.0, 12.0), roll_deg_s=roll)).flown
        motion = analyse_motion(Log(noise_m=noise_m, seed=seed, step_s=step_s).of(flown, HERE), charted)
        states = motion.states
        since = states.time_s - START_S
        true = np.interp(since, flown.time_s, flown.bank_deg)
        rolling = np.abs(np.gradient(true, since)) > 1.5
        off = np.abs(np.degrees(states.bank_rad) - true) / np.degrees(motion.errors(states).bank_rad)
        scores += list(off[rolling])
    assert np.mean(np.array(scores) < 1.0) > 0.6
    assert np.mean(np.array(scores) < 2.0) > 0.93


@pytest.mark.parametrize("step_s", [1.0, 2.0, 3.0, 4.0, 5.0])
@pytest.mark.parametrize("noise_m", [0.0, 0.3, 2.0])
def test_no_sharp_turn_at_29_degrees_is_called_steeper_than_30_and_long_ones_at_34_are(step_s, noise_m):
    for roll in (6.0, 9.0, 12.0):
        for bank in (29.0, 34.0):
            flown = fly_approach(
                Pattern(arrival_deg=40.0, bank_deg=bank, speed_kt=115.0, wind=(70.0, 12.0), roll_deg_s=roll)
            ).flown
            result = debrief(Log(noise_m=noise_m, step_s=step_s, altitude_ft=3040.0).of(flown, HERE), Chart().at(HERE))
            of_banks = [f for f in result.approaches[0].findings if f.check == "turn_bank"]
            assert of_banks
            if bank < 30.0:
                assert all(finding.verdict != "outside" for finding in of_banks)
            else:
                assert any(finding.part == "reversal_turn" and finding.verdict == "outside" for finding in of_banks)
                assert all(finding.verdict != "inside" for finding in of_banks if finding.part == "reversal_turn")
