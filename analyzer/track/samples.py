"""The rows as numbers in SI and radians: cells converted by their units, and rows without a time or a place left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.physics.units import BoolArray, FloatArray, unwrapped, wrap_positive
from analyzer.track.clock import Clock
from analyzer.track.columns import Matched, Settled
from analyzer.track.coordinates import read_coordinates
from analyzer.track.offsets import offset_m
from analyzer.track.options import ReadOptions
from analyzer.track.quantities import FIELDS
from analyzer.track.raw_table import BLANK, RawTable, numbers
from analyzer.track.rounding import last_digit_rad
from analyzer.track.thousands import without_points
from analyzer.track.track import Note, counted

__all__ = ["Samples", "build_samples"]

_ALIKE = 0.5  # of a step beyond the flight: what the velocities before and after it differ by, at most


@dataclass(frozen=True, eq=False)
class Samples:
    """Samples on their way to a `Track`: its arrays, and `row`, the row of the raw table that each came from.

    `put_right` holds the stretches whose times were corrected: a label with the rows of the first and last sample.
    `takes_off` is true where samples on the ground before the first were left out. `begins` holds the rows of the first samples
    of further flights in the log.
    """

    time_s: FloatArray
    latitude_rad: FloatArray
    longitude_rad: FloatArray
    altitude_m: FloatArray
    recorded: Mapping[str, FloatArray]
    row: npt.NDArray[np.intp]
    put_right: tuple[tuple[str, int, int], ...] = ()
    takes_off: bool = False
    begins: tuple[int, ...] = ()

    def __len__(self) -> int:
        return len(self.time_s)

    @cached_property
    def steps_m(self) -> tuple[FloatArray, FloatArray]:
        """North and east from each sample to the next, one value less than samples. [m] Most repairs leave them as they are."""
        latitude, longitude = self.latitude_rad, self.longitude_rad
        return offset_m(latitude[:-1], longitude[:-1], latitude[1:], longitude[1:])

    @cached_property
    def beyond_flight_m(self) -> tuple[npt.NDArray[np.complex128], BoolArray]:
        """By how much each sample but the first and the last two is further from the one before than the flight goes. [m]

        That is by the mean of the velocities before and after, north as real part and east as imaginary; and whether these are
        alike, so that they show it, which excludes changes of speed and of a clock's pace.
        """
        north, east = self.steps_m
        moved: npt.NDArray[np.complex128] = north + 1j * east
        interval = np.diff(self.time_s)
        velocity, took = moved / interval, interval[1:-1]
        before, after = velocity[:-2], velocity[2:]
        beyond: npt.NDArray[np.complex128] = moved[1:-1] - 0.5 * (before + after) * took
        return beyond, np.abs(after - before) * took < _ALIKE * np.abs(beyond)

    @cached_property
    def digits_rad(self) -> tuple[float, float]:
        """The last digits that the latitudes and the longitudes were rounded to, 0 where nothing shows. [rad]"""
        return last_digit_rad(self.latitude_rad), last_digit_rad(unwrapped(self.longitude_rad))

    def take(self, which: npt.NDArray[np.intp] | BoolArray) -> Samples:
        """The samples at these places, or where true, in that order."""
        return replace(
            self,
            time_s=self.time_s[which],
            latitude_rad=self.latitude_rad[which],
            longitude_rad=self.longitude_rad[which],
            altitude_m=self.altitude_m[which],
            recorded={name: values[which] for name, values in self.recorded.items()},
            row=self.row[which],
        )


def build_samples(
    table: RawTable, matched: Matched, clock: Clock, options: ReadOptions, file: str
) -> tuple[Samples, Settled, tuple[Note, ...]]:
    """The samples of all rows with a time and a place, the units that their values settled, and what was inferred or dropped.

    Raises `LogError` where no row is left, where more than half of the rows hold something else than numbers, where latitudes
    and longitudes are beyond their range, and where a needed altitude column is empty.
    """
    latitude, longitude, settled, coordinate_notes = read_coordinates(table, matched, file)
    notes = list(coordinate_notes)
    complete = ~(np.isnan(clock.seconds) | np.isnan(latitude) | np.isnan(longitude))
    if not complete.all():
        notes += _left_out(table, matched, complete, file)
    altitude, altitude_notes = _altitude(table, matched)
    notes += altitude_notes
    recorded = {}
    for quantity, name in FIELDS.items():
        if quantity in matched.by_quantity:
            values = _converted(table, matched, quantity)
            recorded[name] = wrap_positive(values) if quantity in {"track", "heading"} else values
    samples = Samples(clock.seconds, latitude, longitude, altitude, recorded, np.arange(len(table)))
    if not complete.all():
        samples = samples.take(complete)
    if options.altitude_required and not np.isfinite(samples.altitude_m).any():
        name = matched.by_quantity["altitude"].name
        raise LogError(
            f"{file}: no row has an altitude: {name!r} holds none{_first_cell(table, name)}. Name another column,"
            " --column altitude=NAME, or do without: --no-altitude"
        )
    missing = int(np.isnan(samples.altitude_m).sum())
    if missing and "altitude" in matched.by_quantity:
        notes.append(Note(f"{counted(missing, 'sample')} without altitude: kept", missing))
    return samples, settled, tuple(notes)


def _converted(table: RawTable, matched: Matched, quantity: str) -> FloatArray:
    match = matched.by_quantity.get(quantity)
    if match is None or match.unit is None:
        return np.full(len(table), np.nan)
    return numbers(table.column(match.name), table.decimal) * match.unit.factor


def _altitude(table: RawTable, matched: Matched) -> tuple[FloatArray, tuple[Note, ...]]:
    """The altitudes, whose thousands may be marked by a point. [m]"""
    match = matched.by_quantity.get("altitude")
    if match is None or match.unit is None or match.unit.text not in ("ft", "m") or table.decimal != ".":
        return _converted(table, matched, "altitude"), ()
    cells = table.column(match.name)
    values = numbers(cells, table.decimal)
    read = without_points(cells, values)
    if read is None:
        return values * match.unit.factor, ()
    example = next(cell for cell in cells if "." in cell)
    note = Note(f"the points in {match.name!r} mark thousands: {example} is read as {example.replace('.', '')}", len(cells))
    return read * match.unit.factor, (note,)


def _first_cell(table: RawTable, name: str) -> str:
    """What the first cell of a column holds that is not blank, for a message."""
    cell = next((cell for cell in table.column(name) if cell.casefold() not in BLANK), "")
    return f" but {cell[:40]!r}" if cell else ""


def _left_out(table: RawTable, matched: Matched, complete: BoolArray, file: str) -> list[Note]:
    """Notes on the rows without a time or a place; an error where most cannot be read, or none is left."""
    names = [matched.by_quantity[quantity].name for quantity in ("time", "latitude", "longitude")]
    blank, unreadable = 0, 0
    example = ""
    for row in np.flatnonzero(~complete).tolist():
        cells = [(name, table.column(name)[row]) for name in names]
        if any(cell.casefold() in BLANK for _, cell in cells):
            blank += 1
            continue
        unreadable += 1
        example = example or _example(cells, table, row)
    if unreadable > len(table) / 2:
        raise LogError(f"{file}, {example}, and most other rows cannot be read either")
    if blank + unreadable == len(table):
        raise LogError(f"{file}: no row has both time and place: {', '.join(map(repr, names))} are not filled together")
    notes = []
    if blank:
        notes.append(Note(f"{counted(blank, 'row')} without time or position left out", blank))
    if unreadable:
        notes.append(Note(f"{counted(unreadable, 'row')} that cannot be read left out, the first on {example}", unreadable))
    return notes


def _example(cells: Iterable[tuple[str, str]], table: RawTable, row: int) -> str:
    """The first cell of the row that is no number, or else the first: where it stands and what it says."""
    listed = list(cells)
    name, cell = next((pair for pair in listed[1:] if np.isnan(numbers([pair[1]], table.decimal)[0])), listed[0])
    kind = "time" if name == listed[0][0] else "number (decimal degrees are needed)"
    return f"{table.place(row)}, column {name!r}: {cell[:40]!r} is no {kind}"
