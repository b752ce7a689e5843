"""How a clearance changes the verdicts: the reversal that it excuses or forbids, and assigned altitudes.

14 CFR 91.175(j): after a radar vector to the final course no procedure turn, unless cleared. AIM 5-4-9 a: a charted procedure
turn is flown unless cleared straight in. 14 CFR 91.123(a): no deviation from a clearance.
"""

from dataclasses import replace
from typing import Any

import pytest
from checked import NOISY, all_of, one_of
from descents import ELEVATION_FT, IN, LANDING, MDA_FT, TO_MDA, logged
from final_flights import NORTH_OUT, runway
from patterns import Pattern, fly_approach
from synthetic import HERE, Chart, Flown, Log, Place, Straight, Turn, fly, standard_rate_bank

import analyzer
from analyzer.checks.overall import overall
from analyzer.library.debrief import Debrief
from analyzer.report.words.summary import summary_text

ARRIVED = fly_approach(Pattern(roll_deg_s=5.0, intercept=True, arrival_s=150.0)).flown
STRAIGHT = fly([Straight("in", 420.0)], (0.0, 10.0), 180.0)
OUTBOUND_DEG = HERE.outbound_true_deg - HERE.variation_deg
NOPT = Chart(tables={"arrivals": [{"name": "KELDO", "course_deg": OUTBOUND_DEG, "reversal": False}]})


def flown(path: Flown, *cleared: str, chart: Chart | None = None, log: Log = NOISY, place: Place = HERE) -> Debrief:
    return analyzer.debrief(log.of(path, place), (chart or Chart()).at(place), cleared=cleared)


def reversal_of(path: Flown, *cleared: str, **given: Any):
    (approach,) = flown(path, *cleared, **given).approaches
    return approach, one_of(approach, "no_reversal")


@pytest.mark.parametrize(("way", "said"), [("straight-in", "straight in"), ("vectors", "by radar vectors")])
def test_a_reversal_that_was_not_flown_is_excused(way, said):
    approach, finding = reversal_of(STRAIGHT, way)
    assert (finding.verdict, finding.measured, finding.limit) == ("inside", "none", "none")
    assert f"cleared {said}" in finding.sentence
    assert "AIM 5-4-9 a" in finding.source
    assert overall(approach.findings, approach.reversal)[0] == "inside"
    assert reversal_of(STRAIGHT)[1].verdict == "not assessed"  # without a clearance


@pytest.mark.parametrize(
    ("way", "said", "source"), [("vectors", "by radar vectors", "91.175(j)"), ("straight-in", "straight in", "91.123(a)")]
)
@pytest.mark.parametrize("chart", [Chart(), Chart(side=None, reversal={"kind": "none"}), NOPT], ids=["barb", "none", "NoPT"])
def test_a_reversal_flown_against_the_clearance_is_outside(way, said, source, chart):
    approach, finding = reversal_of(ARRIVED, way, chart=chart)
    assert (finding.verdict, finding.measured, finding.limit) == ("outside", "45/180", "none")
    assert f"cleared {said}" in finding.sentence
    assert source in finding.source
    assert finding.lesson is not None
    assert overall(approach.findings, approach.reversal)[0] == "outside"


def test_where_no_reversal_is_charted_nor_flown_there_is_nothing_to_excuse():
    (approach,) = flown(STRAIGHT, "vectors", chart=Chart(side=None, reversal={"kind": "none"})).approaches
    assert all_of(approach, "no_reversal") == []


def test_a_string_equals_a_list_of_one():
    debrief = analyzer.debrief(NOISY.of(STRAIGHT), Chart().at(), cleared="vectors")
    assert debrief.motion.charted.cleared.way == "vectors"


FLOORS = {"arrival": 2900.0, "outbound": 2900.0, "reversal": 2900.0, "inbound": 2900.0}


@pytest.mark.parametrize(
    ("cleared", "verdict", "limit", "word"),
    [
        ((), "inside", 2900.0, "the minimum of 2,900 ft"),
        (("outbound=3200",), "outside", 3200.0, "200 ft below the assigned altitude of 3,200 ft"),
        (("outbound=2950",), "inside", 2950.0, "50 ft above the assigned altitude of 2,950 ft"),
        (("outbound=2000",), "inside", 2900.0, "the minimum of 2,900 ft"),
    ],
)
def test_the_higher_of_assigned_altitude_and_minimum_is_kept(cleared, verdict, limit, word):
    # flown level at 3,000 ft
    (approach,) = flown(ARRIVED, *cleared, chart=Chart(floors_ft=FLOORS)).approaches
    finding = one_of(approach, "altitude_floor", leg="outbound")
    assert (finding.verdict, finding.limit) == (verdict, pytest.approx(limit))
    assert word in finding.sentence
    assert finding.source.startswith("assigned, 14 CFR 91.123(a)" if "assigned" in word else "charted")
    others = {f.leg: f.limit for f in all_of(approach, "altitude_floor") if f.leg != "outbound"}
    assert others == pytest.approx(dict.fromkeys(("arrival", "reversal", "inbound"), 2900.0))


def test_an_assigned_altitude_is_judged_where_no_minimum_is_charted():
    (approach,) = flown(ARRIVED, "inbound=3100").approaches
    finding = one_of(approach, "altitude_floor")
    assert (finding.leg, finding.verdict, finding.limit) == ("inbound", "outside", pytest.approx(3100.0))


def test_the_report_gives_the_clearance_and_the_remaining_minimums():
    text = " ".join(summary_text(flown(ARRIVED, "outbound=2950", "inbound=2000", chart=Chart(floors_ft=FLOORS))).split())
    assert "Cleared: assigned 2,950 ft on the outbound leg, 2,000 ft on the inbound leg." in text
    assert "The minimum on the inbound leg is higher, 2,900 ft, and stays." in text
    assert "3,000 ft assigned 2,950 ft" in text
    assert "Cleared" not in summary_text(flown(ARRIVED))


def test_a_finding_without_altitude_gives_the_assigned_altitude():
    (approach,) = flown(ARRIVED, "outbound=3200", log=replace(NOISY, altitude_ft=None)).approaches
    finding = one_of(approach, "altitude_floor")
    assert (finding.verdict, finding.limit) == ("not assessed", pytest.approx(3200.0))
    assert finding.sentence == "Assigned altitude of 3,200 ft on the outbound leg."


def landed(heights: Any, *cleared: str) -> Debrief:
    path = fly([Straight("inbound", 700.0)], (0.0, 10.0), 180.0)
    tables = {"runway": runway(), "minimum": {"kind": "mda", "altitude_ft": MDA_FT}}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=tables)
    return flown(path, *cleared, chart=chart, log=logged(heights), place=NORTH_OUT)


def test_an_altitude_assigned_on_final_is_its_minimum():
    # level 50 ft above the minimum for two minutes, then a climb
    level = (*TO_MDA, (0.0, MDA_FT + 50.0), (-2.0, 2000.0), (-4.0, 2500.0))
    assert one_of(landed(level).approaches[0], "minimum_altitude").verdict == "inside"
    finding = one_of(landed(level, "final=1200").approaches[0], "minimum_altitude")
    assert (finding.verdict, finding.limit) == ("outside", pytest.approx(1200.0))
    assert finding.margin == pytest.approx(MDA_FT + 50.0 - 1200.0, abs=10.0)
    assert "assigned altitude of 1,200 ft" in finding.sentence


def test_an_assigned_altitude_that_was_left_for_the_runway_is_named():
    finding = one_of(landed((*IN, (0.95, ELEVATION_FT + 350.0), *LANDING), "final=1200").approaches[0], "minimum_altitude")
    assert finding.sentence.startswith("The assigned altitude of 1,200 ft was left at")


STEP = {"name": "KESTA", "role": "step-down", "distance_nm": 2.0, "minimum_ft": 1100}  # 3.0 NM before the threshold
LATER = {"name": "RENDO", "role": "step-down", "distance_nm": 3.0, "minimum_ft": 1000}


def stepped(heights: Any, *cleared: str, fixes: Any = (STEP,)):
    path = fly([Straight("inbound", 700.0)], (0.0, 10.0), 180.0)
    tables = {"runway": runway(), "minimum": {"kind": "mda", "altitude_ft": MDA_FT}, "fixes": list(fixes)}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "none"}, tables=tables)
    (approach,) = flown(path, *cleared, chart=chart, log=logged(heights), place=NORTH_OUT).approaches
    return approach


@pytest.mark.parametrize(
    ("cleared", "verdict", "limit", "words", "source"),
    [
        ((), "inside", 1100.0, "above its minimum of 1,100 ft", "charted"),
        (("final=1400",), "outside", 1400.0, "below the assigned altitude of 1,400 ft", "assigned, 14 CFR 91.123(a)"),
        (("final=1000",), "inside", 1100.0, "above its minimum of 1,100 ft", "charted"),
        (("inbound=1400",), "inside", 1100.0, "above its minimum of 1,100 ft", "charted"),
    ],
)
def test_an_altitude_assigned_on_final_holds_until_its_fixes_are_passed(cleared, verdict, limit, words, source):
    # 1,200 ft level over the fix, then down to the runway
    heights = (*IN, (3.5, 1200.0), (2.8, 1200.0), (1.5, MDA_FT + 50.0), *LANDING)
    approach = stepped(heights, *cleared)
    finding = one_of(approach, "step_down")
    assert (finding.verdict, finding.limit) == (verdict, pytest.approx(limit))
    assert finding.margin == pytest.approx(1200.0 - limit, abs=8.0)
    assert words in finding.sentence
    assert finding.source.startswith(source)


def test_an_assigned_altitude_that_is_undershot_once_is_one_event():
    # down to 950 ft before the first of two fixes, level there, then a climb away: 1,400 ft is the minimum of all
    level = (*IN, (3.3, MDA_FT + 50.0), (0.0, MDA_FT + 50.0), (-2.0, 2000.0), (-4.0, 2500.0))
    approach = stepped(level, "final=1400", fixes=(STEP, LATER))
    assert [f.check for f in approach.findings if f.verdict == "outside"] == ["step_down"]
    first, second = all_of(approach, "step_down")
    assert (first.fix, first.verdict, second.verdict) == ("KESTA", "outside", "not assessed")
    assert one_of(approach, "minimum_altitude").verdict == "not assessed"
    # as charted they are three minimums, and each is undershot
    assert len([f for f in stepped(level, fixes=(STEP, LATER)).findings if f.verdict == "outside"]) == 2


HOLD = {
    "name": "QRL",
    "inbound_course_deg": (OUTBOUND_DEG + 180.0) % 360.0,
    "turn": "right",
    "leg_time_s": 60,
    "minimum_ft": 2500,
}


def test_an_altitude_assigned_in_a_hold_is_kept_lap_by_lap():
    bank = standard_rate_bank(120.0)
    path: list[Any] = [Straight("arrival", 90.0)]
    for number in range(3):
        path += [Turn(f"away{number}", 180.0, bank), Straight(f"out{number}", 60.0)]
        path += [Turn(f"back{number}", 180.0, bank), Straight(f"in{number}", 60.0)]
    held = fly([*path, Straight("on", 5.0)], (0.0, 3.0), 180.0)
    chart = Chart(tables={"holds": [HOLD]})
    for cleared, verdict, name in ((("hold=2900",), "inside", "the assigned altitude of 2,900 ft"),
                                   (("hold=3200",), "outside", "the assigned altitude of 3,200 ft"),
                                   (("hold=2000",), "inside", "the minimum of 2,500 ft")):  # fmt: skip
        (hold,) = flown(held, *cleared, chart=chart).holds
        findings = all_of(hold.approaches[0], "altitude_floor")
        assert len(findings) >= 2
        assert {finding.verdict for finding in findings} == {verdict}
        assert all(name in finding.sentence for finding in findings)
