"""Arcs about a point: laid out on the ellipsoid, and those of calibration flights about published stations."""

import csv
import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from pyproj import Geod
from synthetic import NM, START_S, Chart

from analyzer import read_track
from analyzer.legs.arcs import Arc, arcs_about
from analyzer.motion.model import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve
from analyzer.track.model import Track
from analyzer.track.read import ReadOptions

CENTRE = (41.2, -38.4)
REAL = Path(__file__).resolve().parents[3] / "shared" / "real"


def motion_of(track: Track) -> Motion:
    return analyse_motion(track, resolve(Chart().at(), dt.date(2019, 6, 1)))


def round_about(bearings_deg: np.ndarray, radius_nm: np.ndarray) -> Motion:
    """A flight through points by bearing and distance from the centre, a second apart."""
    n = len(bearings_deg)
    longitude, latitude, _ = Geod(ellps="WGS84").fwd(np.full(n, CENTRE[1]), np.full(n, CENTRE[0]), bearings_deg, radius_nm * NM)
    track = Track(
        "made.csv", "csv", START_S + np.arange(n, dtype=float), np.radians(latitude), np.radians(longitude),
        np.full(n, 900.0), {}, (), (), (),
    )  # fmt: skip
    return motion_of(track)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("radius_nm", [7.0, 15.0, 25.0])
def test_an_arc_between_two_radials(sign, radius_nm):
    # 110 kt round the arc from one radial to another 80° on, after and before a flight straight out
    rate = 110.0 / 3600.0 / radius_nm * 180.0 / math.pi
    out, seconds = 200, round(80.0 / rate)
    legs = radius_nm - 110.0 / 3600.0 * np.arange(out)[::-1]
    bearings = np.concatenate([np.full(out, 350.0), 350.0 + sign * rate * np.arange(1, seconds)])
    motion = round_about(bearings, np.concatenate([legs, np.full(seconds - 1, radius_nm)]))
    (arc,) = arcs_about(motion, *map(math.radians, CENTRE))
    assert arc.radius_m / NM == pytest.approx(radius_nm, abs=0.005)
    assert arc.departure_m / NM < 0.05
    assert math.degrees(arc.swept_rad) == pytest.approx(sign * 80.0, abs=8.0)  # half a minute at either end
    assert arc.start_s == pytest.approx(START_S + out, abs=35.0)


def test_what_is_no_arc():
    seconds = np.arange(1200)
    through = round_about(np.full(1200, 40.0), np.abs(20.0 - 110.0 / 3600.0 * seconds) + 0.01)
    short = round_about(40.0 + 0.02 * seconds, np.full(1200, 15.0))  # 24°
    circling = round_about(40.0 + 1.2 * seconds, np.full(1200, 1.5))
    spiral = round_about(40.0 + 0.1 * seconds, 6.0 + 0.01 * seconds)
    for motion in (through, short, circling, spiral):
        assert arcs_about(motion, *map(math.radians, CENTRE)) == ()


def stations() -> dict[str, tuple[float, float]]:
    with (REAL / "navaids" / "navaids.csv").open() as file:
        return {
            row["ident"]: (math.radians(float(row["latitude_deg"])), math.radians(float(row["longitude_deg"])))
            for row in csv.DictReader(file)
        }


def real_arcs(name: str) -> dict[str, tuple[Arc, ...]]:
    track = read_track(REAL / "adsb" / f"{name}.csv", ReadOptions(units={"altitude": "ft"}))
    motion = motion_of(track)
    return {ident: arcs_about(motion, *place) for ident, place in stations().items()}


@pytest.mark.skipif(not REAL.is_dir(), reason="the real logs are not beside the checkout")
class TestCalibrationFlights:
    """Flown round published stations at whole distances. What was flown is read off the track: no order comes with it."""

    def test_arcs_of_20_and_15_nm(self):
        found = real_arcs("brussels_vor")
        assert [ident for ident, arcs in found.items() if arcs] == ["BUB"]
        assert [arc.radius_m / NM for arc in found["BUB"]] == pytest.approx([20.0, 15.0], abs=0.1)
        assert all(abs(arc.swept_rad) > math.tau for arc in found["BUB"])  # more than one turn each

    def test_two_stations_five_miles_apart(self):
        found = real_arcs("liege_sprimont")
        assert {ident for ident, arcs in found.items() if arcs} == {"LNO", "SPI"}
        for ident, other in (("LNO", "SPI"), ("SPI", "LNO")):
            long = [arc for arc in found[ident] if abs(arc.swept_rad) > 2.0]  # through more than 115°: flown on purpose
            assert len(long) >= 2
            assert [arc.radius_m / NM for arc in long] == pytest.approx([15.0] * len(long), abs=0.1)
            rivals = [one for arc in long for one in found[other] if one.start_s < arc.end_s and one.end_s > arc.start_s]
            assert all(abs(one.swept_rad) < 1.1 for one in rivals)  # about the wrong station: no more than a glance of 60°

    @pytest.mark.parametrize("name", ["kingston", "pixair_toulouse", "inflight_refuelling"])
    def test_flights_without_arcs(self, name):
        assert not any(real_arcs(name).values())
