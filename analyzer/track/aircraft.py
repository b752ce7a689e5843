"""One aircraft per log: the rows that the user chose are kept, and logs that mix several aircraft are refused."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np

from analyzer.errors import LogError
from analyzer.physics.quantiles import median
from analyzer.physics.units import BoolArray, FloatArray
from analyzer.track.raw_table import RawTable
from analyzer.track.samples import Samples
from analyzer.track.steps import plane_m, step_m
from analyzer.track.track import counted

__all__ = ["check_not_alternating", "check_one_aircraft", "keep_only"]

_AIRFRAME = re.compile(
    r"icao(24|address|code|hex)?|hex(id|code|ident)?|reg(istration)?|tail(number|no)?|(aircraft|airframe|transponder|device|vehicle)"
    r"(id|ident|registration|address|number|name)?|(modes)?address|target(id)?|traffic(id)?"
)
_MOST_AIRCRAFT = 500
_SHOWN = 3
_FASTEST_MPS = 350.0
_SLACK_M = 1000.0
_AT_CHANGES = 0.8
_AT_JUMPS = 0.5
_LEAST_ROWS = 20
_LONG_STRETCH = 60  # rows from jump to jump, in the mean: one aircraft flies so long before it is set elsewhere
_TWO_TRACKS_M, _TWO_TRACKS = 75.0, 5.0  # off the middle of its neighbours, and so many times that of the ones next to them


def keep_only(table: RawTable, only: tuple[str, str], file: str) -> RawTable:
    """The rows in which the column holds the value, capitals aside. Raises `LogError` where there is no such column or row."""
    asked, value = only
    name = next((name for name in table.names if name.casefold() == asked.strip().casefold()), None)
    if name is None:
        raise LogError(f"{file}: no column {asked!r} to choose rows by. The columns are {table.listing()}")
    wanted = value.strip().casefold()
    cells = table.column(name)
    rows = [row for row, cell in enumerate(cells) if cell.casefold() == wanted]
    if not rows:
        raise LogError(f"{file}: no row has {value!r} in column {name!r}. It holds {_listed(cells)}")
    return table.take(rows)


def check_one_aircraft(table: RawTable, samples: Samples, unused: Sequence[str], file: str) -> None:
    """Refuse a log of several aircraft, naming the column that tells them apart.

    A column that by its name identifies an airframe must have one value. Any other column that plays no part must not change
    where the positions jump further than 350 m/s (and 1 km) could carry an aircraft. Where there are few such jumps, though, a
    simulator set its aircraft elsewhere, and what changes with that is its state: on the ground or not, the number of the
    attempt. Raises `LogError`.
    """
    in_time, jumps = _jumps(samples)
    for name in unused:
        cells = table.column(name)
        if not 2 <= len(set(cells) - {""}) <= min(_MOST_AIRCRAFT, len(cells) // 2):
            continue
        kept = [cells[row] for row in in_time.row]
        identifies = _AIRFRAME.fullmatch(re.sub(r"[^a-z0-9]", "", name.casefold()))
        if len(set(kept) - {""}) > 1 and (identifies or _changes_with(jumps, kept)):
            most = Counter(kept).most_common(1)[0][0]
            raise LogError(
                f"{file}: column {name!r} tells several aircraft apart: {_listed(kept)}. Keep one: {_choice(name, most)}"
            )


def _jumps(samples: Samples) -> tuple[Samples, BoolArray]:
    """The samples in the order of time, and which of their steps no aircraft can have made."""
    in_order = bool((np.diff(samples.time_s) >= 0.0).all())
    in_time = samples if in_order else samples.take(np.argsort(samples.time_s, kind="stable"))
    return in_time, step_m(in_time) > _FASTEST_MPS * np.diff(in_time.time_s) + _SLACK_M


def check_not_alternating(samples: Samples, file: str) -> None:
    """Refuse rows that alternate between two tracks: each is far from its neighbours and near the rows next to those.

    Where some of them are out of reach of the next, the repairs see to it. Raises `LogError`.
    """
    in_time, jumps = _jumps(samples)
    if len(samples) < _LEAST_ROWS or jumps.any():
        return
    position = np.stack(plane_m(in_time))
    off, alone = (median(_departure_m(position, apart)) for apart in (1, 2))
    if off > _TWO_TRACKS_M and off > _TWO_TRACKS * alone:
        raise LogError(
            f"{file}: the rows alternate between two tracks about {2.0 * off:,.0f} m apart: two aircraft in one log, and no "
            "column tells them apart. Give a log of one aircraft."
        )


def _departure_m(position_m: FloatArray, apart: int) -> FloatArray:
    """How far each sample lies from the middle between those so many before and after it. [m]"""
    middle = 0.5 * (position_m[:, : -2 * apart] + position_m[:, 2 * apart :])
    departure: FloatArray = np.hypot(*(position_m[:, apart:-apart] - middle))
    return departure


def _changes_with(jumps: BoolArray, cells: Sequence[str]) -> bool:
    """Whether the cells change at nearly all jumps, and mostly there, and the jumps are many."""
    if _LONG_STRETCH * int(jumps.sum()) < len(jumps):
        return False
    changes = np.array([after != before for before, after in itertools.pairwise(cells)], dtype=np.bool_)
    both = int((jumps & changes).sum())
    return both > 0 and both >= _AT_CHANGES * jumps.sum() and both >= _AT_JUMPS * changes.sum()


def _choice(name: str, value: str) -> str:
    choice = f"{name}={value}"
    return f'--only "{choice}"' if " " in choice else f"--only {choice}"


def _listed(cells: Iterable[str]) -> str:
    """The most frequent values with their counts: ``a (1,200 rows), b (3 rows) and 2 more``."""
    counts = Counter(cell for cell in cells if cell).most_common()
    shown = ", ".join(f"{value} ({counted(count, 'row')})" for value, count in counts[:_SHOWN])
    return f"{shown} and {len(counts) - _SHOWN} more" if len(counts) > _SHOWN else shown
