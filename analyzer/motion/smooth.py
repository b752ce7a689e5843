"""From a track to motion: fit the curves, estimate the wind, evaluate the state at every second."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.motion.curves import Curves
from analyzer.motion.height import Height
from analyzer.motion.jumps import Jump, find_jumps
from analyzer.motion.knots import LONG_HOLE_S, IntArray, Knots, holes
from analyzer.motion.likelihood import Design
from analyzer.motion.motion import Motion
from analyzer.motion.noise import Noise, measure_noise, scatter_at_most
from analyzer.motion.recorded import believe, believe_against
from analyzer.motion.repositioned import repositions
from analyzer.motion.spline import SmoothingSpline, fit_design, fit_path
from analyzer.motion.uncertainty import ALTITUDE_WALK, POSITION_WALK
from analyzer.motion.wind import NODE_STEP_S
from analyzer.motion.wind_fit import BRIDGED_SD, SMOOTHED_SD, THROWN_SD, Recorded, estimate_wind
from analyzer.physics import geodesy
from analyzer.physics.units import BoolArray, FloatArray
from analyzer.procedure.charted import Charted
from analyzer.track.repair import find_gaps
from analyzer.track.track import Gap, Track

__all__ = ["analyse_motion", "see_against"]

_STEADY_MPS2 = 0.5  # a turn at 3° of bank
_HEIGHT_STEP_S = 5.0  # between samples, to which heights show their wander: a climb begins more gently than a turn
_FLOWN_AT_MOST_MPS2 = 15.0  # a turn at 57° of bank
_NEXT_TO = 5  # seconds either side
_NEAR_S = 1.0  # the curve is as good as a sample this close to one
_TURN_FITS_S = 20.0  # between samples: a third of a half turn at 3° a second, with which wind and airspeed still come out right
_FEW_IN_A_TURN_S = 8.0  # between samples: half a turn at 30° of bank and 90 kt takes 27 s
_SCATTER_TOLD, _LEAST_BOUND_M = 2.0, 10.0  # times what the straight legs show; a receiver's error, or rounding to 4 decimals
_LEAST_SAMPLES = 5  # in a stretch between gaps; fewer show nothing of an acceleration


def analyse_motion(track: Track, charted: Charted) -> Motion:
    """The smoothed flight.

    Raises
    ------
    LogError
        No stretch of the track has enough samples.
    """
    north_east = np.column_stack(geodesy.north_east(track.latitude_rad, track.longitude_rad))
    jumps = find_jumps(track, north_east)
    set_elsewhere = repositions(track, north_east, jumps)
    fitted = _fitted(track.time_s, track.gaps, set_elsewhere)
    if fitted is None:
        raise LogError(
            f"{track.file}: no {_LEAST_SAMPLES} samples follow each other without a gap; nothing can be said of such a log"
        )
    path = fit_path(fitted.design, north_east.take(fitted.used, axis=0), _most_noise(track, north_east))
    logged = np.isfinite(track.altitude_m)
    # where every sample has an altitude, its curve shares the path's matrices
    of_height = fitted if logged.all() else _fitted(track.time_s[logged], find_gaps(track.time_s[logged])[0], set_elsewhere)
    height = _height(track.time_s[logged], track.altitude_m[logged][:, None], of_height) if of_height is not None else None
    path_noise = _noise(track.time_s, north_east, path, POSITION_WALK, 0.0)
    nodes = path.knots.grid()[:: int(NODE_STEP_S)]
    velocity = path.at(nodes, order=1)
    seen = np.maximum(SMOOTHED_SD, path.sd(nodes, 1))
    sd = np.where(_bridged(nodes, track), BRIDGED_SD, np.where(_thrown(nodes, path), THROWN_SD, seen))
    height_m = height.above(nodes) if height is not None else np.full(len(nodes), np.nan)
    begins_s = [jump.end_s for jump in set_elsewhere]
    wind = estimate_wind(nodes, velocity, height_m, velocity_sd_mps=sd, begins_s=begins_s)
    believed = believe(track, charted, path, height, wind)
    heading, airspeed = (believed.at(name, track, nodes) for name in ("heading_rad", "true_airspeed_mps"))
    if heading is not None or airspeed is not None:
        checked = not believed.unchecked & {"heading_rad", "true_airspeed_mps"}
        wind = estimate_wind(nodes, velocity, height_m, Recorded(heading, airspeed, checked), sd, begins_s)
    curves = Curves(track, charted, path, path_noise, height, wind, north_east, believed, jumps, set_elsewhere)
    return Motion(curves, curves.on_grid())


def see_against(motion: Motion, charted: Charted) -> Motion:
    """The same flight seen against another procedure, without smoothing it again.

    It equals `analyse_motion` of the track and that procedure: of the states only distance and bearing depend on the fix.
    """
    curves, states = motion.curves, motion.states
    believed = believe_against(curves.believed, curves.track, charted, curves.path, curves.height)
    distance, bearing = geodesy.inverse_near(
        charted.fix_latitude_rad, charted.fix_longitude_rad, states.latitude_rad, states.longitude_rad
    )
    for array in (distance, bearing):
        array.flags.writeable = False
    seen = replace(states, distance_m=distance, bearing_rad=bearing)
    return Motion(replace(curves, charted=charted, believed=believed), seen)


def _most_noise(track: Track, north_east: FloatArray) -> float:
    """The most that is taken for noise of the positions. [m]

    A turn that has but two or three positions is as likely noise as a turn to a curve that knows one noise for all of a
    log and one size of jerk. That it is none shows on the way straight on, where the positions scatter much less.
    """
    if track.interval_s < _FEW_IN_A_TURN_S:
        return math.inf
    return max(_SCATTER_TOLD * scatter_at_most(north_east), _LEAST_BOUND_M)


def _bridged(time_s: FloatArray, track: Track) -> BoolArray:
    """Which instants lie in a long hole of the log that the curve bridges, away from its ends.

    Where the samples themselves are so far apart that half a turn fits in between, all are such holes.
    """
    if track.interval_s > _TURN_FITS_S:
        next_to = np.clip(np.searchsorted(track.time_s, time_s), 1, len(track) - 1)
        off = np.minimum(np.abs(time_s - track.time_s[next_to - 1]), np.abs(track.time_s[next_to] - time_s))
        return np.asarray(off > _NEAR_S)
    bridged = np.zeros(len(time_s), dtype=bool)
    for begin, end in holes(track.time_s, track.interval_s):
        if end - begin > LONG_HOLE_S:
            bridged |= (time_s > begin + _NEAR_S) & (time_s < end - _NEAR_S)
    return bridged


def _thrown(time_s: FloatArray, path: SmoothingSpline) -> BoolArray:
    """Which instants lie next to an acceleration that no aircraft flies, as the curve has where positions jump."""
    thrown = np.hypot(*path.on_grid()[2].T) > _FLOWN_AT_MOST_MPS2
    if not thrown.any():
        return np.zeros(len(time_s), dtype=np.bool_)
    around = sliding_window_view(np.pad(thrown, _NEXT_TO), 2 * _NEXT_TO + 1).any(axis=1)
    found: BoolArray = np.interp(time_s, path.knots.grid(), around) > 0.5
    return found


def _height(time_s: FloatArray, altitude_m: FloatArray, fitted: _Fitted) -> Height:
    """The smoothed altitude."""
    curve = fitted.curve(altitude_m)
    return Height(curve, _noise(time_s, altitude_m, curve, ALTITUDE_WALK, _HEIGHT_STEP_S))


def _noise(
    time_s: FloatArray, value: FloatArray, curve: SmoothingSpline, assumed_density: float, longest_step_s: float
) -> Noise:
    """The noise measured on the steady stretches, else on the whole log, where manoeuvres add to it."""
    acceleration = curve.at(time_s, 2)
    steady = np.sum(acceleration**2, axis=1) < _STEADY_MPS2**2
    noise = measure_noise(time_s, value, steady, assumed_density, longest_step_s)
    return noise if noise.measured else measure_noise(time_s, value, np.ones_like(steady), assumed_density, longest_step_s)


@dataclass(frozen=True, eq=False)
class _Fitted:
    """Which samples are fitted, those in stretches between gaps that are long enough, and the design of their instants."""

    used: IntArray
    design: Design

    def curve(self, value: FloatArray) -> SmoothingSpline:
        """The curve through samples, of which all are given."""
        return fit_design(self.design, value.take(self.used, axis=0))


def _fitted(time_s: FloatArray, gaps: tuple[Gap, ...], set_elsewhere: tuple[Jump, ...]) -> _Fitted | None:
    """The part of the samples to fit; None where no stretch is long enough."""
    after_s = [gap.end_s - 1e-6 for gap in gaps]
    for jump in set_elsewhere:  # what is logged while the aircraft is moved is no flight
        after_s += [jump.start_s + 1e-6, jump.end_s - 1e-6]
    edges = np.searchsorted(time_s, sorted(after_s))
    stretches = [part for part in np.split(np.arange(len(time_s)), edges) if len(part) >= _LEAST_SAMPLES]
    if not stretches:
        return None
    used = np.concatenate(stretches)
    knots = Knots.over([(time_s[part[0]], time_s[part[-1]]) for part in stretches])
    return _Fitted(used, Design.of(knots, time_s[used]))
