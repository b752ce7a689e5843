"""Remarks on the altitude reference of a log, where that is unknown or other than mean sea level.

An unknown reference is assumed to be mean sea level, as in most logs. The verdict carries a remark where pressure altitude, off
by two standard deviations of the weather, would change it, unless the log agrees with the charted elevation of the runway.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analyzer.checks.finding import CLOSE_SD, NOT_ASSESSED, Finding
from analyzer.checks.phrases import HEIGHT_UNITS, HeightUnit, height_unit
from analyzer.motion.motion import Motion
from analyzer.physics.geodesy import inverse
from analyzer.physics.units import FT, KT, NM
from analyzer.track.references import PRESSURE_ALTITUDE_SD_M, REFERENCES
from analyzer.vocabulary import CheckName

__all__ = ["altitude_remark", "altitude_sentence", "off_runway_m"]

_LIMITS_ALTITUDE: frozenset[CheckName] = frozenset(
    {"minimum_altitude", "step_down", "altitude_floor", "maximum_altitude", "missed_climb"}
)
# Rolling on the airfield: slower than any aircraft flies an approach, and near the threshold. Common practice, no source.
_ROLLING_MPS, _AIRFIELD_M, _LEVEL_MPS = 45.0 * KT, 2.0 * NM, 1.0
_AGREES_M = 60.0 * FT  # slope of the airfield, height of the antenna, and error of the receiver
_FAR_M = 1000.0 * FT  # more than air pressure explains: it is not the charted runway


def off_runway_m(motion: Motion) -> float | None:
    """Logged altitude of the aircraft rolling on the runway, above the threshold's charted elevation; None if unknown. [m]"""
    runway, states = motion.charted.runway, motion.states
    if runway is None or not motion.has_altitude:
        return None
    ends = np.array([0, len(states) - 1])
    rolling = ends[(states.ground_speed_mps[ends] < _ROLLING_MPS) & (np.abs(states.vertical_speed_mps[ends]) < _LEVEL_MPS)]
    for k in rolling:
        distance, _ = inverse(runway.latitude_rad, runway.longitude_rad, states.latitude_rad[k], states.longitude_rad[k])
        off = float(states.altitude_m[k]) - runway.elevation_m
        if float(distance) < _AIRFIELD_M and abs(off) < _FAR_M:
            return off
    return None


def altitude_sentence(motion: Motion) -> str:
    """The altitude reference of a log, and how it compares with the charted runway, as a sentence; empty without altitudes."""
    if not motion.has_altitude:
        return ""
    words, off = REFERENCES[motion.track.altitude_reference].words, off_runway_m(motion)
    return f"Altitudes: {words}{'' if off is None else f'; {_runway_words(off, _height(motion))}'}."


def altitude_remark(motion: Motion, findings: Sequence[Finding], off_m: float | None) -> str:
    """The remark on the altitude reference for the verdict, if the reference decides a finding; else empty.

    `off_m` is the result of `off_runway_m`.
    """
    reference = motion.track.altitude_reference
    offset, height = REFERENCES[reference].offset_sd_m, _height(motion)
    agrees = off_m is not None and abs(off_m) < _AGREES_M
    if reference in ("mean sea level", "pressure altitude, QNH applied") or (reference == "unknown" and agrees):
        return ""
    reach = max(CLOSE_SD * (offset or PRESSURE_ALTITUDE_SD_M), abs(off_m or 0.0))
    judged = any(finding.check in _LIMITS_ALTITUDE and finding.verdict != NOT_ASSESSED for finding in findings)
    if not judged or (reference != "pressure altitude" and not any(_decided(motion, finding, reach) for finding in findings)):
        return ""
    near = height.text(round(reach / (10.0 * height.metres)) * 10.0 * height.metres)
    if reference == "pressure altitude":
        return f"Altitudes: pressure altitude without the QNH, up to {near} off. Give the QNH with --qnh."
    if reference == "ellipsoid":
        return (
            f"Altitudes: above the ellipsoid; anything within {near} of a limit is too close to call. If they are above sea "
            "level, say so with --altitude-from."
        )
    if reference == "indicated altitude":
        return "Altitudes: as indicated; the verdicts on them assume an altimeter set to the QNH."
    if motion.track.air.qnh_pa is not None:
        return (
            "Altitudes: the log does not state their reference, and the QNH was not applied to them. If they are pressure "
            "altitude, say so with --altitude-from pressure."
        )
    if off_m is not None:
        return (
            f"Altitudes: the log does not state their reference, and {_runway_words(off_m, height)}. Set it with "
            "--altitude-from."
        )
    return (
        "Altitudes: the log does not state their reference; the verdicts on them assume mean sea level. Set it with "
        "--altitude-from."
    )


def _height(motion: Motion) -> HeightUnit:
    return height_unit(motion.charted.altitude_unit)


def _runway_words(off_m: float, height: HeightUnit) -> str:
    """The altitude on the runway compared with its elevation: ``on the runway they are 280 ft above its elevation``."""
    if abs(off_m) < _AGREES_M:
        return "on the runway they agree with the threshold's elevation"
    return f"on the runway they are {height.text(abs(off_m))} {'above' if off_m > 0.0 else 'below'} its elevation"


def _decided(motion: Motion, finding: Finding, reach_m: float) -> bool:
    """Whether a verdict on an altitude would change if all altitudes were this much higher or lower."""
    if finding.check not in _LIMITS_ALTITUDE or finding.verdict == NOT_ASSESSED or finding.margin is None or not finding.sd:
        return False
    # the error of where a minimum was left, a distance or an angle, is due to that of the altitude
    unit = HEIGHT_UNITS.get(finding.unit)
    metres = unit.metres if unit is not None else motion.altitude_sd_m / finding.sd
    return math.isfinite(finding.margin) and abs(finding.margin) * metres < reach_m
