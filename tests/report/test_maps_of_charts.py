"""What maps show of a chart beyond limit and courses: fixes of the final course and holds, measured with geographiclib."""

import json
import math
from itertools import pairwise

import numpy as np
import pytest
from checked import NOISY
from drawn import lines, points
from geographiclib.geodesic import Geodesic
from lxml import etree
from missed_flights import HOLD_FT, MISSED_POINT_NM, chart, hold_nm, laid, missed_into_hold
from report_flights import NM
from synthetic import HERE, Chart, Straight, fly

from analyzer import debrief
from analyzer.report.exports.geojson import debrief_geojson
from analyzer.report.exports.kml import debrief_kml
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.subject import Subject

KML = "{http://www.opengis.net/kml/2.2}"
FAF = {"name": "KESTA", "role": "final-approach-fix", "distance_nm": 1.0, "minimum_ft": 1500.0, "maximum_ft": 2500.0}
POINT = {"name": "TARRO", "role": "missed-approach-point", "distance_nm": MISSED_POINT_NM}


def maps(**tables):
    """The map and the globe file of a flight with a missed approach and a hold, by a chart with other tables."""
    debriefed = missed_into_hold().debrief(chart(**tables))
    return json.loads(debrief_geojson(debriefed)), etree.fromstring(debrief_kml(debriefed).encode())


def test_maps_show_the_fixes_of_the_final_course():
    collection, kml = maps(fixes=[FAF, POINT])
    found = [f for f in collection["features"] if f["properties"]["feature"] == "final_fix"]
    said = [{k: f["properties"][k] for k in ("name", "role", "minimum_ft", "maximum_ft", "assigned")} for f in found]
    assert said == [
        {"name": "KESTA", "role": "final-approach-fix", "minimum_ft": 1500.0, "maximum_ft": 2500.0, "assigned": False},
        {"name": "TARRO", "role": "missed-approach-point", "minimum_ft": None, "maximum_ft": None, "assigned": False},
    ]
    placemarks = {mark.findtext(f"{KML}name"): mark for mark in kml.iter(f"{KML}Placemark")}
    for feature, fix in zip(found, (FAF, POINT), strict=True):
        here = laid(0.0, -fix["distance_nm"])
        assert feature["geometry"]["coordinates"] == pytest.approx([here["longitude_deg"], here["latitude_deg"]], abs=1e-5)
        place = placemarks[fix["name"]].findtext(f".//{KML}coordinates")
        assert [float(value) for value in str(place).split(",")] == feature["geometry"]["coordinates"]
    words = str(placemarks["KESTA"].findtext(f"{KML}description")).splitlines()
    assert words == ["Final approach fix.", "Minimum 1,500 ft until it is passed.", "Maximum 2,500 ft."]


def test_maps_show_a_hold_as_the_racetrack_that_it_is():
    """A minute at 120 kt is 2 NM, and a turn at 3° a second 1.27 NM across: 120 kt over 3° a second is a radius of 0.64 NM."""
    collection, kml = maps()
    (held,) = [f for f in collection["features"] if f["properties"]["feature"] == "charted_hold"]
    inbound_true_deg = (HERE.outbound_true_deg + 270.0) % 360.0
    told = held["properties"]
    assert (told["name"], told["role"], told["turn"], told["minimum_ft"]) == ("WND", "missed-approach", "right", HOLD_FT - 50.0)
    assert told["inbound_course_deg_true"] == pytest.approx(inbound_true_deg, abs=0.1)
    line, fix = held["geometry"]["coordinates"], laid(*hold_nm())
    assert line[0] == line[-1] == pytest.approx([fix["longitude_deg"], fix["latitude_deg"]], abs=1e-6)
    places = []
    for longitude, latitude in line:
        from_fix = Geodesic.WGS84.Inverse(fix["latitude_deg"], fix["longitude_deg"], latitude, longitude)
        off = math.radians(from_fix["azi1"] - inbound_true_deg)
        places.append((from_fix["s12"] / NM * math.cos(off), from_fix["s12"] / NM * math.sin(off)))
    along, right = zip(*places, strict=True)
    radius = 120.0 / 3600.0 / math.radians(3.0)
    assert (max(along), min(along)) == pytest.approx((radius, -2.0 - radius), abs=0.03)
    assert (max(right), min(right)) == pytest.approx((2.0 * radius, 0.0), abs=0.03)
    assert all(math.dist(one, other) < 0.15 for one, other in pairwise(places))
    assert right[len(right) // 8] > 0.1  # from the fix it turns first, to the right
    (mark,) = [m for m in kml.iter(f"{KML}Placemark") if m.findtext(f"{KML}name") == "hold at WND, right turns"]
    written = str(mark.findtext(f".//{KML}coordinates")).split()
    assert [[float(value) for value in place.split(",")] for place in written] == line


def test_a_hold_in_lieu_is_on_the_map_and_in_the_plan():
    """Its legs as long as charted, turns to the charted side."""
    row = {"kind": "hold", "turn": "left", "leg_length_nm": 4.0}
    way = fly([Straight("in", 420.0)], (0.0, 10.0), 180.0)
    debriefed = NOISY.of(way), Chart(side=None, within_nm=None, reversal=row).at()
    flown = debrief(*debriefed)
    (held,) = [f for f in json.loads(debrief_geojson(flown))["features"] if f["properties"]["feature"] == "charted_hold"]
    assert (held["properties"]["name"], held["properties"]["turn"]) == ("QRL", "left")
    # the turn at the far end has its centre 4 NM out and a radius to the side
    distances = [
        Geodesic.WGS84.Inverse(HERE.latitude_deg, HERE.longitude_deg, latitude, longitude)["s12"] / NM
        for longitude, latitude in held["geometry"]["coordinates"]
    ]
    radius = 120.0 / 3600.0 / math.radians(3.0)
    assert max(distances) == pytest.approx(math.hypot(4.0, radius) + radius, abs=0.05)
    figure = plan_view(Subject(flown, flown.approaches[0]), WIDE)
    dashed = [points(line) for line in lines(figure) if line.dash]
    assert any(len(line) > 60 and np.allclose(line[0], line[-1]) for line in dashed)
