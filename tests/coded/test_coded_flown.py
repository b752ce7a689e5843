"""Flights along every approach of the sample as it is coded: inside, all of it; and outside where the wrong thing is flown."""

from typing import Any

import pytest
from coded_flights import as_charted, debriefed_as_charted, heights
from islands import CODED, chosen
from synthetic import Log

from analyzer import debrief
from analyzer.procedure.coded.file import read_coded

APPROACHES = {
    "S24-Y": "45/180", "S24-Z": "45/180", "N06": "45/180", "I24": "hold-direct", "R06": "hold-direct", "VOR-A": "base-turn",
    "D24:GERRI": "arc", "D24:OSSIN": "arc",
}  # fmt: skip


@pytest.fixture(scope="module")
def sample():
    return read_coded(CODED)


def procedure(sample, name):
    ident, _, route = name.partition(":")
    return chosen(sample, ident, route or None).made.procedure


def verdicts(result: Any) -> dict[str, set[str]]:
    (approach,) = result.approaches
    found: dict[str, set[str]] = {}
    for finding in approach.findings:
        found.setdefault(finding.verdict, set()).add(finding.check)
    return found


@pytest.mark.parametrize(("name", "shape"), APPROACHES.items())
def test_flown_as_coded_is_inside(sample, name, shape):
    result = debriefed_as_charted(procedure(sample, name))
    assert [one.reversal.flown for one in result.approaches] == [shape]
    judged = verdicts(result)
    assert judged.get("outside", set()) | judged.get("too close to call", set()) == set()
    assert {"altitude_floor", "final_course"} <= judged["inside"]


@pytest.mark.parametrize("name", ["S24-Z", "S24-Y", "N06", "I24", "R06"])
def test_flown_to_the_other_side_is_outside(sample, name):
    chart = procedure(sample, name)
    flown, place = as_charted(chart)
    result = debrief(Log(noise_m=1.0, altitude_ft=heights(chart, flown, place)).of(flown.mirrored(), place), chart)
    assert "reversal_side" in verdicts(result)["outside"]


@pytest.mark.parametrize("name", ["S24-Z", "N06", "R06", "D24:GERRI", "VOR-A"])
def test_flown_too_low_is_outside(sample, name):
    chart = procedure(sample, name)
    flown, place = as_charted(chart)
    low = [(time, feet - 400.0) for time, feet in heights(chart, flown, place)]
    outside = verdicts(debrief(Log(noise_m=1.0, altitude_ft=low).of(flown, place), chart))["outside"]
    # one event counts once: what is below a leg's minimum and stays there to a fix of the same minimum counts at the fix
    assert outside & {"altitude_floor", "step_down"}
