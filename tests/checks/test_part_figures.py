"""The figures of each part of an approach against the flight that was built: length, course, speed, altitudes and turns."""

import math
import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from checked import NOISY, debriefed
from patterns import Pattern, fly_approach
from synthetic import CHARTED, HERE, KT, NM, START_S, Chart

from analyzer import debrief
from analyzer.checks.figures import PartFigures
from analyzer.checks.finding import GAP
from analyzer.checks.phrases import FEET
from analyzer.physics.units import FT
from analyzer.report.words.parts_table import part_row

PATTERN = Pattern(
    speed_kt=130.0, bank_deg=20.0, back_bank_deg=24.0, roll_deg_s=5.0, wind=(70.0, 18.0), intercept=True, arrival_deg=-50.0
)
FLIGHT = fly_approach(PATTERN)
# level, down from the turn off the outbound course on at 500 ft/min, and level from 1,000 ft lower on
DOWN_S = FLIGHT.begin("offset_turn")
HEIGHTS = [(0.0, 4000.0), (DOWN_S, 4000.0), (DOWN_S + 120.0, 3000.0), (1e4, 3000.0)]
STRAIGHTS, TURNS = ("outbound", "offset_leg", "inbound"), {"offset_turn": 20.0, "reversal_turn": 24.0}


@cache
def parts(side: int) -> dict[str, PartFigures]:
    flown = FLIGHT.flown if side > 0 else FLIGHT.flown.mirrored()
    log = replace(NOISY, noise_m=0.5, altitude_ft=HEIGHTS)
    result = debriefed(flown, log, Chart(side="right" if side > 0 else "left"))
    return {figures.part.name: figures for figures in result.figures.parts}


@pytest.mark.parametrize("name", ["outbound_turn", *STRAIGHTS, *TURNS])
@pytest.mark.parametrize("side", [1, -1])
def test_a_part_is_as_long_and_as_fast_as_it_was_flown(name, side):
    figures, flown = parts(side)[name], FLIGHT.flown
    begin, end = figures.part.start_s - START_S, figures.part.end_s - START_S
    there = (flown.time_s >= begin) & (flown.time_s <= end)
    length_nm = float(np.hypot(np.diff(flown.x_nm[there]), np.diff(flown.y_nm[there])).sum())
    assert figures.length_m / NM == pytest.approx(length_nm, rel=0.02)
    assert figures.ground_speed_mps / KT == pytest.approx(length_nm / (end - begin) * 3600.0, rel=0.02)
    altitudes = [float(np.interp(second, *np.array(HEIGHTS).T)) for second in (begin, end)]
    assert [figures.altitude_start_m / FT, figures.altitude_end_m / FT] == pytest.approx(altitudes, abs=15.0)
    assert figures.altitude_min_m / FT == pytest.approx(min(altitudes), abs=15.0)


@pytest.mark.parametrize("name", STRAIGHTS)
@pytest.mark.parametrize("side", [1, -1])
def test_a_straight_part_has_the_course_that_it_was_flown_on(name, side):
    figures, flown = parts(side)[name], FLIGHT.flown
    middle = (figures.part.start_s + figures.part.end_s) / 2.0 - START_S
    x_nm, y_nm = (np.diff([float(flown.at(middle + s, along)) for s in (-5.0, 5.0)])[0] for along in (flown.x_nm, flown.y_nm))
    assert figures.course_rad is not None
    assert 0.0 <= figures.course_rad < math.tau
    off = math.degrees(figures.course_rad) - HERE.outbound_true_deg - math.degrees(math.atan2(side * x_nm, y_nm))
    assert math.remainder(off, 360.0) == pytest.approx(0.0, abs=1.0)
    assert figures.turn is None


@pytest.mark.parametrize("name", TURNS)
@pytest.mark.parametrize("side", [1, -1])
def test_a_turn_has_its_way_its_bank_and_its_rate(name, side):
    figures = parts(side)[name]
    assert figures.course_rad is None
    turn = figures.turn
    assert turn is not None
    assert turn.direction == (side if name == "offset_turn" else -side)
    assert not turn.recorded
    bank_deg = TURNS[name]
    # the turn off the outbound course is half rolls, and its mean is from four fifths of the bank on
    assert math.degrees(turn.bank_mean_rad) == pytest.approx(bank_deg, abs=1.5 if name == "offset_turn" else 0.5)
    assert math.degrees(turn.bank_peak_rad) == pytest.approx(bank_deg, abs=1.0)
    # ω = g tan(bank) / V
    rate = math.degrees(9.80665 * math.tan(math.radians(bank_deg)) / (130.0 * KT))
    assert math.degrees(turn.rate_mean_rad_s) == pytest.approx(rate, abs=0.3 if name == "offset_turn" else 0.1)
    steady = FLIGHT.begin(name) + bank_deg / 5.0, FLIGHT.begin(name) + 60.0
    assert steady[0] - 1.5 <= turn.peak_time_s - START_S <= steady[1]


def test_the_lowest_of_a_part_is_not_that_of_its_ends_alone():
    middle = (FLIGHT.begin("outbound") + FLIGHT.begin("offset_turn")) / 2.0
    dip = [(0.0, 4000.0), (middle - 30.0, 4000.0), (middle, 3700.0), (middle + 30.0, 4000.0), (1e4, 4000.0)]
    result = debriefed(FLIGHT.flown, replace(NOISY, altitude_ft=dip))
    (outbound,) = [figures for figures in result.figures.parts if figures.part.name == "outbound"]
    assert outbound.altitude_min_m / FT == pytest.approx(3700.0, abs=6.0)
    assert outbound.altitude_start_m / FT == pytest.approx(4000.0, abs=6.0)


@pytest.mark.parametrize("part", ["offset_turn", "reversal_turn"])
def test_a_turn_that_lies_mostly_in_a_gap_has_no_bank(part):
    """What a curve does over forty seconds is no mean, and what shows at their ends no peak: both are said to be unknown."""
    begin = FLIGHT.begin(part)
    result = debriefed(FLIGHT.flown, replace(NOISY, noise_m=0.5, hole_s=(begin + 10.0, begin + 50.0)))
    rows = {figures.part.name: part_row(figures, 0.0, FEET)[-1] for figures in result.figures.parts if figures.part.turn}
    assert rows[part] == "-"
    others = {name: row for name, row in rows.items() if name != part and name in TURNS}
    assert all(re.fullmatch(r"(left|right) \d\d/\d\d", row) for row in others.values())
    for finding in result.findings:
        if finding.part == part and finding.check in ("turn_bank", "turn_rate"):
            assert (finding.verdict, finding.measured) == ("not assessed", None)
            assert finding.reason == GAP


@pytest.mark.parametrize("after_s", [0.0, 2.0, 4.0])
@pytest.mark.parametrize("long_s", [14.0, 20.0, 26.0])
def test_no_turn_has_a_peak_below_its_mean(after_s, long_s):
    """With uneven samples and a hole over the turn off the outbound course, whose steady part lasts some ten seconds."""
    track = replace(NOISY, noise_m=2.0).of(FLIGHT.flown)
    begin = START_S + FLIGHT.begin("offset_turn") + after_s
    kept = np.random.default_rng(1).random(len(track.time_s)) < 0.6
    kept &= (track.time_s < begin) | (track.time_s > begin + long_s)
    names = ("time_s", "latitude_rad", "longitude_rad", "altitude_m")
    (result,) = debrief(replace(track, **{name: getattr(track, name)[kept] for name in names}), CHARTED.at(HERE)).approaches
    turns = [figures.turn for figures in result.figures.parts if figures.turn is not None]
    assert turns
    assert all(turn.bank_peak_rad >= turn.bank_mean_rad for turn in turns)
    # the mean is known by the change of heading over the hole, or not told: it had been 12° or 13° of 20°
    offset = [figures.turn for figures in result.figures.parts if figures.part.name == "offset_turn"]
    known = [math.degrees(turn.bank_mean_rad) for turn in offset if turn is not None]
    assert known == pytest.approx([TURNS["offset_turn"]] * len(known), abs=4.0)


def test_what_shows_of_a_turn_in_a_gap_may_still_be_too_steep():
    flight = fly_approach(replace(PATTERN, back_bank_deg=42.0))
    begin = flight.begin("reversal_turn")
    result = debriefed(flight.flown, replace(NOISY, noise_m=0.3, hole_s=(begin + 17.0, begin + 54.0)))
    (turn,) = [figures for figures in result.figures.parts if figures.part.name == "reversal_turn"]
    assert turn.turn is None
    (finding,) = [one for one in result.findings if (one.check, one.part) == ("turn_bank", "reversal_turn")]
    assert finding.verdict == "outside"
    assert "mean" not in finding.sentence
    assert finding.measured == pytest.approx(42.0, abs=3.0)
