"""Attempts side by side: flights whose differences are known, flown with the tests' own simulation."""

from dataclasses import replace

import numpy as np
import pytest
from patterns import Pattern, fly_approach
from synthetic import CALM, CHARTED, START_S, Chart, Log

import analyzer
from analyzer.errors import AnalyzerError
from analyzer.library.compare import compare
from analyzer.report.pictures.compare_align import align

WIND = (180.0, 20.0)  # from behind outbound
DAY_S = 86_400.0


def flight(pattern: Pattern, day: int = 0, chart: Chart = CHARTED):
    approach = fly_approach(pattern)
    track = Log(noise_m=1.0, seed=day, start_s=START_S + day * DAY_S).of(approach.flown)
    return analyzer.debrief(replace(track, file=f"day{day}.csv"), chart.at())


@pytest.fixture(scope="module")
def three():
    """Outbound ever shorter, given in another order than flown."""
    flights = [flight(Pattern(outbound_s=seconds), day) for day, seconds in enumerate((150.0, 130.0, 110.0))]
    return compare([flights[2], flights[0], flights[1]])


def row(comparison, key):
    return next(row for row in comparison.rows if row.figure.key == key)


def values(comparison, key):
    return [None if value is None else value.value for value in row(comparison, key).values]


def test_attempts_stand_in_the_order_flown(three):
    assert [attempt.debrief.motion.track.file for attempt in three.attempts] == ["day0.csv", "day1.csv", "day2.csv"]
    assert [attempt.number for attempt in three.attempts] == [1, 2, 3]


def test_the_outbound_length_differs_by_what_was_flown(three):
    """Twenty seconds at 120 kt are two thirds of a mile."""
    lengths = values(three, "outbound_length_nm")
    assert np.diff(lengths) == pytest.approx([-2.0 / 3.0] * 2, abs=0.02)
    assert np.diff(values(three, "farthest_nm")) == pytest.approx([-2.0 / 3.0] * 2, abs=0.03)
    change = row(three, "farthest_nm").change
    assert change == pytest.approx(-4.0 / 3.0, abs=0.04)
    assert row(three, "farthest_nm").best == (3,)


def test_three_attempts_make_no_claim(three):
    assert not any(row.claimed for row in three.rows)
    assert three.to_dict()["attempts_needed_for_a_trend"] > 3


def test_what_changed_most_is_told(three):
    """A mile and a third each, and nothing else by as much as a pilot would notice; the distance as the pilot's own."""
    assert {row.figure.key for row in three.changed_most} == {"established_nm", "farthest_still_air_nm", "outbound_length_nm"}


def test_what_did_not_change_is_within_its_error(three):
    """The bank was the same in all three."""
    assert row(three, "reversal_bank_deg").change == pytest.approx(0.0, abs=0.5)
    assert row(three, "steepest_bank_deg").changed is None


def test_the_wind_is_taken_off_the_pilots_own_part():
    """The same turns from the same place in still air, flown, against the flight in the wind with the wind taken off."""
    windy = fly_approach(Pattern(wind=WIND, outbound_s=120.0, leg_s=45.0))
    chart = CHARTED.at()
    debriefed = analyzer.debrief(Log(noise_m=1.0, start_s=START_S + DAY_S).of(windy.flown), chart)
    (approach,) = debriefed.approaches
    begun = approach.figures.outbound_length_m
    seconds = begun / 1852.0 / 120.0 * 3600.0  # in still air to the same place
    shape = {part.name: part.duration_s for part in approach.reversal.parts}
    calm = flight(Pattern(wind=CALM, outbound_s=seconds, leg_s=shape["offset_leg"]))
    comparison = compare([calm, debriefed])
    still, own = values(comparison, "farthest_nm")[0], values(comparison, "farthest_still_air_nm")
    assert own[0] == pytest.approx(still, abs=0.05)  # nothing to take off
    assert values(comparison, "farthest_nm")[1] > own[1] + 0.2  # the tailwind carried it farther
    assert own[1] == pytest.approx(still, abs=0.3)


def test_several_attempts_in_one_log_are_told_apart():
    chart = Chart().at()
    one, two = (fly_approach(Pattern(outbound_s=seconds)).flown for seconds in (120.0, 150.0))
    both = [
        analyzer.debrief(Log(start_s=START_S).of(one), chart),
        analyzer.debrief(Log(start_s=START_S + 7200.0).of(two), chart),
    ]
    comparison = compare(both)
    assert len(comparison.attempts) == 2


@pytest.mark.parametrize("count", [0, 1])
def test_fewer_than_two_attempts_are_refused(count, three):
    flights = [three.attempts[0].debrief][:count] or [flight(Pattern(outbound_s=60.0, arrival_s=30.0), 9)]
    with pytest.raises(AnalyzerError, match="a comparison needs at least two"):
        compare(flights)


def test_another_procedure_is_refused(three):
    other = flight(Pattern(), 5, Chart(within_nm=12.0))
    with pytest.raises(AnalyzerError, match="another procedure, standard"):
        compare([three.attempts[0].debrief, other])


def test_another_clearance_is_refused(three):
    """The same flight is outside by one and inside by the other: side by side their verdicts would mislead."""
    track = three.attempts[1].debrief.motion.track
    other = analyzer.debrief(track, CHARTED.at(), cleared="vectors")
    with pytest.raises(AnalyzerError, match="line of minimums or clearance"):
        compare([three.attempts[0].debrief, other])


class TestAligned:
    def test_every_part_begins_and_ends_at_the_same_place(self, three):
        aligned = align(three.attempts)
        edges = [segment.start for segment in aligned.segments] + [aligned.segments[-1].end]
        assert edges[0] == 0.0
        assert edges[-1] == pytest.approx(1.0)
        assert np.all(np.diff(edges) > 0.0)
        for attempt, series, position in zip(three.attempts, aligned.series, aligned.positions, strict=True):
            for part in attempt.approach.reversal.parts[1:]:
                segment = next(s for s in aligned.segments if s.name == part.name.replace("_", " "))
                inside = (series.time_s > part.start_s + 0.1) & (series.time_s < part.end_s - 0.1)
                assert np.all(position[inside] >= segment.start - 1e-9)
                assert np.all(position[inside] <= segment.end + 1e-9)
                middle = np.interp((part.start_s + part.end_s) / 2.0, series.time_s, position)
                assert middle == pytest.approx((segment.start + segment.end) / 2.0, abs=0.002)

    def test_time_runs_forward(self, three):
        for position in align(three.attempts).positions:
            known = position[np.isfinite(position)]
            assert np.all(np.diff(known) >= -1e-12)

    def test_different_shapes_are_aligned_by_their_legs(self):
        flights = [flight(Pattern(), 1), flight(Pattern(shape="80/260"), 2)]
        comparison = compare(flights)
        assert {attempt.approach.reversal.flown for attempt in comparison.attempts} == {"45/180", "80/260"}
        assert [s.name for s in align(comparison.attempts).segments] == ["arrival", "outbound", "reversal", "inbound", "final"]
