"""The profile and the holds of a chart: the way drawn keeps every minimum, and the pictures say what is charted."""

import datetime as dt
import math
import tomllib
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzer.physics.units import FT, NM
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.schema import Procedure
from analyzer.report.pictures.chart_holds import chart_holds
from analyzer.report.pictures.chart_plan import chart_plan
from analyzer.report.pictures.chart_profile import chart_profile
from analyzer.report.pictures.drawing import Drawing, Line, Words
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.profile_steps import lowest_way, steps_of
from analyzer.report.pictures.subject import Subject
from analyzer.vocabulary import Leg

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
DAY = dt.date(2026, 6, 28)
OUT_NM = -10.0


def charted(name: str = "wendle_island_vorz24", **tables: Any) -> Charted:
    """A sample chart with some tables exchanged; None takes one out."""
    chart = tomllib.loads((SAMPLES / f"{name}.toml").read_text(encoding="utf-8")) | tables
    return resolve(Procedure.model_validate({key: value for key, value in chart.items() if value is not None}), DAY)


def words(drawing: Drawing | None) -> list[str]:
    assert drawing is not None
    return [mark.text for panel in drawing.panels for mark in panel.marks if isinstance(mark, Words)]


def height_at(way: list[tuple[Any, list[tuple[float, float]]]], nm: float) -> float:
    """The altitude of the way at a place. [ft]"""
    places = [place for _, stretch in way for place in stretch]
    return float(np.interp(nm, [x for x, _ in places], [y for _, y in places]))


def test_the_sample_s_profile_says_what_its_file_says():
    said = words(chart_profile(charted(), NARROW))
    for text in ("3,000", "2,600", "1,800", "1,400", "MDA 640", "within 10 NM", "MAPAR MAP", "1,200 turn right", "runway 24"):
        assert text in said
    assert "0.9" in said  # WND to TARRO
    assert "2.9" in said  # TARRO to MAPAR, 3.8 less 0.9


def lines_from_the_fix(chart: Charted) -> list[float]:
    """The true bearings of the dashed lines that begin at the fix. [deg]"""
    marks = [mark for panel in chart_plan(chart, WIDE).panels for mark in panel.marks]
    lines = [
        mark for mark in marks if isinstance(mark, Line) and mark.dash and len(mark.x) == 2 and mark.x[0] == mark.y[0] == 0.0
    ]
    return sorted(math.degrees(math.atan2(line.x[1], line.y[1])) % 360.0 for line in lines)


def test_a_base_turn_goes_out_by_one_line_and_in_by_another():
    reversal = {"kind": "base-turn", "turn": "left", "outbound_course_deg": 81, "inbound_course_deg": 241, "within_nm": 10}
    chart = charted(reversal=reversal)
    assert lines_from_the_fix(chart) == pytest.approx([61.0 - 8.0, 81.0 - 8.0])  # of 8° west; in on 241, along 061
    said = words(chart_plan(chart, WIDE))
    assert "081° out" in said
    assert "241° in" in said


def test_a_procedure_turn_goes_out_and_in_by_one_line():
    assert lines_from_the_fix(charted()) == pytest.approx([61.0 - 8.0])
    assert "061° out, 241° in" in words(chart_plan(charted(), WIDE))


def test_the_profile_of_an_arc_says_its_altitude_and_that_of_the_arrival():
    arc = {"latitude_deg": 48.35, "longitude_deg": -24.7, "radius_nm": 10.0}  # about the fix
    reversal = {"kind": "arc", "turn": "right", "inbound_course_deg": 241}
    altitudes = {"arrival_ft": 3700, "outbound_ft": 3200, "reversal_ft": 2900, "inbound_ft": 2200}
    drawn = chart_profile(charted(reversal=reversal, arc=arc, altitudes=altitudes), WIDE)
    assert {"3,700", "arc 3,200", "2,900", "2,200"} <= set(words(drawn))
    assert drawn is not None
    at_fix = [mark.x for panel in drawn.panels for mark in panel.marks if isinstance(mark, Words) and mark.text == "WND"]
    (arrival,) = [mark.x for panel in drawn.panels for mark in panel.marks if isinstance(mark, Words) and mark.text == "3,700"]
    assert arrival < 0.5 * at_fix[0]  # flown to the arc, not to the fix


@pytest.mark.parametrize("kind", ["arc", "none"])
def test_no_course_out_is_named_where_none_is_flown(kind: str):
    arc = {"latitude_deg": 48.35, "longitude_deg": -24.7, "radius_nm": 10.0}
    reversal = {"kind": kind, "inbound_course_deg": 241} | ({"turn": "right"} if kind == "arc" else {})
    said = words(chart_plan(charted(reversal=reversal, **({"arc": arc} if kind == "arc" else {})), WIDE))
    assert "241° in" in said
    assert not any(" out" in word for word in said)


def test_in_metres():
    text = (SAMPLES / "wendle_island_vorz24.toml").read_text(encoding="utf-8").replace("_ft = ", "_m = ")
    chart = tomllib.loads(f'units = {{ altitude = "m" }}\n{text}')
    said = words(chart_profile(resolve(Procedure.model_validate(chart), DAY), NARROW))
    assert "altitudes, m MSL; not to scale" in said
    assert "MDA 640" in said


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    floors=st.lists(st.integers(8, 60), min_size=4, max_size=4),
    fixes=st.lists(st.tuples(st.integers(-60, 40), st.integers(5, 60)), max_size=5, unique_by=lambda one: one[0]),
)
def test_the_way_keeps_every_minimum(floors: list[int], fixes: list[tuple[int, int]]):
    """Whatever is charted, also uphill: at no place is the way below a minimum that holds there (until its fix is passed)."""
    legs = dict(
        zip(("arrival_ft", "outbound_ft", "reversal_ft", "inbound_ft"), (100.0 * floor for floor in floors), strict=True)
    )
    rows = [{"name": f"F{k}", "role": "step-down", "distance_nm": nm / 10.0, "minimum_ft": 100.0 * floor}
            for k, (nm, floor) in enumerate(sorted(fixes))]  # fmt: skip
    chart = charted(altitudes=legs, fixes=rows, holds=None, missed_approach=None)
    steps = steps_of(chart, OUT_NM)
    way = lowest_way(chart, steps, OUT_NM, None)
    established = max((step.until_nm for step in steps if step.leg == "reversal"), default=OUT_NM)
    for step in steps:
        begin = OUT_NM if step.leg == "reversal" else established
        if begin >= step.until_nm:
            continue  # passed before the inbound leg begins
        for nm in np.linspace(begin, step.until_nm, 9)[1:]:
            if step.word != "MDA" or nm > steps[-2].until_nm:
                assert height_at(way, float(nm)) >= step.floor_m / FT - 0.5
    assert chart_profile(chart, NARROW) is not None
    assert chart_profile(chart, WIDE) is not None


def test_a_decision_altitude_is_flown_down_the_glide_path():
    """A mile before the threshold the path is the crossing height and tan(angle) of a mile above it; AIM 1-1-9 d."""
    chart = charted(
        minimum={"kind": "da", "altitude_ft": 240},
        fixes=None,
        altitudes={"outbound_ft": 2600, "reversal_ft": 2600, "inbound_ft": 1400},
        glide_path={"angle_deg": 3.0, "threshold_crossing_height_ft": 50},
        missed_approach=None,
        holds=None,
    )
    threshold_nm = 4.3  # as the sample's file says; at the fix the path is at 1,459 ft, above the 1,400 ft of the leg before
    steps = steps_of(chart, OUT_NM)
    way = lowest_way(chart, steps, OUT_NM, threshold_nm)
    for nm in (1.0, 2.0, 3.0):
        assert height_at(way, threshold_nm - nm) == pytest.approx(
            40.0 + 50.0 + nm * math.tan(math.radians(3.0)) * NM / FT, abs=1.0
        )
    assert "DA 240" in words(chart_profile(chart, NARROW))


def test_no_profile_without_altitudes():
    assert chart_profile(charted(altitudes=None, minimum=None, fixes=None, missed_approach=None, holds=None), NARROW) is None


def test_holds_say_their_courses_and_turn_the_right_way():
    said = words(chart_holds(charted(), NARROW))
    for text in ("WND, missed approach", "031° in", "211° out", "right turns, 60 s", "at or above 3,000 ft"):
        assert text in said
    lieu = words(chart_holds(charted("wendle_island_rnav06"), NARROW))
    assert "QUENO, in lieu of a procedure turn" in lieu
    assert chart_holds(charted(holds=None, missed_approach=None), NARROW) is None


@given(course=st.integers(1, 360), right=st.booleans())
@settings(max_examples=30, deadline=None)
def test_a_hold_lies_on_its_side_of_the_inbound_course(course: int, right: bool):
    """The racetrack lies behind its fix and on the side of its turns (AIM 5-3-8 j.1)."""
    from analyzer.report.pictures.drawing import Line

    row = {"name": "WND", "role": "missed-approach", "inbound_course_deg": course, "turn": "right" if right else "left"}
    drawing = chart_holds(charted(holds=[row], missed_approach=None), NARROW)
    assert drawing is not None
    line = next(mark for mark in drawing.panels[0].marks if isinstance(mark, Line))
    true_rad = math.radians(course - 8.0)  # 8 degrees west
    along = line.x * math.sin(true_rad) + line.y * math.cos(true_rad)
    across = line.x * math.cos(true_rad) - line.y * math.sin(true_rad)
    assert abs(along.min()) > 3.0 * along.max()
    assert bool(across.mean() > 0.0) == right
    assert abs(across.min() if right else across.max()) < 1e-6


@pytest.mark.parametrize(
    ("flown", "names"),
    [("arc", ["arrival", "arc", "turn", "inbound"]), ("45/180", ["arrival", "outbound", "reversal", "inbound"])],
)
def test_the_legs_of_an_arc_are_named_as_flown(flown: str, names: list[str]):
    legs: list[Leg] = ["arrival", "outbound", "reversal", "inbound"]
    subject = Subject(cast(Any, None), cast(Any, SimpleNamespace(reversal=SimpleNamespace(flown=flown))))
    assert [subject.leg_name(leg) for leg in legs] == names
