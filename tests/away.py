"""Flights with a missed approach and a hold away from the reversal: a 45/180, a climb, a right turn by 90°, laps about PELTO.

The hold's fix is where the way after the missed approach's turn ends, and its inbound course is that way's.
"""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Flown, Segment, Straight, Turn, fly, standard_rate_bank

BANK_DEG = standard_rate_bank(120.0)
FINAL_S, CLIMB_S, WAY_S, LAP_S = 150.0, 60.0, 210.0, 60.0
LEVEL_FT, MISSED_FT = 1500.0, 3000.0
APPROACH = fly_approach(Pattern(roll_deg_s=5.0, final_s=FINAL_S))
MISSED = (Straight("climb", CLIMB_S), Turn("missed turn", 90.0, BANK_DEG), Straight("way", WAY_S))
AWAY_DEG = 270.0  # from the outbound course: the hold's inbound course


def then(first: Flown, segments: Sequence[Segment]) -> Flown:
    """A flight with what is flown after it."""
    start = float(first.x_nm[-1]), float(first.y_nm[-1])
    after = fly(segments, start, float(first.heading_deg[-1]), roll_deg_s=5.0)
    join = float(first.time_s[-1])
    return Flown(
        np.concatenate([first.time_s, join + after.time_s[1:]]),
        np.concatenate([first.x_nm, after.x_nm[1:]]),
        np.concatenate([first.y_nm, after.y_nm[1:]]),
        np.concatenate([first.heading_deg, after.heading_deg[1:]]),
        np.concatenate([first.bank_deg, after.bank_deg[1:]]),
        {**first.begins, **{name: join + time for name, time in after.begins.items()}},
    )


def laps(number: int, side: int = 1, inbound_s: float = LAP_S) -> list[Segment]:
    """Laps of a hold from over its fix; `side` is +1 with right turns."""
    flown: list[Segment] = []
    for lap in range(1, number + 1):
        flown += [
            Turn(f"away {lap}", side * 180.0, BANK_DEG),
            Straight(f"out {lap}", inbound_s),
            Turn(f"home {lap}", side * 180.0, BANK_DEG),
            Straight(f"in {lap}", inbound_s),
        ]
    return [*flown, Straight("leaving", 40.0)]


_TO_FIX = then(APPROACH.flown, MISSED)
FIX_NM = float(_TO_FIX.x_nm[-1]), float(_TO_FIX.y_nm[-1])


def missed_into_hold(number: int = 2) -> Flown:
    """The approach, the missed approach and so many laps."""
    return then(_TO_FIX, laps(number))


def hold_alone(number: int = 3, side: int = 1, inbound_s: float = LAP_S) -> Flown:
    """Straight to the hold's fix on its inbound course, and so many laps."""
    far = 6.0
    start = (
        FIX_NM[0] - far * math.sin(math.radians(AWAY_DEG)),
        FIX_NM[1] - far * math.cos(math.radians(AWAY_DEG)),
    )
    return fly([Straight("to the fix", far * 30.0), *laps(number, side, inbound_s)], start, AWAY_DEG, roll_deg_s=5.0)


def altitudes_ft() -> list[tuple[float, float]]:
    """Level at 3,000 ft, down to 1,500 ft after the fix, and at the end of the final leg up to 3,000 ft at 900 ft/min."""
    down = APPROACH.inbound_passage_s
    up = down + FINAL_S
    return [
        (0.0, 3000.0),
        (down, 3000.0),
        (down + 100.0, LEVEL_FT),
        (up, LEVEL_FT),
        (up + 100.0, MISSED_FT),
        (9999.0, MISSED_FT),
    ]


def _magnetic(from_outbound_deg: float) -> float:
    return (HERE.outbound_true_deg + from_outbound_deg - HERE.variation_deg) % 360.0


def pelto() -> dict[str, Any]:
    """The hold as it is published."""
    latitude, longitude = HERE.lay(np.array([FIX_NM[0]]), np.array([FIX_NM[1]]))
    return {
        "name": "PELTO", "role": "missed-approach", "latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0]),
        "inbound_course_deg": _magnetic(AWAY_DEG), "turn": "right", "leg_time_s": 60.0, "minimum_ft": 2900.0,
    }  # fmt: skip


CHART = Chart(
    tables={
        "minimum": {"kind": "mda", "altitude_ft": 1400.0},
        "fixes": [{"name": "MAPAR", "role": "missed-approach-point", "distance_nm": 5.3}],
        "missed_approach": {"turn": "right", "course_deg": _magnetic(AWAY_DEG), "altitude_ft": MISSED_FT, "climb_ft": 1700.0},
        "holds": [pelto()],
    }
)
