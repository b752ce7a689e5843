"""The numbers of a brief's JSON flown in JSBSim, with the autopilot and the steering of the sample flights."""

import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from briefed import degrees_to_turn
from pyproj import Geod
from synthetic import KT, NM, START_S, Place, Wind

pytest.importorskip("jsbsim")
sys.path.insert(0, str(Path(__file__).parents[2] / "sample_tracks"))

import pilot
from autopilot import TICK_S, WIND_RAMP_S, Autopilot, Orders, State

__all__ = ["AT_FIX", "InDynamics", "fly_in_dynamics"]

_FIX = pilot.CHART["fix"]
AT_FIX = Place(  # the fix of the sample flights, which their steering finds its way by
    _FIX["latitude_deg"],
    _FIX["longitude_deg"],
    pilot.CHART["reversal"]["outbound_course_deg"] + _FIX["variation_deg_east"],
    _FIX["variation_deg_east"],
)
SETTLE_S = WIND_RAMP_S + 60.0  # the autopilot takes a minute once the wind is up; the log begins then
ARRIVAL_S = 90.0  # of the log before the fix
PAST_FIX_NM = 0.5  # on the way in, where the log ends
CORRECTION_DEG = 15.0  # the most bank that holds a heading or a course
LEVEL_DEG = 1.0  # of bank, below which the wings are level and the clock of a straight part starts
NO_TURN_DEG = 0.1
ON_COURSE_DEG = 3.0
VERTICAL_FPM = 700.0  # the most to come back to a height with
LONGEST_S = 1500.0
_WGS84 = Geod(ellps="WGS84")


@dataclass(frozen=True)
class InDynamics:
    """A flight: its states, five a second, and which of them are at the fix and at the end of each part, by name."""

    states: tuple[State, ...]
    at_fix: int
    ends: tuple[tuple[str, int], ...]

    def end(self, name: str) -> State:
        """The state at the end of the last part of that name."""
        return self.states[next(end for part, end in reversed(self.ends) if part == name)]

    def until(self, name: str) -> tuple[State, ...]:
        """The states from the fix to the end of the last part of that name."""
        return tuple(state for state in self.states[self.at_fix :] if state.time_s <= self.end(name).time_s)

    def plane_nm(self, name: str) -> tuple[float, float]:
        """Where the last part of that name ends, right of the outbound course and out along it."""
        sight = _sight(self.end(name), 0.0)
        return sight.cross_nm(AT_FIX.outbound_true_deg), sight.along_nm(AT_FIX.outbound_true_deg)

    def write_log(self, path: Path) -> Path:
        """Positions once a second, without a receiver's errors; the clock starts at `START_S`."""
        rows = [
            f"{START_S + state.time_s:.2f},{state.latitude_deg:.7f},{state.longitude_deg:.7f},{state.altitude_ft:.1f}"
            for state in self.states[round(SETTLE_S / TICK_S) :: round(1.0 / TICK_S)]
        ]
        path.write_text("\n".join(["unix_time,latitude_deg,longitude_deg,altitude_ft", *rows]) + "\n", encoding="utf-8")
        return path


def fly_in_dynamics(
    document: Mapping[str, Any], airframe: str, long_turn: int, wind: Wind, arrival_deg: float, inbound_deg: float
) -> InDynamics:
    """Fly what a brief's JSON tells: headings, seconds, banks, heights and true airspeeds; then inbound to beyond the fix.

    Courses count from the outbound one of `AT_FIX`, as where the wind is from; `long_turn` is as in `degrees_to_turn`.
    """
    arrival, inbound = (course + AT_FIX.outbound_true_deg for course in (arrival_deg, inbound_deg))
    to_ft = {part["leg"]: part["altitude_end_ft"] for part in document["parts"]}  # of the last part, so of the leg
    parts = [{**part, "altitude_end_ft": to_ft[part["leg"]]} for part in document["parts"]]
    cockpit = _Cockpit(airframe, arrival, parts[0], wind)
    cockpit.fly(parts[0], pilot.track(arrival, CORRECTION_DEG), pilot.past(arrival, 0.0))
    outbound = pilot.track(AT_FIX.outbound_true_deg, CORRECTION_DEG)
    at_fix, ends = len(cockpit.states) - 1, []
    last = next(k for k, part in enumerate(parts) if part["part"] == "inbound")
    for k, part in enumerate(parts[:last]):
        heading = part["heading_deg_magnetic"] + AT_FIX.variation_deg
        if part["bank_deg"] is not None:
            change = heading - cockpit.states[-1].heading_deg
            _turn(cockpit, part, heading, degrees_to_turn(document["shape"], part, long_turn, change))
        else:
            on_course = part["part"] == "outbound" and not document["shape"].startswith("hold") and _ends_outbound(parts[k + 1])
            on_course = on_course and _along_outbound(part)
            steer = outbound if on_course else pilot.hold(heading, CORRECTION_DEG)
            cockpit.fly(part, steer, pilot.lasted(part["duration_s"]))
        ends.append((part["part"], len(cockpit.states) - 1))
    cockpit.fly(parts[last], pilot.track(inbound, CORRECTION_DEG), pilot.past(inbound, PAST_FIX_NM))
    return InDynamics(tuple(cockpit.states), at_fix, tuple(ends))


def _ends_outbound(after: Mapping[str, Any]) -> bool:
    """Whether what comes before a part is the outbound leg itself, rather than closing with its course."""
    return after["part"] != "outbound"


def _along_outbound(part: Mapping[str, Any]) -> bool:
    """Whether a straight part makes good the outbound course, unlike a teardrop's."""
    course = part["course_deg_magnetic"] + AT_FIX.variation_deg - AT_FIX.outbound_true_deg
    return abs(math.remainder(course, 360.0)) < ON_COURSE_DEG


def _turn(cockpit: "_Cockpit", part: Mapping[str, Any], told_deg: float, degrees: float) -> None:
    """Roll in, turn, and roll out so as to be level on the heading."""
    if abs(degrees) < NO_TURN_DEG:
        return
    side = math.copysign(1.0, degrees)
    nearly = pilot.turned(told_deg, side)  # takes a turn with more than 270 degrees to go for one past its heading
    cockpit.fly(
        part,
        pilot.turn(side * part["bank_deg"]),
        lambda sight: sight.elapsed_s > part["duration_s"] / 2.0 and nearly(sight),
    )
    cockpit.fly(part, pilot.turn(0.0), lambda sight: abs(sight.state.bank_deg) < LEVEL_DEG)


class _Cockpit:
    """An airframe on its way to the fix, and the states it has been in."""

    def __init__(self, airframe: str, arrival_deg: float, part: Mapping[str, Any], wind: Wind) -> None:
        blows_to = math.radians(wind[0] + AT_FIX.outbound_true_deg + 180.0)
        to_north, to_east = wind[1] * math.cos(blows_to), wind[1] * math.sin(blows_to)
        along = wind[1] * math.cos(blows_to - math.radians(arrival_deg))
        back_m = (part["true_airspeed_kt"] + along) * KT * (SETTLE_S + ARRIVAL_S)
        longitude, latitude, _ = _WGS84.fwd(AT_FIX.longitude_deg, AT_FIX.latitude_deg, arrival_deg + 180.0, back_m)
        launch = Orders(0.0, part["altitude_start_ft"], VERTICAL_FPM, part["true_airspeed_kt"] / 1.05)  # near enough
        self._autopilot = Autopilot(airframe, (latitude, longitude, arrival_deg), launch, (to_north, to_east))
        self.states = [self._autopilot.state()]

    def fly(self, part: Mapping[str, Any], steer: pilot.Steer, until: pilot.Until) -> None:
        """Fly on at a part's height and true airspeed. The autopilot takes calibrated: the simulator's own air converts."""
        began_s, vertical_fpm = self.states[-1].time_s, part["descent_fpm"] or VERTICAL_FPM
        while not until(sight := _sight(self.states[-1], began_s)):
            calibrated_kt = part["true_airspeed_kt"] * sight.state.calibrated_airspeed_kt / sight.state.true_airspeed_kt
            orders = Orders(steer(sight), part["altitude_end_ft"], vertical_fpm, calibrated_kt)
            self.states.append(self._autopilot.advance(orders))
            if self.states[-1].time_s > LONGEST_S:
                raise RuntimeError(f"still in {part['part']} after {LONGEST_S:.0f} s")


def _sight(state: State, began_s: float) -> pilot.Sight:
    away_deg, back_deg, off_m = _WGS84.inv(AT_FIX.longitude_deg, AT_FIX.latitude_deg, state.longitude_deg, state.latitude_deg)
    turned_deg = math.remainder(back_deg + 180.0 - away_deg, 360.0)
    return pilot.Sight(state, away_deg, off_m / NM, turned_deg, state.time_s - began_s, 0.0)
