"""Bank, rate, offset heading and offset time against the published figures: inside, outside, at the limit, and not assessed."""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, homeward, of_pattern, one_of
from patterns import TWO_OVER_RATE_S, Pattern, fly_approach
from synthetic import CALM, CHARTED, HERE, START_S, Chart, Log, Place, Straight, Turn, fly

from analyzer import debrief
from analyzer.checks.overall import informs
from analyzer.checks.turn_figures import known_turn
from analyzer.debriefs.data import Approach as Debriefed
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

TURNS = ("offset_turn", "reversal_turn")


@pytest.mark.parametrize(
    ("bank_deg", "verdict"),
    [(18.0, "inside"), (26.0, "inside"), (30.0, "too close to call"), (34.0, "outside"), (40.0, "outside")],
)
@pytest.mark.parametrize("side", [1, -1])
def test_thirty_degrees_of_bank(bank_deg, verdict, side):
    # FAA-H-8083-15B chapter 7, Procedure Turn: not above 30°.
    pattern = replace(
        PLAIN, side=side, speed_kt=140.0, bank_deg=18.0, back_bank_deg=bank_deg, wind=(130.0, 15.0), intercept=True
    )
    approach = of_pattern(pattern, replace(NOISY, noise_m=0.5), Chart(side="right" if side > 0 else "left"))
    finding = one_of(approach, "turn_bank", "reversal_turn")
    assert finding.limit == 30.0
    assert finding.verdict == verdict
    assert finding.sd is not None
    assert finding.details["mean_deg"] == pytest.approx(bank_deg, abs=1.0)
    assert finding.measured == pytest.approx(bank_deg, abs=3.0 * finding.sd)
    assert one_of(approach, "turn_bank", "offset_turn").verdict == "inside"


def test_the_bank_is_judged_by_its_peak():
    # 20° most of the way, 38° for the middle third of the turn back.
    back = [Turn("reversal_turn", -80.0, 20.0), Turn("steep", -60.0, 38.0), Turn("again", -55.0, 20.0)]
    flown = homeward([Straight("arrival", 90.0), Straight("outbound", 120.0)], (0.0, -3.0), 0.0, back)
    finding = one_of(debriefed(flown, replace(NOISY, noise_m=0.3)), "turn_bank", "reversal_turn")
    assert finding.verdict == "outside"
    assert finding.measured == pytest.approx(38.0, abs=3.0)
    assert finding.details["mean_deg"] < finding.measured - 3.0
    assert finding.place is not None
    steep = flown.begins["steep"]
    assert steep - 1.0 < finding.place.time_s - START_S < flown.begins["again"] + 1.0


@pytest.mark.parametrize("step_s", [10.0, 12.0, 15.0])
@pytest.mark.parametrize("bank_deg", [20.0, 27.0, 35.0, 42.0])
def test_a_turn_that_is_over_before_the_log_shows_it_is_not_said_to_be_inside(step_s, bank_deg):
    """45° at 110 kt take 8 s at 30° of bank: between positions ten seconds apart it may have been flown at any."""
    pattern = replace(PLAIN, speed_kt=110.0, bank_deg=bank_deg, back_bank_deg=20.0, roll_deg_s=8.0, intercept=True)
    for seed in range(3):
        approach = of_pattern(pattern, replace(NOISY, step_s=step_s, seed=seed))
        finding = one_of(approach, "turn_bank", "offset_turn")
        assert finding.verdict in ("not assessed", "too close to call")
        assert finding.verdict == "too close to call" or "does not show its bank" in str(finding.reason)
        assert one_of(approach, "turn_bank", "reversal_turn").verdict == "inside"


@pytest.mark.parametrize(("bank_deg", "verdict"), [(25.0, "inside"), (42.0, "outside")])
@pytest.mark.parametrize("seed", range(3))
def test_four_positions_show_that_a_turn_back_was_far_too_steep(bank_deg, verdict, seed):
    """From one step of 15 s to the next the direction changes by more than a turn at 30° of bank can."""
    pattern = replace(PLAIN, speed_kt=130.0, bank_deg=18.0, back_bank_deg=bank_deg, roll_deg_s=8.0, intercept=True)
    finding = one_of(of_pattern(pattern, replace(NOISY, step_s=15.0, seed=seed)), "turn_bank", "reversal_turn")
    assert finding.verdict == verdict


def test_a_turn_of_two_steps_shows_its_bank():
    """In positions five seconds apart 45° at 18° of bank take three steps."""
    approach = of_pattern(replace(PLAIN, bank_deg=18.0, intercept=True), replace(NOISY, step_s=5.0))
    assert one_of(approach, "turn_bank", "offset_turn").verdict == "inside"


@pytest.mark.parametrize("rate", [1.5, 3.0, 4.0])
@pytest.mark.parametrize("wind", [CALM, (60.0, 25.0)])
def test_rate_compared_with_standard_rate(rate, wind):
    # Pilot/Controller Glossary: standard rate is 3°/s. The rate is the pilot's choice (AIM 5-4-9 a.1), so no verdict.
    bank = math.degrees(math.atan(120.0 * 1852.0 / 3600.0 * math.radians(rate) / 9.80665))
    approach = of_pattern(replace(PLAIN, bank_deg=bank, leg_s=2.0 / math.radians(rate), wind=wind, intercept=True))
    for part in TURNS:
        finding = one_of(approach, "turn_rate", part)
        assert finding.verdict == "not assessed"
        assert finding.reason
        assert finding.limit == 3.0
        assert finding.measured == pytest.approx(rate, abs=0.1)


OFFSET = Chart(reversal={"offset_course_deg": Place().outbound_true_deg - Place().variation_deg + 45.0})


@pytest.mark.parametrize(
    ("off_deg", "verdict"),
    [(0.0, "inside"), (6.0, "inside"), (-6.0, "inside"), (10.0, "too close to call"), (14.0, "outside"), (-14.0, "outside")],
)
@pytest.mark.parametrize("wind", [CALM, (135.0, 25.0)])
def test_offset_heading_within_ten_degrees(off_deg, verdict, wind):
    # FAA-S-ACS-8C IR.VI.A.S9: heading ±10°. The second wind blows across the offset leg: a drift of 12° that is no error.
    approach = of_pattern(replace(PLAIN, leg_deg=45.0 + off_deg, leg_s=45.0, wind=wind, intercept=True), chart=OFFSET)
    finding = one_of(approach, "offset_heading")
    assert finding.measured == pytest.approx(abs(off_deg), abs=1.2)
    assert (finding.limit, finding.verdict) == (10.0, verdict)
    assert " 0° right" not in finding.sentence
    assert " 0° left" not in finding.sentence
    magnetic = Place().outbound_true_deg - Place().variation_deg + 45.0 + off_deg
    assert finding.details["heading_deg_magnetic"] == pytest.approx(magnetic, abs=1.2)


@pytest.mark.parametrize("leg_deg", [45.0, 60.0])
def test_an_offset_course_that_is_not_charted_is_the_pilot_s_choice(leg_deg):
    # AIM 5-4-9 a.1: under a barb the kind of turn is the pilot's choice, so that no heading is charted
    finding = one_of(of_pattern(replace(PLAIN, leg_deg=leg_deg, intercept=True)), "offset_heading")
    assert (finding.verdict, finding.limit, finding.margin) == ("not assessed", None, None)
    assert informs(finding)
    assert finding.measured == pytest.approx(leg_deg, abs=1.2)
    assert "charted" not in finding.sentence
    assert "right of the outbound course" in finding.sentence


def test_a_depicted_45_180_has_a_charted_heading():
    # AIM 5-4-9 a.1: a track that is charted is flown as drawn; a 45/180 leaves its course at 45°
    drawn = Chart(reversal={"depicted_track": True})
    assert one_of(of_pattern(replace(PLAIN, intercept=True), chart=drawn), "offset_heading").verdict == "inside"
    assert one_of(of_pattern(replace(PLAIN, leg_deg=60.0, intercept=True), chart=drawn), "offset_heading").verdict == "outside"


def test_the_charted_offset_counts():
    outbound = Place().outbound_true_deg - Place().variation_deg
    chart = Chart(reversal={"offset_course_deg": outbound + 30.0})
    assert one_of(of_pattern(replace(PLAIN, leg_deg=30.0, intercept=True), chart=chart), "offset_heading").verdict == "inside"
    assert one_of(of_pattern(PLAIN, chart=chart), "offset_heading").verdict == "outside"


def test_no_wind_no_heading():
    # A log that ends in the turn back, after a heading change of less than 120°.
    approach = fly_approach(PLAIN)
    result = debriefed(approach, replace(NOISY, end_s=approach.begin("reversal_turn") + 20.0))
    assert result.figures.wind is None
    finding = one_of(result, "offset_heading")
    assert finding.verdict == "not assessed"
    assert finding.reason is not None
    assert "wind" in finding.reason
    assert finding.measured is None


@pytest.mark.parametrize("leg_s", [30.0, 40.0, 60.0])
def test_offset_time(leg_s):
    # FAA-H-8083-15B figure 7-42: 40 s, wings level. The time is the pilot's choice, so no verdict.
    pattern = replace(PLAIN, leg_s=leg_s, intercept=True)
    finding = one_of(of_pattern(pattern), "offset_time")
    assert (finding.verdict, finding.limit, finding.unit) == ("not assessed", 40.0, "s")
    assert finding.measured == pytest.approx(leg_s, abs=2.0)
    approach = fly_approach(pattern)
    whole = approach.begin("reversal_turn") - approach.begin("offset_turn")
    assert finding.details["from_turn_start_s"] == pytest.approx(whole, abs=2.0)


def test_an_80_260_has_no_offset_leg():
    approach = of_pattern(Pattern(shape="80/260", roll_deg_s=5.0, intercept=True))
    assert all_of(approach, "offset_heading") == []
    assert all_of(approach, "offset_time") == []
    assert {finding.part for finding in all_of(approach, "turn_bank")} == set(TURNS)


def test_a_gap_makes_only_its_own_part_not_assessed():
    approach = fly_approach(replace(PLAIN, leg_s=TWO_OVER_RATE_S))
    begin = approach.begin("reversal_turn")
    result = debriefed(approach, replace(NOISY, hole_s=(begin + 30.0, begin + 45.0)), OFFSET)
    assert one_of(result, "turn_bank", "reversal_turn").verdict == "not assessed"
    assert one_of(result, "turn_bank", "offset_turn").verdict == "inside"
    assert one_of(result, "offset_heading").verdict == "inside"
    leg = approach.begin("offset_leg")
    result = debriefed(approach, replace(NOISY, hole_s=(leg + 12.0, leg + 24.0)), OFFSET)
    assert one_of(result, "offset_heading").verdict == "not assessed"
    assert one_of(result, "turn_bank", "reversal_turn").verdict == "inside"


def test_too_steep_a_turn_stays_outside_despite_a_gap():
    approach = fly_approach(replace(PLAIN, back_bank_deg=40.0, intercept=True))
    begin = approach.begin("reversal_turn")
    result = debriefed(approach, replace(NOISY, noise_m=0.3, hole_s=(begin + 15.0, begin + 22.0)))
    assert one_of(result, "turn_bank", "reversal_turn").verdict == "outside"


@pytest.mark.parametrize("bank", [29.5, 30.0])
def test_thirty_degrees_by_an_exact_log_are_not_outside(bank):
    finding = one_of(of_pattern(replace(PLAIN, back_bank_deg=bank, intercept=True), Log()), "turn_bank", "reversal_turn")
    assert finding.verdict != "outside"
    assert finding.details["mean_deg"] == pytest.approx(bank, abs=0.5)


@pytest.mark.parametrize(("leg_s", "roll", "noise"), [(0.0, 5.0, 0.0), (1.0, 5.0, 1.0), (5.0, None, 1.0)])
def test_a_very_short_offset_leg(leg_s, roll, noise):
    approach = of_pattern(Pattern(leg_s=leg_s, roll_deg_s=roll, intercept=True), Log(noise_m=noise))
    assert all(finding.verdict == "not assessed" for finding in all_of(approach, "offset_heading"))


def with_recorded_bank(bank_deg: np.ndarray) -> Debriefed:
    track = replace(RECORDED, recorded={"bank_rad": np.radians(bank_deg)})
    (approach,) = debrief(track, CHARTED.at(HERE)).approaches
    return approach


TURNING = fly_approach(replace(PLAIN, bank_deg=20.0, roll_deg_s=5.0, intercept=True)).flown
RECORDED = NOISY.of(TURNING, HERE)
TRUE_BANK_DEG = TURNING.at(RECORDED.time_s - START_S, TURNING.bank_deg)


def test_one_wrong_record_of_a_bank_decides_nothing():
    """The middle of the turn back is at 20°; a single record of 55° there is no bank that was flown."""
    part = one_of(with_recorded_bank(TRUE_BANK_DEG), "turn_bank", "reversal_turn").place
    assert part is not None
    wrong = TRUE_BANK_DEG.copy()
    middle = int(part.time_s - RECORDED.time_s[0])
    wrong[middle] += math.copysign(35.0, wrong[middle])
    finding = one_of(with_recorded_bank(wrong), "turn_bank", "reversal_turn")
    assert finding.verdict == "inside"
    assert finding.measured == pytest.approx(20.0, abs=1.0)


def test_a_recorded_bank_that_scatters_is_known_less_well():
    """The greatest of many values that scatter by 6° is beyond what was flown; it is no bank outside 30°."""
    scattered = TRUE_BANK_DEG + np.random.default_rng(3).normal(0.0, 6.0, len(TRUE_BANK_DEG))
    for part in TURNS:
        finding = one_of(with_recorded_bank(scattered), "turn_bank", part)
        assert finding.verdict != "outside"
        if finding.measured is not None and finding.sd is not None:
            assert finding.measured == pytest.approx(20.0, abs=2.5 * finding.sd)


@pytest.mark.parametrize(("bank_deg", "count"), [(20.0, 0), (27.0, 0), (42.0, 1)])
def test_thirty_degrees_hold_in_a_turn_onto_the_course_too(bank_deg, count):
    # FAA-H-8083-15B chapter 7, Procedure Turn: not above 30°, whatever the turn; 60° of it, rolled into at 10° a second
    out = [Straight("arrival", 90.0), Straight("outbound", 120.0), Turn("offset_turn", 45.0, 18.0), Straight("leg", 45.0)]

    def back(cut_s: float) -> list[Straight | Turn]:
        cut = [Turn("reversal_turn", -165.0, 18.0), Straight("cut", cut_s)]
        return [*out, *cut, Turn("onto", -60.0, bank_deg), Straight("inbound", 300.0)]

    near, far = (float(fly(back(seconds)[:-1], (0.0, -3.0), roll_deg_s=10.0).x_nm[-1]) for seconds in (5.0, 15.0))
    flown = fly(back(5.0 - 10.0 * near / (far - near)), (0.0, -3.0), roll_deg_s=10.0)
    found = [f for f in all_of(debriefed(flown, replace(NOISY, noise_m=0.3)), "turn_bank") if f.part not in TURNS]
    assert [finding.verdict for finding in found] == ["outside"] * count
    for finding in found:
        assert finding.measured == pytest.approx(bank_deg, abs=5.0)
        assert flown.begins["onto"] - 1.0 < finding.place.time_s - START_S < flown.begins["inbound"] + 1.0


def test_the_mean_of_a_turn_leaves_out_the_level_leg_and_the_turn_onto_a_course_that_follow_it():
    """25° all the way round; the wings level for 40 s, and 25° for some seconds more to join the course."""
    flown = fly(
        [Straight("in", 60.0), Turn("turn", 150.0, 25.0), Straight("level", 40.0), Turn("join", 30.0, 25.0)], (0.0, 0.0)
    )
    motion = analyse_motion(NOISY.of(flown), resolve(Chart().at(), dt.date(2026, 6, 1)))
    figures = known_turn(motion, motion.states.between(START_S + 60.0, START_S + float(flown.time_s[-1])), 1)
    assert figures is not None
    assert math.degrees(figures.bank_mean_rad) == pytest.approx(25.0, abs=0.7)


def test_the_rate_of_a_hold_s_turns_is_not_said_to_be_the_pilot_s_choice():
    """AIM 5-3-8 j.8(b): 3° a second, 30° of bank, or 25° with a flight director; AIM 5-4-9 a.1 leaves it to the pilot."""
    bank = 18.0
    path = [Straight("arrival", 90.0), Turn("away", 180.0, bank), Straight("out", 60.0), Turn("back", 180.0, bank)]
    flown = fly([*path, Straight("in", 120.0)], (0.0, 3.0), 180.0, roll_deg_s=5.0)
    hold = Chart(side=None, within_nm=None, reversal={"kind": "hold", "turn": "right", "leg_time_s": 60.0})
    (approach,) = debrief(NOISY.of(flown), hold.at()).approaches
    rates = all_of(approach, "turn_rate")
    assert {finding.source for finding in rates} == {"AIM 5-3-8 j.8(b)"}
    assert all(informs(finding) and "whichever takes the least bank" in str(finding.reason) for finding in rates)
    assert "left to the pilot" in str(one_of(of_pattern(PLAIN), "turn_rate", "reversal_turn").reason)
