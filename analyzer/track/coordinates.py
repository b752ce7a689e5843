"""Latitude and longitude to radians, and in which of the usual ways a log counts them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.units import DEG, FloatArray, wrap
from analyzer.track.columns import Matched, Settled
from analyzer.track.model import Note, counted
from analyzer.track.table import RawTable, numbers

__all__ = ["read_coordinates"]

_RANGE_DEG = {"latitude": 90.0, "longitude": 180.0}
_SCALE = 1e-7
_ROUNDING_RAD = 1e-12


def read_coordinates(table: RawTable, matched: Matched, file: str) -> tuple[FloatArray, FloatArray, Settled, tuple[Note, ...]]:
    """Latitude and longitude [rad], the units that their values settled, and what was inferred. NaN where there is no number.

    Without a unit they are degrees, unless one of them lies wholly beyond its range and both are whole numbers that fit as
    1e-7 degrees. Longitudes from 0° to 360° are brought to ±180°. Raises `LogError` where most values are beyond their range;
    a few are left for the repair to count.
    """
    values = {quantity: numbers(table.column(matched.by_quantity[quantity].name), table.decimal) for quantity in _RANGE_DEG}
    told = {quantity: matched.by_quantity[quantity].unit for quantity in _RANGE_DEG}
    notes: list[Note] = []
    scaled = not any(told.values()) and _are_scaled(values)
    if scaled:
        notes.append(Note("latitude and longitude are whole numbers beyond their range: read as 1e-7 degrees"))
    inferred = ("1e-7 deg", "whole numbers beyond the range") if scaled else ("deg", "degrees where none is told")
    settled = {quantity: inferred for quantity, unit in told.items() if unit is None}
    factors = {quantity: unit.factor if unit else DEG * (_SCALE if scaled else 1.0) for quantity, unit in told.items()}
    latitude = values["latitude"] * factors["latitude"]
    longitude = values["longitude"] * factors["longitude"]
    _check(table, matched, file, "latitude", latitude)
    east_of_180 = int((longitude > np.pi + _ROUNDING_RAD).sum())
    if east_of_180 and np.nanmin(longitude) >= 0.0 and np.nanmax(longitude) <= 2.0 * np.pi + _ROUNDING_RAD:
        notes.append(Note(f"longitudes count from 0° to 360°: {counted(east_of_180, 'value')} brought to ±180°", east_of_180))
        longitude = wrap(longitude)
    _check(table, matched, file, "longitude", longitude)
    return latitude, longitude, settled, tuple(notes)


def _are_scaled(values: Mapping[str, FloatArray]) -> bool:
    """Whether both are whole numbers that fit in their range as 1e-7 degrees, and one never does as degrees."""
    wholly_beyond = False
    for quantity, limit in _RANGE_DEG.items():
        known = np.abs(values[quantity][np.isfinite(values[quantity]) & (values[quantity] != 0.0)])
        if len(known) == 0 or (known % 1.0 != 0.0).any() or np.median(known) * _SCALE > limit:
            return False
        wholly_beyond = wholly_beyond or bool((known > limit).all())
    return wholly_beyond


def _check(table: RawTable, matched: Matched, file: str, quantity: str, radians: FloatArray) -> None:
    limit = _RANGE_DEG[quantity]
    beyond = np.abs(radians) > limit * DEG + _ROUNDING_RAD
    if beyond.sum() * 2 <= np.isfinite(radians).sum():
        return
    name = matched.by_quantity[quantity].name
    row = int(np.argmax(beyond))
    raise LogError(
        f"{file}, {table.place(row)}, column {name!r}: {table.column(name)[row][:40]} is beyond ±{limit:.0f}°, like most rows."
        f" Give the unit (--unit {quantity}=1e-7deg, or another) or the right column (--column {quantity}=NAME)"
    )
