"""Flies the sample flights and writes their logs: run it to rewrite every file, or import `fly` and `SCENARIOS`.

A seeded pilot (`pilot.py`) gives orders to an autopilot over a JSBSim airframe (`autopilot.py`); `records.py` writes the files.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
from autopilot import KT, NM, TICK_S, Autopilot, Orders, State
from geographiclib.geodesic import Geodesic
from longer import InLieu, MissedAndHold
from outcomes import missed_outcome, reversal_outcome, step_down_outcome
from pilot import Ordered, Place, Scenario, Sight, gauss_markov, geodesic, place_of
from records import write_gpx, write_log_in_feet, write_log_in_metres, write_truth

__all__ = ["SCENARIOS", "Flight", "Part", "Scenario", "fly", "main"]

SETTLE_S = 60.0  # flown before the log starts, for the airframe and the wind to settle
RECORDED_ARRIVAL_S = 90.0

# What wanders in the pilot's hands: standard deviation and correlation time [s].
HEADING_WANDER_DEG = (1.2, 25.0)
BANK_WANDER_DEG = (0.6, 12.0)
ALTITUDE_WANDER_FT = (14.0, 40.0)
AIRSPEED_WANDER_KT = (1.3, 40.0)

SCENARIOS: Mapping[str, Ordered] = MappingProxyType(
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
        # A missed approach at the point, a hold, and the approach again to the runway. The second lap is flown outbound by the
        # clock against the wind, so that its inbound leg is short; the third makes up for it.
        "missed_and_hold": MissedAndHold(
            name="missed_and_hold",
            seed=2424,
            airframe="c172p",
            start=datetime(2026, 8, 2, 13, 30, tzinfo=UTC),
            wind_from_deg_true=240.0,
            wind_kt=14.0,
            airspeed_kt=95.0,
            final_airspeed_kt=82.0,
            arrival_course_deg=85.0,
            outbound_s=85.0,
            offset_leg_s=45.0,
            turn_bank_deg=15.0,
            reversal_bank_deg=15.0,
            descent_starts="inbound",
            hold_outbound_s=(48.0, 60.0, 104.0),
        ),
        # Past the final approach fix the descent goes on 150 ft too far before the step-down fix.
        "step_down": InLieu(
            name="step_down",
            seed=2415,
            airframe="pa28",
            start=datetime(2026, 8, 23, 7, 55, tzinfo=UTC),
            wind_from_deg_true=20.0,
            wind_kt=13.0,
            airspeed_kt=105.0,
            final_airspeed_kt=90.0,
            arrival_course_deg=302.0,
            turn_bank_deg=18.0,
            below_step_down_ft=150.0,
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

    scenario: Ordered
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


def fly(scenario: Ordered) -> Flight:
    """Fly one scenario: a few seconds of work. The same versions give the same values.

    Raises RuntimeError where the flight does not come to its end.
    """
    rng = np.random.default_rng([scenario.seed, 0])
    ticks = round(scenario.longest_s / TICK_S)
    heading, bank, altitude, airspeed = (
        gauss_markov(rng, ticks, TICK_S, *wander).tolist()
        for wander in (HEADING_WANDER_DEG, BANK_WANDER_DEG, ALTITUDE_WANDER_FT, AIRSPEED_WANDER_KT)
    )
    plans = scenario.plans()
    level = Orders(0.0, plans[0].altitude_ft, plans[0].vertical_fpm, plans[0].airspeed_kt)
    autopilot = Autopilot(scenario.airframe, _start(scenario), level, _wind_to(scenario))
    states = [autopilot.state()]
    parts: list[Part] = []
    for part in plans:
        began_s = states[-1].time_s
        parts.append(Part(part.name, max(0.0, round(began_s - SETTLE_S, 1))))
        while not part.until(sight := _sight(states[-1], part.fix, began_s, heading[len(states)])):
            now = len(states)
            height, speed = part.altitude_ft + altitude[now], part.airspeed_kt + airspeed[now]
            orders = Orders(part.steer(sight) + bank[now], height, part.vertical_fpm, speed)
            states.append(autopilot.advance(orders))
            if len(states) == ticks:
                raise RuntimeError(f"{scenario.name}: still in {part.name} after {scenario.longest_s:.0f} s")
    return _flight(scenario, tuple(parts), states)


def _sight(state: State, fix: Place, began_s: float, wander_deg: float) -> Sight:
    line = geodesic(fix, state.latitude_deg, state.longitude_deg)
    return Sight(state, line["azi1"], line["s12"] / NM, line["azi2"] - line["azi1"], state.time_s - began_s, wander_deg)


def _wind_to(scenario: Ordered) -> tuple[float, float]:
    blows_from = math.radians(scenario.wind_from_deg_true)
    return -scenario.wind_kt * math.cos(blows_from), -scenario.wind_kt * math.sin(blows_from)


def _start(scenario: Ordered) -> tuple[float, float, float]:
    """Latitude, longitude and heading from which the fix is reached about `RECORDED_ARRIVAL_S` into the log, in degrees."""
    course = scenario.arrival_course_deg + scenario.chart["fix"]["variation_deg_east"]
    north, east = _wind_to(scenario)
    with_wind = north * math.cos(math.radians(course)) + east * math.sin(math.radians(course))
    true_airspeed = 1.045 * scenario.airspeed_kt  # near enough at 3,000 ft
    back_m = (true_airspeed + with_wind) * KT * (SETTLE_S + RECORDED_ARRIVAL_S)
    line = Geodesic.WGS84.Direct(*place_of(scenario.chart["fix"]), course + 180.0, back_m)
    return line["lat2"], line["lon2"], course


def _flight(scenario: Ordered, parts: tuple[Part, ...], states: list[State]) -> Flight:
    kept = states[round(SETTLE_S / TICK_S) :: round(1.0 / TICK_S)]
    columns = {field.name: np.array([getattr(state, field.name) for state in kept]) for field in fields(State)}
    columns["time_s"] = np.arange(len(kept), dtype=np.float64)
    for column in columns.values():
        column.flags.writeable = False
    return Flight(scenario, parts, **columns)


def main() -> None:
    """Fly every scenario and rewrite the logs and their truth."""
    folder = Path(__file__).parent
    written = {
        "clean": (write_log_in_feet, reversal_outcome),
        "strong_wind": (write_log_in_metres, reversal_outcome),
        "early_descent": (write_gpx, reversal_outcome),
        "missed_and_hold": (write_log_in_feet, missed_outcome),
        "step_down": (write_log_in_metres, step_down_outcome),
    }
    for name, scenario in SCENARIOS.items():
        flight = fly(scenario)
        write_log, outcome = written[name]
        log = write_log(flight, folder)
        truth = write_truth(flight, log.name, outcome(flight), folder / "truth")
        print(f"{flight.time_s[-1]:.0f} s flown; wrote {', '.join(str(path.relative_to(folder)) for path in (log, *truth))}")


if __name__ == "__main__":
    main()
