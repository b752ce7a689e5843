"""Which column is which: the user's word, the format's, the name's; and the errors where it cannot be told."""

from collections.abc import Sequence

import numpy as np
import pytest
from flights import HEADER, Flight, Reader, csv_text, flown, rows

from analyzer.errors import LogError
from analyzer.track.read import ReadOptions

FLIGHT = flown(60)


def log(header: str, extra: Sequence[str] = ("",), flight: Flight = FLIGHT) -> str:
    """The flight under another header; `extra` cells follow each row, in turn."""
    return "\n".join([header, *(row + extra[place % len(extra)] for place, row in enumerate(rows(flight)))]) + "\n"


def test_columns_tell_what_was_understood(read: Reader) -> None:
    track = read(log(HEADER + ",gs_kt,squawk,heading", [",116.6,7000,12", ",116.7,7000,13"]))
    told = {column.name: (column.quantity, column.unit, column.basis) for column in track.columns}
    assert told == {
        "time_utc": ("time", "ISO 8601", "by its name"),
        "lat_deg": ("latitude", "deg", "by its name"),
        "lon_deg": ("longitude", "deg", "by its name"),
        "alt_ft": ("altitude", "ft", "by its name"),
        "gs_kt": ("ground_speed", "kt", "by its name"),
        "squawk": ("unused", "", ""),
        "heading": ("unused", "", "could be heading, but true or magnetic is not stated"),
    }
    assert track.recorded["ground_speed_mps"][0] == pytest.approx(116.6 * 1852 / 3600)
    assert set(track.recorded) == {"ground_speed_mps"}


def test_local_times_are_read_with_the_offset_that_the_user_gives(read: Reader) -> None:
    """Two hours ahead of UTC: the flight was two hours earlier than its clock says."""
    utc = read(log(HEADER))
    local = read(log("local time,lat_deg,lon_deg,alt_ft").replace("Z,", ","), ReadOptions(utc_offset_s=7200.0))
    assert utc.time_s[0] - local.time_s[0] == 7200.0
    assert {column.name: column.basis for column in local.columns}["local time"] == "by its name, with --utc-offset"


def test_the_user_chooses_columns_and_units(read: Reader) -> None:
    options = ReadOptions(
        columns={"altitude": "HEIGHT", "heading": "heading", "latitude": "x"}, units={"altitude": "ft", "heading": "deg"}
    )
    track = read(log("time_utc,x,lon_deg,height,heading", [",-90", ",10"]), options)
    assert track.altitude_m[0] == pytest.approx(4000 * 0.3048)
    np.testing.assert_allclose(np.degrees(track.recorded["heading_rad"][:2]), [270.0, 10.0])
    assert [column.basis for column in track.columns if column.quantity == "altitude"] == [
        "chosen by the user, unit by the user"
    ]


def test_a_scaled_unit_is_a_number_and_a_unit(read: Reader) -> None:
    track = read(csv_text(FLIGHT), ReadOptions(units={"altitude": "0.01m"}))
    assert track.altitude_m[0] == pytest.approx(40.0)


def test_a_units_row_below_the_header_gives_the_units(read: Reader) -> None:
    track = read(log("time,lat,lon,alt\nUTC,deg,deg,[ft]"))
    assert len(track) == 60
    assert track.altitude_m[0] == pytest.approx(4000 * 0.3048)
    assert "unit from the row below" in next(column.basis for column in track.columns if column.quantity == "altitude")


def test_utc_is_taken_before_a_plain_time_and_that_before_elapsed(read: Reader) -> None:
    track = read(log("time_utc,lat,lon,alt_ft,elapsed_s,time", [",1,x", ",2,y"]))
    assert {column.name: column.basis for column in track.columns}["time"] == "time is taken from 'time_utc'"
    assert {column.name: column.basis for column in track.columns}["elapsed_s"] == "time is taken from 'time_utc'"


def test_pressure_altitude_is_no_second_altitude(read: Reader) -> None:
    track = read(log("time,lat,lon,gps_alt_ft,pressure_alt_ft", [",4100.0", ",4200.0"]))
    assert track.altitude_m[0] == pytest.approx(4000 * 0.3048)
    assert track.recorded["pressure_altitude_m"][0] == pytest.approx(4100 * 0.3048)


def test_pressure_altitude_stands_in_where_there_is_no_other_and_is_noted(read: Reader) -> None:
    track = read(log("time,lat,lon,baro_alt_ft"))
    assert track.altitude_m[0] == pytest.approx(4000 * 0.3048)
    np.testing.assert_array_equal(track.recorded["pressure_altitude_m"], track.altitude_m)
    assert any("no altimeter setting" in note.text for note in track.notes)


def test_what_lacks_a_unit_and_is_not_needed_is_left_out_with_a_note(read: Reader) -> None:
    track = read(log(HEADER + ",groundspeed,track,roll", [",116,10,1", ",117,11,2"]))
    assert track.recorded == {}
    note = next(note for note in track.notes if "no unit" in note.text)
    assert all(f"'{name}'" in note.text for name in ("groundspeed", "track", "roll"))
    assert "--unit ground_speed=" in note.text


def test_two_columns_of_a_quantity_that_is_not_needed_leave_it_out_with_a_note(read: Reader) -> None:
    track = read(log(HEADER + ",gs_kt,ground speed (kt)", [",116,117", ",117,118"]))
    assert track.recorded == {}
    assert any("'gs_kt' and 'ground speed (kt)' could each be ground_speed" in note.text for note in track.notes)


@pytest.mark.parametrize(
    ("header", "message"),
    [
        ("time,lat,lon,altitude", "the unit of the altitude column 'altitude' is not stated. Say which: --unit altitude=ft or"),
        ("when,lat,lon,alt_ft", "no column for time among when, lat, lon, alt_ft. Name it: --column time=NAME"),
        ("time,lat,alt_ft,east", "no column for longitude among time, lat, alt_ft, east. Name it: --column longitude=NAME"),
        ("time,lat,lon,level", "no column for altitude among time, lat, lon, level. Name it: --column altitude=NAME, or do"),
        ("time,lat,lon,gs_kt", "no column for altitude among time, lat, lon, gs_kt. Do without: --no-altitude"),
        ("time,lat,lon,height_m", "the column 'height_m' could be altitude, but what it is a height above is not stated."),
        (
            "local time,lat,lon,alt_ft",
            (
                "the column 'local time' could be time, but it is local time, and logs are read in UTC. Say how far its clock "
                "is ahead of UTC: --utc-offset +HH:MM, or take it for UTC: --column"
            ),
        ),
        (
            "item,price,shop,town",
            "no column for time, latitude, longitude and altitude among item, price, shop, town; is it a position log? Name",
        ),
    ],
)
def test_a_column_that_cannot_be_told_is_an_error_that_names_the_mend(read: Reader, header: str, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(log(header))
    assert f"log.csv: {message}" in str(caught.value)


def test_where_every_column_is_something_else_none_is_to_be_named_for_the_altitude(read: Reader) -> None:
    """The command that is offered works as it stands; NAME stood for a column that the log does not have."""
    with pytest.raises(LogError) as caught:
        read(log("time,lat,lon,gs_kt"))
    assert caught.value.options == ("--no-altitude",)


@pytest.mark.parametrize(
    ("header", "message"),
    [
        (
            HEADER + ",altitude_m",
            "'alt_ft' and 'altitude_m' could each be altitude. Choose one, such as --column altitude=alt",
        ),
        (
            HEADER + ",Alt (m)",
            "'alt_ft' and 'Alt (m)' could each be altitude. Choose one, such as --column altitude=\"Alt (m)\"",
        ),
        (HEADER + ",alt_ft", "'alt_ft' and 'alt_ft (2)' could each be altitude"),
        (HEADER + ",lat_deg", "'lat_deg' and 'lat_deg (2)' could each be latitude"),
        ("time,lat,lon,alt_ft,timestamp", "'time' and 'timestamp' could each be time"),
    ],
)
def test_two_columns_with_one_claim_are_an_error_that_names_both(read: Reader, header: str, message: str) -> None:
    with pytest.raises(LogError) as caught:
        read(log(header, [",1", ",2"]))
    assert message in str(caught.value)


def test_a_chosen_column_that_is_not_there_is_refused_with_the_nearest(read: Reader) -> None:
    with pytest.raises(LogError, match=r"no column 'alt_feet' for altitude\. Did you mean 'alt_ft'\? The columns are"):
        read(csv_text(FLIGHT), ReadOptions(columns={"altitude": "alt_feet"}))


def test_many_columns_are_not_all_listed(read: Reader) -> None:
    names = [f"a{number}_x" for number in range(30)]
    with pytest.raises(LogError, match="and 21 more"):
        read("time,lat,alt_ft," + ",".join(names) + "\n" + ",".join(["1"] * 33) + "\n")


class TestWithoutAltitude:
    options = ReadOptions(altitude_required=False)

    def test_a_log_may_lack_it(self, read: Reader) -> None:
        track = read(log("time,lat,lon,level"), self.options)
        assert not track.has_altitude
        assert np.isnan(track.altitude_m).all()
        assert any(note.text == "the log is read without altitude" for note in track.notes)

    def test_one_without_a_unit_is_left_out(self, read: Reader) -> None:
        track = read(log("time,lat,lon,altitude"), self.options)
        assert not track.has_altitude
        assert any("the unit of 'altitude' is not stated" in note.text for note in track.notes)

    def test_of_two_none_is_taken(self, read: Reader) -> None:
        track = read(log(HEADER + ",altitude_m", [",1", ",2"]), self.options)
        assert not track.has_altitude
        assert any("none is used" in note.text for note in track.notes)

    def test_one_that_is_clear_is_still_used(self, read: Reader) -> None:
        assert read(csv_text(FLIGHT), self.options).has_altitude


def test_an_altitude_column_that_is_never_filled_is_an_error(read: Reader) -> None:
    empty = "\n".join([HEADER, *(row.rpartition(",")[0] + "," for row in rows(FLIGHT))])
    with pytest.raises(LogError, match="no row has an altitude: 'alt_ft' holds none"):
        read(empty)


class TestCoordinates:
    def test_whole_numbers_beyond_the_range_are_ten_millionths_of_a_degree(self, read: Reader) -> None:
        lines = [
            f"{row.split(',')[0]},{round(latitude * 1e7)},{round(longitude * 1e7)},4000"
            for row, latitude, longitude in zip(rows(FLIGHT), FLIGHT.latitude_deg, FLIGHT.longitude_deg, strict=True)
        ]
        track = read("\n".join(["time,lat,lon,alt_ft", *lines]))
        np.testing.assert_allclose(np.degrees(track.latitude_rad), FLIGHT.latitude_deg, atol=1e-7)
        np.testing.assert_allclose(np.degrees(track.longitude_rad), FLIGHT.longitude_deg, atol=1e-7)
        assert any("1e-7 degrees" in note.text for note in track.notes)
        assert {column.unit for column in track.columns if column.quantity in {"latitude", "longitude"}} == {"1e-7 deg"}

    def test_the_same_with_fractions_is_an_error(self, read: Reader) -> None:
        lines = [f"{row.split(',')[0]},470000000.5,80000000.5,4000" for row in rows(FLIGHT)]
        with pytest.raises(LogError, match=r"log\.csv, line 2, column 'lat': 470000000\.5 is beyond ±90°, like most rows"):
            read("\n".join(["time,lat,lon,alt_ft", *lines]))

    def test_radians_are_read_where_told(self, read: Reader) -> None:
        lines = [
            f"{row.split(',')[0]},{np.radians(latitude):.9f},{np.radians(longitude):.9f},4000"
            for row, latitude, longitude in zip(rows(FLIGHT), FLIGHT.latitude_deg, FLIGHT.longitude_deg, strict=True)
        ]
        track = read("\n".join(["time,lat_rad,lon_rad,alt_ft", *lines]))
        np.testing.assert_allclose(np.degrees(track.latitude_rad), FLIGHT.latitude_deg, atol=1e-7)
        slow = read("\n".join(["time,lat,lon,alt_ft", *lines]))
        assert any("--unit latitude=rad" in note.text for note in slow.notes)

    def test_180_degrees_is_crossed(self, read: Reader) -> None:
        flight = flown(at=(-17.0, 179.998))
        track = read(csv_text(flight))
        assert len(track) == len(flight)
        assert (track.longitude_rad >= -np.pi).all()
        assert (track.longitude_rad < np.pi).all()
        assert {-1.0, 1.0} == set(np.sign(track.longitude_rad))
        np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=1e-7)

    def test_longitudes_to_360_are_brought_to_180(self, read: Reader) -> None:
        flight = flown(at=(-17.0, 179.998))
        eastward = Flight(flight.time_s, flight.latitude_deg, flight.longitude_deg % 360.0, flight.altitude_ft)
        track = read(csv_text(eastward))
        np.testing.assert_allclose(np.degrees(track.longitude_rad), flight.longitude_deg, atol=1e-7)
        assert any("360°" in note.text for note in track.notes)

    def test_a_longitude_of_exactly_180_is_west(self, read: Reader) -> None:
        lines = rows(flown(at=(0.0, 179.998)))
        cells = lines[3].split(",")
        lines[3] = ",".join([cells[0], cells[1], "180.0", cells[3]])
        track = read("\n".join([HEADER, *lines]), ReadOptions())
        assert np.pi not in track.longitude_rad


@pytest.mark.parametrize(("name", "metres"), [("altitude", 0.3048), ("altitude_m", 1.0), ("altitude_ft", 0.3048)])
def test_a_unit_for_several_logs_settles_only_what_a_log_leaves_open(read: Reader, name: str, metres: float) -> None:
    """Of a class with logs of several programs: feet for the one that states none must not make feet of another's metres."""
    options = ReadOptions(units={"altitude": "ft"}).for_several()
    track = read(log(f"time,lat,lon,{name}"), options)
    alone = read(log(f"time,lat,lon,{name}"), ReadOptions(units={"altitude": "ft"}))
    np.testing.assert_allclose(track.altitude_m, alone.altitude_m / 0.3048 * metres)
    assert track.columns[3].unit == ("m" if metres == 1.0 else "ft")
