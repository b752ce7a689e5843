"""Flies the sample flights and writes their logs: run it to rewrite every file, or import `fly` and `SCENARIOS`.

A seeded pilot (`pilot.py`) gives orders to an autopilot over a JSBSim airframe (`autopilot.py`); `records.py` writes the files.
"""

import math
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
from autopilot import KT, NM, TICK_S, Autopilot, Orders, State
from geographiclib.geodesic import Geodesic
from pilot import CHART, Scenario, Sight, from_fix, gauss_markov, plan
from records import write_gpx, write_log_in_feet, write_log_in_metres, write_truth

__all__ = ["SCENARIOS", "Flight", "Part", "Scenario", "fly", "main"]

SETTLE_S = 60.0  # flown before the log starts, for the airframe and the wind to settle
RECORDED_ARRIVAL_S = 90.0
VERTICAL_FPM = 700.0
LONGEST_S = 1800.0

# What wanders in the pilot's hands: standard deviation and correlation time [s].
HEADING_WANDER_DEG = (1.2, 25.0)
BANK_WANDER_DEG = (0.6, 12.0)
ALTITUDE_WANDER_FT = (14.0, 40.0)
AIRSPEED_WANDER_KT = (1.3, 40.0)

SCENARIOS = MappingProxyType(
    {
        # Everything inside the limits.
        "clean": Scenario(
            name="clean",
            seed=2411,
            airframe="c172p",
            start=datetime(2026, 6, 14, 9, 12, tzinfo=UTC),
            wind_from_deg_true=215.0,
            wind_kt=12.0,
            airspeed_kt=95.0,
            final_airspeed_kt=85.0,
            arrival_course_deg=20.0,
            outbound_s=130.0,
            offset_leg_s=45.0,
            turn_bank_deg=13.5,
            reversal_bank_deg=13.5,
            descent_starts="inbound",
        ),
        # The wind blows along the outbound course, 053° true, and a little across; nothing is taken off the times for it.
        "strong_wind": Scenario(
            name="strong_wind",
            seed=2412,
            airframe="t6texan2",
            start=datetime(2026, 6, 28, 15, 40, tzinfo=UTC),
            wind_from_deg_true=245.0,
            wind_kt=35.0,
            airspeed_kt=155.0,
            final_airspeed_kt=125.0,
            arrival_course_deg=95.0,
            outbound_s=104.0,
            offset_leg_s=60.0,
            turn_bank_deg=23.0,
            reversal_bank_deg=23.0,
            descent_starts="inbound",
        ),
        # The descent starts in the turn back, which is flown far too steep.
        "early_descent": Scenario(
            name="early_descent",
            seed=2413,
            airframe="pa28",
            start=datetime(2026, 7, 9, 18, 5, tzinfo=UTC),
            wind_from_deg_true=260.0,
            wind_kt=9.0,
            airspeed_kt=105.0,
            final_airspeed_kt=90.0,
            arrival_course_deg=35.0,
            outbound_s=120.0,
            offset_leg_s=40.0,
            turn_bank_deg=17.0,
            reversal_bank_deg=39.0,
            descent_starts="reversal_turn",
        ),
    }
)


@dataclass(frozen=True)
class Part:
    """One part of the approach and the instant it was ordered, in seconds from the start of the log."""

    name: str
    start_s: float


@dataclass(frozen=True, eq=False)
class Flight:
    """One flight as flown, without a receiver's errors: one value a second in each array, `time_s` from `scenario.start`.

    Units are in the names. Bank is positive to the right, heading and track are true, wind is where the air moves to.
    """

    scenario: Scenario
    parts: tuple[Part, ...]
    time_s: npt.NDArray[np.float64]
    latitude_deg: npt.NDArray[np.float64]
    longitude_deg: npt.NDArray[np.float64]
    altitude_ft: npt.NDArray[np.float64]
    bank_deg: npt.NDArray[np.float64]
    heading_deg: npt.NDArray[np.float64]
    track_deg: npt.NDArray[np.float64]
    ground_speed_kt: npt.NDArray[np.float64]
    true_airspeed_kt: npt.NDArray[np.float64]
    calibrated_airspeed_kt: npt.NDArray[np.float64]
    wind_to_north_kt: npt.NDArray[np.float64]
    wind_to_east_kt: npt.NDArray[np.float64]


def fly(scenario: Scenario) -> Flight:
    """Fly one scenario: a few seconds of work. The same versions give the same values.

    Raises RuntimeError where the flight does not come to its end.
    """
    rng = np.random.default_rng([scenario.seed, 0])
    ticks = round(LONGEST_S / TICK_S)
    heading, bank, altitude, airspeed = (
        gauss_markov(rng, ticks, TICK_S, *wander).tolist()
        for wander in (HEADING_WANDER_DEG, BANK_WANDER_DEG, ALTITUDE_WANDER_FT, AIRSPEED_WANDER_KT)
    )
    plans = plan(scenario)
    level = Orders(0.0, plans[0].altitude_ft, VERTICAL_FPM, plans[0].airspeed_kt)
    autopilot = Autopilot(scenario.airframe, _start(scenario), level, _wind_to(scenario))
    states = [autopilot.state()]
    parts: list[Part] = []
    for part in plans:
        began_s = states[-1].time_s
        parts.append(Part(part.name, max(0.0, round(began_s - SETTLE_S, 1))))
        while not part.until(sight := _sight(states[-1], began_s, heading[len(states)])):
            now = len(states)
            orders = Orders(
                part.steer(sight) + bank[now], part.altitude_ft + altitude[now], VERTICAL_FPM, part.airspeed_kt + airspeed[now]
            )
            states.append(autopilot.advance(orders))
            if len(states) == ticks:
                raise RuntimeError(f"{scenario.name}: still in {part.name} after {LONGEST_S:.0f} s")
    return _flight(scenario, tuple(parts), states)


def _sight(state: State, began_s: float, wander_deg: float) -> Sight:
    line = from_fix(state.latitude_deg, state.longitude_deg)
    return Sight(state, line["azi1"], line["s12"] / NM, line["azi2"] - line["azi1"], state.time_s - began_s, wander_deg)


def _wind_to(scenario: Scenario) -> tuple[float, float]:
    blows_from = math.radians(scenario.wind_from_deg_true)
    return -scenario.wind_kt * math.cos(blows_from), -scenario.wind_kt * math.sin(blows_from)


def _start(scenario: Scenario) -> tuple[float, float, float]:
    """Latitude, longitude and heading from which the fix is reached about `RECORDED_ARRIVAL_S` into the log, in degrees."""
    course = scenario.arrival_course_deg + CHART["fix"]["variation_deg_east"]
    north, east = _wind_to(scenario)
    with_wind = north * math.cos(math.radians(course)) + east * math.sin(math.radians(course))
    true_airspeed = 1.045 * scenario.airspeed_kt  # near enough at 3,000 ft
    back_m = (true_airspeed + with_wind) * KT * (SETTLE_S + RECORDED_ARRIVAL_S)
    line = Geodesic.WGS84.Direct(CHART["fix"]["latitude_deg"], CHART["fix"]["longitude_deg"], course + 180.0, back_m)
    return line["lat2"], line["lon2"], course


def _flight(scenario: Scenario, parts: tuple[Part, ...], states: list[State]) -> Flight:
    kept = states[round(SETTLE_S / TICK_S) :: round(1.0 / TICK_S)]
    columns = {field.name: np.array([getattr(state, field.name) for state in kept]) for field in fields(State)}
    columns["time_s"] = np.arange(len(kept), dtype=np.float64)
    for column in columns.values():
        column.flags.writeable = False
    return Flight(scenario, parts, **columns)


def main() -> None:
    """Fly every scenario and rewrite the logs and their truth."""
    folder = Path(__file__).parent
    writers = {"clean": write_log_in_feet, "strong_wind": write_log_in_metres, "early_descent": write_gpx}
    for name, scenario in SCENARIOS.items():
        flight = fly(scenario)
        log = writers[name](flight, folder)
        truth = write_truth(flight, log.name, folder / "truth")
        print(f"{flight.time_s[-1]:.0f} s flown; wrote {', '.join(str(path.relative_to(folder)) for path in (log, *truth))}")


if __name__ == "__main__":
    main()
