"""A base turn that is flown well but for the fix, which is passed to one side: not recognised unless it is named."""

import datetime as dt
import math

from scipy.optimize import brentq
from synthetic import FT, HERE, Chart, Flown, Log, Straight, Turn, fly, standard_rate_bank

__all__ = ["BASE_TURN", "PASSED_S", "beside_the_fix", "log_of"]

_OFF_DEG = 20.0  # the outbound course off the reciprocal of the inbound one
PASSED_S = 90.0
_MAGNETIC = (HERE.outbound_true_deg - HERE.variation_deg) % 360.0
BASE_TURN = Chart(
    None,
    None,
    floors_ft={"outbound": 2500.0, "inbound": 2000.0},
    reversal={
        "kind": "base-turn",
        "turn": "left",
        "outbound_course_deg": _MAGNETIC + _OFF_DEG,
        "inbound_course_deg": (_MAGNETIC + 180.0) % 360.0,
        "leg_time_s": 120.0,
    },
)


def beside_the_fix(aside_nm: float) -> Flown:
    """Out beside the outbound course, so far to the right of it, turned back at standard rate and onto the inbound course."""
    off, bank = math.radians(_OFF_DEG), standard_rate_bank(120.0)
    start = (-3.0 * math.sin(off) + aside_nm * math.cos(off), -3.0 * math.cos(off) - aside_nm * math.sin(off))

    def path(cut_s: float, home_s: float = 0.1) -> Flown:
        out = [Straight("arrival", PASSED_S), Straight("outbound", 120.0), Turn("reversal_turn", -180.0, bank)]
        home = [Straight("cut", cut_s), Turn("join", -_OFF_DEG, 10.0), Straight("inbound", home_s)]
        return fly([*out, *home], start, _OFF_DEG, roll_deg_s=5.0)

    cut_s = brentq(lambda seconds: float(path(seconds).x_nm[-1]), 1.0, 200.0)
    return path(cut_s, float(path(cut_s).y_nm[-1]) * 30.0 + 90.0)


def log_of(flown: Flown) -> str:
    """The flight as a CSV file, down to the minimums of its legs."""
    heights = [(0.0, 3200.0), (120.0, 3200.0), (260.0, 2600.0), (400.0, 2100.0), (600.0, 2050.0)]
    track = Log(noise_m=1.0, altitude_ft=heights).of(flown)
    rows = ["time_utc,latitude_deg,longitude_deg,altitude_ft"]
    for time_s, latitude, longitude, altitude in zip(
        track.time_s, track.latitude_rad, track.longitude_rad, track.altitude_m, strict=True
    ):
        at = dt.datetime.fromtimestamp(float(time_s), dt.UTC)
        rows.append(f"{at:%Y-%m-%dT%H:%M:%SZ},{math.degrees(latitude):.6f},{math.degrees(longitude):.6f},{altitude / FT:.0f}")
    return "\n".join(rows) + "\n"
