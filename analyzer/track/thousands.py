"""Points that mark thousands in a column of altitudes whose file has points for decimals, too: 2.640 and 964 are feet."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["without_points"]

_GROUPED = re.compile(r"[1-9]\d?\.\d{3}", re.ASCII)
_SMALL = re.compile(r"[+-]?\d{1,3}", re.ASCII)
_LEAST_ROWS = 20  # with a point
_HIGHEST = 100.0  # thousands of feet or metres
_SMOOTH = 60.0  # from one row to the next as thousands: decimals of a third digit are noise, and would be hundreds


def without_points(cells: Sequence[str], values: FloatArray) -> FloatArray | None:
    """The altitudes in feet or metres of cells whose points mark thousands, by their `values` with decimal points, or None.

    They mark them where every number with a point has three digits behind it, none without has more than three, and the
    altitude goes on smoothly as thousands. With decimals the flight would be below 100 feet, and be written to a thousandth.
    """
    known = np.isfinite(values)
    size = values[known]
    broken = size % 1.0 != 0.0
    # most columns are told by their numbers, without their texts
    if not broken.any() or not ((size[broken] >= 1.0) & (size[broken] < _HIGHEST)).all() or (size >= 1000.0).any():
        return None
    texts = [cells[row] for row in np.flatnonzero(known).tolist()]
    pointed = np.array(["." in text for text in texts])
    if np.count_nonzero(pointed) < _LEAST_ROWS:
        return None
    if not all((_GROUPED if point else _SMALL).fullmatch(text) for text, point in zip(texts, pointed.tolist(), strict=True)):
        return None
    as_thousands = np.where(pointed, np.rint(size * 1000.0), size)
    if float(np.median(np.abs(np.diff(as_thousands)))) > _SMOOTH:
        return None
    read = values.copy()
    read[known] = as_thousands
    return read
