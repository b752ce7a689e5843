"""Lessons on altitude: the descent that went below, its rate, and where to level off, for flights of known altitudes."""

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
from checked import NOISY, all_of, debriefed, one_of
from descents import DA, IN, LANDING, MDA_FT, TO_MDA, descended, path, second
from patterns import Pattern, fly_approach
from synthetic import START_S, Chart

from analyzer.checks.finding import Finding, Lesson
from analyzer.checks.phrases import clock

Heights = Sequence[tuple[float, float]]


def lesson_of(finding: Finding) -> Lesson:
    assert finding.lesson is not None
    return finding.lesson


def numbers(text: str | None) -> list[float]:
    assert text is not None
    return [float(word.replace(",", "")) for word in re.findall(r"\d[\d,]*(?:\.\d+)?", re.sub(r"\d\d:\d\d:\d\d", "", text))]


def begun(text: str | None) -> float:
    """The first time of day in a sentence, in seconds since the flight began."""
    found = re.search(r"(\d\d):(\d\d):(\d\d)", str(text))
    assert found is not None
    hours, minutes, seconds = (int(word) for word in found.groups())
    return hours * 3600.0 + minutes * 60.0 + seconds - START_S % 86_400.0


@pytest.mark.parametrize("rate_fpm", [600.0, 800.0, 1100.0])
@pytest.mark.parametrize("then", [((0.79, 750.0), *LANDING), ((0.5, 750.0), (-1.0, 1900.0), (-3.0, 2600.0))])
def test_the_descent_that_continued_through_the_minimum(rate_fpm, then):
    # from 1,700 ft at the fix, 5 NM out, to 750 ft, and level there: at 120 kt a mile takes 30 s
    takes_nm = 950.0 / (rate_fpm / 2.0)
    finding = one_of(descended([*IN, (5.0 - takes_nm, 750.0), *then]), "minimum_altitude")
    assert finding.verdict == "outside"
    # the lowest altitude is that of the level flight, not of the landing after it
    assert finding.measured == pytest.approx(750.0, abs=12.0)
    lesson = lesson_of(finding)
    # the descent begins 50 ft below its level
    assert begun(lesson.cause) == pytest.approx(second(5.0) + 50.0 / rate_fpm * 60.0, abs=4.0)
    assert numbers(lesson.cause)[-1] == pytest.approx(rate_fpm, rel=0.03)
    *slower, lead, at_ft = numbers(lesson.advice)
    assert slower == ([1000.0] if rate_fpm > 1000.0 else [])  # the most that a stabilised descent takes
    # a tenth of the feet per minute: common practice, no source
    assert lead == pytest.approx(min(rate_fpm, 1000.0) / 10.0, abs=10.0)
    assert at_ft == MDA_FT + lead


def test_the_lowest_altitude_before_a_landing_is_that_of_the_level_flight():
    finding = one_of(descended([*IN, (2.5, 750.0), (0.79, 750.0), *LANDING], minimum=DA), "minimum_altitude")
    assert (finding.verdict, finding.measured) == ("outside", pytest.approx(750.0, abs=12.0))
    assert "climbed" not in finding.sentence
    assert str(lesson_of(finding).advice).startswith("Begin the go-around at 900 ft")


@pytest.mark.parametrize("lowest_ft", [MDA_FT + 10.0, MDA_FT, MDA_FT - 5.0])
@pytest.mark.parametrize("minimum", [None, DA])
def test_a_minimum_that_may_have_been_kept_has_no_lesson(lowest_ft, minimum):
    heights = [*IN, (2.5, lowest_ft), (0.8, lowest_ft), (-1.0, 1900.0), (-3.0, 2600.0)]
    finding = one_of(descended(heights, log=NOISY, **({} if minimum is None else {"minimum": minimum})), "minimum_altitude")
    assert finding.verdict in ("inside", "too close to call")
    assert finding.lesson is None


def test_a_decision_altitude_passed_in_the_descent():
    # 120 ft below before the climb: a go-around begun at it would have lost some 25 ft
    finding = one_of(descended([*IN, (1.4, 780.0), (0.0, 1500.0), (-3.0, 2600.0)], minimum=DA), "minimum_altitude")
    assert finding.verdict == "outside"
    # 920 ft in 3.6 NM, 30 s each; 900 ft are passed 120 ft above the lowest, 14 s before it and half a mile farther out
    rate, before_nm, went_on_s = numbers(lesson_of(finding).cause)
    assert rate == pytest.approx(920.0 / 3.6 * 2.0, rel=0.03)
    assert before_nm == pytest.approx(1.4 + 120.0 / 920.0 * 3.6, abs=0.1)
    assert went_on_s == pytest.approx(120.0 / rate * 60.0, abs=3.0)
    assert str(lesson_of(finding).advice).startswith("Begin the go-around at 900 ft")
    assert re.fullmatch(
        r"The decision altitude was passed at \d\d:\d\d:\d\d at \d+ ft/min, \d\.\d NM before the threshold, "
        r"and the descent continued for \d+ s\.",
        str(lesson_of(finding).cause),
    )


def test_level_flight_that_sags_below_the_minimum_is_not_a_descent():
    # 950 ft, then 150 ft in 75 s: 120 ft/min
    heights = [*IN, (3.5, 950.0), (3.0, 950.0), (0.5, 800.0), (-1.0, 1900.0), (-3.0, 2600.0)]
    lesson = lesson_of(one_of(descended(heights), "minimum_altitude"))
    assert "sank below" in str(lesson.cause)
    assert str(lesson.advice).startswith("Hold 900 ft")


def floor(heights: Heights, floor_ft: float = 1650.0) -> Finding:
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"inbound": floor_ft})
    return one_of(descended(heights, chart=chart), "altitude_floor", leg="inbound")


def test_the_advice_after_sagging_on_a_leg_is_to_hold_the_altitude():
    finding = floor([(15.0, 1700.0), (9.0, 1700.0), (6.5, 1550.0), (5.5, 1550.0), (5.0, 1700.0), *TO_MDA[2:], *path(3.0)])
    assert finding.verdict == "outside"
    assert "sank below" in str(lesson_of(finding).cause)
    assert lesson_of(finding).advice == "Hold 1,650 ft or higher; add power and climb as soon as it is below."


@pytest.mark.parametrize("early_s", [8.0, 12.0])
def test_a_descent_just_before_being_established_is_one_though_the_leg_shows_its_beginning_only(early_s):
    # 700 ft/min loses 93 and 140 ft by then, and 1,150 ft in all; level flight drifts down by less than 100 ft
    flown = fly_approach(Pattern(intercept=True, roll_deg_s=5.0))
    chart = Chart(floors_ft={"reversal": 3000.0, "inbound": 1800.0})
    settled = debriefed(flown, replace(NOISY, altitude_ft=3020.0), chart).reversal.established_s
    assert settled is not None
    begins, ends = settled - START_S - early_s, settled - START_S - early_s + 1150.0 / 700.0 * 60.0
    heights = [(0.0, 3020.0), (begins, 3020.0), (ends, 1870.0), (ends + 600.0, 1870.0)]
    finding = one_of(debriefed(flown, replace(NOISY, altitude_ft=heights), chart), "altitude_floor", leg="reversal")
    assert finding.verdict == "outside"
    cause = str(lesson_of(finding).cause)
    assert begun(cause) == pytest.approx(begins, abs=5.0)
    assert cause.endswith(" s before being established inbound.")
    assert str(lesson_of(finding).advice).startswith("Wait until established")


def test_a_descent_levelled_off_too_low():
    # 700 ft/min from 2,500 ft, 12 NM out, to 80 ft below; the low of the level flight comes a minute after it
    level_nm = 12.0 - 930.0 / 350.0
    finding = floor([(15.0, 2500.0), (12.0, 2500.0), (level_nm, 1570.0), (6.0, 1565.0), (5.0, 1700.0), *TO_MDA[2:], *path(3.0)])
    assert finding.verdict == "outside"
    lesson = lesson_of(finding)
    assert str(lesson.cause).endswith("was levelled off too low.")
    assert begun(lesson.cause) == pytest.approx(second(12.0) + 50.0 / 700.0 * 60.0, abs=4.0)
    assert numbers(lesson.cause) == [pytest.approx(700.0, rel=0.03)]
    assert numbers(lesson.advice) == [70.0, 1720.0]


@pytest.mark.parametrize("level_nm", [2.0, 0.5])
def test_of_two_descents_the_one_that_passed_the_minimum_is_meant(level_nm):
    """From 4,200 ft to 2,200 at 1,000 ft/min, level for a minute or a quarter of one, and at 600 through 1,650 to 1,500."""
    again_nm = 14.5 - 2000.0 / 500.0 - level_nm
    low_nm = again_nm - 700.0 / 300.0
    heights = [(15.0, 4200.0), (14.5, 4200.0), (again_nm + level_nm, 2200.0), (again_nm, 2200.0), (low_nm, 1500.0)]
    finding = floor([*heights, (5.4, 1500.0), (5.0, 1700.0), *TO_MDA[2:], *path(3.0)])
    assert finding.verdict == "outside"
    cause = lesson_of(finding).cause
    assert begun(cause) == pytest.approx(second(again_nm) + 50.0 / 600.0 * 60.0, abs=5.0)
    said = r"The descent begun at \d\d:\d\d:\d\d on the inbound leg \(600 ft/min\) continued through the minimum\."
    assert re.fullmatch(said.replace("600", r"(590|600|610)"), str(cause))
    assert lesson_of(finding).advice == (
        "At that rate begin to level off 60 ft above it, at 1,710 ft (a tenth of the feet per minute)."
    )


FLOORS = {"arrival": 3000.0, "outbound": 3000.0, "reversal": 3000.0}


@pytest.mark.parametrize(
    ("inbound_ft", "outbound_s", "advice"),
    [
        # what is left to lose is a descent at a normal rate or less, is too much for the time, and is not charted
        (
            1200.0,
            150.0,
            r"Wait until established: from there the fix was \d\.\d NM and \d+ s away, and 1,800 ft needs about \d+ ft/min\.",
        ),
        (
            2200.0,
            150.0,
            r"Wait until established: from there the fix was \d\.\d NM and \d+ s away, and 800 ft at 500 ft/min takes 96 s\.",
        ),
        (300.0, 60.0, r"Wait until established inbound\."),
        (None, 150.0, r"Wait until established inbound\."),
    ],
)
def test_what_it_takes_to_wait_until_established(inbound_ft, outbound_s, advice):
    flown = fly_approach(Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0, outbound_s=outbound_s, intercept=True))
    left = flown.begin("reversal_turn") + 10.0
    log = replace(NOISY, altitude_ft=[(0.0, 3000.0), (left, 3000.0), (left + 60.0, 2200.0)])
    floors = FLOORS if inbound_ft is None else {**FLOORS, "inbound": inbound_ft}
    lesson = lesson_of(one_of(debriefed(flown, log, Chart(floors_ft=floors)), "altitude_floor", leg="reversal"))
    assert re.fullmatch(advice, str(lesson.advice))


def test_all_lessons_give_a_descent_the_same_beginning():
    flown = fly_approach(Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0, outbound_s=150.0, intercept=True))
    floors = {"arrival": 3000.0, "outbound": 3000.0, "reversal": 3000.0, "inbound": 2200.0}
    left = flown.begin("reversal_turn") + 10.0
    log = replace(NOISY, altitude_ft=[(0.0, 3000.0), (left, 3000.0), (left + 60.0, 2200.0)])
    approach = debriefed(flown, log, Chart(floors_ft=floors))
    finding = one_of(approach, "altitude_floor", leg="reversal")
    descent, established = approach.figures.descent, approach.reversal.established_s
    assert descent is not None
    assert established is not None
    cause = str(lesson_of(finding).cause)
    assert clock(descent.start_s) in cause
    assert numbers(cause) == [pytest.approx(established - descent.start_s, abs=0.51)]
    sentences = [one.sentence for one in all_of(approach, "descent_timing")]
    assert all(clock(descent.start_s) in sentence for sentence in sentences if "begun" in sentence)


@pytest.mark.parametrize(("outbound_ft", "early"), [(2400.0, True), (1200.0, False)])
def test_a_descent_to_the_outbound_altitude_that_is_begun_before_the_fix(outbound_ft, early):
    # AIM 5-4-9 a.2: past the fix and proceeding outbound, and not before. One that ends far above that altitude went too low.
    approach = fly_approach(Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0, outbound_s=150.0, intercept=True))
    begun_s = approach.outbound_passage_s - 50.0
    log = replace(NOISY, altitude_ft=[(0.0, 3000.0), (begun_s, 3000.0), (begun_s + 45.0, 2480.0), (1e5, 2480.0)])
    floors = {"arrival": 2900.0, "outbound": outbound_ft, "reversal": outbound_ft}
    lesson = lesson_of(one_of(debriefed(approach, log, Chart(floors_ft=floors)), "altitude_floor", leg="arrival"))
    if early:
        assert begun(lesson.cause) == pytest.approx(begun_s, abs=6.0)
        assert numbers(lesson.cause) == [pytest.approx(50.0, abs=6.0)]
        assert lesson.advice == "Hold 2,900 ft or higher until past QRL and outbound."
    else:
        assert "continued through the minimum" in str(lesson.cause)


@pytest.mark.parametrize("then_ft", [2650.0, 3000.0])
def test_an_arrival_that_was_low_from_its_beginning_is_to_be_joined_higher(then_ft):
    """There is no descent to time: what was wrong is where it was joined."""
    approach = fly_approach(Pattern(speed_kt=140.0, bank_deg=22.0, roll_deg_s=5.0))
    before_s = approach.outbound_passage_s - 30.0
    heights = [(0.0, 2650.0), (30.0, 2650.0), (before_s, then_ft), (1e5, then_ft)]
    floors = {"arrival": 2900.0}
    finding = one_of(
        debriefed(approach, replace(NOISY, altitude_ft=heights), Chart(floors_ft=floors)), "altitude_floor", leg="arrival"
    )
    assert finding.verdict == "outside"
    assert "no descent" in str(lesson_of(finding).cause)
    assert lesson_of(finding).advice == "Join the arrival at 2,900 ft or higher."
