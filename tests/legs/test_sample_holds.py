"""The sample flights that go beyond the reversal, against what was really flown (sample_tracks/truth)."""

import csv
import datetime as dt
import functools
import importlib
import json
import re
import statistics
import sys
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

import pytest

from analyzer import debrief, read_procedure, read_track
from analyzer.checks.final_fixes import fix_stretches
from analyzer.legs.reversal import Part
from analyzer.library.debrief import Debrief

SAMPLES = Path(__file__).parents[2] / "sample_tracks"
PROCEDURES = {"missed_and_hold": "wendle_island_vorz24.toml", "step_down": "wendle_island_rnav06.toml"}

every_flight = pytest.mark.parametrize("name", PROCEDURES)


def seconds(text: str) -> float:
    return dt.datetime.fromisoformat(text).timestamp()


@functools.cache
def flown(name: str) -> Debrief:
    return debrief(read_track(SAMPLES / f"{name}.csv"), read_procedure(SAMPLES / PROCEDURES[name]))


@functools.cache
def truth(name: str) -> dict[str, Any]:
    return json.loads((SAMPLES / "truth" / f"{name}.json").read_text("utf-8"))


def found_passages(result: Debrief) -> list[tuple[str, float]]:
    """Every passage of a fix by name; one that a hold ends with and the next approach begins with is the same."""
    found = [
        (one.seen.motion.charted.procedure.fix.name, passage.time_s)
        for one in result.sections
        for passage in one.approach.reversal.passages
    ]
    for approach in result.approaches:
        stretches = fix_stretches(result.motion, approach.reversal)
        found += [(way.fix.name, way.passed_s) for way in stretches if way.passed_s is not None]
    found.sort(key=lambda passage: passage[1])
    again = [then[0] == first[0] and then[1] - first[1] < 1.0 for first, then in pairwise(found)]
    return [passage for passage, same in zip(found, [False, *again], strict=True) if not same]


@every_flight
def test_every_passage_of_a_fix_within_a_second(name):
    real = [(passage["fix"], seconds(passage["utc"])) for passage in truth(name)["passages"]]
    found = found_passages(flown(name))
    assert [fix for fix, _ in found] == [fix for fix, _ in real]
    assert [time for _, time in found] == pytest.approx([time for _, time in real], abs=1.0)


def test_missed_approach_begins_within_two_seconds():
    first, second = flown("missed_and_hold").approaches
    missed = first.reversal.part("missed")
    assert missed is not None
    assert missed.start_s == pytest.approx(seconds(truth("missed_and_hold")["missed_utc"]), abs=2.0)
    assert second.reversal.part("missed") is None
    # the log's heights scatter by some 18 ft, so that the climb shows late: what is said to be its error covers that
    late_s = missed.start_s - seconds(truth("missed_and_hold")["missed_utc"])
    (point,) = [finding for finding in first.findings if finding.check == "missed_point"]
    assert point.sd is not None
    speed_kt = next(figures.ground_speed_mps for figures in first.figures.parts if figures.part is missed) * 3600.0 / 1852.0
    assert abs(late_s) < 2.0 * point.sd / speed_kt * 3600.0
    assert point.verdict in ("inside", "too close to call")  # it was begun at the point
    assert second.reversal.ending == "reached the runway"


def spans(parts: list[dict[str, str]]) -> dict[str, tuple[float, float]]:
    """Beginning and end of each part of a lap in the truth."""
    return {part["part"]: (seconds(part["start_utc"]), seconds(part["end_utc"])) for part in parts}


def off(found: dict[str, tuple[float, float]], real: dict[str, tuple[float, float]]) -> list[float]:
    """By how much the beginnings and ends of the parts of a lap differ."""
    assert list(found) == list(real)
    return [abs(ours - theirs) for name in real for ours, theirs in zip(found[name], real[name], strict=True)]


def test_laps_of_the_hold_and_their_parts():
    (hold,) = flown("missed_and_hold").holds
    (held,) = hold.approaches
    laps = [list(parts) for lap, parts in groupby(held.reversal.parts, key=lambda part: part.lap) if lap is not None]
    real = [spans(lap["parts"]) for lap in truth("missed_and_hold")["laps"]]
    for lap in real:
        # of a hold, what closes with the course belongs to the turn
        closing = lap.pop("intercept", None)
        if closing is not None:
            lap["turn_inbound"] = lap["turn_inbound"][0], closing[1]
    assert len(laps) == len(real)
    differences = [off(by_name(parts), theirs) for parts, theirs in zip(laps, real, strict=True)]
    assert statistics.median(value for lap in differences for value in lap) <= 2.0
    assert [parts[0].start_s for parts in laps] == pytest.approx([lap["entry_turn"][0] for lap in real], abs=2.0)
    assert laps[-1][-1].end_s == pytest.approx(real[-1]["inbound"][1], abs=2.0)


def by_name(parts: list[Part]) -> dict[str, tuple[float, float]]:
    return {part.name: (part.start_s, part.end_s) for part in parts}


def test_lap_of_the_hold_in_lieu_and_its_parts():
    result = flown("step_down")
    assert result.holds == ()
    (approach,) = result.approaches
    assert approach.reversal.flown == "hold-parallel"
    (lap,) = truth("step_down")["laps"]
    real = spans(lap["parts"])
    real["reversal_turn"] = real.pop("turn_inbound")
    found = {name: span for name, span in by_name(list(approach.reversal.parts)).items() if name in real}
    assert found.keys() == real.keys()
    # the inbound part of an approach goes on to its final approach fix, beyond that of the hold
    ours, theirs = found.pop("inbound"), real.pop("inbound")
    differences = [abs(a - b) for name in real for a, b in zip(found[name], real[name], strict=True)]
    assert statistics.median([*differences, abs(ours[0] - theirs[0])]) <= 2.0


def test_step_down_fix_is_undershot_by_what_was_flown():
    # the receiver's height is good to 5 m, which is 16 ft (sample_tracks/README.md); two of them
    (approach,) = flown("step_down").approaches
    findings = {finding.fix: finding for finding in approach.findings if finding.check == "step_down"}
    assert {fix: finding.verdict for fix, finding in findings.items()} == {"DULVE": "inside", "FASKE": "outside"}
    assert findings["FASKE"].measured == pytest.approx(truth("step_down")["step_down"]["lowest_altitude_ft"], abs=33.0)


def test_what_the_two_flights_are_known_for():
    # sample_tracks/README.md: nothing outside but the inbound leg of the second lap; nothing but the step-down fix
    outside = {
        (one.title, finding.check, finding.lap or finding.fix)
        for name in PROCEDURES
        for one in flown(name).sections
        for finding in one.approach.findings
        if finding.verdict == "outside"
    }
    assert outside == {("Hold at WND", "hold_timing", 2), ("", "step_down", "FASKE")}


def test_what_the_second_lap_lacked_is_what_the_third_made_up_for():
    # by as much as the outbound leg grew from lap to lap (truth, from wings level): the third inbound leg was good within 10 s
    (hold,) = flown("missed_and_hold").holds
    laps = [spans(lap["parts"]) for lap in truth("missed_and_hold")["laps"]]
    outbound_s = [lap["outbound"][1] - lap["outbound"][0] for lap in laps]
    (drift,) = [one for one in hold.approaches[0].findings if one.check == "hold_drift" and one.lap == 2]
    flown_s = float(re.search(r"outbound (\d+) s", drift.sentence)[1])
    assert drift.details["outbound_due_s"] - flown_s == pytest.approx(outbound_s[2] - outbound_s[1], abs=10.0)


@pytest.mark.parametrize("name", ["missed_and_hold", "step_down"])
def test_flown_again_it_is_the_same(name):
    pytest.importorskip("jsbsim")
    sys.path.insert(0, str(SAMPLES))
    simulator = importlib.import_module("fly")
    flight = simulator.fly(simulator.SCENARIOS[name])
    with (SAMPLES / "truth" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        kept = list(csv.DictReader(file))
    assert len(kept) == flight.time_s.size
    for column, values in (("latitude_deg", flight.latitude_deg), ("longitude_deg", flight.longitude_deg)):
        # other versions of the simulator and of the machine's arithmetic differ in the last digits, and a little more later on
        assert [float(row[column]) for row in kept] == pytest.approx(values.tolist(), abs=1e-4)
