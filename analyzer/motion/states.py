"""The state of the aircraft at given instants: place, speeds, directions, bank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics import geodesy
from analyzer.physics.units import BoolArray, FloatArray, wrap
from analyzer.procedure.charted import Charted

__all__ = ["States", "read_only", "seen_from"]


@dataclass(frozen=True, eq=False)
class States:
    """The state of the aircraft at given instants, one value per instant in each array. SI and radians.

    Track, heading and bearing are true; bank and turn rate are positive to the right. Heading, true airspeed, turn rate and
    bank are those of the motion through the air where the wind could be estimated, and through still air otherwise: the
    heading is that of a flight without sideslip, the bank that of a coordinated turn. `distance_m` and `bearing_rad` are from
    the fix. Altitude and vertical speed are NaN where none was logged.
    """

    time_s: FloatArray
    latitude_rad: FloatArray
    longitude_rad: FloatArray
    altitude_m: FloatArray
    vertical_speed_mps: FloatArray
    ground_speed_mps: FloatArray
    track_rad: FloatArray
    true_airspeed_mps: FloatArray
    heading_rad: FloatArray
    turn_rate_rad_s: FloatArray
    bank_rad: FloatArray
    distance_m: FloatArray
    bearing_rad: FloatArray

    def __len__(self) -> int:
        return len(self.time_s)

    def between(self, start_s: float, end_s: float) -> States:
        """The states from one instant to another, both included."""
        part = slice(self.time_s.searchsorted(start_s - 1e-6), self.time_s.searchsorted(end_s + 1e-6))
        return States(*[getattr(self, name)[part] for name in _QUANTITIES])

    def where(self, chosen: BoolArray) -> States:
        """The states that are chosen."""
        return read_only(States(*[getattr(self, name)[chosen] for name in _QUANTITIES]))

    def within(self, spans: Sequence[tuple[float, float]]) -> States:
        """The states within one or more stretches of time, one after the other."""
        stretches = [self.between(*span) for span in spans]
        if len(stretches) == 1:
            return stretches[0]
        return read_only(States(*[np.concatenate([getattr(s, name) for s in stretches]) for name in _QUANTITIES]))

    def deviation_rad(self, course_rad: float) -> FloatArray:
        """Angle at the fix from a course leading away from it (true) to the aircraft, positive clockwise."""
        return wrap(self.bearing_rad - course_rad)

    def cross_track_m(self, course_rad: float) -> FloatArray:
        """Distance from the course line that leads away from the fix, positive right of it seen from the fix."""
        return geodesy.cross_track(self.distance_m, self.deviation_rad(course_rad))

    def along_m(self, course_rad: float) -> FloatArray:
        """Distance out along a course from the fix to abeam the aircraft, negative behind the fix."""
        return self.distance_m * np.cos(self.deviation_rad(course_rad))


def seen_from(charted: Charted, latitude_rad: float, longitude_rad: float, states: States) -> tuple[FloatArray, FloatArray]:
    """Distance [m] and true bearing [rad] of states from a point; where that is the fix, the states' own values."""
    if (latitude_rad, longitude_rad) == (charted.fix_latitude_rad, charted.fix_longitude_rad):
        return states.distance_m, states.bearing_rad
    return geodesy.inverse_near(latitude_rad, longitude_rad, states.latitude_rad, states.longitude_rad)


_QUANTITIES = tuple(field.name for field in fields(States))


def read_only(states: States) -> States:
    """The states with read-only arrays, slices of them included."""
    for name in _QUANTITIES:
        getattr(states, name).flags.writeable = False
    return states
