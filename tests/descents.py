"""Finals flown to a height for each mile before the threshold: south at 120 kt, 30 s a mile, to a runway 5 NM beyond the fix.

The threshold stands at 500 ft, and the minimum is 900 ft: 400 ft above it. A path of 3° leaves that 1.26 NM before it
(400 ft / tan 3°), one of 2° 1.89 NM before it.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from checked import NOISY
from final_flights import NORTH_OUT, runway
from synthetic import START_S, Chart, Flown, Log, Place, Straight, fly

from analyzer.debriefs.data import Approach
from analyzer.debriefs.judging import judge_charted
from analyzer.library.debrief import Debrief
from analyzer.procedure.charted import resolve
from analyzer.track.track import Track

START_NM = 15.0  # before the threshold
ALL_THE_WAY = fly([Straight("inbound", 700.0)], (0.0, 10.0), 180.0)  # to 8.3 NM beyond it
MDA_FT, ELEVATION_FT = 900.0, 500.0
MDA = {"kind": "mda", "altitude_ft": MDA_FT}
DA = {"kind": "da", "altitude_ft": MDA_FT}
IN = ((15.0, 1700.0), (5.0, 1700.0))  # level to the fix
TO_MDA = (*IN, (2.5, MDA_FT + 50.0))  # at 600 ft/min
LANDING = ((0.0, ELEVATION_FT + 50.0), (-0.3, ELEVATION_FT + 5.0))
Heights = Sequence[tuple[float, float]]
Booleans = np.ndarray[Any, np.dtype[np.bool_]]


def second(before_nm: float) -> float:
    """When the flight is so far before the threshold."""
    return (START_NM - before_nm) * 30.0


def logged(heights: Heights | None, log: Log = NOISY) -> Log:
    """A log with a height in feet at miles before the threshold, straight between them."""
    return replace(log, altitude_ft=None if heights is None else [(second(before), feet) for before, feet in heights])


def debriefed(
    heights: Heights | None,
    log: Log = NOISY,
    way: Flown = ALL_THE_WAY,
    standard: str = "faa-instrument",
    line: Any = "straight-in",
    chart: Chart | None = None,
    **tables: Any,
) -> Debrief:
    """The debrief; tables of the procedure file replace the runway and the minimum descent altitude, None leaves them out."""
    given = {"runway": runway(), **({} if "minimums" in tables else {"minimum": MDA}), **tables}
    tables = {name: table for name, table in given.items() if table is not None}
    chart = chart or Chart(side=None, within_nm=None, reversal={"kind": "none"})
    procedure = replace(chart, tables={**chart.tables, **tables}).at(NORTH_OUT)
    track = logged(heights, log).of(way, NORTH_OUT)
    return judge_charted(track, resolve(procedure, dt.date(2026, 6, 1), line), standard)


def descended_without(hole_s: tuple[float, float], heights: Heights) -> Approach:
    """The one approach of a log without the samples of a stretch, which is too short to be called a gap."""
    whole = logged(heights).of(ALL_THE_WAY, NORTH_OUT)
    since = whole.time_s - START_S
    return _judged(whole, (since <= hole_s[0]) | (since >= hole_s[1]), NORTH_OUT, minimum=MDA)


def descended_from(before_nm: float, heights: Heights, **tables: Any) -> Approach:
    """The one approach to a station on the field, at the threshold, of a log that begins so far before it."""
    whole = logged(heights).of(ALL_THE_WAY, NORTH_OUT)
    latitude, longitude = (float(one[0]) for one in NORTH_OUT.lay(np.array([0.0]), np.array([-5.0])))
    on_field = replace(NORTH_OUT, latitude_deg=latitude, longitude_deg=longitude)
    return _judged(whole, whole.time_s >= START_S + second(before_nm), on_field, **tables)


def _judged(whole: Track, kept: Booleans, place: Place, **tables: Any) -> Approach:
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    track = replace(whole, **{name: getattr(whole, name)[kept] for name in names})
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables={"runway": runway(), **tables}).at(place)
    (approach,) = judge_charted(track, resolve(chart, dt.date(2026, 6, 1)), "faa-instrument").approaches
    return approach


def descended(heights: Heights | None, **given: Any) -> Approach:
    """The one approach of it."""
    (approach,) = debriefed(heights, **given).approaches
    return approach


def path(angle_deg: float, from_ft: float = MDA_FT + 50.0) -> Heights:
    """Held at a height until a straight path of an angle leads from there to 50 ft over the threshold, then down it."""
    at_nm = (from_ft - ELEVATION_FT - 50.0) * 0.3048 / 1852.0 / float(np.tan(np.radians(angle_deg)))
    return ((at_nm, from_ft), *LANDING)
