"""The altimeter setting and the temperature at the field: into altitudes and airspeeds."""

import datetime as dt

import numpy as np
import pytest
from flights import Reader
from synthetic import FT, KT, Chart

from analyzer.errors import LogError
from analyzer.motion.airspeed import indicated_airspeed, indicated_share_sd
from analyzer.procedure.charted import Charted, resolve
from analyzer.track.air import STANDARD_AIR, Air
from analyzer.track.read import ReadOptions

HEADER = "time,lat,lon,baro_alt_ft"
# The standard atmosphere's pressure at 1,000 ft is 0.9644 of that at sea level (published table, four digits).
THOUSAND_FEET_LOW = 0.9644 * 1013.25


def charted(elevation_ft: float = 0.0) -> Charted:
    return resolve(Chart(fix={"elevation_ft": elevation_ft}).at(), dt.date(2026, 6, 1))


def log(header: str, altitude_ft: float) -> str:
    rows = [f"2026-06-14T09:{k // 60:02d}:{k % 60:02d}Z,{44.0 + 0.0005 * k},9.0,{altitude_ft}" for k in range(120)]
    return "\n".join([header, *rows]) + "\n"


def test_a_log_of_pressure_altitude_gets_what_the_altimeter_showed(read: Reader) -> None:
    track = read(log(HEADER, 4000.0), ReadOptions(air=Air.given(THOUSAND_FEET_LOW, None)))
    assert track.altitude_m / FT == pytest.approx(np.full(120, 3000.0), abs=2.0)
    assert track.recorded["pressure_altitude_m"] / FT == pytest.approx(np.full(120, 4000.0))
    said = [note.text for note in track.notes]
    assert any("QNH 977 hPa, as given: applied" in text for text in said)
    assert not any("no altimeter setting" in text for text in said)


def test_another_altitude_is_left_as_it_is(read: Reader) -> None:
    track = read(log("time,lat,lon,alt_ft", 4000.0), ReadOptions(air=Air.given(THOUSAND_FEET_LOW, 20.0)))
    assert track.altitude_m / FT == pytest.approx(np.full(120, 4000.0))
    said = [note.text for note in track.notes]
    assert "QNH 977 hPa, as given: used for airspeeds" in said
    assert "20 °C at the airfield, as given: used for airspeeds" in said


def test_inches_of_mercury_are_told_by_their_size() -> None:
    # 29.92 inHg is 1013.2 hPa: the standard setting, by which altitude is pressure altitude.
    assert Air.given(29.92, None).above_indicated_m == pytest.approx(0.0, abs=1.0)
    # 30.20 against 29.92: about 1,000 ft an inch (common practice, no source), to the altimeter's 925 or so
    assert Air.given(30.20, None).above_indicated_m / FT == pytest.approx(-280.0, abs=30.0)


@pytest.mark.parametrize("qnh", [2.0, 400.0, 101325.0, -5.0, float("nan")])
def test_what_is_no_altimeter_setting_is_refused(qnh: float) -> None:
    with pytest.raises(LogError, match="--qnh"):
        Air.given(qnh, None)


@pytest.mark.parametrize("temperature", [288.0, -120.0, float("nan")])
def test_what_is_no_temperature_is_refused(temperature: float) -> None:
    with pytest.raises(LogError, match="--temperature"):
        Air.given(None, temperature)


@pytest.mark.parametrize(
    ("true_kt", "altitude_ft", "qnh_hpa", "indicated_kt"),
    [(107.67, 5000.0, None, 100.0), (129.17, 5000.0, 1013.25, 120.0), (107.67, 4000.0, THOUSAND_FEET_LOW, 100.0)],
)
def test_indicated_airspeed_by_pressure_altitude(true_kt, altitude_ft, qnh_hpa, indicated_kt) -> None:
    # CAS 100 and 120 kt at 5,000 ft in the standard atmosphere: TAS 107.67 and 129.17 kt (compressible, to 0.05 kt).
    speed = indicated_airspeed(np.array([true_kt * KT]), np.array([altitude_ft * FT]), Air.given(qnh_hpa, None), charted())
    assert speed / KT == pytest.approx([indicated_kt], abs=0.06)


def test_indicated_airspeed_on_a_warm_day() -> None:
    # ICAO's factor from indicated to true airspeed at 6,000 ft, 15 K above standard: 1.1231. At a field 2,000 ft up such a day
    # has 15 - 2 * 1.98 + 15 °C.
    air = Air.given(None, 15.0 - 2.0 * 1.98 + 15.0)
    speed = indicated_airspeed(np.array([112.31 * KT]), np.array([6000.0 * FT]), air, charted(2000.0))
    assert speed / KT == pytest.approx([100.0], abs=0.1)


def test_what_is_told_makes_the_airspeed_surer() -> None:
    assert 0.3 * indicated_share_sd(STANDARD_AIR) > indicated_share_sd(Air.given(1003.0, 12.0)) > 0.0
