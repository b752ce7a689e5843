"""Minimum, missed approach and hold drafted from a flight that flew them, and nothing that it does not show."""

from pathlib import Path

import away
import missed_flights
import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import HERE, Log, Straight, Turn, replace, standard_rate_bank

import analyzer
from analyzer.draft.drafting import FixGiven, draft
from analyzer.procedure.read import read_procedure
from analyzer.procedure.write import procedure_toml

FIX = FixGiven(HERE.latitude_deg, HERE.longitude_deg, variation_deg_east=HERE.variation_deg)
FLOWN = Log(altitude_ft=away.altitudes_ft(), noise_m=2.0)


@pytest.fixture(scope="module")
def drafted():
    return draft(FLOWN.of(away.missed_into_hold(2)), FIX)


def test_the_minimum_is_the_level_before_the_climb(drafted):
    """Level at 1,500 ft for 50 s, then up."""
    minimum = drafted.procedure.minimum
    assert (minimum.kind, minimum.altitude_ft) == ("mda", away.LEVEL_FT)
    assert drafted.procedure.altitudes.final_ft is None  # a procedure has either


def test_the_missed_approach_is_as_flown(drafted):
    """A minute of climb at 900 ft/min, a right turn by 90°, level at 3,000 ft; to a hundred feet and a degree or two."""
    missed, charted = drafted.procedure.missed_approach, away.CHART.at().missed_approach
    assert (missed.turn, missed.altitude_ft) == (charted.turn, charted.altitude_ft)
    assert missed.course_deg == pytest.approx(charted.course_deg, abs=2.0)
    assert missed.climb_ft == pytest.approx(away.LEVEL_FT + away.CLIMB_S / 60.0 * 900.0, abs=100.0)


@pytest.mark.parametrize("laps", [2, 3])
def test_a_hold_is_drafted_where_its_turns_begin(laps):
    """A racetrack looks the same from both ends: the fix is the end reached first."""
    (hold,) = draft(FLOWN.of(away.missed_into_hold(laps)), FIX).procedure.holds
    published = away.pelto()
    assert (hold.role, hold.turn) == ("missed-approach", "right")
    assert hold.inbound_course_deg == pytest.approx(published["inbound_course_deg"], abs=2.0)
    off_nm = 60.0 * np.hypot(
        hold.latitude_deg - published["latitude_deg"],
        (hold.longitude_deg - published["longitude_deg"]) * np.cos(np.radians(HERE.latitude_deg)),
    )
    assert off_nm < 0.2


def test_left_turns_are_drafted_as_left():
    there = away.missed_into_hold(0)
    until = float(there.time_s[-1]) - 40.0
    kept = there.time_s <= until
    to_fix = type(there)(*(getattr(there, name)[kept] for name in ("time_s", "x_nm", "y_nm", "heading_deg", "bank_deg")), {})
    (hold,) = draft(FLOWN.of(away.then(to_fix, away.laps(2, side=-1))), FIX).procedure.holds
    assert hold.turn == "left"


def test_one_lap_is_not_taken_for_a_hold():
    """Turning twice may be anything."""
    assert draft(FLOWN.of(away.missed_into_hold(1)), FIX).procedure.holds == ()


def test_every_value_says_where_it_comes_from(drafted):
    text = procedure_toml(drafted.procedure, "A draft.", drafted.remarks)
    tables = ("minimum.", "missed_approach.", "holds.")
    said = {key: remark for key, remark in drafted.remarks.items() if key.startswith(tables)}
    for key in ("minimum.altitude_ft", "missed_approach.turn", "missed_approach.course_deg", "holds.inbound_course_deg"):
        assert said[key].startswith("measured")
        assert said[key] in text


def test_the_draft_reads_back_and_judges_the_flight(tmp_path, drafted):
    """What was flown is inside what is drafted from it, or too close to call, and the hold is found again."""
    file = tmp_path / "draft.toml"
    file.write_text(procedure_toml(drafted.procedure, "A draft.", drafted.remarks), encoding="utf-8")
    read = read_procedure(file)
    assert read == drafted.procedure
    debriefed = analyzer.debrief(FLOWN.of(away.missed_into_hold(2)), read)
    assert [section.of for section in debriefed.sections] == ["reversal", "hold"]
    assert "outside" not in {finding.verdict for section in debriefed.sections for finding in section.approach.findings}


def test_a_climb_straight_ahead_has_no_turn():
    flown = away.then(away.APPROACH.flown, [Straight("climb", 240.0)])
    missed = draft(FLOWN.of(flown), FIX).procedure.missed_approach
    assert (missed.turn, missed.course_deg, missed.altitude_ft) == (None, None, away.MISSED_FT)


def test_a_turn_that_the_log_ends_in_is_left_out():
    flown = away.then(away.APPROACH.flown, [Straight("climb", 130.0), Turn("turn", 90.0, away.BANK_DEG), Straight("on", 10.0)])
    missed = draft(FLOWN.of(flown), FIX).procedure.missed_approach
    assert missed is None or missed.turn is None


def test_a_go_around_without_a_level_drafts_no_minimum():
    """From 3,000 ft down to 1,500 ft and up at once: a decision altitude, which the end of the descent does not show."""
    down = away.APPROACH.inbound_passage_s
    up = down + away.FINAL_S
    descent = [(0.0, 3000.0), (down, 3000.0), (up, 1500.0), (up + 100.0, 3000.0), (9999.0, 3000.0)]
    assert draft(Log(altitude_ft=descent, noise_m=2.0).of(away.missed_into_hold(2)), FIX).procedure.minimum is None


def test_a_log_that_ends_on_final_drafts_no_minimum():
    """A level that nothing follows may be any."""
    pattern = fly_approach(Pattern(roll_deg_s=5.0, final_s=away.FINAL_S))
    procedure = draft(FLOWN.of(pattern.flown), FIX).procedure
    assert (procedure.minimum, procedure.missed_approach, procedure.holds) == (None, None, ())


def test_without_altitude_no_altitude_is_made_up():
    procedure = draft(Log(altitude_ft=None, noise_m=2.0).of(away.missed_into_hold(2)), FIX).procedure
    assert procedure.minimum is None
    assert procedure.missed_approach is None or procedure.missed_approach.altitude_ft is None


SAMPLES = Path(__file__).parents[2] / "sample_tracks"
WENDLE = FixGiven(48.35, -24.7, "WND", "vor", -8.0)
QUENO = FixGiven(48.205765, -24.973102, "QUENO", "waypoint", -8.0)


@pytest.fixture(scope="module")
def sample():
    """The sample flight of a missed approach with its hold at the fix of the reversal, and a second approach to the runway."""
    return draft(analyzer.read_track(SAMPLES / "missed_and_hold.csv"), WENDLE)


def test_what_an_earlier_approach_shows_is_drafted_too(sample):
    """Charted: climb to 1,200 ft, right to WND at 3,000 ft, hold inbound 031 with right turns; minimum 640 ft."""
    procedure = sample.procedure
    missed, (hold,) = procedure.missed_approach, procedure.holds
    assert (missed.turn, missed.to, missed.course_deg) == ("right", "WND", None)
    assert missed.altitude_ft == pytest.approx(3000.0, abs=100.0)
    assert missed.climb_ft == pytest.approx(1200.0, abs=150.0)
    assert procedure.minimum.altitude_ft == pytest.approx(640.0, abs=100.0)
    assert (hold.name, hold.role, hold.turn, hold.latitude_deg) == ("WND", "missed-approach", "right", None)
    assert hold.inbound_course_deg == pytest.approx(31.0, abs=5.0)


def test_levels_do_not_rise_on_the_way_in(sample):
    assert sample.procedure.warnings == ()
    levels = list(sample.procedure.altitudes.by_leg().values())
    assert levels == sorted(levels, reverse=True)


@pytest.mark.parametrize(
    ("log", "fix", "outside"),
    [
        # the lap flown by the clock against the wind is outside by the chart as well: see the README of the samples
        ("missed_and_hold.csv", WENDLE, {"hold_timing"}),
        ("step_down.csv", QUENO, set()),
        ("clean.csv", WENDLE, set()),
    ],
)
def test_a_draft_finds_nothing_outside_that_its_chart_would_not(log, fix, outside):
    track = analyzer.read_track(SAMPLES / log)
    debriefed = analyzer.debrief(track, draft(track, fix).procedure)
    entries = [*debriefed.approaches, *(laps for hold in debriefed.holds for laps in hold.approaches)]
    assert {finding.check for entry in entries for finding in entry.findings if finding.verdict == "outside"} == outside


def test_a_parallel_entry_is_not_taken_for_a_direct_one_of_the_other_hand():
    """The turn back went on through the course by 40°; right turns and legs of 4 NM are charted."""
    drafted = draft(analyzer.read_track(SAMPLES / "step_down.csv"), QUENO)
    assert drafted.flown == "hold-parallel"
    reversal = drafted.procedure.reversal
    assert (reversal.turn, reversal.leg_length_nm, reversal.leg_by, reversal.leg_time_s) == ("right", 4.0, "along-track", None)
    assert "the outbound leg took" in drafted.remarks["reversal.leg_length_nm"]


def test_a_slow_bend_on_the_climb_is_not_drafted_as_straight_ahead():
    """Forty degrees at half a degree a second: no turn as one is flown, and no straight way ahead either."""
    bend = Turn("bend", 40.0, standard_rate_bank(120.0, 0.5))
    flown = away.then(away.APPROACH.flown, [Straight("climb", 60.0), bend, Straight("on", 120.0)])
    assert draft(FLOWN.of(flown), FIX).procedure.missed_approach is None


def test_a_minimum_is_none_that_the_drafted_approach_went_below():
    """The first approach levels at 1,020 ft before its missed approach; the second at 900 ft."""
    flight = missed_flights.missed_and_again()
    landing = flight.flown.begins["landing"]
    heights = [
        *(point for point in flight.heights if point[0] < landing),
        (landing, 2000.0),
        (landing + 70.0, 900.0),
        (9999.0, 900.0),
    ]
    procedure = draft(replace(FLOWN, altitude_ft=heights).of(flight.flown), FIX).procedure
    assert procedure.minimum.altitude_ft == 900.0
