"""Times as spreadsheets count them, in days: what is left of a time in a CSV file whose cells have lost their format.

Days count from 1899-12-30, so that 39448 is the first of January 2008 [1]_. A time of day is the fraction of a day.

References
----------
.. [1] ECMA-376-1:2016, Office Open XML File Formats, 18.17.4: dates and times as serial values, the 1900 date base system.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.physics.units import FloatArray
from analyzer.track.midnights import DAY_S

__all__ = ["are_days", "day_serial_seconds"]

_EPOCH_DAYS = 25_569.0  # from 1899-12-30 to 1970-01-01
_EARLIEST, _LATEST = 32_874.0, 60_000.0  # 1990-01-01, as for other dates, and 2064-04-08
_LONGEST = 2.0  # days that one log lasts
_LEAST_ROWS = 20
_LONGEST_STEP = 0.01  # from row to row, at the median: a quarter of an hour


def are_days(values: FloatArray, earliest: float = _EARLIEST, latest: float = _LATEST) -> bool:
    """Whether so many numbers grow by so little that they count days: as seconds the whole log would last two."""
    known = values[np.isfinite(values)]
    if len(known) < _LEAST_ROWS or not (earliest <= known.min() and known.max() < latest):
        return False
    steps = np.abs(np.diff(known))
    return bool(0.0 < np.ptp(known) < _LONGEST and 0.0 < np.median(steps) < _LONGEST_STEP)


def day_serial_seconds(cells: Sequence[str], values: FloatArray, decimal: str) -> FloatArray:
    """Seconds since 1970 of days since 1899-12-30; fractions of a day, below 1, give seconds since midnight.

    Five decimals of a day are a second, or nearly. Where whole seconds explain all of them, they are meant.
    """
    since = np.where(values < 1.0, values, values - _EPOCH_DAYS) * DAY_S
    written = max(len(cell.rpartition(decimal)[2]) if decimal in cell else 0 for cell in cells)
    whole = np.rint(since)
    off = np.abs(since - whole)[np.isfinite(since)]
    return whole if bool((off <= 0.51 * DAY_S * 10.0**-written + 1e-4).all()) else since
