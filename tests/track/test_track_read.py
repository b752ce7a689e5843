"""A file to a track: opening, several aircraft, and logs that were really recorded or simulated, where they are at hand."""

import csv
import dataclasses
import gzip
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import true_flights
from flights import HEADER, Flight, Reader, csv_text, flown, iso, rows

from analyzer.errors import LogError
from analyzer.track.read import ReadOptions, read_track

SHARED = Path(__file__).resolve().parents[3] / "shared"
TRUTH = sorted((SHARED / "truth" / "dev").glob("d*"))
REAL = SHARED / "real"
FLIGHT = flown(120)


def gpx_text(*flights: Flight) -> str:
    """GPX with one track a flight."""
    body = ""
    for flight in flights:
        fields = zip(flight.time_s, flight.latitude_deg, flight.longitude_deg, strict=True)
        points = (
            f'<trkpt lat="{latitude}" lon="{longitude}"><ele>900</ele><time>{iso(time_s)}</time></trkpt>'
            for time_s, latitude, longitude in fields
        )
        body += f"<trk><trkseg>{''.join(points)}</trkseg></trk>"
    return f'<gpx version="1.1">{body}</gpx>'


class TestOpening:
    def test_the_format_is_told_by_the_content_and_not_by_the_name(self, read: Reader) -> None:
        assert read(csv_text(FLIGHT), name="log.gpx").format == "CSV (comma)"

    def test_arrays_cannot_be_written(self, read: Reader) -> None:
        with pytest.raises(ValueError, match="read-only"):
            read(csv_text(FLIGHT)).time_s[0] = 0.0

    def test_the_same_file_gives_the_same_track(self, read: Reader) -> None:
        one, two = read(csv_text(FLIGHT)), read(csv_text(FLIGHT))
        for field in dataclasses.fields(one):
            np.testing.assert_equal(getattr(one, field.name), getattr(two, field.name))


class TestSeveralAircraft:
    other = flown(120, at=(48.0, 9.0))

    def mixed(self, name: str, one: str = "AB-CDE", two: str = "FG-HIJ") -> str:
        pairs = zip(rows(FLIGHT), rows(self.other), strict=True)
        return "\n".join(
            [f"{HEADER},{name}", *(line for first, second in pairs for line in (f"{first},{one}", f"{second},{two}"))]
        )

    @pytest.mark.parametrize("name", ["icao24", "Registration", "tail number", "Aircraft ID", "pilot", "squadron"])
    def test_rows_of_two_are_refused_with_the_column_and_the_choice(self, read: Reader, name: str) -> None:
        with pytest.raises(LogError) as caught:
            read(self.mixed(name))
        message = f"column {name!r} tells several aircraft apart: AB-CDE (120 rows), FG-HIJ (120 rows). Keep one: --only"
        assert message in str(caught.value)

    @pytest.mark.parametrize("value", ["FG-HIJ", "fg-hij "])
    def test_one_can_be_chosen(self, read: Reader, value: str) -> None:
        track = read(self.mixed("tail"), ReadOptions(only=("Tail", value)))
        np.testing.assert_allclose(np.degrees(track.latitude_rad), self.other.latitude_deg, atol=1e-7)
        assert track.notes[0].text == f"only rows with Tail = {value} are read"

    def test_one_after_the_other_is_refused_where_the_column_names_an_airframe(self, read: Reader) -> None:
        later = dataclasses.replace(FLIGHT, time_s=FLIGHT.time_s + 9000.0)
        lines = [f"{row},a" for row in rows(FLIGHT)] + [f"{row},b" for row in rows(later)]
        with pytest.raises(LogError, match=r"column 'icao24' tells several aircraft apart.*Keep one: --only icao24=a"):
            read("\n".join([HEADER + ",icao24", *lines]))
        assert len(read("\n".join([HEADER + ",callsign", *lines]))) == 240

    def test_tracks_of_two_aircraft_in_one_file_are_refused(self, read: Reader) -> None:
        content = gpx_text(FLIGHT, self.other)
        with pytest.raises(LogError, match=r"'track number' tells several aircraft apart.*--only \"track number=1\""):
            read(content)
        assert len(read(content, ReadOptions(only=("track number", "2")))) == 120

    def test_a_column_that_changes_without_jumps_is_of_no_account(self, read: Reader) -> None:
        lines = [f"{row},{'climb' if place < 50 else 'descent'}" for place, row in enumerate(rows(FLIGHT))]
        assert len(read("\n".join([HEADER + ",phase", *lines]))) == 120

    @pytest.mark.parametrize("name", ["on_ground", "attempt", "aircraft title"])
    def test_a_state_that_changes_where_one_aircraft_is_set_elsewhere_is_none(self, read: Reader, name: str) -> None:
        away = flown(120, at=(48.0, 9.0))
        later = dataclasses.replace(away, time_s=away.time_s + 120.0)
        lines = [f"{row},1" for row in rows(FLIGHT)] + [f"{row},2" for row in rows(later)]
        assert len(read("\n".join([f"{HEADER},{name}", *lines]))) == 240

    def test_a_choice_that_is_not_there_is_refused(self, read: Reader) -> None:
        with pytest.raises(LogError, match=r"no column 'id' to choose rows by\. The columns are time_utc, lat_deg"):
            read(self.mixed("tail"), ReadOptions(only=("id", "x")))
        with pytest.raises(LogError, match=r"no row has 'x' in column 'tail'. It holds AB-CDE \(120 rows\), FG-HIJ"):
            read(self.mixed("tail"), ReadOptions(only=("tail", "x")))


@pytest.mark.parametrize("flight", true_flights.STORED)
@pytest.mark.parametrize("form", true_flights.LOGS)
def test_each_sample_of_a_simulated_flight_lies_on_it(flight: str, form: str) -> None:
    """The logs wander by some 2 m on either axis; a false stamp would put a sample 30 m off."""
    track, truth = true_flights.log(flight, form), true_flights.states(flight)
    second = track.time_s - truth.start_s
    assert second == pytest.approx(np.round(second), abs=1e-6)
    k = np.round(second).astype(int)
    north = (np.degrees(track.latitude_rad) - truth.latitude_deg[k]) * 111_195.0
    east = (np.degrees(track.longitude_rad) - truth.longitude_deg[k]) * 111_195.0 * np.cos(track.latitude_rad)
    assert np.hypot(north, east).max() < (0.05 if form == "clean.csv" else 20.0)
    assert np.abs(track.altitude_m / 0.3048 - truth.altitude_ft[k]).max() < (0.51 if form == "clean.csv" else 60.0)
    counted = {"sparse.csv": -(-len(truth.latitude_deg) // 5), "irregular.csv": len(np.unique(k))}
    assert len(track) == counted.get(form, len(truth.latitude_deg))


@pytest.mark.skipif(not TRUTH, reason="the simulated flights are not at hand")
class TestSimulated:
    @pytest.mark.parametrize("folder", TRUTH, ids=lambda folder: folder.name)
    @pytest.mark.parametrize("name", ["log_clean.csv", "log_noisy.csv", "log_sparse.csv", "log_irregular.csv", "log.gpx"])
    def test_each_sample_lies_on_the_flight(self, folder: Path, name: str) -> None:
        """The noise of the logs has a standard deviation of 5 m at most; a false stamp would put a sample 30 m off."""
        track = read_track(folder / name)
        with gzip.open(folder / "truth.csv.gz", "rt") as stream:
            truth = list(csv.DictReader(stream))
        time = np.array([datetime.fromisoformat(row["time_utc"]).timestamp() for row in truth])
        latitude, longitude = (np.interp(track.time_s, time, [float(row[key]) for row in truth]) for key in ("lat", "lon"))
        north = (np.degrees(track.latitude_rad) - latitude) * 111_195.0
        east = (np.degrees(track.longitude_rad) - longitude) * 111_195.0 * np.cos(track.latitude_rad)
        assert np.hypot(north, east).max() < (0.05 if name == "log_clean.csv" else 20.0)
        text = (folder / name).read_text(encoding="utf-8")
        distinct = (
            text.count("<trkpt") if name == "log.gpx" else len({line.split(",")[0] for line in text.split("\n")[1:] if line})
        )
        assert len(track) == distinct


@pytest.mark.skipif(not REAL.is_dir(), reason="the recorded logs are not at hand")
class TestRecorded:
    FEET = ReadOptions(units={"altitude": "ft"})

    @pytest.mark.parametrize("name", ["brussels_vor", "kingston", "liege_sprimont", "pixair_toulouse", "noisy_time_issue"])
    def test_an_altitude_without_a_unit_is_asked_for_and_then_read(self, name: str) -> None:
        path = REAL / "adsb" / f"{name}.csv"
        with pytest.raises(LogError, match="the unit of the altitude column 'altitude' is not stated"):
            read_track(path)
        track = read_track(path, self.FEET)
        # of a log that was filled in, the points between the true fixes are left out
        assert (0.3 if track.filled_in else 0.7) * (path.read_text().count("\n") - 1) < len(track)
        assert np.nanmax(track.altitude_m) < 40_000 * 0.3048

    def test_state_vectors_as_found_in_the_wild(self) -> None:
        units = {"altitude": "m", "pressure_altitude": "m", "vertical_speed": "m/s"}
        track = read_track(REAL / "adsb" / "ADSB_raw_sample.csv", ReadOptions(units=units))
        assert {note.count for note in track.notes if "repeated in flight" in note.text} == {771}
        assert set(track.recorded) == {"pressure_altitude_m", "vertical_speed_mps"}
        # climbs and descents of an airliner: the pressure altitude of 19,144 m in the file is no altitude it can have had
        assert np.nanmax(track.altitude_m) < 9_500.0

    def test_two_altitudes_are_asked_about(self) -> None:
        with pytest.raises(LogError, match="'altitude' and 'geoaltitude' could each be altitude"):
            read_track(REAL / "adsb" / "noisy_landing.csv")

    def test_recorded_values_that_are_stuck_are_not_believed(self) -> None:
        units = {"altitude": "ft", "ground_speed": "kt", "track": "deg", "bank": "deg", "true_airspeed": "kt"}
        track = read_track(REAL / "adsb" / "inflight_refuelling.csv", ReadOptions(units=units))
        assert track.recorded == {}
        assert sum(note.text.startswith("the recorded") and "stuck at one value" in note.text for note in track.notes) == 4

    def test_a_time_base_that_jumps_and_integers_of_ten_millionths(self) -> None:
        options = ReadOptions(units={"altitude": "cm"}, start=datetime(2018, 6, 1, 12, tzinfo=UTC))
        track = read_track(REAL / "light_aircraft" / "Flt9_aircraft_FDR1.csv", options)
        assert {note.count for note in track.notes if "clock jumps" in note.text} == {20}
        assert track.interval_s == pytest.approx(0.2, abs=1e-6)
        assert 50.0 < np.degrees(track.latitude_rad).min() < np.degrees(track.latitude_rad).max() < 51.0
        assert np.nanmax(track.altitude_m) < 1_500.0

    def test_recorded_roll_and_pitch_are_read(self) -> None:
        track = read_track(REAL / "research" / "deepwave_rf01.csv.gz")
        assert len(track) > 26_300
        assert {"bank_rad", "pitch_rad", "pressure_altitude_m"} == set(track.recorded)
        assert track.gaps == ()

    def test_what_is_no_log_is_refused(self) -> None:
        with pytest.raises(LogError, match="no column for time among id, filename"):
            read_track(REAL / "navaids" / "navaids.csv")
