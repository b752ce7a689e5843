"""Missing data never make a finding inside, and checks report in their order."""

from dataclasses import replace

import numpy as np
import pytest
from checked import NOISY, PLAIN, all_of, debriefed, of_pattern, one_of
from patterns import Approach, Pattern, fly_approach
from synthetic import FT, KT, START_S, Chart

from analyzer import debrief
from analyzer.checks.overall import overall
from analyzer.checks.run import CHECKS
from analyzer.errors import LogError
from analyzer.physics import atmosphere
from analyzer.track.track import Track

FLOORS = {"arrival": 2900.0, "outbound": 2700.0, "reversal": 2700.0, "inbound": 2000.0, "final": 700.0}
CHART = Chart(floors_ft=FLOORS)
# A procedure turn as charted, without fixes, maximum altitudes, target speeds, limits of its leg, runway, glide path, missed
# approach or published hold, by a standard without average bank and entry sector.
NOT_ON_THIS_CHART = {
    "no_reversal", "hold_entry", "hold_timing", "arc_radius", "final_alignment", "glide_path", "stabilised_descent",
    "reversal_shape", "entry_sector", "step_down", "maximum_altitude", "leg_limit", "descent_rate", "average_bank",
    "target_speed", "missed_point", "missed_climb", "missed_turn", "missed_course", "missed_altitude",
    "hold_turn", "hold_course", "hold_altitude", "hold_drift",
}  # fmt: skip


def approach() -> Approach:
    return fly_approach(replace(PLAIN, arrival_deg=-60.0, wind=(40.0, 12.0), intercept=True))


def test_findings_are_in_the_order_of_the_checks():
    flown = approach()
    heights = [(0.0, 3000.0), (flown.outbound_passage_s + 30.0, 3000.0), (flown.outbound_passage_s + 60.0, 2750.0)]
    heights += [
        (flown.rolled_out_s + 20.0, 2750.0),
        (flown.rolled_out_s + 90.0, 2050.0),
        (flown.inbound_passage_s + 20.0, 2050.0),
    ]
    heights += [(flown.inbound_passage_s + 55.0, 1600.0)]
    found = [finding.check for finding in debriefed(flown, replace(NOISY, altitude_ft=heights), CHART).findings]
    assert list(dict.fromkeys(found)) == [check for check in CHECKS if check not in NOT_ON_THIS_CHART]


@pytest.mark.parametrize("log", ["complete", "no altitude", "a gap", "cut in the turn", "cut inbound", "every 5 s"])
def test_findings_are_well_formed(log):
    flown = approach()
    logs = {
        "complete": NOISY,
        "no altitude": replace(NOISY, altitude_ft=None),
        "a gap": replace(NOISY, hole_s=(flown.begin("reversal_turn") + 30.0, flown.begin("reversal_turn") + 50.0)),
        "cut in the turn": replace(NOISY, end_s=flown.begin("reversal_turn") + 20.0),
        "cut inbound": replace(NOISY, end_s=flown.rolled_out_s + 40.0),
        "every 5 s": replace(NOISY, step_s=5.0),
    }
    result = debriefed(flown, logs[log], CHART)
    assert result.findings
    for finding in result.findings:
        assert finding.check in CHECKS
        assert finding.leg in {"arrival", "outbound", "reversal", "inbound", "final"}
        assert finding.sentence.endswith(".")
        assert finding.source
        assert (finding.verdict == "not assessed") == (finding.reason is not None)
        if finding.verdict in ("inside", "outside", "too close to call") and finding.check not in (
            "reversal_side",
            "established",  # or not: there is no margin
        ):
            assert finding.margin is not None
            assert finding.sd is not None
            assert (finding.margin > 0.0) == (finding.verdict == "inside") or finding.verdict == "too close to call"
        if finding.place is not None and finding.part is not None:
            part = result.reversal.part(finding.part)
            assert part is not None
            assert part.start_s - 1.5 <= finding.place.time_s <= part.end_s + 1.5


def test_no_altitude():
    result = debriefed(approach(), replace(NOISY, altitude_ft=None), CHART)
    for check in ("altitude_floor", "speed_limit"):
        assert {finding.verdict for finding in all_of(result, check)} == {"not assessed"}
    assert "inside" not in {finding.verdict for finding in all_of(result, "descent_timing")}
    (distance,) = all_of(result, "distance_limit")
    assert distance.verdict == "inside"  # needs none
    assert "slant_nm" not in distance.details


def test_too_little_turning_for_a_wind():
    flown = fly_approach(PLAIN)
    result = debriefed(flown, replace(NOISY, end_s=flown.begin("reversal_turn") + 20.0), CHART)
    assert result.figures.wind is None
    for check in ("offset_heading", "speed_limit"):
        (finding,) = all_of(result, check)
        assert finding.verdict == "not assessed"
        assert finding.reason is not None
        assert "wind" in finding.reason


def test_a_log_that_ends_before_established():
    flown = fly_approach(PLAIN)
    result = debriefed(flown, replace(NOISY, end_s=flown.begin("reversal_turn") + 40.0), CHART)
    for check in ("distance_limit", "intercept"):
        (finding,) = all_of(result, check)
        assert finding.verdict == "not assessed"
        assert finding.reason is not None
        assert "ends before" in finding.reason
    far = fly_approach(replace(PLAIN, outbound_s=280.0))
    result = debriefed(far, replace(NOISY, end_s=far.begin("reversal_turn") + 60.0), CHART)
    assert [finding.verdict for finding in all_of(result, "distance_limit")] == ["outside"]  # it can only have gone farther


def test_an_unfinished_turn_and_leg_are_not_assessed():
    flown = fly_approach(PLAIN)
    result = debriefed(flown, replace(NOISY, end_s=flown.begin("reversal_turn") + 50.0), CHART)
    assert one_of(result, "turn_bank", "reversal_turn").verdict == "not assessed"
    assert one_of(result, "turn_bank", "offset_turn").verdict == "inside"
    assert one_of(result, "altitude_floor", leg="reversal").verdict == "not assessed"
    assert one_of(result, "altitude_floor", leg="outbound").verdict == "inside"
    assert one_of(result, "speed_limit").verdict == "not assessed"


def test_a_gap_in_the_reversal():
    flown = approach()
    turn = flown.begin("reversal_turn")
    result = debriefed(flown, replace(NOISY, hole_s=(turn + 30.0, turn + 50.0)), CHART)
    assert one_of(result, "intercept").verdict == "not assessed"
    assert one_of(result, "turn_bank", "reversal_turn").verdict == "not assessed"
    # in 20 s the aircraft cannot fly the miles left to the limit, nor slow down again from 200 kt
    assert (one_of(result, "distance_limit").verdict, one_of(result, "speed_limit").verdict) == ("inside", "inside")
    # at 1,500 ft/min down and up again 250 ft are lost in 20 s, and 300 ft are there
    assert {finding.leg: finding.verdict for finding in all_of(result, "altitude_floor")}["reversal"] == "inside"
    assert overall(result.findings, result.reversal)[0] == "not assessed"


@pytest.mark.parametrize(("limit_nm", "verdict"), [(9.0, "inside"), (None, "not assessed")])
def test_the_distance_over_a_hole_is_at_least_that_logged(limit_nm, verdict):
    # 60 s about the farthest point, 7.7 NM out: at 120 kt there is room for a mile out and back, and no more
    flown = approach()
    turn = flown.begin("reversal_turn")
    whole = one_of(debriefed(flown, NOISY, CHART), "distance_limit")
    close = replace(CHART, within_nm=limit_nm or round(float(whole.measured) + 0.2, 1))
    result = debriefed(flown, replace(NOISY, hole_s=(turn - 10.0, turn + 50.0)), close)
    finding = one_of(result, "distance_limit")
    assert finding.verdict == verdict
    assert "at least" in finding.sentence
    assert finding.measured <= whole.measured
    assert finding.measured + 2.0 * finding.sd >= whole.measured


@pytest.mark.parametrize(("floor_ft", "verdict"), [(2900.0, "not assessed"), (2000.0, "inside")])
def test_a_minimum_is_kept_over_a_hole_too_short_to_go_below_it(floor_ft, verdict):
    out = STEPS.outbound_passage_s
    chart = replace(CHART, floors_ft={"outbound": floor_ft})
    track = replace(NOISY, altitude_ft=3000.0).of(STEPS.flown)
    second, height = track.time_s - START_S, track.altitude_m.copy()
    height[(second > out + 30.0) & (second < out + 65.0)] = np.nan
    (one,) = debrief(replace(track, altitude_m=height), chart.at()).approaches
    finding = one_of(one, "altitude_floor", leg="outbound")
    assert finding.verdict == verdict
    assert ("Lowest logged" in finding.sentence) == (verdict == "not assessed")


def test_figures_of_a_part_with_a_long_hole_are_not_printed():
    flown = approach()
    turn = flown.begin("reversal_turn")
    result = debriefed(flown, replace(NOISY, hole_s=(turn + 5.0, turn + 40.0)), CHART)
    (part,) = [one for one in result.figures.parts if one.part.name == "reversal_turn"]
    assert np.isnan([part.length_m, part.ground_speed_mps]).all()
    (other,) = [one for one in result.figures.parts if one.part.name == "outbound"]
    assert np.isfinite([other.length_m, other.ground_speed_mps]).all()


@pytest.mark.parametrize(
    ("before_ft", "after_ft", "hole_s", "verdict"),
    [
        (3000.0, 3000.0, (40.0, 100.0), "not assessed"),  # in a minute there is room for a dip of 750 ft
        (2000.0, 3000.0, (40.0, 100.0), "not assessed"),  # what was low may have been another leg
        (3000.0, 2000.0, (40.0, 100.0), "outside"),
        (2000.0, 3000.0, (100.0, 500.0), "inside"),  # six minutes before, it was another flight
    ],
)
def test_an_arrival_with_a_hole_counts_once_the_log_continues(before_ft, after_ft, hole_s, verdict):
    flown = fly_approach(replace(PLAIN, arrival_s=600.0))
    middle = sum(hole_s) / 2.0
    heights = [(0.0, before_ft), (middle, before_ft), (middle + 1.0, after_ft), (2000.0, after_ft + 50.0)]
    log = replace(NOISY, altitude_ft=heights, hole_s=hole_s)
    result = debriefed(flown, log, replace(CHART, floors_ft={"arrival": 2900.0}))
    assert one_of(result, "altitude_floor", leg="arrival").verdict == verdict


def test_two_levels_with_a_hole_of_altitudes_between_them():
    out = STEPS.outbound_passage_s
    found = all_of(recorded(missing=(out - 100.0, out - 45.0)), "altitude_hold")
    assert all(finding.measured is None or np.isfinite(finding.measured) for finding in found)


def test_an_80_260_is_judged_by_the_same_checks():
    result = of_pattern(Pattern(shape="80/260", roll_deg_s=5.0, intercept=True), chart=CHART)
    checks = {finding.check for finding in result.findings}
    assert set(CHECKS) - checks == NOT_ON_THIS_CHART | {"offset_heading", "offset_time", "descent_timing"}


def test_never_established():
    # Out 0.8 NM from the course, back parallel to it and past the fix: a reversal that was never completed.
    result = of_pattern(replace(PLAIN, leg_s=70.0), chart=CHART)
    assert result.reversal.established_s is None
    # without being established the reversal ends over the fix: its distance and speed are known
    (finding,) = all_of(result, "distance_limit")
    home = result.reversal.passage_home
    assert home is not None
    assert finding.place is not None
    assert finding.place.time_s <= home.time_s
    assert (finding.verdict, result.reversal.reversal_span_s[1]) == ("inside", home.time_s)
    assert [finding.verdict for finding in all_of(result, "speed_limit")] == ["inside"]
    # the approach fails, and the overshoot is measured nevertheless
    assert [finding.verdict for finding in all_of(result, "established")] == ["outside"]
    (finding,) = all_of(result, "intercept")
    assert (finding.verdict, finding.measured) == ("inside", pytest.approx(0.0, abs=0.01))


STEPS = fly_approach(replace(PLAIN, arrival_s=150.0, final_s=120.0))
DOWN = [(0.0, 3000.0), (STEPS.rolled_out_s + 15.0, 3000.0), (STEPS.rolled_out_s + 95.0, 2050.0), (1e5, 2050.0)]


def recorded(altitude_ft: float | list[tuple[float, float]] = 3000.0, missing: tuple[float, float] | None = None, **columns):
    """The approach with recorded columns, arrays over the log's instants, and altitude missing between two seconds."""
    track = replace(NOISY, altitude_ft=altitude_ft).of(STEPS.flown)
    second = track.time_s - START_S
    height = track.altitude_m.copy()
    if missing is not None:
        height[(second > missing[0]) & (second < missing[1])] = np.nan
    columns = {name: made(second) for name, made in columns.items()}
    (approach,) = debrief(replace(track, altitude_m=height, recorded=columns), CHART.at()).approaches
    return approach


def test_altitude_missing_where_it_was_left():
    approach = recorded(DOWN, missing=(STEPS.rolled_out_s + 5.0, STEPS.rolled_out_s + 70.0))
    finding = next(f for f in all_of(approach, "descent_timing") if "inbound altitude" in f.sentence)
    assert (finding.verdict, finding.reason) == ("not assessed", "the log has no altitude there")


def indicated(second, faster=(0.0, 0.0)):
    """120 kt true at 3,000 ft as an airspeed indicator shows it, and 5 kt more between two seconds."""
    calibrated = atmosphere.calibrated_airspeed(np.full(len(second), 120.0 * KT), np.full(len(second), 3000.0 * FT))
    return calibrated + np.where((second > faster[0]) & (second < faster[1]), 5.0 * KT, 0.0)


def test_greatest_recorded_airspeed_where_altitude_is_missing():
    out = STEPS.outbound_passage_s
    approach = recorded(
        missing=(out + 30.0, out + 110.0), indicated_airspeed_mps=lambda s: indicated(s, (out + 60.0, out + 70.0))
    )
    finding = one_of(approach, "speed_limit")
    assert finding.basis == "recorded"
    assert finding.measured == pytest.approx(120.2, abs=0.5)  # 120 kt true at 3,000 ft is 114.8 kt calibrated, and 5 kt more
    assert " ft" not in finding.sentence


def test_airspeed_recorded_in_part_is_not_used():
    approach = recorded(indicated_airspeed_mps=lambda s: np.where(s < STEPS.outbound_passage_s + 60.0, indicated(s), np.nan))
    assert one_of(approach, "speed_limit").basis == "estimate"


def test_bank_recorded_in_part_is_not_used():
    approach = recorded(bank_rad=lambda s: np.where(s < 60.0, 0.0, np.nan))
    assert {finding.basis for finding in all_of(approach, "turn_bank")} == {"estimate"}


def test_turns_of_a_filled_in_log_are_not_assessed():
    track = replace(NOISY.of(STEPS.flown), filled_in=True)
    (approach,) = debrief(track, CHART.at()).approaches
    banks = all_of(approach, "turn_bank")
    assert [finding.part for finding in banks] == ["offset_turn", "reversal_turn"]
    assert {finding.verdict for finding in banks} == {"not assessed"}


def test_altitude_missing_for_half_a_minute_could_hide_a_dip():
    out = STEPS.outbound_passage_s
    verdicts = {f.leg: f.verdict for f in all_of(recorded(missing=(out + 30.0, out + 65.0)), "altitude_floor")}
    assert verdicts["outbound"] == "not assessed"
    assert verdicts["reversal"] == "inside"


def test_a_track_without_samples_is_refused():
    none = np.array([])
    with pytest.raises(LogError, match="no samples"):
        debrief(Track("empty.csv", "csv", none, none, none, none, {}, (), (), ()), CHART.at())
