"""Flights along the reversals of procedures as they are charted, laid out with `synthetic` about the fix of each.

In still air at 120 kt, with turns of 3° a second, so that what a chart gives is what is flown: the leg of a hold by time or by
distance, the arc at its radius, the teardrop that comes out on the inbound course.
"""

import datetime as dt
import math
from collections.abc import Sequence

import numpy as np
from checked import solve
from patterns import Pattern, fly_approach, radius_nm
from pyproj import Geod
from synthetic import FT, NM, Floats, Flown, Log, Place, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief
from analyzer.library.debrief import Debrief
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.schema import Procedure

KT, ROLL_DEG_S = 120.0, 5.0
BANK = standard_rate_bank(KT)
DAY = dt.date(2026, 6, 1)
_NM_S = KT / 3600.0
_FINAL_S = 60.0


def as_charted(procedure: Procedure) -> tuple[Flown, Place]:
    """A flight of the reversal of a procedure, and the place that it is laid out at."""
    charted = resolve(procedure, DAY)
    outbound = math.degrees(charted.outbound_true_rad if charted.kind == "base-turn" else charted.inbound_true_rad + math.pi)
    place = Place(procedure.fix.latitude_deg, procedure.fix.longitude_deg, outbound % 360.0, 0.0)
    if charted.kind == "procedure-turn":
        assert charted.side is not None
        return fly_approach(Pattern(side=charted.side, roll_deg_s=ROLL_DEG_S, final_s=_FINAL_S, intercept=True)).flown, place
    if charted.kind == "hold":
        return _hold(charted), place
    if charted.kind == "base-turn":
        return _teardrop(charted), place
    assert charted.arc_latitude_rad is not None
    assert charted.arc_longitude_rad is not None
    centre = math.degrees(charted.arc_latitude_rad), math.degrees(charted.arc_longitude_rad)
    return _arc(charted), Place(*centre, outbound % 360.0, 0.0)


def _hold(charted: Charted) -> Flown:
    """A direct entry from well off the inbound course, on none of the routes charted NoPT: out, back, and over the fix.

    The turn at the fix is the wider one of the two, so that its shorter way round ends as far beside the inbound course.
    """
    assert charted.turn is not None
    out_s = charted.leg_time_s
    if out_s is None:
        assert charted.leg_length_m is not None
        length, beside = charted.leg_length_m / NM, 2.0 * radius_nm(KT)
        # by DME the length is seen from the station at the fix; along the track it is counted from abeam it
        out_s = (math.sqrt(length**2 - beside**2) if charted.leg_by == "dme" else length) / _NM_S
    way, off = 180.0 * charted.turn, _unlike_nopt(charted)
    heading, wider = 180.0 + off * charted.turn, 2.0 * radius_nm(KT) / (1.0 + math.cos(math.radians(off)))
    level_s = out_s - wider * math.sin(math.radians(off)) / _NM_S  # abeam the fix the turn is not over yet
    path: list[Segment] = [
        Straight("arrival", 150.0), Turn("entry_turn", way - off * charted.turn, _bank(wider)), Straight("outbound", level_s),
        Turn("reversal_turn", way, BANK), Straight("inbound", out_s + 20.0 + _to_final_fix_s(charted) + _FINAL_S),
    ]  # fmt: skip
    start = tuple(-5.0 * part(math.radians(heading)) for part in (math.sin, math.cos))
    return fly(path, (start[0], start[1]), heading, KT, roll_deg_s=ROLL_DEG_S)


def _unlike_nopt(charted: Charted) -> float:
    """How far off the inbound course to arrive, so as to be on no route charted NoPT."""
    assert charted.turn is not None
    courses = [
        math.degrees(route.course_true_rad - charted.inbound_true_rad) for route in charted.arrivals if not route.reversal
    ]
    return next(
        off
        for off in (35.0, 50.0, 65.0, 80.0, 95.0)
        if all(abs(math.remainder(course - off * charted.turn, 360.0)) > 30.0 for course in courses)
    )


def _bank(radius: float) -> float:
    """The bank of a turn of a radius in NM."""
    return math.degrees(math.atan((KT * NM / 3600.0) ** 2 / (9.80665 * radius * NM)))


def _to_final_fix_s(charted: Charted) -> float:
    """Seconds from the fix to the final approach fix beyond it."""
    return max([0.0, *(fix.along_m / NM / _NM_S for fix in charted.fixes if fix.role == "final-approach-fix")])


def _teardrop(charted: Charted) -> Flown:
    """Out along the outbound course as far as it takes for the turn back to come out on the inbound course."""
    assert charted.turn is not None
    inbound = math.degrees(charted.inbound_true_rad - charted.outbound_true_rad)
    swept = (inbound * charted.turn) % 360.0

    def path(out_s: float) -> list[Segment]:
        return [Straight("arrival", 90.0), Straight("outbound", out_s), Turn("reversal_turn", charted.turn * swept, BANK)]

    def beside(out_s: float) -> float:
        end = fly([*path(out_s), Straight("inbound", 1.0)], (0.0, -3.0), 0.0, KT, roll_deg_s=ROLL_DEG_S)
        off = math.radians(inbound)
        return float(end.x_nm[-1] * math.cos(off) - end.y_nm[-1] * math.sin(off))

    out_s = solve(beside, 0.0, 30.0, 400.0)
    return fly([*path(out_s), Straight("inbound", out_s + _FINAL_S)], (0.0, -3.0), 0.0, KT, roll_deg_s=ROLL_DEG_S)


def _arc(charted: Charted) -> Flown:
    """A quarter round the arc about its centre, joined from outside along a radial, and off it by the lead of the turns."""
    assert charted.arc_radius_m is not None
    arc, radius = charted.arc_radius_m / NM, radius_nm(KT)
    lead = math.degrees(math.asin(radius / (arc - radius)))
    path: list[Segment] = [
        Straight("arrival", 60.0),
        Turn("arc", -(90.0 - lead), _bank(arc)),
        Turn("reversal_turn", -(90.0 + lead), BANK),
    ]
    flown = fly([*path, Straight("inbound", (arc + 3.0) / _NM_S)], (arc, -2.0), 0.0, KT)
    return flown if charted.turn == -1 else flown.mirrored()


def heights(procedure: Procedure, flown: Flown, place: Place) -> Sequence[tuple[float, float]]:
    """Altitudes 60 ft above the charted minimums, each descent in the leg that it is charted for, and down the glide path."""
    floors = procedure.altitudes.by_leg()
    charted = [row.minimum_ft for row in procedure.fixes if row.minimum_ft is not None]
    turning = floors.get("reversal", 3000.0) + 60.0
    high = max([turning - 60.0, *floors.values()]) + 60.0
    inbound = max([floors.get("inbound", turning - 60.0), *charted]) + 60.0
    high, inbound = (turning if abs(level - turning) < 250.0 else level for level in (high, inbound))  # no small steps
    down = flown.begins["outbound" if "outbound" in flown.begins else "arc"] + 20.0
    home = flown.begins["inbound"] + 40.0
    steps = [(0.0, high), (down, high), (down + (high - turning) / 8.0 + 1.0, turning), (home, turning)]
    steps += [(home + abs(turning - inbound) / 8.0 + 1.0, inbound)]
    time_s = np.arange(0.0, flown.time_s[-1] + 1.0)
    level = np.interp(time_s, *np.array([step for k, step in enumerate(steps) if k == 0 or step[0] > steps[k - 1][0]]).T)
    path = _glide_path_ft(procedure, flown, place, time_s)
    level = np.where(time_s > home, np.minimum(level, path), level)
    # down to a path that passes below at 1,500 ft/min, and not at once
    level = np.maximum.accumulate(level + 25.0 * time_s) - 25.0 * time_s
    return list(zip(time_s.tolist(), level.tolist(), strict=True))


def _glide_path_ft(procedure: Procedure, flown: Flown, place: Place, time_s: Floats) -> Floats:
    """The glide path where the aircraft is, over an Earth that falls away below it."""
    slope, runway = procedure.glide_path, procedure.runway
    if slope is None or runway is None:
        return np.full_like(time_s, np.inf)
    latitude, longitude = place.lay(flown.at(time_s, flown.x_nm), flown.at(time_s, flown.y_nm))
    there = np.full_like(latitude, runway.threshold_longitude_deg), np.full_like(latitude, runway.threshold_latitude_deg)
    _, _, away = Geod(ellps="WGS84").inv(longitude, latitude, *there)
    rise = np.tan(math.radians(slope.angle_deg)) * away + away**2 / (2.0 * 6_371_000.0)
    return np.asarray(runway.threshold_elevation_ft + slope.threshold_crossing_height_ft + rise / FT)


def debriefed_as_charted(procedure: Procedure) -> Debrief:
    """The debrief of a flight of the procedure as it is charted."""
    flown, place = as_charted(procedure)
    return debrief(Log(noise_m=1.0, altitude_ft=heights(procedure, flown, place)).of(flown, place), procedure)
