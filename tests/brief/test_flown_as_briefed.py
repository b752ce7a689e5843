"""A plan that is flown exactly as it was briefed is not outside in its debrief, but where the brief says so."""

from dataclasses import replace

import pytest
from briefed import FEW_ERRORS, OUT_MAGNETIC, base_chart, briefed, hold_chart, turn_chart
from test_brief_descents import runway_at

from analyzer.debriefs.data import DebriefData
from analyzer.debriefs.plan import debrief_of_plan
from analyzer.report.documents.brief_document import brief_document
from analyzer.report.words.brief_text import brief_text

FLOORS = {"arrival": 3800.0, "outbound": 2700.0, "reversal": 2700.0, "inbound": 1500.0}


def outside(flown: DebriefData) -> set[str]:
    assert flown.approaches, flown.doubts
    return {finding.check for one in flown.approaches for finding in one.findings if finding.verdict == "outside"}


def text_of(made) -> str:
    return " ".join(brief_text(made).split())


@pytest.mark.parametrize("speed_kt", ["90", "140"])
@pytest.mark.parametrize("arrival_deg", [0.0, 76.0, -76.0])
@pytest.mark.parametrize("shape", ["45/180", "80/260"])
def test_the_descent_waits_for_the_fix_also_where_the_turn_there_is_led(shape, arrival_deg, speed_kt):
    """AIM 5-4-9 a.2: after crossing the fix. The descent of the turn that was begun before it had begun there, too."""
    chart = runway_at(turn_chart(), 4.0, FLOORS)
    given = {"arrival_deg": (OUT_MAGNETIC + arrival_deg) % 360.0, "true_speeds": [speed_kt], "shape": shape}
    made = briefed(chart, errors=FEW_ERRORS, **given)
    assert outside(debrief_of_plan(made)) == set()
    # the rate told is that of the outbound leg in the table, on which the descent is steady
    (rate,) = [one.value for one in made.numbers if (one.group, one.name) == ("descent", "outbound leg")]
    outbound = next(part for part in brief_document(made)["parts"] if part["part"] == "outbound")
    assert rate == pytest.approx(outbound["descent_fpm"], rel=0.02)


@pytest.mark.parametrize("wind", ["000/0", "060/15", "190/15"])
def test_a_base_turn_in_wind(wind):
    chart = replace(base_chart("left", 25.0), floors_ft=FLOORS)
    assert outside(debrief_of_plan(briefed(chart, errors=FEW_ERRORS, winds=[wind]))) == set()


@pytest.mark.parametrize("wind_deg", range(0, 360, 45))
@pytest.mark.parametrize("from_inbound_deg", [-110, -100, -90])
def test_a_long_parallel_entry_is_never_a_hold_to_the_other_side(from_inbound_deg, wind_deg):
    """Turned left onto the outbound course of a hold with right turns, 10 NM long: so is one with left turns."""
    inbound = (OUT_MAGNETIC + 180.0) % 360.0
    made = briefed(
        runway_at(hold_chart(leg_length_nm=10.0), 4.0, FLOORS), errors=FEW_ERRORS, true_speeds=["90"],
        winds=[f"{wind_deg:03d}/20"], arrival_deg=(inbound + from_inbound_deg) % 360.0,
    )  # fmt: skip
    assert "parallel entry" in text_of(made)
    assert "reversal_side" not in outside(debrief_of_plan(made))


def test_a_speed_off_the_chart_s_target_is_said():
    chart = runway_at(turn_chart(), 4.0, FLOORS)
    aimed = replace(chart, tables={**chart.tables, "speeds": {"outbound": 110, "final": 92}})
    slow = briefed(aimed, errors=FEW_ERRORS, speeds=["85"])
    assert "Target speeds are charted: outbound 110 kt, planned at 85 kt. A debrief finds the difference." in text_of(slow)


@pytest.mark.parametrize(("off_deg", "said"), [(20.0, False), (40.0, True), (-94.0, True)])
def test_an_arrival_from_outside_the_charted_sector_is_said(off_deg, said):
    chart = runway_at(turn_chart(entry_within_deg=30), 4.0, FLOORS)
    made = briefed(chart, errors=FEW_ERRORS, arrival_deg=(OUT_MAGNETIC + off_deg) % 360.0)
    assert ("is entered from within 30° of it" in text_of(made)) == said
