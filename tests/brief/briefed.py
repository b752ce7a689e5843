"""Briefs of invented procedures, and flights by their numbers with the simulation of the tests, part by part."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from synthetic import HERE, Chart, Floats, Place, Segment, Straight, Turn, Wind, fly, holding

from analyzer.brief.briefed_number import Number
from analyzer.brief.briefing import Brief, brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import Conditions, asked_for
from analyzer.procedure.charted import Charted, resolve

DAY = dt.date(2026, 6, 1)
ROLL_DEG_S = 5.0  # common practice, no source
LEVEL = {"outbound": 3000.0}
OUT_MAGNETIC = HERE.outbound_true_deg - HERE.variation_deg
TURN = Chart(floors_ft=LEVEL)
FEW_ERRORS = Errors(flights=10)
_ASKED: dict[str, Any] = {
    "speeds": (), "true_speeds": (), "winds": (), "bank_deg": None, "rate_deg_s": 3.0, "shape": None, "outbound": None,
    "keep_nm": 1.0, "arrival_deg": None, "altitude_ft": None, "air": (None, None),
}  # fmt: skip


def turn_chart(side: str = "right", **reversal: Any) -> Chart:
    return Chart(side=side, floors_ft=LEVEL, reversal=reversal)


def base_chart(turn: str, divergence_deg: float, place: Place = HERE) -> Chart:
    """A base turn out on the place's outbound course, and back on one that diverges from its reciprocal by an angle."""
    out = place.outbound_true_deg - place.variation_deg
    sign = 1.0 if turn == "right" else -1.0
    inbound = (out + 180.0 + sign * divergence_deg) % 360.0
    table = {"kind": "base-turn", "turn": turn, "inbound_course_deg": inbound}
    return Chart(side=None, within_nm=None, floors_ft=LEVEL, reversal=table)


def hold_chart(turn: str = "right", **leg: Any) -> Chart:
    table = {"kind": "hold", "turn": turn, **(leg or {"leg_time_s": 60.0})}
    return Chart(side=None, within_nm=None, floors_ft=LEVEL, reversal=table)


def arc_chart(radius_nm: float) -> Chart:
    place = {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg, "radius_nm": radius_nm}
    return Chart(side=None, within_nm=None, floors_ft=LEVEL, reversal={"kind": "arc", "turn": "right"}, tables={"arc": place})


def charted_at(chart: Chart = TURN, place: Place = HERE) -> Charted:
    return resolve(chart.at(place), DAY)


def asked(chart: Chart = TURN, place: Place = HERE, **given: Any) -> Conditions:
    """Conditions as on the command line; 120 kt true unless a speed is given."""
    if not {"speeds", "true_speeds"} & set(given):
        given["true_speeds"] = ["120"]
    return asked_for(charted_at(chart, place), **{**_ASKED, **given})


def briefed(chart: Chart = TURN, place: Place = HERE, errors: Errors | None = None, **given: Any) -> Brief:
    return brief(charted_at(chart, place), asked(chart, place, **given), errors)


def number(made: Brief, name: str) -> Number:
    """The one number of that name."""
    (found,) = (n for n in made.numbers if n.name == name)
    return found


def wind_text(wind: Wind, place: Place = HERE, altitude_ft: int | None = None) -> str:
    """A wind of the plane as a brief takes it, in degrees true."""
    at = "" if altitude_ft is None else f"@{altitude_ft}"
    return f"{(wind[0] + place.outbound_true_deg) % 360.0:.2f}/{wind[1]:g}{at}"


@dataclass(frozen=True, eq=False)
class FlownByNumbers:
    """A flight by the numbers of a brief's JSON, in the plane of `synthetic`: points of each part in order."""

    names: tuple[str, ...]
    x_nm: tuple[Floats, ...]
    y_nm: tuple[Floats, ...]

    def upto(self, name: str) -> tuple[Floats, Floats]:
        """All points to the end of the last part of that name."""
        last = len(self.names) - self.names[::-1].index(name)
        return np.concatenate(self.x_nm[:last]), np.concatenate(self.y_nm[:last])

    def across_nm(self, name: str, course_deg: float) -> float:
        """Distance of the end of a part right of a course through the fix; the course counts from the outbound one."""
        x, y = self.upto(name)
        course = math.radians(course_deg)
        return float(x[-1] * math.cos(course) - y[-1] * math.sin(course))

    def farthest_nm(self, name: str) -> float:
        return float(np.hypot(*self.upto(name)).max())


def shorter(degrees: float) -> float:
    return math.remainder(degrees, 360.0)


def degrees_to_turn(shape: str, part: Mapping[str, Any], long_turn: int, change_deg: float) -> float:
    """The angle of a turn that changes the heading by `change_deg`, positive right.

    `long_turn` is the direction of the reversing turn, in a hold of its turns: a parallel entry turns back against it (AIM
    5-3-8 j.3) and both turns of a direct one go with it; all other turns go the shorter way, but for the one onto the outbound
    course, whose direction the brief gives.
    """
    degrees = _degrees_to_turn(shape, part["part"], long_turn, change_deg)
    direction = {"left": -1.0, "right": 1.0}[part["turn"]]
    if part["part"] == "outbound_turn":
        return direction * ((direction * change_deg) % 360.0)
    assert abs(degrees) < 1.0 or math.copysign(1.0, degrees) == direction
    return degrees


def _degrees_to_turn(shape: str, part: str, long_turn: int, change_deg: float) -> float:
    if part == "reversal_turn" or (shape == "hold-direct" and part == "entry_turn"):
        turn = -long_turn if shape == "hold-parallel" else long_turn
        return turn * ((turn * change_deg) % 360.0)
    return shorter(change_deg)


def fly_by_numbers(
    document: Mapping[str, Any], long_turn: int, winds: Mapping[str, Wind], arrival_deg: float = 0.0, place: Place = HERE
) -> FlownByNumbers:
    """Fly a brief by the rounded headings, times and banks of its JSON.

    `long_turn` is as in `degrees_to_turn`, `winds` are by leg, `arrival_deg` is the course at the fix in a hold, from the
    outbound course.
    """
    x, y, names, at = [], [], [], (0.0, 0.0)
    now: float | None = None
    for part in document["parts"]:
        if part["part"] in ("inbound", "final"):
            break
        wind, speed = winds[part["leg"]], part["true_airspeed_kt"]
        briefed_heading = shorter(part["heading_deg_magnetic"] + place.variation_deg - place.outbound_true_deg)
        if part["bank_deg"] is None:
            now = briefed_heading if now is None else now
            segment: Segment = Straight(part["part"], part["duration_s"])
            heading = briefed_heading
        else:
            heading = holding(arrival_deg, speed, wind) if now is None else now
            degrees = degrees_to_turn(document["shape"], part, long_turn, briefed_heading - heading)
            segment = Turn(part["part"], degrees, part["bank_deg"])
        if abs(segment.degrees) < 0.1 if isinstance(segment, Turn) else segment.seconds <= 0.0:
            continue
        flown = _fly(segment, at, heading, speed, wind)
        x.append(flown.x_nm)
        y.append(flown.y_nm)
        names.append(part["part"])
        at, now = (float(flown.x_nm[-1]), float(flown.y_nm[-1])), briefed_heading
    return FlownByNumbers(tuple(names), tuple(x), tuple(y))


def _fly(segment: Segment, at: tuple[float, float], heading: float, speed: float, wind: Wind) -> Any:
    """A segment; a turn too small for its bank is rolled in and out of less (FAA-H-8083-15B chapter 7)."""
    if isinstance(segment, Turn):
        try:
            return fly([segment], at, heading, speed, wind, ROLL_DEG_S)
        except ValueError:
            return _fly(replace(segment, bank_deg=segment.bank_deg * 0.9), at, heading, speed, wind)
    return fly([segment], at, heading, speed, wind, ROLL_DEG_S)


def everywhere(wind: Wind) -> Mapping[str, Wind]:
    return dict.fromkeys(("outbound", "reversal"), wind)


def parts_of(document: Mapping[str, Any]) -> Sequence[str]:
    return [part["part"] for part in document["parts"]]
