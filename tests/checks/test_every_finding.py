"""What holds of every finding of every check: its figures, its sentence, its place and its verdict agree with one another.

The flights are the sample tracks, by several standards, and invented ones for the checks that those give no occasion for.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from checked import NOISY
from final_flights import BEFORE_NM, CROSSING_FT, ELEVATION_FT, flown_at, runway
from hold_flights import chart as chart_of_hold
from hold_flights import entered
from missed_flights import chart as chart_of_missed
from missed_flights import whole
from patterns import Pattern, fly_approach
from synthetic import HERE, NM, START_S, Chart, Flown, Straight, Turn, fly

import analyzer
from analyzer import Debrief
from analyzer.checks.finding import Finding
from analyzer.debriefs.data import Approach
from analyzer.vocabulary import CHECK_NAMES, LEG_OF_PART, Leg

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
TRACKS = {
    "clean.csv": "vor24",
    "strong_wind.csv": "vor24",
    "early_descent.gpx": "vor24",
    "missed_and_hold.csv": "vorz24",
    "step_down.csv": "rnav06",
}
STANDARDS = ("faa-instrument", "icao-ops", "part-fcl")
MAGNETIC = HERE.outbound_true_deg - HERE.variation_deg
UNITS = {"NM", "deg", "deg/s", "ft", "fpm", "kt", "s", ""}
NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")

# What a sentence says in words instead of a number.
NOT_OVERSHOT, NONE_OFF = "not overshot", "corrected none"
NO_PLACE = {"no_reversal"}  # it is of the whole approach
BEFORE_IT_S = 20.0  # an outbound leg is timed from abeam the fix, and a heading at the fix taken, in or before the turn there
NO_LIMIT_NAMED = {
    "turn_rate",  # a share of standard rate
    "descent_timing",  # no earlier than established, the fix or a route's end: none of them a number
    "intercept",  # the limit is named where it was overshot
    "final_alignment",  # 30° are the definition of a straight-in approach
    "missed_point",  # not before the point
}


@dataclass(frozen=True)
class Said:
    """A finding and what it was made in."""

    approach: Approach
    finding: Finding

    def __str__(self) -> str:
        return f"{self.finding.check}: {self.finding.sentence}"


def flown(path: Flown, chart: Chart) -> Debrief:
    return analyzer.debrief(NOISY.of(path), chart.at())


def long_base_turn() -> Debrief:
    """Two and a half minutes outbound where two are charted and 4 NM, its descent charted as well."""
    courses = {"outbound_course_deg": MAGNETIC - 20.0, "inbound_course_deg": (MAGNETIC + 180.0) % 360.0}
    limits = {"leg_time_s": 120.0, "maximum_time_s": 125.0, "leg_length_nm": 4.0}
    out = [Straight("arrival", 120.0), Straight("outbound", 150.0), Turn("reversal_turn", 200.0, 18.0)]
    start = 4.0 * math.sin(math.radians(20.0)), -4.0 * math.cos(math.radians(20.0))
    path = fly([*out, Straight("inbound", 240.0)], start, -20.0, roll_deg_s=5.0)
    chart = Chart(side=None, within_nm=None, reversal={"kind": "base-turn", "turn": "right", **courses, **limits})
    return flown(path, chart)


def arc() -> Debrief:
    """Round 9.5 NM about the fix by a quarter, where 10 are charted."""
    bank = math.degrees(math.atan((120.0 * NM / 3600.0) ** 2 / (9.80665 * 9.5 * NM)))
    radius = 120.0 / 60.0 / math.pi  # of a turn of 3° a second
    within = 9.5 - radius
    lead = math.degrees(math.asin(radius / within))
    join_s = math.sqrt(within**2 - radius**2) * 30.0 - 150.0
    path = [Straight("arrival", join_s), Turn("arc_turn", -(90.0 + lead), 18.2), Turn("arc", -(90.0 - 2.0 * lead), bank)]
    path += [Turn("reversal_turn", -(90.0 + lead), 18.2), Straight("inbound", 345.0)]
    about = {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg, "radius_nm": 10.0}
    chart = Chart(side=None, within_nm=None, reversal={"kind": "arc", "turn": "left"}, tables={"arc": about})
    return flown(fly(path, (5.0, 0.0), 90.0), chart)


def drawn() -> Debrief:
    """An 80/260 where a 45/180 is drawn, with speeds charted."""
    chart = Chart(
        reversal={"depicted_track": True, "offset_course_deg": MAGNETIC + 45.0}, tables={"speeds": {"outbound": 100.0}}
    )
    return flown(fly_approach(Pattern(roll_deg_s=5.0, shape="80/260", intercept=True)).flown, chart)


def recorded() -> Debrief:
    """A 45/180 by a standard that asks for an average bank, its bank and indicated airspeed recorded."""
    path = fly_approach(Pattern(roll_deg_s=5.0, intercept=True)).flown
    track = NOISY.of(path)
    seconds = track.time_s - START_S
    columns = {
        "bank_rad": np.radians(path.at(seconds, path.bank_deg)),
        "indicated_airspeed_mps": np.full(len(seconds), 115.0 * NM / 3600.0),  # 120 kt true at 3,000 ft
    }
    return analyzer.debrief(replace(track, recorded=columns), Chart().at(), "icao-ops")


def without_wind() -> Debrief:
    """A log that ends in the turn back, by a standard that asks for an average bank."""
    approach = fly_approach(Pattern(roll_deg_s=5.0, intercept=True))
    log = replace(NOISY, end_s=approach.begin("reversal_turn") + 20.0)
    return analyzer.debrief(log.of(approach.flown), Chart().at(), "icao-ops")


def straight_in() -> Debrief:
    """From a route that needs no reversal, high at a fix that has a maximum."""
    rows = [{"name": "KELDO", "course_deg": (MAGNETIC + 180.0) % 360.0, "minimum_ft": 2500.0, "reversal": False}]
    fixes = [{"name": "ZULEK", "role": "final-approach-fix", "distance_nm": 2.0, "maximum_ft": 2000.0}]
    return flown(fly([Straight("in", 420.0)], (0.0, 10.0), 180.0), Chart(tables={"arrivals": rows, "fixes": fixes}))


def down_the_path() -> Approach:
    """Level, then 10 ft above a path of 3°, which is 318 ft a nautical mile."""
    heights = np.minimum(2500.0, ELEVATION_FT + CROSSING_FT + 10.0 + 318.0 * np.maximum(BEFORE_NM, 0.0))
    path = {"angle_deg": 3.0, "threshold_crossing_height_ft": CROSSING_FT}
    return flown_at(heights, runway=runway(), glide_path=path)


@cache
def all_said() -> tuple[Said, ...]:
    return tuple(_all_said())


def _all_said() -> Iterator[Said]:
    debriefs = [
        analyzer.debrief(
            analyzer.read_track(SAMPLES / log), analyzer.read_procedure(SAMPLES / f"wendle_island_{chart}.toml"), standard
        )
        for log, chart in TRACKS.items()
        for standard in STANDARDS
    ]
    debriefs += [whole().debrief(chart_of_missed()), entered("direct").debrief(chart_of_hold())]
    debriefs += [long_base_turn(), arc(), drawn(), straight_in(), recorded(), without_wind()]
    approaches = [one for result in debriefs for one in result.approaches]
    approaches += [one for result in debriefs for hold in result.holds for one in hold.approaches]
    for approach in [*approaches, down_the_path()]:
        yield from (Said(approach, finding) for finding in approach.findings)


def all_of(check: str) -> list[Said]:
    return [said for said in all_said() if said.finding.check == check]


def says(sentence: str, value: float) -> bool:
    """Whether a sentence has a number that a value rounds to."""
    for text in NUMBER.findall(sentence):
        number = text.rstrip(",").replace(",", "")
        decimals = len(number.partition(".")[2])
        if abs(float(number) - abs(value)) <= 0.5 * 10.0**-decimals + 1e-6:
            return True
    return False


@pytest.mark.parametrize("check", CHECK_NAMES)
def test_a_sentence_has_the_figures_of_its_finding(check):
    assert all_of(check)
    for said in all_of(check):
        finding = said.finding
        assert finding.sentence.endswith("."), said
        assert "_" not in finding.sentence, said
        if isinstance(finding.measured, float) and NOT_OVERSHOT not in finding.sentence and NONE_OFF not in finding.sentence:
            assert says(finding.sentence, finding.measured), said
        if finding.measured is not None and isinstance(finding.limit, float) and check not in NO_LIMIT_NAMED:
            assert says(finding.sentence, finding.limit), said


@pytest.mark.parametrize("check", CHECK_NAMES)
def test_a_margin_is_what_is_left_to_the_limit_and_its_tolerance(check):
    for said in all_of(check):
        finding = said.finding
        if finding.margin is None or not (isinstance(finding.measured, float) and isinstance(finding.limit, float)):
            continue
        over = finding.measured - finding.limit
        left = {finding.tolerance - over, finding.tolerance + over}  # of a greatest and of a least value
        assert min(abs(finding.margin - one) for one in left) < 1e-6, said


@pytest.mark.parametrize("check", CHECK_NAMES)
def test_a_verdict_has_a_margin_and_what_has_none_a_reason(check):
    for said in all_of(check):
        finding = said.finding
        assert (finding.verdict == "not assessed") == (finding.reason is not None), said
        if finding.reason is not None:
            assert re.match(r"[a-z]|AIM|\d", finding.reason), said
        if finding.verdict == "not assessed":
            continue
        if isinstance(finding.measured, float) and isinstance(finding.limit, float):
            assert finding.margin is not None, said
        if finding.margin is None:
            continue
        assert finding.sd is not None, said
        assert 0.0 <= finding.sd < math.inf, said
        if finding.verdict != "too close to call":
            assert (finding.margin > 0.0) == (finding.verdict == "inside"), said


@pytest.mark.parametrize("check", CHECK_NAMES)
def test_it_is_of_a_leg_in_a_unit_from_a_source(check):
    for said in all_of(check):
        finding = said.finding
        assert finding.leg in get_args(Leg), said
        assert finding.part is None or finding.part in LEG_OF_PART, said
        assert finding.unit in UNITS, said
        assert finding.basis in {"positions", "altitude", "estimate", "recorded"}, said
        assert re.search(r"[A-Za-z]{3}", finding.source), said
        assert "None" not in finding.source + finding.sentence, said


@pytest.mark.parametrize("check", CHECK_NAMES)
def test_it_has_a_place_within_what_was_flown_of_its_part_or_leg(check):
    for said in all_of(check):
        finding, reversal = said.finding, said.approach.reversal
        if check in NO_PLACE or finding.measured is None:
            continue
        assert finding.place is not None, said
        named = [part for part in reversal.parts if part.name == finding.part and finding.lap in (None, part.lap)]
        spans = [(part.start_s, part.end_s) for part in named] or list(reversal.leg_spans(finding.leg))
        spans = spans or [(reversal.parts[0].start_s, reversal.parts[-1].end_s)]
        assert any(start - BEFORE_IT_S <= finding.place.time_s <= end + 1.5 for start, end in spans), said


@pytest.mark.parametrize("check", ["turn_bank", "speed_limit"])
def test_what_was_recorded_and_what_was_estimated_is_called_so(check):
    bases = {"recorded", "estimate"}
    assert {said.finding.basis for said in all_of(check)} == bases
    for said in all_of(check):
        if said.finding.measured is not None:
            words = re.findall(r"[A-Za-z]*(?:recorded|estimated)[A-Za-z]*", said.finding.sentence)
            assert set(words) == {"recorded" if said.finding.basis == "recorded" else "estimated"}, said


@pytest.mark.parametrize("check", ["turn_bank", "turn_rate", "average_bank", "speed_limit"])
def test_bank_and_airspeed_are_recorded_or_estimated_and_never_read_off_positions(check):
    measured = [said for said in all_of(check) if said.finding.measured is not None]
    assert {said.finding.basis for said in measured} <= {"recorded", "estimate"}


def test_a_rate_is_shown_as_its_share_of_three_degrees_a_second():
    for said in all_of("turn_rate"):
        assert isinstance(said.finding.measured, float)
        assert f"{said.finding.measured / 3.0:.1f} times standard rate" in said.finding.sentence, said
