"""Latitude and longitude to radians, whichever of the usual notations a log uses."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.units import DEG, FloatArray, wrap
from analyzer.track.angles import joined_degrees, jump_at_the_full_degree, minutes_for_decimals, written_degrees
from analyzer.track.columns import Matched, Settled
from analyzer.track.hemispheres import with_letters, with_minutes
from analyzer.track.plain_cells import PlainCells
from analyzer.track.raw_table import BLANK, RawTable, numbers
from analyzer.track.track import Note, counted

__all__ = ["read_coordinates"]

_RANGE_DEG = {"latitude": 90.0, "longitude": 180.0}
_SCALE = 1e-7
_FOUR_DIGITS = re.compile(r"[+-]?\d{4}[.,]\d+", re.ASCII)
_NEARLY_ALL, _AT_ONCE = 0.9, 1000
_ROUNDING_RAD = 1e-12


def read_coordinates(table: RawTable, matched: Matched, file: str) -> tuple[FloatArray, FloatArray, Settled, tuple[Note, ...]]:
    """Latitude and longitude [rad], the units that their values settled, and what was inferred. NaN where there is no number.

    Without a unit they are degrees, unless one of them lies wholly beyond its range and both are whole numbers that fit as
    1e-7 degrees, or degrees and minutes written together. Letters and minutes in columns of their own are applied. Longitudes
    from 0° to 360° are brought to ±180°. Raises `LogError` where most values are beyond their range; a few are left for the
    repair to count.
    """
    notes: list[Note] = []
    values = {quantity: _plain(table, matched, quantity, notes) for quantity in _RANGE_DEG}
    stated_units = {quantity: matched.by_quantity[quantity].unit for quantity in _RANGE_DEG}
    scaled = not any(stated_units.values()) and _are_scaled(values)
    if scaled:
        notes.append(Note("latitude and longitude are whole numbers beyond their range: read as 1e-7 degrees"))
    elif not any(unit is not None and unit.factor != DEG for unit in stated_units.values()):
        latitudes = table.column(matched.by_quantity["latitude"].name)
        values = _with_minutes_inside(values, latitudes, notes)
    inferred = ("1e-7 deg", "whole numbers beyond the range") if scaled else ("deg", "degrees where no unit is stated")
    for quantity in _RANGE_DEG:
        for completed in (with_minutes, with_letters):
            values[quantity], added = completed(table, matched, quantity, values[quantity], file)
            notes += added
    settled = {quantity: inferred for quantity, unit in stated_units.items() if unit is None}
    factors = {quantity: unit.factor if unit else DEG * (_SCALE if scaled else 1.0) for quantity, unit in stated_units.items()}
    latitude = values["latitude"] * factors["latitude"]
    longitude = values["longitude"] * factors["longitude"]
    _check_exchanged(table, matched, file, latitude, longitude)
    _check(table, matched, file, "latitude", latitude)
    east_of_180 = int((longitude > np.pi + _ROUNDING_RAD).sum())
    if east_of_180 and np.nanmin(longitude) >= 0.0 and np.nanmax(longitude) <= 2.0 * np.pi + _ROUNDING_RAD:
        notes.append(Note(f"longitudes count from 0° to 360°: {counted(east_of_180, 'value')} brought to ±180°", east_of_180))
        longitude = wrap(longitude)
    _check(table, matched, file, "longitude", longitude)
    return latitude, longitude, settled, tuple(notes)


def _plain(table: RawTable, matched: Matched, quantity: str, notes: list[Note]) -> FloatArray:
    """The numbers of a column; where most cells are no numbers but angles as charts write them, those in degrees."""
    name = matched.by_quantity[quantity].name
    cells = table.column(name)
    values = numbers(cells, table.decimal)
    if np.isfinite(values).all():
        return values
    filled = sum(cell.casefold() not in BLANK for cell in cells)
    if 2 * int(np.isfinite(values).sum()) >= filled:
        return values
    written = written_degrees(cells, quantity)
    if 2 * int(np.isfinite(written).sum()) < filled:
        return values
    example = next(cell for cell, degrees in zip(cells, written, strict=True) if np.isfinite(degrees))
    notes.append(Note(f"{name!r} is written with letters or minutes ({example!r}): read as degrees"))
    return written


def _with_minutes_inside(values: dict[str, FloatArray], latitudes: Sequence[str], notes: list[Note]) -> dict[str, FloatArray]:
    """The values in degrees where their numbers show that they hold minutes: 4818.27, or 48.1827 that jumps at 48.60.

    Latitudes written so have four digits before the point, and are not longitudes in the wrong column.
    """
    if _nearly_all_have_four_digits(latitudes, int(np.isfinite(values["latitude"]).sum())):
        joined = {quantity: joined_degrees(numbers_of) for quantity, numbers_of in values.items()}
        if all(_fits(values[quantity], joined[quantity], limit) for quantity, limit in _RANGE_DEG.items()):
            notes.append(Note("latitude and longitude join degrees and minutes (4818.27 is 48° 18.27'): read so"))
            return joined
    if jump_at_the_full_degree(values.values()):
        notes.append(
            Note(
                "latitude and longitude hold minutes in the place of decimals: none is .60 or more, and where one passes a full"
                " degree it jumps by 0.40. Read as degrees.minutes (48.1827 is 48° 18.27')"
            )
        )
        return {quantity: minutes_for_decimals(numbers_of) for quantity, numbers_of in values.items()}
    return values


def _nearly_all_have_four_digits(cells: Sequence[str], known: int) -> bool:
    """Whether nearly as many cells as hold a number that is known are numbers with four digits before the point."""
    plain = isinstance(cells, PlainCells) and cells.numbers is not None
    lacking, room = 0, len(cells) - _NEARLY_ALL * max(known, 1)
    for first in range(0, len(cells), _AT_ONCE):
        some = cells[first : first + _AT_ONCE]
        if plain and isinstance(some, PlainCells):
            lacking += int(np.count_nonzero(some.digits_before_point() != 4))
        else:
            lacking += sum(_FOUR_DIGITS.fullmatch(cell) is None for cell in some)
        if lacking > room:
            return False
    return True


def _fits(numbers_of: FloatArray, degrees: FloatArray, limit: float) -> bool:
    """Whether nearly all of the numbers are degrees and minutes within the range, and some are no whole numbers."""
    known = np.isfinite(numbers_of)
    good = known & (np.abs(degrees) <= limit)
    return bool(good.sum() >= _NEARLY_ALL * max(int(known.sum()), 1)) and bool((numbers_of[known] % 1.0 != 0.0).any())


def _are_scaled(values: Mapping[str, FloatArray]) -> bool:
    """Whether both are whole numbers that fit in their range as 1e-7 degrees, and one never does as degrees."""
    wholly_beyond = False
    for quantity, limit in _RANGE_DEG.items():
        known = np.abs(values[quantity][np.isfinite(values[quantity]) & (values[quantity] != 0.0)])
        if len(known) == 0 or (known % 1.0 != 0.0).any() or np.median(known) * _SCALE > limit:
            return False
        wholly_beyond = wholly_beyond or bool((known > limit).all())
    return wholly_beyond


def _check_exchanged(table: RawTable, matched: Matched, file: str, latitude: FloatArray, longitude: FloatArray) -> None:
    """Raise `LogError` where most latitudes can be longitudes only, and the longitudes latitudes."""
    beyond = (np.abs(latitude) > 90.0 * DEG + _ROUNDING_RAD) & (np.abs(latitude) <= 180.0 * DEG + _ROUNDING_RAD)
    beyond &= np.abs(longitude) <= 90.0 * DEG + _ROUNDING_RAD
    if beyond.sum() * 2 <= np.isfinite(latitude).sum():
        return
    names = [matched.by_quantity[quantity].name for quantity in _RANGE_DEG]
    row = int(np.argmax(beyond))
    cells = [table.column(name)[row][:40] for name in names]
    order = " RFC 7946 has the longitude first." if table.format.startswith("GeoJSON") else ""
    raise LogError(
        f"{file}, {table.place(row)}: latitude {cells[0]} and longitude {cells[1]} are exchanged, like most rows.{order}"
        f" Export the log again, or say so: --column latitude={names[1]!r} --column longitude={names[0]!r}"
    )


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
