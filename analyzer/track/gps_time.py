"""GPS time to UTC: it counts from 1980-01-06 without leap seconds, in seconds or in weeks and seconds of the week."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from analyzer.physics.units import FloatArray

__all__ = ["GPS_EPOCH_S", "ROLLOVER_WEEKS", "WEEK_S", "gps_to_utc", "utc_behind_s"]

GPS_EPOCH_S = datetime(1980, 1, 6, tzinfo=UTC).timestamp()
WEEK_S = 7 * 86400.0
ROLLOVER_WEEKS = 1024.0  # broadcast week numbers have ten bits (IS-GPS-200, 20.3.3.3.1.1; from memory)

# The days at whose beginning UTC fell one more second behind GPS time (IERS, leap-seconds.list, read in the copy of tzdata)
_LEAPS = (
    *("1981-07-01", "1982-07-01", "1983-07-01", "1985-07-01", "1988-01-01", "1990-01-01", "1991-01-01", "1992-07-01"),
    *("1993-07-01", "1994-07-01", "1996-01-01", "1997-07-01", "1999-01-01", "2006-01-01", "2009-01-01", "2012-07-01"),
    *("2015-07-01", "2017-01-01"),
)
# in GPS time: a leap second that was inserted counts for itself
_FROM_S = np.array([datetime.fromisoformat(f"{day}T00:00:00+00:00").timestamp() + k for k, day in enumerate(_LEAPS, 1)])


def gps_to_utc(gps_s: FloatArray) -> FloatArray:
    """Seconds since 1970-01-01 UTC of instants given in seconds of GPS time since 1980-01-06."""
    seconds = gps_s + GPS_EPOCH_S
    return seconds - utc_behind_s(seconds)


def utc_behind_s(gps_since_1970_s: FloatArray) -> FloatArray:
    """How far UTC is behind GPS time [s] where GPS time, counted on from 1970, is this: 18 s since 2017."""
    return np.searchsorted(_FROM_S, gps_since_1970_s, side="right").astype(np.float64)
