"""The repairs: what each takes out, and that it takes out nothing else."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from flights import HEADER, METRES_IN_A_DEGREE, START, Flight, Reader, csv_text, flown, iso, rows, samples_of
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.errors import LogError
from analyzer.track.ground import drop_ground
from analyzer.track.order import drop_repeated_instants, drop_repeated_records, put_in_order
from analyzer.track.repair import REPAIRS, find_gaps, repair
from analyzer.track.samples import Samples
from analyzer.track.spikes import drop_altitude_spikes, drop_frozen, drop_jumps, drop_spikes
from analyzer.track.track import Note

FLIGHT = flown(200)
ALL = list(range(200))


def after(mend: Callable[[Samples], tuple[Samples, tuple[Note, ...]]], flight: Flight) -> tuple[list[int], list[int]]:
    """The places of the flight that are kept, and the counts in the notes."""
    samples, notes = mend(samples_of(flight))
    return samples.row.tolist(), [note.count for note in notes]


def without(*places: int) -> list[int]:
    return [place for place in ALL if place not in places]


class TestASoundFlight:
    @settings(deadline=None, max_examples=150)
    @given(
        seed=st.integers(0, 10**6),
        speed=st.floats(35.0, 250.0),
        latitude=st.floats(-65.0, 65.0),
        longitude=st.floats(-180.0, 180.0),
        noise_m=st.floats(0.0, 8.0),
        steps=st.sampled_from([(0.2, 0.2), (1.0, 1.0), (0.4, 4.0), (5.0, 5.0), (1.0, 30.0)]),
    )
    def test_no_sample_is_lost(
        self, seed: int, speed: float, latitude: float, longitude: float, noise_m: float, steps: tuple[float, float]
    ) -> None:
        random = np.random.default_rng(seed)
        times = np.concatenate(([0.0], np.cumsum(random.uniform(*steps, 150))))
        flight = flown(speed_mps=speed, at=(latitude, longitude), times=times)
        flight = replace(
            flight,
            latitude_deg=flight.latitude_deg + random.normal(0.0, noise_m, 151) / METRES_IN_A_DEGREE,
            altitude_ft=flight.altitude_ft + random.normal(0.0, 2.0 * noise_m, 151),
        )
        samples, _ = repair(samples_of(flight), "log.csv")
        assert samples.row.tolist() == list(range(151))
        assert np.isfinite(samples.altitude_m).all()

    def test_steep_turns_and_steep_descents_are_no_spikes(self) -> None:
        """60° of bank at 60 m/s turn at 16.2°/s (g tan 60° / v), here at one sample in 5 s; 6,000 ft/min down."""
        time = np.arange(0.0, 300.0, 5.0)
        rate, radius_m = np.radians(16.2), 60.0 / np.radians(16.2)
        flight = Flight(
            START.timestamp() + time,
            47.0 + radius_m * np.sin(rate * time) / METRES_IN_A_DEGREE,
            8.0 + radius_m * np.cos(rate * time) / METRES_IN_A_DEGREE / np.cos(np.radians(47.0)),
            np.maximum(20_000.0 - 100.0 * time, 2_000.0),
        )
        samples, _ = drop_spikes(samples_of(flight))
        assert len(samples) == len(time)
        assert np.isfinite(drop_altitude_spikes(samples)[0].altitude_m).all()

    def test_nothing_is_noted(self, read: Reader) -> None:
        assert read(csv_text(FLIGHT)).notes == ()

    def test_repairs_leave_their_input_alone(self) -> None:
        samples = samples_of(FLIGHT.moved(50, 2_000.0).moved(51, 9_000.0))
        for values in (samples.time_s, samples.latitude_rad, samples.longitude_rad, samples.altitude_m):
            values.flags.writeable = False
        for mend in REPAIRS:
            mend(samples)


class TestRange:
    def test_positions_out_of_range_are_dropped(self, read: Reader) -> None:
        lines = rows(FLIGHT)
        for place, (latitude, longitude) in {3: ("97.0", "8.0"), 4: ("47.0", "-190.0"), 9: ("-90.1", "8.0")}.items():
            cells = lines[place].split(",")
            lines[place] = ",".join([cells[0], latitude, longitude, cells[3]])
        track = read("\n".join([HEADER, *lines]))
        np.testing.assert_allclose(track.time_s, FLIGHT.time_s[without(3, 4, 9)], atol=1e-6)
        assert [note.count for note in track.notes if "out of range" in note.text] == [3]

    def test_no_fix_is_dropped_but_a_flight_over_the_origin_stays(self, read: Reader) -> None:
        unfixed = [f"{iso(START.timestamp() - 5 + place)},0.0,0.0,0" for place in range(5)]
        track = read("\n".join([HEADER, *unfixed, *rows(FLIGHT)]))
        np.testing.assert_allclose(track.time_s, FLIGHT.time_s, atol=1e-6)
        assert [note.count for note in track.notes if "without a fix" in note.text] == [5]
        origin = flown(200, at=(0.0, 0.0))
        origin.latitude_deg[7] = origin.longitude_deg[7] = 0.0
        assert not any("without a fix" in note.text for note in read(csv_text(origin)).notes)


class TestOrder:
    def test_a_reversed_log_is_turned_round(self) -> None:
        assert after(put_in_order, FLIGHT.take(slice(None, None, -1))) == (ALL[::-1], [200])

    @settings(deadline=None)
    @given(order=st.permutations(range(200)))
    def test_any_order_gives_the_same_samples(self, order: list[int]) -> None:
        samples, _ = put_in_order(samples_of(FLIGHT.take(order)))
        np.testing.assert_array_equal(samples.time_s, FLIGHT.time_s)
        np.testing.assert_allclose(np.degrees(samples.latitude_rad), FLIGHT.latitude_deg)

    def test_late_records_are_sorted_and_counted(self) -> None:
        order = [*range(10), 11, 12, 10, *range(13, 50), 51, 50, *range(52, 200)]
        samples, notes = put_in_order(samples_of(FLIGHT.take(order)))
        np.testing.assert_array_equal(samples.time_s, FLIGHT.time_s)
        assert [note.count for note in notes] == [2]

    def test_recordings_put_together_in_another_order_are_sorted(self) -> None:
        samples, _ = put_in_order(samples_of(FLIGHT.take([*range(120, 200), *range(120)])))
        np.testing.assert_array_equal(samples.time_s, FLIGHT.time_s)

    @pytest.mark.parametrize("places", [[60], [20, 77, 150], [0, 199]])
    def test_records_of_a_clock_that_jumps_are_dropped(self, places: list[int]) -> None:
        time = FLIGHT.time_s.copy()
        time[places] -= 619_660_800.0
        kept, counts = after(put_in_order, replace(FLIGHT, time_s=time))
        assert [place for place in kept if place not in places] == without(*places)
        assert kept == without(*places) or places[0] == 0
        assert counts in ([len(places)], [len(places) - 1])

    def test_a_clock_set_back_in_flight_keeps_the_longer_part(self) -> None:
        time = FLIGHT.time_s.copy()
        time[130:] -= 60.0
        kept, counts = after(put_in_order, replace(FLIGHT, time_s=time))
        assert len(kept) >= 130
        assert counts == [200 - len(kept)]
        assert (np.diff(time[kept]) >= 0.0).all()

    def test_a_clock_that_never_holds_is_an_error(self, read: Reader) -> None:
        time = START.timestamp() + np.arange(200.0) % 7 * 1000.0
        with pytest.raises(LogError, match=r"log\.csv: the times jump back 28 times while the positions go on"):
            read(csv_text(replace(FLIGHT, time_s=time)))


class TestRepeats:
    def test_unchanged_records_are_dropped(self) -> None:
        order = [0, 1, 1, 1, *range(2, 100), 99, *range(100, 200)]
        assert after(drop_repeated_records, FLIGHT.take(order))[1] == [3]

    def test_unchanged_means_altitude_too_even_where_there_is_none(self) -> None:
        flight = replace(FLIGHT, altitude_ft=np.full(200, np.nan))
        assert after(drop_repeated_records, flight.take([0, 0, *range(1, 200)]))[1] == [1]

    @pytest.mark.parametrize("place", [1, 50, 198])
    def test_the_next_position_under_a_stamp_given_before_is_dropped(self, place: int) -> None:
        time = FLIGHT.time_s.copy()
        time[place] = time[place - 1]
        kept, counts = after(drop_repeated_instants, replace(FLIGHT, time_s=time))
        assert kept == without(place) or place == 198
        assert counts == [1]
        assert len(kept) == 199

    def test_the_position_before_under_the_next_stamp_is_dropped(self) -> None:
        time = FLIGHT.time_s.copy()
        time[50] = time[51]
        assert after(drop_repeated_instants, replace(FLIGHT, time_s=time)) == (without(50), [1])

    def test_stamps_cut_to_whole_seconds_keep_the_first_of_each(self) -> None:
        flight = flown(200, step_s=0.2)
        kept, counts = after(drop_repeated_instants, replace(flight, time_s=np.floor(flight.time_s + 1e-6)))
        assert kept[:-1] == list(range(0, 195, 5))
        assert counts == [160]

    def test_an_instant_with_one_position_and_two_altitudes_keeps_one(self) -> None:
        flight = FLIGHT.take([0, 1, 1, *range(2, 200)])
        flight.altitude_ft[2] += 10.0
        assert after(drop_repeated_instants, flight)[1] == [1]


class TestFrozen:
    def freeze(self, flight: Flight, *runs: range) -> Flight:
        for run in runs:
            for values in (flight.latitude_deg, flight.longitude_deg):
                values[run] = values[run.start - 1]
        return flight

    def test_stale_positions_in_flight_are_dropped(self) -> None:
        flight = self.freeze(flown(200), range(10, 13), range(50, 51), range(190, 200))
        assert after(drop_frozen, flight) == (without(10, 11, 12, 50, *range(190, 200)), [14])

    def test_an_aircraft_at_rest_stays(self) -> None:
        flight = flown(200)
        flight = replace(flight, time_s=flight.time_s + np.where(np.arange(200) >= 40, 600.0, 0.0))
        flight = self.freeze(flight, range(1, 40))
        assert after(drop_frozen, flight) == (ALL, [])

    def test_an_aircraft_at_rest_stays_where_it_is_then_set_elsewhere(self) -> None:
        """It stops 60 m a second within 40 s, stands for a minute, and the next record is ten miles off, in flight."""
        north_m = np.concatenate(
            [np.cumsum(np.linspace(60.0, 0.0, 40)), np.full(60, 1200.0), 20_000.0 + 60.0 * np.arange(40.0)]
        )
        flight = flown(140)
        stopped = replace(flight, latitude_deg=47.0 + north_m / METRES_IN_A_DEGREE, longitude_deg=np.full(140, 8.0))
        assert after(drop_frozen, stopped) == (list(range(140)), [])

    def test_a_spike_does_not_make_an_aircraft_at_rest_move(self) -> None:
        flight = flown(60, speed_mps=0.0).moved(30, 3_000.0)
        assert after(drop_frozen, flight)[1] == []

    def test_a_position_that_never_changes_is_an_error(self, read: Reader) -> None:
        with pytest.raises(LogError, match=r"log\.csv: the position never changes: this log holds no flight"):
            read(csv_text(flown(60, speed_mps=0.0)))


class TestJumps:
    @settings(deadline=None)
    @given(places=st.sets(st.integers(2, 197), max_size=12), away_km=st.floats(3.0, 3000.0))
    def test_positions_out_of_reach_are_dropped_and_no_other(self, places: set[int], away_km: float) -> None:
        flight = flown(200)
        for place in places:
            flight = flight.moved(place, away_km * 1000.0 * (1 if place % 2 else -1))
        kept, counts = after(drop_jumps, flight)
        assert kept == without(*places)
        assert counts == ([len(places)] if places else [])

    @pytest.mark.parametrize("run", [range(14), range(60, 75), range(80, 109), range(186, 200)])
    def test_so_are_short_stretches_and_those_at_either_end(self, run: range) -> None:
        flight = flown(200)
        flight.longitude_deg[run] += 1.0
        assert after(drop_jumps, flight) == (without(*run), [len(run)])

    def test_however_many_they_are(self) -> None:
        flight = flown(6000)
        places = range(3, 5997, 7)
        flight.longitude_deg[places] += np.where(np.arange(len(places)) % 2, 1.0, -1.0)
        kept, counts = after(drop_jumps, flight)
        assert kept == [place for place in range(6000) if place not in places]
        assert counts == [len(places)]

    def test_a_long_stretch_stays_with_its_jumps_and_a_note(self) -> None:
        flight = flown(200)
        flight.longitude_deg[100:] += 1.0
        samples, notes = drop_jumps(samples_of(flight))
        assert len(samples) == 200
        assert [(note.count, "kept" in note.text) for note in notes] == [(1, True)]

    def test_a_log_that_jumps_all_the_time_is_an_error(self, read: Reader) -> None:
        flight = flown(200)
        flight.longitude_deg[::2] += 1.0
        with pytest.raises(LogError, match=r"100 of 200 positions are out of reach of the others at 350 m/s: several aircraft"):
            read(csv_text(flight))


class TestSpikes:
    @pytest.mark.parametrize("step_s", [0.2, 1.0, 5.0])
    @pytest.mark.parametrize("length", [1, 2, 3])
    def test_short_departures_are_dropped_and_no_other(self, step_s: float, length: int) -> None:
        flight = flown(200, step_s)
        away_m = 100.0 + 12.5 * (step_s * (length + 1)) ** 2
        run = range(90, 90 + length)
        for place in run:
            flight = flight.moved(place, away_m)
        assert after(drop_spikes, flight) == (without(*run), [length])

    def test_a_small_departure_is_left_to_the_smoothing(self) -> None:
        assert after(drop_spikes, flown(200).moved(90, 25.0)) == (ALL, [])

    def test_a_step_that_stays_is_no_spike(self) -> None:
        flight = flown(200)
        flight.latitude_deg[100:] += 200.0 / METRES_IN_A_DEGREE
        assert after(drop_spikes, flight) == (ALL, [])

    def test_across_180_degrees(self) -> None:
        flight = flown(200, at=(-17.0, 179.998)).moved(40, 300.0)
        assert len(set(np.sign(flight.longitude_deg))) == 2
        assert after(drop_spikes, flight) == (without(40), [1])

    @pytest.mark.parametrize("length", [1, 2, 3, 20])
    def test_altitudes_out_of_line_are_emptied_and_positions_stay(self, length: int) -> None:
        flight = flown(200)
        flight.altitude_ft[90 : 90 + length] += 2_000.0
        samples, notes = drop_altitude_spikes(samples_of(flight))
        assert np.flatnonzero(np.isnan(samples.altitude_m)).tolist() == list(range(90, 90 + length))
        assert samples.row.tolist() == ALL
        assert [note.count for note in notes] == [length]

    def test_a_coarse_altitude_is_no_spike(self) -> None:
        flight = flown(200)
        coarse = replace(flight, altitude_ft=np.round(flight.altitude_ft / 500.0 + np.arange(200) % 2 * 0.4) * 500.0)
        assert set(np.diff(coarse.altitude_ft)) == {-500.0, 0.0, 500.0}
        assert np.isfinite(drop_altitude_spikes(samples_of(coarse))[0].altitude_m).all()


class TestGround:
    def log(self) -> Flight:
        """Parked, taxi at 10 kt, a roll, 5 min of flight with a slow minute in it at 20 kt, a landing, a taxi."""
        speed = np.concatenate(
            [np.zeros(60), np.full(120, 5.0), np.linspace(5, 50, 20), np.full(120, 50.0), np.full(60, 10.0), np.full(120, 50.0)]
        )
        speed = np.concatenate([speed, np.linspace(50, 5, 20), np.full(90, 5.0)])
        north_m = np.cumsum(speed)
        count = len(speed)
        return Flight(
            START.timestamp() + np.arange(count),
            47.0 + north_m / METRES_IN_A_DEGREE,
            np.full(count, 8.0),
            np.full(count, 1500.0),
        )

    def test_the_taxi_at_either_end_is_left_out_and_the_slow_flight_stays(self) -> None:
        samples, notes = drop_ground(samples_of(self.log()))
        assert samples.row.tolist() == list(range(samples.row[0], samples.row[-1] + 1))
        # 15.4 m/s (30 kt) is passed 5 s into the roll of 20 s, and 15 s into the landing's.
        assert samples.row[0] == pytest.approx(60 + 120 + 5, abs=2)
        assert samples.row[-1] == pytest.approx(60 + 120 + 20 + 300 + 15, abs=2)
        assert [note.count for note in notes] == [samples.row[0], len(self.log()) - 1 - samples.row[-1]]
        assert samples.takes_off
        assert not drop_ground(samples_of(self.log().take(slice(300, None))))[0].takes_off

    def test_a_log_that_never_flies_stays_whole_and_says_so(self) -> None:
        samples, notes = drop_ground(samples_of(self.log().take(slice(0, 180))))
        assert len(samples) == 180
        assert [note.text.startswith("never faster than 10 kt") for note in notes] == [True]


class TestRecorded:
    def test_one_value_all_along_is_not_believed(self, read: Reader) -> None:
        lines = [f"{row},{100 + place % 7},{5.0},{4200},," for place, row in enumerate(rows(FLIGHT))]
        track = read("\n".join([HEADER + ",gs_kt,bank_deg,pressure_alt_ft,tas_kt,", *lines]))
        assert set(track.recorded) == {"ground_speed_mps", "pressure_altitude_m"}
        assert [(note.count, note.text) for note in track.notes] == [(200, "the recorded bank is stuck at one value: not used")]
        assert {column.name for column in track.columns if column.quantity == "unused"} == {"bank_deg", "tas_kt"}

    def test_a_short_log_may_well_be_level(self, read: Reader) -> None:
        track = read("\n".join([HEADER + ",bank_deg", *(row + ",0.0" for row in rows(flown(30)))]))
        assert set(track.recorded) == {"bank_rad"}


class TestGaps:
    @pytest.mark.parametrize(
        ("step_s", "hole_s", "gaps", "holes"),
        [(1.0, 46.0, 1, 0), (1.0, 45.0, 0, 1), (1.0, 3.0, 0, 0), (1.0, 3.5, 0, 1), (12.0, 59.0, 0, 1), (12.0, 61.0, 1, 0)],
    )
    def test_more_than_45_s_and_five_steps_is_a_gap(self, step_s: float, hole_s: float, gaps: int, holes: int) -> None:
        time = np.concatenate((np.arange(20) * step_s, 19 * step_s + hole_s + np.arange(20) * step_s))
        found, notes = find_gaps(time)
        assert [(gap.start_s, gap.end_s) for gap in found] == [(19 * step_s, 19 * step_s + hole_s)] * gaps
        assert [note.count for note in notes] == [1] * holes

    def test_the_longest_hole_is_told(self) -> None:
        notes = find_gaps(np.cumsum([1.0, 1, 1, 1, 7, 1, 1, 1, 12.5, 1, 1]))[1]
        assert [(note.count, note.text) for note in notes] == [
            (2, "2 holes of more than three steps but no gap, the longest 12.5 s")
        ]

    def test_gaps_reach_the_track(self, read: Reader) -> None:
        flight = flown(300)
        track = read(csv_text(flight.take([*range(100), *range(200, 300)])))
        assert [(gap.start_s, gap.end_s) for gap in track.gaps] == [(flight.time_s[99], flight.time_s[200])]


def test_too_few_samples_are_an_error(read: Reader) -> None:
    with pytest.raises(LogError, match=r"log\.csv: too short: 1 usable sample, and a track needs two"):
        read(csv_text(flown(200).take([0, 0])))


def test_all_at_once_with_every_count(read: Reader) -> None:
    """A log with every fault, whose notes name each."""
    flight = flown(400)
    flight = flight.moved(50, 20_000.0).moved(90, 400.0)
    for values in (flight.latitude_deg, flight.longitude_deg):
        values[121:124] = values[120]
    flight.altitude_ft[150] += 3_000.0
    order = [*range(200), 199, *range(200, 260), *range(340, 400)]
    order[10], order[11] = order[11], order[10]
    track = read(csv_text(flight.take(order)))
    counts = {note.text.split(" ", 1)[1].split(":")[0]: note.count for note in track.notes}
    assert counts == {
        "record out of order in time": 1,
        "record repeated unchanged": 1,
        "records with the position before, repeated in flight": 3,
        "position out of reach of the others at 350 m/s": 1,
        "position away from the path and back at once": 1,
        "altitude out of line with those around": 1,
        "hole of more than three steps but no gap, the longest 4.0 s": 1,
    }
    assert len(track.gaps) == 1
    assert len(track) == 400 - 80 - 5
