"""Lessons on an arc, on the last thousand feet and on levels: by geometry and flown again, the advice leads back inside."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, debriefed, one_of
from descents import ELEVATION_FT, descended, path
from patterns import Pattern, fly_approach, radius_nm
from synthetic import HERE, KT, NM, Chart, Flown, Straight, Turn, fly, standard_rate_bank

from analyzer.checks.finding import Finding, Lesson


def lesson_of(finding: Finding) -> Lesson:
    assert finding.verdict == "outside", finding.sentence
    assert finding.lesson is not None
    return finding.lesson


def number(pattern: str, text: str | None) -> float:
    found = re.search(pattern, str(text))
    assert found is not None, text
    return float(found[1].replace(",", ""))


def around() -> Flown:
    """Out to an arc of 10 NM round the fix, left around it at 120 kt in still air, and inbound, as the arcs of the checks."""
    radius = radius_nm()
    within = 10.0 - radius
    lead = math.degrees(math.asin(radius / within))
    bank = math.degrees(math.atan((120.0 * KT) ** 2 / (9.80665 * 10.0 * NM)))
    turn = standard_rate_bank(120.0)
    path = [
        Straight("arrival", (math.sqrt(within**2 - radius**2) - 5.0) * 30.0),
        Turn("arc_turn", -(90.0 + lead), turn),
        Turn("arc", -(90.0 - 2.0 * lead), bank),
        Turn("reversal_turn", -(90.0 + lead), turn),
        Straight("inbound", 360.0),
    ]
    return fly(path, (5.0, 0.0), 90.0)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("centre_nm", [-1.3, 1.3])
def test_the_heading_for_an_arc_that_is_left_closes_with_it(centre_nm, side):
    """Charted about a point before or beyond the fix, the same arc leads outside or inside all the way."""
    latitude, longitude = (float(one[0]) for one in HERE.lay(np.array([0.0]), np.array([centre_nm])))
    arc = {"latitude_deg": latitude, "longitude_deg": longitude, "radius_nm": 10.0}
    reversal = {"kind": "arc", "turn": "left" if side > 0 else "right"}
    chart = Chart(side=None, within_nm=None, reversal=reversal, tables={"arc": arc})
    flown = around() if side > 0 else around().mirrored()
    lesson = lesson_of(one_of(debriefed(flown, chart=chart), "arc_radius"))
    inward = "left" if (centre_nm < 0.0) == (side > 0) else "right"
    outside = "outside" if centre_nm < 0.0 else "inside"
    assert f"When 0.50 NM {outside}, turn 20° more to the {inward}" in str(lesson.advice)
    # the track at right angles to the bearing from the centre, where the arc was left by half a mile
    on_arc = (flown.time_s > flown.begins["arc"]) & (flown.time_s < flown.begins["reversal_turn"])
    x_nm, y_nm = flown.x_nm[on_arc], flown.y_nm[on_arc] - centre_nm
    at = int(np.argmax(np.abs(np.hypot(x_nm, y_nm) - 10.0) > 0.5))
    holds = math.degrees(math.atan2(float(x_nm[at]), float(y_nm[at]))) - 90.0 * side + 62.0 + 11.0
    back, instead = number(r"there (\d\d\d)°", lesson.advice), number(r"instead of (\d\d\d)°", lesson.advice)
    assert math.remainder(instead - holds, 360.0) == pytest.approx(0.0, abs=2.0)
    assert math.remainder(back - instead, 360.0) == pytest.approx(20.0 if inward == "right" else -20.0, abs=1.1)
    assert f"too far {'right' if inward == 'left' else 'left'} on average" in str(lesson.cause)


def test_a_steep_descent_has_the_place_or_the_rate_that_is_not():
    # 1,700 ft to 900 ft at 1,200 ft/min, far before a path of 3°
    dive = ((15.0, 1700.0), (4.7, 1700.0), (3.3, 920.0), (1.2, 920.0), (0.0, 550.0), (-0.3, 505.0))
    lesson = lesson_of(one_of(descended(dive), "stabilised_descent"))
    until, fpm = (
        number(r"Pass 1,000 ft above the threshold ([\d.]+) NM", lesson.advice),
        number(r"takes ([\d,]+) ft/min", lesson.advice),
    )
    assert until == pytest.approx((1000.0 - 50.0) / math.tan(math.radians(3.0)) / 6076.12, abs=0.1)
    assert fpm == pytest.approx(120.0 * 6076.12 / 60.0 * math.tan(math.radians(3.0)), abs=10.0)
    again = descended(((15.0, ELEVATION_FT + 1000.0), *path(3.0, ELEVATION_FT + 1000.0)))
    assert one_of(again, "stabilised_descent").verdict == "inside"
    late = ((15.0, 1700.0), (2.9, 1700.0), (2.0, 1000.0), (0.0, 550.0), (-0.3, 505.0))
    steady = lesson_of(one_of(descended(late), "stabilised_descent"))
    fpm = number(r"from there ([\d,]+) ft/min leads", steady.advice)
    before = number(r"([\d.]+) NM before it", steady.cause)
    assert fpm == pytest.approx(950.0 / (before / 120.0 * 60.0), rel=0.05)
    assert 637.0 < fpm < 900.0
    # from 3.3 NM a path of 2.7° leads down, which an approach is flown at: what was wrong is how it was flown
    sunk = (
        (15.0, 1700.0),
        (5.0, 1700.0),
        (3.35, 1500.0),
        (3.2, 1480.0),
        (2.4, 1020.0),
        (1.6, 1000.0),
        (0.0, 550.0),
        (-0.3, 505.0),
    )
    early = lesson_of(one_of(descended(sunk), "stabilised_descent"))
    assert early.advice.startswith("Descend steadily: from there")


def test_a_level_that_drifts_off_has_the_lesson_of_a_level():
    flown = fly_approach(Pattern(roll_deg_s=5.0, outbound_s=180.0)).flown
    begun = flown.begins["outbound"]
    heights = [(0.0, 3000.0), (begun + 40.0, 3000.0), (begun + 80.0, 3150.0), (begun + 120.0, 3000.0)]
    finding = one_of(debriefed(flown, replace(NOISY, altitude_ft=heights)), "altitude_hold", leg="outbound")
    lesson = lesson_of(finding)
    assert "It was 50 ft high at" in str(lesson.cause)
    assert lesson.advice == "At 50 ft off descend back at 100 ft/min."
    # a departure that the log shows within the limit, though not surely, has none
    less = [(0.0, 3000.0), (begun + 40.0, 3000.0), (begun + 80.0, 3090.0), (begun + 120.0, 3000.0)]
    inside = one_of(debriefed(flown, replace(NOISY, altitude_ft=less)), "altitude_hold", leg="outbound")
    assert inside.lesson is None
