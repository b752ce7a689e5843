"""Latitudes and longitudes in the wrong order, and times that are not as many as the positions, are named as such."""

import json
from dataclasses import replace

import pytest
from flights import Flight, Reader, csv_text, flown
from log_writers import geojson_line

from analyzer.errors import LogError
from analyzer.track.options import ReadOptions

EAST = flown(60, at=(47.0, 101.0))


def exchanged(flight: Flight) -> Flight:
    return replace(flight, latitude_deg=flight.longitude_deg, longitude_deg=flight.latitude_deg)


@pytest.mark.parametrize("west", [1.0, -1.0])
def test_a_latitude_that_can_be_a_longitude_only_is_said_to_be_exchanged(read: Reader, west: float) -> None:
    flight = exchanged(replace(EAST, longitude_deg=west * EAST.longitude_deg))
    with pytest.raises(LogError, match=r"latitude -?101\.0.* and longitude 47\.0.* are exchanged, like most rows"):
        read(csv_text(flight))
    chosen = ReadOptions(columns={"latitude": "lon_deg", "longitude": "lat_deg"})
    assert read(csv_text(flight), chosen).latitude_rad == pytest.approx(read(csv_text(EAST)).latitude_rad)


def test_geojson_with_the_latitude_first_is_told_the_standard(read: Reader) -> None:
    """RFC 7946, 3.1.1: the first two elements of a position are longitude and latitude, in that order."""
    with pytest.raises(LogError, match=r"are exchanged, like most rows\. RFC 7946 has the longitude first"):
        read(geojson_line(exchanged(EAST)))


@pytest.mark.parametrize("missing", [3, -2])
def test_times_that_are_not_as_many_as_the_positions_are_counted(read: Reader, missing: int) -> None:
    log = json.loads(geojson_line(flown(60)))
    feature = log["features"][0] if "features" in log else log
    moments = feature["properties"]["moments"]
    feature["properties"]["moments"] = moments[:-missing] if missing > 0 else moments + moments[:-missing]
    with pytest.raises(LogError, match=rf"'moments' holds {60 - missing} times for 60 positions, so nothing says which"):
        read(json.dumps(log))
