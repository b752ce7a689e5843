"""Column names in ordinary words."""

import pytest

from analyzer.track.column_names import read_name
from analyzer.track.quantities import FIELDS, KINDS, UNIT_WORDS, accepted_units, parse_unit, suits
from analyzer.track.track import RECORDED


@pytest.mark.parametrize(
    ("name", "quantity", "unit"),
    [
        ("time", "time", None),
        ("UTC Time", "time", None),
        ("time_ms", "time", "ms"),
        ("elapsed_s", "time", "s"),
        ("Seconds", "time", "s"),
        ("Date", "date", None),
        ("lat", "latitude", None),
        ("lat_deg", "latitude", "deg"),
        ("Latitude (°)", "latitude", "deg"),
        ("Lat E7", "latitude", "1e-7 deg"),
        ("LONGITUDE", "longitude", None),
        ("lng", "longitude", None),
        ("altitude_ft", "altitude", "ft"),
        ("Altitude (m)", "altitude", "m"),
        ("alt [ft]", "altitude", "ft"),
        ("AltitudeFeet", "altitude", "ft"),
        ("gps_alt_m", "altitude", "m"),
        ("m alt msl", "altitude", "m"),
        ("geoaltitude", "altitude", None),
        ("height above mean sea level m", "altitude", "m"),
        ("baroaltitude", "pressure_altitude", None),
        ("pressure_alt_m", "pressure_altitude", "m"),
        ("flight level", "pressure_altitude", "FL"),
        ("GS kt", "ground_speed", "kt"),
        ("kt GS", "ground_speed", "kt"),
        ("Ground Speed (km/h)", "ground_speed", "km/h"),
        ("Speed over ground [m/s]", "ground_speed", "m/s"),
        ("groundspeed_kts", "ground_speed", "kt"),
        ("track_deg", "track", "deg"),
        ("Course over ground", "track", None),
        ("heading_true_deg", "heading", "deg"),
        ("Heading °T", "heading", "deg"),
        ("roll_rad", "bank", "rad"),
        ("Bank angle (deg)", "bank", "deg"),
        ("pitch_deg", "pitch", "deg"),
        ("KIAS", "indicated_airspeed", "kt"),
        ("Indicated Air Speed (knots)", "indicated_airspeed", "kt"),
        ("trueairspeed_mps", "true_airspeed", "m/s"),
        ("TAS", "true_airspeed", None),
        ("vs_fpm", "vertical_speed", "ft/min"),
        ("Vertical Speed [ft/min]", "vertical_speed", "ft/min"),
        ("rate of climb (feet per minute)", "vertical_speed", "ft/min"),
        ("speed_vertical_m_s", "vertical_speed", "m/s"),
    ],
)
def test_ordinary_names_are_understood(name: str, quantity: str, unit: str | None) -> None:
    reading = read_name(name)
    assert reading.quantity == quantity
    assert reading.doubt == ""
    assert (reading.unit.text if reading.unit else None) == unit


@pytest.mark.parametrize(
    "name",
    [
        "Selected Altitude (ft)",
        "minimum altitude ft",
        "ground elevation",
        "alert",
        "plateau",
        "latency",
        "battery_temp",
        "number",
        "last position update",
        "icao24",
        "",
        "°",
    ],
)
def test_a_name_with_an_unknown_word_is_left_alone(name: str) -> None:
    assert read_name(name).quantity is None


@pytest.mark.parametrize(
    ("name", "quantity", "why"),
    [
        ("speed_mps", "ground_speed", "ground speed or airspeed"),
        ("airspeed kt", "indicated_airspeed", "indicated or true"),
        ("heading", "heading", "true or magnetic"),
        ("Heading (mag)", "heading", "magnetic"),
        ("course", "track", "selected"),
        ("height m", "altitude", "above"),
        ("Altitude WGS84 (m)", "altitude", "ellipsoid"),
        ("Local Time", "time", "local"),
    ],
)
def test_what_a_name_leaves_open_is_a_doubt(name: str, quantity: str, why: str) -> None:
    reading = read_name(name)
    assert reading.quantity == quantity
    assert why in reading.doubt


@pytest.mark.parametrize(
    ("text", "si"),
    [
        ("ft", 0.3048),  # exact, international foot
        ("kt", 1852 / 3600),  # exact, international nautical mile
        ("km/h", 1 / 3.6),
        ("ft/min", 0.3048 / 60),
        ("0.01m", 0.01),
        ("0.001 kt", 1.852 / 3600),
        ("FL", 30.48),
        ("mph", 0.44704),  # exact, international mile of 1609.344 m
    ],
)
def test_units_have_their_defined_size(text: str, si: float) -> None:
    unit = parse_unit(text)
    assert unit is not None
    assert unit.factor == pytest.approx(si, rel=1e-14)


@pytest.mark.parametrize("text", ["", "furlong", "1e-7", "0 m", "nm", "ft ft", "-1m"])
def test_what_is_no_unit_is_none(text: str) -> None:
    assert parse_unit(text) is None


def test_each_quantity_beside_time_and_place_has_its_field_in_the_track() -> None:
    assert set(FIELDS.values()) == set(RECORDED)
    beside = {"date", "utc_offset", "gps_week", "latitude_minutes", "longitude_minutes", "north_south", "east_west"}
    assert set(KINDS) - set(FIELDS) == {"time", "latitude", "longitude", "altitude"} | beside


def test_every_quantity_can_be_given_a_unit_that_it_lists() -> None:
    for quantity in KINDS:
        listed = [parse_unit(text) for text in accepted_units(quantity).split(", ")]
        assert listed
        assert all(unit is not None and suits(unit, quantity) for unit in listed)
    assert not suits(UNIT_WORDS["kt"], "altitude")
