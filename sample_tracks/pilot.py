"""How the sample flights are flown: what is ordered of a flight, and the parts that the pilot makes of the charted reversal."""

import itertools
import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt
from autopilot import GRAVITY, KT, NM, ROLL_RATE_DEG_S, State
from geographiclib.geodesic import Geodesic

__all__ = [
    "CHART",
    "PAD_FT",
    "Chart",
    "Ordered",
    "Place",
    "Plan",
    "Scenario",
    "Sight",
    "from_fix",
    "gauss_markov",
    "geodesic",
    "hold",
    "intercept",
    "lasted",
    "past",
    "place_of",
    "procedure_turn",
    "read_chart",
    "settled",
    "track",
    "turn",
    "turned",
    "wrap",
]

Chart = Mapping[str, Any]
Place = tuple[float, float]  # latitude and longitude [deg]


def read_chart(name: str) -> Chart:
    """A procedure file of this folder."""
    return MappingProxyType(tomllib.loads(Path(__file__).with_name(name).read_text("utf-8")))


CHART = read_chart("wendle_island_vor24.toml")

PAD_FT = 80.0  # flown above the charted minima
VERTICAL_FPM = 700.0
STOP_BEFORE_THRESHOLD_NM = 0.3
HEADING_TIME_S = 4.0  # in which an error of heading or track is turned away
ROLL_LAG_S = 0.6  # between the order to roll and a steady roll
LOOK_AHEAD_S = 15.0  # the ground track is aimed at the point of the course that lies this far ahead


@dataclass(frozen=True)
class Ordered:
    """What is ordered of every flight. Courses are magnetic; wind is where it blows from, degrees true."""

    chart: ClassVar[Chart]
    longest_s: ClassVar[float]  # within which the flight comes to its end

    name: str
    seed: int
    airframe: str
    start: datetime
    wind_from_deg_true: float
    wind_kt: float
    airspeed_kt: float
    final_airspeed_kt: float  # from the inbound part on
    arrival_course_deg: float

    def plans(self) -> "tuple[Plan, ...]":
        """The parts to be flown, in order."""
        raise NotImplementedError


@dataclass(frozen=True)
class Scenario(Ordered):
    """An approach by a 45/180, down to short of the runway."""

    chart = CHART
    longest_s = 1800.0

    outbound_s: float  # from the roll-out on the outbound course
    offset_leg_s: float  # from the roll-out on the offset heading
    turn_bank_deg: float
    reversal_bank_deg: float
    descent_starts: str  # the part in which the descent to the inbound altitude is ordered: reversal_turn or inbound

    def plans(self) -> "tuple[Plan, ...]":
        """The charted approach, as this flight is to fly it."""
        variation, floors, runway = (self.chart["fix"]["variation_deg_east"], *(self.chart[k] for k in ("altitudes", "runway")))
        arrival, inbound = self.arrival_course_deg + variation, self.chart["reversal"]["inbound_course_deg"] + variation
        bank, slow = self.turn_bank_deg, self.final_airspeed_kt
        high, low, minimum = (floors[f"{leg}_ft"] + PAD_FT for leg in ("arrival", "inbound", "final"))
        threshold_nm = from_fix(runway["threshold_latitude_deg"], runway["threshold_longitude_deg"])["s12"] / NM
        return (
            Plan("arrival", track(arrival, bank), past(arrival, 0.0), high, self.airspeed_kt),
            *procedure_turn(self, arrival),
            Plan("inbound", track(inbound, bank), past(inbound, 0.0), low, slow),
            Plan("final", track(inbound, bank), past(inbound, threshold_nm - STOP_BEFORE_THRESHOLD_NM), minimum, slow),
        )


@dataclass(frozen=True)
class Sight:
    """What the pilot goes by: the aircraft, where it lies from the fix, how long the part has lasted, and a wandering eye."""

    state: State
    bearing_deg: float
    distance_nm: float
    convergence_deg: float  # of the meridians, between the fix and the aircraft
    elapsed_s: float
    wander_deg: float

    def along_nm(self, course_deg: float) -> float:
        """Distance past the fix along the course."""
        return self.distance_nm * math.cos(math.radians(self.bearing_deg - course_deg))

    def cross_nm(self, course_deg: float) -> float:
        """Distance right of the course."""
        return self.distance_nm * math.sin(math.radians(self.bearing_deg - course_deg))


Steer = Callable[[Sight], float]  # gives the bank to fly [deg]
Until = Callable[[Sight], bool]


@dataclass(frozen=True)
class Plan:
    """One part to be flown: how it is steered, what ends it, and the height and speed to hold in it.

    `fix` is what it is steered by, `vertical_fpm` the most to climb or descend with.
    """

    name: str
    steer: Steer
    until: Until
    altitude_ft: float
    airspeed_kt: float
    vertical_fpm: float = VERTICAL_FPM
    fix: Place = (CHART["fix"]["latitude_deg"], CHART["fix"]["longitude_deg"])


def procedure_turn(scenario: Scenario, arrival: float) -> tuple[Plan, ...]:
    """From passing the fix on a course, true, until established inbound."""
    variation, reversal, floors = (
        scenario.chart["fix"]["variation_deg_east"],
        *(scenario.chart[k] for k in ("reversal", "altitudes")),
    )
    outbound, inbound, offset = (reversal[f"{name}_course_deg"] + variation for name in ("outbound", "inbound", "offset"))
    back = offset + 180.0
    outbound_side = math.copysign(1.0, wrap(outbound - arrival))
    offset_side = -1.0 if reversal["side"] == "left" else 1.0
    bank, cruise = scenario.turn_bank_deg, scenario.airspeed_kt
    high, middle, low = (floors[f"{leg}_ft"] + PAD_FT for leg in ("arrival", "outbound", "inbound"))
    turning = low if scenario.descent_starts == "reversal_turn" else middle
    return (
        Plan("outbound_turn", turn(outbound_side * bank), turned(outbound, outbound_side), high, cruise),
        Plan("outbound", track(outbound, bank), lasted(scenario.outbound_s), middle, cruise),
        Plan("offset_turn", turn(offset_side * bank), turned(offset, offset_side), middle, cruise),
        Plan("offset_leg", hold(offset, bank), lasted(scenario.offset_leg_s), middle, cruise),
        Plan("reversal_turn", turn(-offset_side * scenario.reversal_bank_deg), turned(back, -offset_side), turning, cruise),
        Plan("intercept", intercept(back, inbound, bank), settled(inbound), turning, cruise),
    )


def turn(bank_deg: float) -> Steer:
    """Turn at a bank, positive to the right."""
    return lambda _: bank_deg


def hold(heading_deg: float, limit_deg: float) -> Steer:
    """Hold a heading, whatever the wind does."""

    def steer(sight: Sight) -> float:
        error = wrap(heading_deg + sight.wander_deg - sight.state.heading_deg)
        return bank_for(error, sight.state.true_airspeed_kt, limit_deg)

    return steer


def track(course_deg: float, limit_deg: float) -> Steer:
    """Track a course through the fix, whatever the wind does."""

    def steer(sight: Sight) -> float:
        cut = math.degrees(math.atan(sight.cross_nm(course_deg) / _look_ahead_nm(sight)))
        error = wrap(course_deg + sight.convergence_deg - cut + sight.wander_deg - sight.state.track_deg)
        return bank_for(error, sight.state.ground_speed_kt, limit_deg)

    return steer


def intercept(heading_deg: float, course_deg: float, limit_deg: float) -> Steer:
    """Hold a heading until the course is as near as the look-ahead, then track it."""
    holding, tracking = hold(heading_deg, limit_deg), track(course_deg, limit_deg)
    return lambda sight: (tracking if abs(sight.cross_nm(course_deg)) < _look_ahead_nm(sight) else holding)(sight)


def turned(heading_deg: float, side: float) -> Until:
    """Whether it is time to roll out of the turn to that side (+1 right), so that the wings come level on the heading."""

    def until(sight: Sight) -> bool:
        left_to_turn = side * (heading_deg - sight.state.heading_deg) % 360.0
        bank = math.radians(sight.state.bank_deg)
        # The bank shrinks evenly, so the roll-out turns the aircraft as far as half its time at the full bank would.
        at_full_bank_s = abs(bank) / (2.0 * math.radians(ROLL_RATE_DEG_S)) + ROLL_LAG_S
        lead = at_full_bank_s * GRAVITY * abs(bank) / (sight.state.true_airspeed_kt * KT)
        return left_to_turn < math.degrees(lead) or left_to_turn > 270.0

    return until


def lasted(seconds: float) -> Until:
    """Whether the part has lasted so long."""
    return lambda sight: sight.elapsed_s >= seconds


def past(course_deg: float, distance_nm: float) -> Until:
    """Whether the aircraft is that far past the fix along the course."""
    return lambda sight: sight.along_nm(course_deg) >= distance_nm


def settled(inbound_deg: float) -> Until:
    """Whether the aircraft is well inside what counts as established inbound: 2.5° of the course, 8° of its direction."""

    def until(sight: Sight) -> bool:
        off_course = wrap(sight.bearing_deg + 180.0 - inbound_deg)
        return abs(off_course) < 2.5 and abs(wrap(sight.state.track_deg - inbound_deg)) < 8.0

    return until


def place_of(table: Chart) -> Place:
    """The position that a table of a chart gives."""
    return table["latitude_deg"], table["longitude_deg"]


def geodesic(fix: Place, latitude_deg: float, longitude_deg: float) -> dict[str, float]:
    """The geodesic from a fix: `azi1` and `azi2` at its ends [deg], `s12` [m]."""
    line: dict[str, float] = Geodesic.WGS84.Inverse(*fix, latitude_deg, longitude_deg)
    return line


def from_fix(latitude_deg: float, longitude_deg: float) -> dict[str, float]:
    """The geodesic from the fix of `CHART`."""
    return geodesic(place_of(CHART["fix"]), latitude_deg, longitude_deg)


def wrap(angle_deg: float) -> float:
    """Angle in degrees, brought into [-180, 180)."""
    return (angle_deg + 180.0) % 360.0 - 180.0


def gauss_markov(
    rng: np.random.Generator, samples: int, step_s: float, deviation: float, time_s: float
) -> npt.NDArray[np.float64]:
    """A stationary first-order Gauss-Markov error, of standard deviation `deviation` and correlation time `time_s`."""
    keep = math.exp(-step_s / time_s)
    kicks = deviation * rng.standard_normal(samples)
    kicks[1:] *= math.sqrt(1.0 - keep**2)
    return np.fromiter(itertools.accumulate(kicks.tolist(), lambda before, kick: keep * before + kick), float, samples)


def bank_for(error_deg: float, speed_kt: float, limit_deg: float) -> float:
    rate = math.radians(error_deg) / HEADING_TIME_S
    bank = math.degrees(math.atan(rate * speed_kt * KT / GRAVITY))
    return max(-limit_deg, min(limit_deg, bank))


def _look_ahead_nm(sight: Sight) -> float:
    return sight.state.ground_speed_kt * LOOK_AHEAD_S / 3600.0
