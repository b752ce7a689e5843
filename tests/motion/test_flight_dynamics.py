"""The motion against a flight-dynamics model: one flight flown live without a receiver's errors, and the logs kept of three."""

import datetime as dt
import functools
import importlib
import json
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from synthetic import FT, NM

from analyzer import debrief, read_procedure, read_track
from analyzer.library.debrief import Debrief
from analyzer.physics.units import DEG
from analyzer.track.track import Track

SAMPLES = Path(__file__).parents[2] / "sample_tracks"
LOGS = {"clean": "clean.csv", "strong_wind": "strong_wind.csv", "early_descent": "early_descent.gpx"}
BANKED_DEG = 8.0  # beyond this the aircraft is turning


@functools.cache
def simulator() -> ModuleType:
    pytest.importorskip("jsbsim")
    sys.path.insert(0, str(SAMPLES))
    return importlib.import_module("fly")


def steady_bank(bank_deg: np.ndarray) -> float:
    """Mean bank between the first and the last second at 80 % of the turn's bank."""
    size = np.abs(bank_deg)
    high = np.flatnonzero(size >= 0.8 * np.quantile(size, 0.9))
    return float(size[high[0] : high[-1] + 1].mean())


def assert_banks(result: Debrief, time_s: np.ndarray, roll_deg: np.ndarray) -> None:
    """Bank beside the simulator's roll, second by second and turn by turn."""
    (approach,) = result.approaches
    begin, end = approach.reversal.parts[1].start_s, approach.reversal.parts[-1].start_s
    states = result.motion.states.between(begin, end)
    roll = np.interp(states.time_s, time_s, roll_deg)
    turning = np.abs(roll) > BANKED_DEG
    assert turning.sum() > 60
    error = states.bank_rad / DEG - roll
    assert np.sqrt(np.mean(error[turning] ** 2)) < 1.2
    turns = [figures for figures in approach.figures.parts if figures.turn is not None]
    assert len(turns) == 3
    for figures in turns:
        part, turn = figures.part, figures.turn
        assert turn is not None
        inside = (time_s >= part.start_s) & (time_s <= part.end_s)
        assert turn.bank_mean_rad / DEG == pytest.approx(steady_bank(roll_deg[inside]), abs=1.5), part.name
        assert np.sign(roll_deg[inside].sum()) == turn.direction


def assert_wind(result: Debrief, to_north_kt: float, to_east_kt: float) -> None:
    wind = result.approaches[0].figures.wind
    assert wind is not None
    knot = NM / 3600.0
    assert np.hypot(wind.to_north_mps / knot - to_north_kt, wind.to_east_mps / knot - to_east_kt) < 4.0


@functools.cache
def live() -> tuple[Debrief, object]:
    module = simulator()
    flight = module.fly(module.SCENARIOS["clean"])
    time = flight.scenario.start.timestamp() + flight.time_s
    radians = np.radians(flight.latitude_deg), np.radians(flight.longitude_deg)
    track = Track("live.csv", "csv", time, *radians, flight.altitude_ft * FT, {}, (), (), ())
    return debrief(track, read_procedure(SAMPLES / "wendle_island_vor24.toml")), flight


def test_bank_and_wind_of_a_live_flight():
    result, flight = live()
    time = flight.scenario.start.timestamp() + flight.time_s
    assert_banks(result, time, flight.bank_deg)
    assert_wind(result, float(flight.wind_to_north_kt.mean()), float(flight.wind_to_east_kt.mean()))


def test_airspeed_and_heading_of_a_live_flight():
    result, flight = live()
    (approach,) = result.approaches
    states = result.motion.states.between(approach.reversal.parts[1].start_s, approach.reversal.parts[-1].start_s)
    time = flight.scenario.start.timestamp() + flight.time_s
    airspeed = np.interp(states.time_s, time, flight.true_airspeed_kt)
    assert np.sqrt(np.mean((states.true_airspeed_mps * 3600.0 / NM - airspeed) ** 2)) < 4.0
    nearest = np.searchsorted(time, states.time_s - 0.5)
    off = (states.heading_rad / DEG - flight.heading_deg[nearest] + 180.0) % 360.0 - 180.0
    assert np.sqrt(np.mean(off**2)) < 3.0


def test_greatest_distance_of_a_live_flight():
    result, _ = live()
    truth = json.loads((SAMPLES / "truth" / "clean.json").read_text("utf-8"))
    farthest = result.approaches[0].figures.farthest
    assert farthest is not None
    assert farthest.distance_m / NM == pytest.approx(truth["greatest_distance_nm"], abs=0.01)


@functools.cache
def kept(name: str) -> tuple[Debrief, dict[str, object], dict[str, np.ndarray]]:
    result = debrief(read_track(SAMPLES / LOGS[name]), read_procedure(SAMPLES / "wendle_island_vor24.toml"))
    truth = json.loads((SAMPLES / "truth" / f"{name}.json").read_text("utf-8"))
    lines = (SAMPLES / "truth" / f"{name}.csv").read_text("utf-8").splitlines()
    rows = [line.split(",") for line in lines[1:]]
    columns = {key: np.array([row[k] for row in rows]) for k, key in enumerate(lines[0].split(","))}
    times = np.array([dt.datetime.fromisoformat(text).timestamp() for text in columns.pop("time_utc")])
    return result, truth, {"time_s": times, **{key: values.astype(float) for key, values in columns.items()}}


@pytest.mark.parametrize("name", LOGS)
def test_kept_logs(name):
    result, truth, states = kept(name)
    assert_banks(result, states["time_s"], states["bank_deg"])
    assert_wind(result, states["wind_to_north_kt"].mean(), states["wind_to_east_kt"].mean())
    (approach,) = result.approaches
    assert (approach.reversal.flown, approach.reversal.side) == ("45/180", -1)
    farthest, established = approach.figures.farthest, approach.reversal.established_s
    assert farthest is not None
    assert established is not None
    assert farthest.distance_m / NM == pytest.approx(truth["greatest_distance_nm"], abs=0.01)
    assert established == pytest.approx(dt.datetime.fromisoformat(str(truth["established_utc"])).timestamp(), abs=2.0)
    assert approach.figures.established_distance_m == pytest.approx(truth["established_distance_nm"] * NM, abs=0.1 * NM)
    peak = max(part.turn.bank_peak_rad for part in approach.figures.parts if part.turn is not None) / DEG
    assert peak == pytest.approx(truth["peak_bank_deg"], abs=2.0)


def test_what_the_three_flights_are_known_for():
    # sample_tracks/README.md: everything inside; past 10 NM; down too early and too steep.
    outside = {}
    for name in LOGS:
        findings = kept(name)[0].approaches[0].findings
        outside[name] = {finding.check for finding in findings if finding.verdict == "outside"}
    assert outside["clean"] == set()
    assert outside["strong_wind"] == {"distance_limit"}
    assert {"altitude_floor", "turn_bank"} <= outside["early_descent"]
    assert "distance_limit" not in outside["early_descent"]
