"""Approaches that end in a missed approach, a published hold and another approach: straight legs and standard-rate turns.

In still air at 120 kt, with turns of 3° a second rolled into at 5° a second, every instant is where the construction has it.
The plane is that of `synthetic`, with the fix of the reversal at its origin and the inbound course due south; the hold of the
missed approach lies where its turn and the way after it lead. Lengths are in nautical miles.
"""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from checked import NOISY
from synthetic import CALM, HERE, START_S, Chart, Flown, Log, Place, Segment, Straight, Turn, Wind, fly, standard_rate_bank

from analyzer import Debrief, debrief
from analyzer.legs.flight import Flight, find_flight
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

BANK = standard_rate_bank(120.0)
A_SECOND = 120.0 / 3600.0  # NM flown in it
START_NM = (0.0, -3.0)  # 90 s before the fix, outbound

THRESHOLD_NM, ELEVATION_FT = 5.0, 500.0
MISSED_POINT_NM = 4.5  # beyond the fix
MINIMUM_FT, CLIMB_FT, HOLD_FT = 1000.0, 1400.0, 3000.0
CLIMB_FPM = 500.0
STRAIGHT_S = 60.0  # from the missed approach point to its turn: up to 1,500 ft
DESCENT_FPM = 600.0  # from 2,000 ft at the fix

Heights = list[tuple[float, float]]


def laid(x_nm: float, y_nm: float, place: Place = HERE) -> dict[str, float]:
    """A spot of the plane as a procedure file writes it."""
    latitude, longitude = place.lay(np.array([x_nm]), np.array([y_nm]))
    return {"latitude_deg": float(latitude[0]), "longitude_deg": float(longitude[0])}


def course(plane_deg: float, place: Place = HERE) -> float:
    """A course of the plane as charted, magnetic."""
    return (place.outbound_true_deg + plane_deg - place.variation_deg) % 360.0


def flown_from(segments: Sequence[Segment], wind: Wind = CALM) -> Flown:
    return fly(segments, START_NM, roll_deg_s=5.0, wind=wind)


def closing(make: Callable[[float], list[Segment]], before: Sequence[Segment]) -> list[Segment]:
    """Segments whose seconds end them on the course, from which the distance is linear in the seconds."""
    near, far = (float(flown_from([*before, *make(seconds)]).x_nm[-1]) for seconds in (20.0, 30.0))
    return make(20.0 - 10.0 * near / (far - near))


def reversal(before: Sequence[Segment], prefix: str = "") -> list[Segment]:
    """From over the fix a minute outbound, a 45/180 to the right, and home to the fix on the inbound course."""

    def turned(seconds: float) -> list[Segment]:
        return [
            Straight(f"{prefix}outbound", 60.0),
            Turn(f"{prefix}offset_turn", 45.0, BANK),
            Straight(f"{prefix}offset_leg", seconds),
            Turn(f"{prefix}reversal_turn", -225.0, BANK),
        ]

    path = closing(turned, before)
    home_nm = float(flown_from([*before, *path]).y_nm[-1])
    return [*path, Straight(f"{prefix}inbound", home_nm / A_SECOND)]


@cache
def first_reversal() -> tuple[Segment, ...]:
    """In from the south to the fix, and its reversal."""
    arrival = Straight("arrival", 90.0)
    return arrival, *reversal([arrival])


def missed(late_s: float = 0.0, straight_s: float = STRAIGHT_S, turn_deg: float = 90.0, on_s: float = 220.0) -> list[Segment]:
    """From the fix: the final leg, the climb straight ahead, its turn, and on to the hold."""
    return [
        Straight("final", MISSED_POINT_NM / A_SECOND + late_s),
        Straight("climb", straight_s),
        *([Turn("missed_turn", turn_deg, BANK)] if turn_deg else []),
        Straight("to_hold", on_s),
    ]


@cache
def hold_nm() -> tuple[float, float]:
    """Where the missed approach leads: the fix of its hold."""
    flown = flown_from([*first_reversal(), *missed()])
    return float(flown.x_nm[-1]), float(flown.y_nm[-1])


def hold(**changed: Any) -> dict[str, Any]:
    """The hold of the missed approach, its inbound course the one that the missed approach comes on."""
    return {
        "name": "WND", "role": "missed-approach", **laid(*hold_nm()), "inbound_course_deg": course(270.0), "turn": "right",
        "leg_time_s": 60.0, "minimum_ft": HOLD_FT - 50.0, **changed,
    }  # fmt: skip


def missed_table(**changed: Any) -> dict[str, Any]:
    """The missed approach as charted; a value of None takes a key away."""
    table = {"climb_ft": CLIMB_FT, "turn": "right", "course_deg": course(270.0), "altitude_ft": HOLD_FT, **changed}
    return {name: value for name, value in table.items() if value is not None}


def chart(**changed: Any) -> Chart:
    """A chart with runway, missed approach point, minimum, missed approach and hold; any of these tables may be another."""
    threshold = laid(0.0, -THRESHOLD_NM)
    tables = {
        "runway": {
            "name": "24",
            "threshold_latitude_deg": threshold["latitude_deg"],
            "threshold_longitude_deg": threshold["longitude_deg"],
            "threshold_elevation_ft": ELEVATION_FT,
            "true_heading_deg": (HERE.outbound_true_deg + 180.0) % 360.0,
        },
        "fixes": [{"name": "TARRO", "role": "missed-approach-point", "distance_nm": MISSED_POINT_NM}],
        "minimum": {"kind": "mda", "altitude_ft": MINIMUM_FT},
        "missed_approach": missed_table(),
        "holds": [hold()],
        **changed,
    }
    return Chart(tables=tables)


@dataclass(frozen=True, eq=False)
class Whole:
    """A flight and its altitudes: (second, feet)."""

    flown: Flown
    heights: Heights

    def begin(self, name: str) -> float:
        """When a segment begins, in seconds since 1970."""
        return START_S + self.flown.begins[name]

    def flight(self, charted: Chart | None = None, log: Log = NOISY) -> Flight:
        """The approaches and holds that are found in it."""
        track = replace(log, altitude_ft=self.heights).of(self.flown)
        return find_flight(analyse_motion(track, resolve((charted or chart()).at(), dt.date(2026, 6, 1))))

    def debrief(self, charted: Chart | None = None, log: Log = NOISY) -> Debrief:
        return debrief(replace(log, altitude_ft=self.heights).of(self.flown), (charted or chart()).at())


def climbing(flown: Flown, climb_s: float, to_ft: float = HOLD_FT, lowest_ft: float = MINIMUM_FT + 20.0) -> Heights:
    """Down at 600 ft/min from 2,000 ft at the fix to 20 ft above the minimum, level, and from an instant up at 500 ft/min.

    A climb may begin before the level is reached.
    """
    at_fix = flown.begins["final"]
    low_ft = max(lowest_ft, 2000.0 - DESCENT_FPM * (climb_s - at_fix) / 60.0)
    return [
        (0.0, 3000.0), (flown.begins["inbound"], 3000.0), (at_fix - 5.0, 2000.0), (at_fix, 2000.0),
        (at_fix + (2000.0 - low_ft) / DESCENT_FPM * 60.0, low_ft), (climb_s, low_ft),
        (climb_s + (to_ft - low_ft) / CLIMB_FPM * 60.0, to_ft),
    ]  # fmt: skip


def landing(flown: Flown) -> Heights:
    """From the level that is held down to 2,000 ft on the second inbound leg, and on at 600 ft/min to the runway."""
    at_fix, low_ft = flown.begins["landing"], ELEVATION_FT + 5.0
    down_s = (2000.0 - low_ft) / DESCENT_FPM * 60.0
    return [(flown.begins["second_inbound"], HOLD_FT), (at_fix - 5.0, 2000.0), (at_fix, 2000.0), (at_fix + down_s, low_ft)]


def laps(legs_s: Sequence[float], way: float = 1.0) -> list[Segment]:
    """Circuits from over the fix of a hold, its inbound course flown; each with its own time outbound and inbound."""
    path: list[Segment] = []
    for lap, leg in enumerate(legs_s, 1):
        path += [Turn(f"away{lap}", way * 180.0, BANK), Straight(f"out{lap}", leg)]
        path += [Turn(f"back{lap}", way * 180.0, BANK), Straight(f"in{lap}", leg)]
    return path


def gone_around(to_ft: float = HOLD_FT, **missed_by: float) -> Whole:
    """An approach and its missed approach, flown as charted but for what is given; the log ends near the hold."""
    flown = flown_from([*first_reversal(), *missed(**missed_by)])
    return Whole(flown, climbing(flown, flown.begins["climb"], to_ft))


def missed_into_hold(legs_s: Sequence[float] = (60.0, 60.0, 60.0), way: float = 1.0, wind: Wind = CALM) -> Whole:
    """An approach, its missed approach and laps of the hold; the log ends some way past the fix of the hold."""
    flown = flown_from([*first_reversal(), *missed(), *laps(legs_s, way), Straight("on", 40.0)], wind)
    return Whole(flown, climbing(flown, flown.begins["climb"]))


def back_to_the_fix(path: Sequence[Segment]) -> list[Segment]:
    """From a way east, south of the fix: a left turn onto the outbound course, north to the fix, a reversal and a landing."""

    def joined(seconds: float) -> list[Segment]:
        return [Straight("east", seconds), Turn("join_turn", -90.0, BANK)]

    joining = closing(joined, path)
    north_nm = -float(flown_from([*path, *joining]).y_nm[-1])
    to_fix = [*joining, Straight("second_arrival", north_nm / A_SECOND)]
    return [*to_fix, *reversal([*path, *to_fix], "second_"), Straight("landing", THRESHOLD_NM / A_SECOND)]


@cache
def whole() -> Whole:
    """Reversal, final leg, missed approach, three laps of the hold, a second approach and its landing."""
    path = [*first_reversal(), *missed(), *laps((60.0, 60.0, 60.0)), Straight("leave", 20.0), Turn("leaving", -180.0, BANK)]
    flown = flown_from([*path, *back_to_the_fix(path)])
    return Whole(flown, [*climbing(flown, flown.begins["climb"]), *landing(flown)])


@cache
def missed_and_again() -> Whole:
    """A missed approach straight ahead to its altitude and round by the right to a second approach, without a hold."""
    around: list[Segment] = [Straight("final", MISSED_POINT_NM / A_SECOND), Straight("climb", 300.0)]
    for side, seconds in (("west", 60.0), ("north", 60.0)):
        around += [Turn(f"{side}_turn", 90.0, BANK), Straight(side, seconds)]
    path = [*first_reversal(), *around, Turn("east_turn", 90.0, BANK)]
    flown = flown_from([*path, *back_to_the_fix(path)])
    return Whole(flown, [*climbing(flown, flown.begins["climb"]), *landing(flown)])
