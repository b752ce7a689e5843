"""What altitudes count from: told by the format, the name or the user; what that leaves open is carried into the verdicts.

Sea level lies up to about 105 m from the ellipsoid, some 30 m root mean square over the Earth (EGM96; from memory). By the
standard atmosphere 1 hPa is 27.3 ft near sea level (ICAO Doc 7488); 10 hPa is a standard deviation of the sea-level pressure of
middle latitudes, from memory.
"""

import json
from dataclasses import replace

import pytest
from checked import all_of, debriefed
from flights import flown
from log_writers import geojson_points, gpx, igc, kml, kml_track, nmea
from patterns import Pattern, fly_approach
from synthetic import Chart, Log

from analyzer import debrief, read_track
from analyzer.errors import LogError
from analyzer.report.words.inspect_text import inspect_text
from analyzer.track.air import Air
from analyzer.track.log_format import log_format_text, read_log_format
from analyzer.track.options import ReadOptions

FT = 0.3048
OFFSET_SD_M = 30.0
FLIGHT = flown(120)


def test_gnss_heights_of_an_igc_file_may_be_off(tmp_path):
    path = tmp_path / "log.igc"
    path.write_text(igc(FLIGHT), encoding="ascii")
    track = read_track(path)
    assert track.altitude_offset_sd_m == OFFSET_SD_M
    assert any("above the ellipsoid" in note.text for note in track.notes)


def test_a_csv_is_taken_at_its_word(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("time,lat,lon,altitude ft\n2026-06-01T10:00:00Z,41,-38,3000\n2026-06-01T10:00:01Z,41.001,-38,3000\n")
    assert read_track(path).altitude_offset_sd_m == 0.0


def test_a_third_coordinate_may_be_off_and_a_property_is_not(tmp_path):
    path = tmp_path / "log.geojson"
    path.write_text(geojson_points(FLIGHT), encoding="utf-8")
    document = json.loads(path.read_text(encoding="utf-8"))
    assert all(len(feature["geometry"]["coordinates"]) == 3 for feature in document["features"])
    assert read_track(path).altitude_offset_sd_m == OFFSET_SD_M
    for feature in document["features"]:
        feature["properties"]["altitude_m"] = feature["geometry"]["coordinates"][2]
    path.write_text(json.dumps(document), encoding="utf-8")
    assert read_track(path).altitude_offset_sd_m == 0.0


def csv(tmp_path, name, header="time,lat,lon,{}"):
    path = tmp_path / "log.csv"
    rows = [f"2026-06-01T10:0{k // 60}:{k % 60:02d}Z,{41 + 0.001 * k:.4f},-38,3000" for k in range(90)]
    path.write_text("\n".join([header.format(name), *rows]), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("name", "reference"),
    [
        ("Altitude (ft MSL)", "mean sea level"),
        ("AltMSL ft", "mean sea level"),
        ("alt_amsl_ft", "mean sea level"),
        ("height above sea level (ft)", "mean sea level"),
        ("true altitude ft", "mean sea level"),  # height above mean sea level by its definition
        ("altitude ft", "unknown"),
        ("alt_ft", "unknown"),
        ("gps_altitude_ft", "unknown"),  # receivers give either
        ("pressure altitude (ft)", "pressure altitude"),
        ("baro_alt_ft", "pressure altitude"),
        ("flight level", "pressure altitude"),
    ],
)
def test_a_column_says_by_its_name_what_it_counts_from(tmp_path, name, reference):
    track = read_track(csv(tmp_path, name))
    assert track.altitude_reference == reference


@pytest.mark.parametrize(
    ("name", "reference", "offset_ft"),
    [
        ("height", "unknown", 0.0),
        ("hae_ft", "ellipsoid", OFFSET_SD_M / FT),
        ("ellipsoid height", "ellipsoid", OFFSET_SD_M / FT),
        ("altitude WGS84", "ellipsoid", OFFSET_SD_M / FT),
        ("indicated altitude", "indicated altitude", 0.0),
        ("baro-corrected altitude", "indicated altitude", 0.0),
    ],
)
def test_a_column_that_is_chosen_all_the_same_keeps_what_it_counts_from(tmp_path, name, reference, offset_ft):
    path = csv(tmp_path, name)
    with pytest.raises(LogError, match="--column altitude="):
        read_track(path)
    track = read_track(path, ReadOptions(columns={"altitude": name}, units={"altitude": "ft"}))
    assert track.altitude_reference == reference
    assert track.altitude_offset_sd_m / FT == pytest.approx(offset_ft)
    assert any("up to 100 m from sea level" in note.text for note in track.notes) == (reference == "ellipsoid")


@pytest.mark.parametrize(
    ("name", "text", "reference"),
    [
        ("log.nmea", nmea(FLIGHT), "mean sea level"),  # GGA: antenna altitude above mean sea level (NMEA 0183)
        ("log.kml", kml(kml_track(FLIGHT)), "mean sea level"),  # absolute: above the vertical datum, EGM96 (OGC KML 2.2)
        ("log.kml", kml(kml_track(FLIGHT, mode="clampToGround")), "unknown"),
        ("log.gpx", gpx(FLIGHT), "unknown"),  # "Elevation (in meters) of the point" (GPX 1.1 schema)
        ("log.igc", igc(FLIGHT), "ellipsoid"),  # GNSS altitude: WGS 84 ellipsoid (FAI, appendix A)
        ("log.igc", "AXXX\nHFALGALTGPS:GEO\n" + igc(FLIGHT), "mean sea level"),
        ("log.geojson", geojson_points(FLIGHT), "ellipsoid"),  # RFC 7946, section 4
    ],
)
def test_a_format_says_by_its_own_text_what_it_counts_from(tmp_path, name, text, reference):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    assert read_track(path).altitude_reference == reference


def test_pressure_altitude_is_off_by_the_days_pressure_until_a_qnh_is_given(tmp_path):
    path = csv(tmp_path, "baro_alt_ft")
    track, set_right = read_track(path), read_track(path, ReadOptions(air=Air.given(1003.25, None)))
    assert track.altitude_offset_sd_m / FT == pytest.approx(15.0 * 27.3, rel=0.02)
    (said,) = [note.text for note in track.notes if "no altimeter setting" in note.text]
    assert "--qnh" in said
    assert set_right.altitude_reference == "pressure altitude, QNH applied"
    assert set_right.altitude_offset_sd_m == 0.0
    assert not any("no altimeter setting" in note.text for note in set_right.notes)


def test_pressure_altitude_of_an_igc_file_that_the_user_takes_is_off_too(tmp_path):
    path = tmp_path / "log.igc"
    path.write_text(igc(FLIGHT), encoding="ascii")
    track = read_track(path, ReadOptions(columns={"altitude": "pressure altitude"}))
    assert track.altitude_reference == "pressure altitude"
    assert any("give one with --qnh" in note.text for note in track.notes)


@pytest.mark.parametrize(
    ("given", "reference"), [("sea-level", "mean sea level"), ("pressure", "pressure altitude"), ("ellipsoid", "ellipsoid")]
)
@pytest.mark.parametrize("name", ["alt_ft", "baro_alt_ft", "alt_msl_ft"])
def test_the_users_word_goes_first(tmp_path, given, reference, name):
    track = read_track(csv(tmp_path, name), ReadOptions(altitude_from=given))
    assert track.altitude_reference == reference
    assert any(f"--altitude-from {given}" in note.text for note in track.notes)


def test_a_qnh_is_applied_to_what_the_user_says_is_pressure_altitude_and_to_nothing_else(tmp_path):
    path, air = csv(tmp_path, "alt_ft"), Air.given(1003.25, None)  # 10 hPa low: an altimeter shows 273 ft less
    pressure, level = (read_track(path, ReadOptions(air=air, altitude_from=given)) for given in ("pressure", "sea-level"))
    assert pressure.altitude_m / FT == pytest.approx(3000.0 - 273.0, abs=3.0)
    assert pressure.altitude_reference == "pressure altitude, QNH applied"
    assert level.altitude_m / FT == pytest.approx(3000.0)


def test_what_the_user_says_is_kept_in_a_log_format(tmp_path):
    path, kept = csv(tmp_path, "alt_ft"), tmp_path / "format.toml"
    options = ReadOptions(altitude_from="sea-level")
    kept.write_text(log_format_text(read_track(path, options), options), encoding="utf-8")
    assert read_track(path, read_log_format(kept)).altitude_reference == "mean sea level"
    over = ReadOptions(altitude_from="ellipsoid").over(read_log_format(kept))
    assert read_track(path, over).altitude_reference == "ellipsoid"


@pytest.mark.parametrize(
    ("line", "said"), [('altitude_from = "qfe"', 'altitude_from = "qfe"'), ("altitude_from = 3", "altitude_from = 3")]
)
def test_a_word_that_is_none_of_them_is_refused(tmp_path, line, said):
    kept = tmp_path / "format.toml"
    kept.write_text(line, encoding="utf-8")
    with pytest.raises(LogError, match=said + ': not one of the choices; accepted: "sea-level", "pressure" or "ellipsoid"'):
        read_log_format(kept)


def test_inspect_says_it_beside_the_altitudes(tmp_path):
    text = inspect_text(read_track(csv(tmp_path, "alt_msl_ft")))
    assert "Altitude  3,000 to 3,000 ft; above mean sea level\n" in text
    text = inspect_text(read_track(csv(tmp_path, "alt_ft")))
    assert "the log does not state their reference" in " ".join(text.split())


@pytest.fixture(scope="module")
def both():
    """The same flight, 150 ft above its minimum, from sea level and from the ellipsoid."""
    chart = Chart(floors_ft={"outbound": 2850.0, "reversal": 2850.0})
    track = Log(noise_m=1.0, altitude_ft=3000.0).of(fly_approach(Pattern()).flown)
    sure, unsure = (debrief(one, chart.at()) for one in (track, replace(track, altitude_reference="ellipsoid")))
    return sure, unsure


def findings(result, check):
    (approach,) = result.approaches
    return [finding for finding in approach.findings if finding.check == check]


def test_a_minimum_is_judged_with_that_error(both):
    """Above a minimum only the log's noise is doubted, here none, and what it is off by throughout: 30 m make 150 ft unsure."""
    for finding in findings(both[0], "altitude_floor"):
        assert (finding.verdict, finding.sd) == ("inside", pytest.approx(0.0, abs=1.0))
    for finding in findings(both[1], "altitude_floor"):
        assert finding.sd == pytest.approx(OFFSET_SD_M / FT, abs=1.0)
        assert finding.verdict == "too close to call"


def test_what_is_nearer_is_no_longer_called():
    flown, chart = fly_approach(Pattern()).flown, Chart(floors_ft={"reversal": 2990.0})
    track = Log(noise_m=1.0, altitude_ft=3000.0).of(flown)
    sure, unsure = (
        {f.leg: f.verdict for f in findings(debrief(one, chart.at()), "altitude_floor")}
        for one in (track, replace(track, altitude_reference="ellipsoid"))
    )
    assert sure == {"reversal": "inside"}
    assert unsure == {"reversal": "too close to call"}


def test_a_level_held_does_not_depend_on_it(both):
    """An offset is the same all along."""
    sure, unsure = (findings(result, "altitude_hold") for result in both)
    assert [(f.verdict, f.sd) for f in sure] == [(f.verdict, f.sd) for f in unsure]
    assert sure


def test_the_table_of_the_motion_says_so_too(both):
    sure, unsure = (result.motion.to_frame()["altitude_sd_ft"].median() for result in both)
    assert unsure**2 - sure**2 == pytest.approx((OFFSET_SD_M / FT) ** 2)


def test_the_helpers_of_other_tests_are_of_sea_level():
    assert all(finding.sd == pytest.approx(20.0) for finding in all_of(debriefed(fly_approach(Pattern())), "altitude_floor"))
