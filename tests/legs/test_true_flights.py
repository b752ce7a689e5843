"""Flights in a flight-dynamics model whose truth is known: every 45/180, in each form that its log may be kept in."""

import functools

import pytest
import true_flights
from synthetic import NM
from true_flights import LIVE, LOGS, STORED, Attempt

from analyzer import debrief
from analyzer.library.debrief import Debrief
from analyzer.physics.units import DEG


@functools.cache
def flown(flight: str, log: str) -> tuple[Debrief, list[Attempt], float]:
    """The debrief of one log, the truth, and the instant that the truth counts seconds from."""
    if flight in LIVE:
        pytest.importorskip("jsbsim")
    states = true_flights.states(flight)
    return debrief(true_flights.log(flight, log), states.procedure), true_flights.attempts(flight), states.start_s


every_log = pytest.mark.parametrize("log", LOGS)
every_flight = pytest.mark.parametrize("flight", [*STORED, *LIVE])


@every_log
@every_flight
def test_shape_side_and_number(flight, log):
    result, attempts, _ = flown(flight, log)
    assert len(result.approaches) == len(attempts)
    for approach, attempt in zip(result.approaches, attempts, strict=True):
        assert approach.reversal.flown == "45/180"
        assert (approach.reversal.side, approach.reversal.turn) == (attempt.side, attempt.turn)


@every_log
@every_flight
def test_greatest_distance(flight, log):
    result, attempts, _ = flown(flight, log)
    for approach, attempt in zip(result.approaches, attempts, strict=True):
        farthest = approach.figures.farthest
        assert farthest is not None
        assert farthest.distance_m / NM == pytest.approx(attempt.greatest_distance_nm, abs=0.01)


@every_log
@every_flight
def test_established(flight, log):
    result, attempts, start = flown(flight, log)
    for approach, attempt in zip(result.approaches, attempts, strict=True):
        established = approach.reversal.established_s
        assert established is not None
        assert established - start == pytest.approx(attempt.established_s, abs=2.0)


@every_log
@every_flight
def test_mean_bank_of_each_turn(flight, log):
    result, attempts, _ = flown(flight, log)
    for approach, attempt in zip(result.approaches, attempts, strict=True):
        measured = {part.part.name: part.turn for part in approach.figures.parts if part.turn is not None}
        assert set(attempt.bank_deg) <= set(measured)
        for name, bank_deg in attempt.bank_deg.items():
            # of a turn of some 10 s in a log with holes of up to 30 s, what the bank itself says of its error
            short_and_holed = log == "irregular.csv" and name != "reversal_turn"
            within = 2.0 * measured[name].bank_peak_sd_rad / DEG if short_and_holed else 1.5
            assert measured[name].bank_mean_rad / DEG == pytest.approx(bank_deg, abs=within), name


@every_log
@every_flight
def test_wind(flight, log):
    result, attempts, _ = flown(flight, log)
    for approach, attempt in zip(result.approaches, attempts, strict=True):
        wind = approach.figures.wind
        assert wind is not None
        found = wind.to_north_mps * 3600.0 / NM, wind.to_east_mps * 3600.0 / NM
        off = found[0] - attempt.wind_to_kt[0], found[1] - attempt.wind_to_kt[1]
        # 4 kt, or what the estimate says of itself where it slowed down in its turns and the log has holes there
        assert (off[0] ** 2 + off[1] ** 2) ** 0.5 < max(4.0, 2.0 * wind.sd_mps * 3600.0 / NM)
