"""Pictures of charts with many fixes close together and with long names: no label over another, nor over what was flown."""

import re
import tomllib
from functools import cache

import numpy as np
import pytest
from drawn import texts
from labelled import curves_over, overlaps
from report_flights import SAMPLES

import analyzer
from analyzer.physics.units import FT
from analyzer.procedure.schema import Procedure
from analyzer.report.pictures.final_view import final_view
from analyzer.report.pictures.layout import NARROW, WIDE
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.profile import profile
from analyzer.report.pictures.strips import strips
from analyzer.report.pictures.style import WARN
from analyzer.report.pictures.subject import Subject

LAYOUTS = pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
LONG = "EASTERN-HEADLAND-AND-LIGHTHOUSE-BEACON-BY-THE-OLD-FERRY-PIER"  # 60 letters
_STEPS = {"ALFAA": (0.5, 1640), "BRAVO": (0.9, 1500), "CHARL": (1.3, 1360), "DELTA": (1.7, 1220), "ECHOO": (2.1, 1100),
          "FOXTR": (2.5, 980), "GOLFF": (2.9, 860)}  # fmt: skip


def _changed(source: str, *, letters: int, steps: int) -> str:
    """A chart with so many step-down fixes instead of its own, and all names of at least so many letters."""
    begin, end = source.index("[[fixes]]"), source.index("[minimum]")
    chosen = list(_STEPS.items())[:steps]
    fixes = "".join(
        f'[[fixes]]\nname = "{(name + LONG)[:letters]}"\nrole = "step-down"\ndistance_nm = {nm}\nminimum_ft = {ft}\n\n'
        for name, (nm, ft) in chosen
    )
    point = f'[[fixes]]\nname = "{("MAPAR" + LONG)[:letters]}"\nrole = "missed-approach-point"\ndistance_nm = 3.8\n\n'
    return (source[:begin] + fixes + point + source[end:]).replace(
        '"WND"', f'"{("WND" + LONG)[: letters if letters > 5 else 3]}"'
    )


@cache
def flown(letters: int, steps: int):
    source = (SAMPLES / "wendle_island_vorz24.toml").read_text(encoding="utf-8")
    procedure = Procedure.model_validate(tomllib.loads(_changed(source, letters=letters, steps=steps)))
    return analyzer.debrief(analyzer.read_track(SAMPLES / "missed_and_hold.csv"), procedure)


CROWDS = pytest.mark.parametrize(("letters", "steps"), [(5, 1), (5, 4), (5, 7), (60, 2), (60, 7)])


@LAYOUTS
@CROWDS
def test_no_label_lies_on_another_in_profile_and_final_approach(letters, steps, layout):
    drawn = 0
    for section in flown(letters, steps).sections:
        subject = Subject(section.seen, section.approach)
        for drawing in (profile(subject, layout), final_view(subject, layout)):
            if drawing is not None:
                assert overlaps(drawing) == []
                drawn += 1
    assert drawn == 5  # two approaches and a hold between them, which has no final approach


@LAYOUTS
@CROWDS
def test_nor_an_altitude_over_what_was_flown_in_the_profile(letters, steps, layout):
    for section in flown(letters, steps).sections:
        drawing = profile(Subject(section.seen, section.approach), layout)
        assert drawing is not None
        (panel,) = drawing.panels
        assert [text.text for text in texts(panel) if text.colour == WARN and curves_over(panel, text)] == []


@LAYOUTS
@CROWDS
def test_the_final_approach_names_the_minimum_and_the_steps(letters, steps, layout):
    """That of the approach always, and with room for it that of every step."""
    section = flown(letters, steps).sections[0]
    drawing = final_view(Subject(section.seen, section.approach), layout)
    assert drawing is not None
    said = {text.text for text in texts(drawing)}
    assert "MDA 640" in said
    if steps == 1:
        assert {"ALFAA", "1,640", "MAPAR", "WND"} <= said


@LAYOUTS
def test_a_long_name_is_cut_off_and_stays_in_the_plan(layout):
    section = flown(60, 2).sections[0]
    drawing = plan_view(Subject(section.seen, section.approach), layout)
    assert overlaps(drawing) == []
    names = [text for text in texts(drawing) if text.text.endswith("…")]
    assert {name.text[:3] for name in names} >= {"WND", "ALF", "BRA", "MAP"}
    assert all(len(name.text) <= 16 for name in names)


def test_pictures_of_a_chart_in_metres_are_in_metres():
    """As the chart prints its altitudes, and as the findings have them: 1,100 m where it prints 1,100 m."""
    source = (SAMPLES / "wendle_island_vor24.toml").read_text(encoding="utf-8")
    metric = re.sub(r"_ft = (\d+)", lambda found: f"_m = {round(int(found[1]) * FT)}", source)
    tables = tomllib.loads(metric)
    debrief = analyzer.debrief(
        analyzer.read_track(SAMPLES / "clean.csv"), Procedure.model_validate({**tables, "units": {"altitude": "m"}})
    )
    subject = Subject(debrief, debrief.approaches[0])
    side, final = profile(subject, WIDE), final_view(subject, WIDE)
    assert side is not None
    assert final is not None
    for said in ({text.text for text in texts(drawing)} for drawing in (side, final)):
        assert "altitude, m MSL" in said
    assert {"914", "792", "549", "195"} <= {text.text.removeprefix("minimum ") for text in texts(side)}
    assert "MDA 195" in {text.text for text in texts(final)}
    assert "altitude, m" in {text.text for text in texts(strips(subject, WIDE))}
    assert np.nanmax(subject.series.altitude) == pytest.approx(np.nanmax(subject.states.altitude_m))
