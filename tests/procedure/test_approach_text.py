"""The whole approach in words, as it would be read from a chart."""

import datetime as dt
from typing import Any

import pytest
from wendle import Tables, whole

from analyzer.procedure.charted import resolve
from analyzer.procedure.schema import Procedure
from analyzer.report.words.procedure_text import procedure_text


def text(tables: Tables) -> str:
    procedure = Procedure.model_validate(tables)
    return procedure_text(procedure, resolve(procedure, dt.date(2026, 11, 25)))


def in_metres(value: Any) -> Any:
    if isinstance(value, list):
        return [in_metres(item) for item in value]
    if not isinstance(value, dict):
        return value
    return {
        f"{key[:-3]}_m" if key.endswith("_ft") else key: item * 0.3048 if key.endswith("_ft") else in_metres(item)
        for key, item in value.items()
    }


def row(tables: Tables, label: str) -> list[str]:
    """The lines of one label, without it."""
    lines = text(tables).splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith(label.ljust(14)))
    found = [lines[first][14:]]
    for line in lines[first + 1 :]:
        if not line.startswith(" " * 14):
            break
        found.append(line[14:])
    return found


EXPECTED = """\
Fix           WND (VOR), 47.25000 N 31.50000 W, elevation 120 ft
Variation     8.0° west, given in the procedure file for the guidance; at WND
              9.0° west
Arrivals      from PELTO on 225° magnetic, NoPT, at or above 3000 ft
              from GERRI on 040° magnetic, at or above 3400 ft
DME           WNE, 47.15970 N 31.67650 W, elevation 60 ft
Reversal      base turn to the right
Outbound      045° magnetic, 036° true
Inbound       241° magnetic, 233° true
Limit         within 10 NM of WNE by DME
Outbound leg  2 min nominal, to 7.5 NM by DME, 3 min at most
Entry         within 30° of the outbound course
Speed         170 KIAS at most
Guidance      localizer at 47.14635 N 31.70201 W, full scale 2.51°
At            outbound 3000 ft
At or above   arrival 3000 ft, reversal 2200 ft, inbound 2200 ft
At or below   reversal 4000 ft
Final course  WND                 reversal fix
              TARRO       4.2 NM  final approach fix, between 2100 and 3000 ft
              KESTA       2.3 NM  step-down fix, 2.5 DME, on 241°, at or above
              1300 ft
              MAPAR       1.9 NM  missed approach point
              runway 24   0.6 NM  threshold
Minimum       straight-in, categories A-B: MDA 640 ft, visual descent point
              1.6 NM before the threshold
All minimums  straight-in, categories A-B: MDA 640 ft, visual descent point
              1.6 NM before the threshold
              straight-in, categories C-D: MDA 760 ft
              circling: MDA 900 ft
Missed        at MAPAR, or 2 min 48 s from TARRO at 90 kt over the ground: climb
              on the final course to 1200 ft, then turn right direct to WND
              climbing to 3000 ft, then hold
Holds         WND, missed approach, inbound 241° magnetic, right turns, legs of
              60 s, between 3000 and 5000 ft, 200 KIAS at most, categories A-B
              PELTO, 47.45000 N 31.20000 W, inbound 225° magnetic, left turns,
              legs of 4 NM along track, variation 9.5° west
Target speeds outbound 110 KIAS, inbound 100 KIAS, final 90 KIAS
Runway        24, threshold 47.15970 N 31.67650 W, elevation 40 ft, heading 232°
              true, length 7000 ft
"""


def test_a_chart_of_everything():
    assert f"\n\n{EXPECTED}\n" in text(whole())


@pytest.mark.parametrize("metric", [False, True])
def test_no_line_is_longer_than_80_columns(metric):
    tables = {"units": {"altitude": "m"}, **in_metres(whole())} if metric else whole()
    tables["fixes"][0]["name"] = "A fix with a name that is long enough to need a line of its own"
    assert max(map(len, text(tables).splitlines())) <= 80


def test_a_file_in_metres_is_shown_in_metres():
    tables = {"units": {"altitude": "m"}, **in_metres(whole())}
    shown = text(tables)
    assert " ft" not in shown
    assert row(tables, "At or above") == ["arrival 914.4 m, reversal 670.6 m, inbound 670.6 m"]
    assert "final approach fix, between 640.1 and" in shown
    assert row(tables, "Missed")[1] == "on the final course to 365.8 m, then turn right direct to WND"
    assert row(tables, "Runway") == [
        "24, threshold 47.15970 N 31.67650 W, elevation 12.2 m, heading",
        "232° true, length 2133.6 m",
    ]


def test_on_the_field_the_fixes_come_before_the_reversal_fix(tables):
    tables["runway"] |= {"threshold_latitude_deg": 47.253, "threshold_longitude_deg": -31.494}
    tables["fixes"] = [{"name": "KELVA", "role": "step-down", "distance_nm": -4.0, "maximum_ft": 2200}]
    del tables["altitudes"]["final_ft"]
    assert row(tables, "Final course") == [
        "KELVA               step-down fix, at or below 2200 ft",
        "runway 24   3.7 NM  threshold",
        "WND         0.3 NM  reversal fix",
    ]
    # 2 lines, since what the file calls inbound is read as the final minimum
    assert " ".join(row(tables, "Minimum")) == ("MDA 2200 ft, charted as the inbound minimum: the facility is on the field")


@pytest.mark.parametrize(
    ("missed", "words"),
    [
        ({"altitude_ft": 2500}, "straight ahead to 2500 ft"),
        ({"climb_ft": 1000, "altitude_ft": 2500}, "climb on the final course to 1000 ft, then straight ahead to 2500 ft"),
        ({"turn": "left", "course_deg": 31, "altitude_ft": 2500}, "turn left to 031° magnetic climbing to 2500 ft"),
        ({"to": "WND"}, "direct to WND"),
    ],
)
def test_missed_approaches(tables, missed, words):
    tables["missed_approach"] = missed
    assert " ".join(row(tables, "Missed")) == words
    tables["minimum"] = {"kind": "da", "altitude_ft": 430}
    del tables["altitudes"]["final_ft"]
    assert " ".join(row(tables, "Missed")) == f"at the decision altitude: {words}"


@pytest.mark.parametrize(
    ("altitudes", "label", "words"),
    [
        ({"arrival_ft": 3000, "arrival_maximum_ft": 3000}, "At", "arrival 3000 ft"),
        ({"outbound_maximum_ft": 4000}, "At or below", "outbound 4000 ft"),
        ({}, "At or above", "nothing charted"),
    ],
)
def test_altitudes_of_legs(tables, altitudes, label, words):
    tables["altitudes"] = altitudes
    assert row(tables, label) == [words]
