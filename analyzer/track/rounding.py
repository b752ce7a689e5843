"""The last digit that the positions of a log were rounded to, as the log shows it."""

from __future__ import annotations

import numpy as np

from analyzer.physics.units import DEG, FloatArray

__all__ = ["COMPUTED_RAD", "last_digit_rad", "written_digit_rad"]

COMPUTED_RAD = 1e-12  # smaller differences of angles are rounding of a computer

_FEW_UNITS = 5.5  # between neighbouring values of a lattice that a flight has passed over
_MOSTLY = 0.8  # of the neighbours
_LEAST_VALUES = 8
_WRITTEN = 0.001  # of a decade, 0.2 %: how near a power of ten
_OFF = 0.1  # of a unit: a sixtieth of a degree in decimals is off by up to half of its own last digit


def last_digit_rad(angle_rad: FloatArray) -> float:
    """The unit that angles are rounded to: that of their lattice, else the least of their second differences. [rad]

    A lattice may be coarser than what is written of it: hundredths of a minute come as decimals of a degree. Its values are
    whole units apart, and few units, since a flight passes over nearly all of them. 0 where nothing shows.
    """
    unit = _lattice_rad(angle_rad)
    if unit:
        return unit
    second = np.abs(np.diff(angle_rad, n=2))
    second = second[second > COMPUTED_RAD]
    return float(second.min()) if len(second) else 0.0


def written_digit_rad(angle_rad: FloatArray) -> float:
    """The last digit where it is one that is written: a tenth, hundredth ... of a degree, a minute or a second; else 0. [rad]

    Straight on along a meridian at a steady speed, places are on a lattice as well, of the way from one to the next.
    """
    digit = last_digit_rad(angle_rad)
    if digit <= 0.0:
        return 0.0
    parts = np.log10(digit / DEG * np.array([1.0, 60.0, 3600.0]))
    return digit if float(np.abs(parts - np.round(parts)).min()) < _WRITTEN else 0.0


def _lattice_rad(angle_rad: FloatArray) -> float:
    """The unit of the lattice that all angles are on; 0 where they are on none, or are too few to tell. [rad]"""
    apart = np.diff(np.sort(angle_rad))
    apart = apart[apart > COMPUTED_RAD]
    if len(apart) < _LEAST_VALUES:
        return 0.0
    units = apart / apart.min()
    near = units < _FEW_UNITS
    if near.mean() < _MOSTLY:
        return 0.0
    # the least one is short by rounding, so the unit is that of all neighbours together
    unit = float(apart[near].sum() / np.rint(units[near]).sum())
    units = apart[near] / unit
    return unit if bool((np.abs(units - np.rint(units)) < _OFF).all()) else 0.0
