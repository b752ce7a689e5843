"""The map file: RFC 7946, read back by geojson-pydantic and shapely, and measured with geographiclib."""

import datetime as dt
import json
import math
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
import shapely
from export_flights import ACROSS, HOSTILE, across_180, debriefed_anew, named, saying
from geographiclib.geodesic import Geodesic
from geojson_pydantic import FeatureCollection
from patterns import Pattern, fly_approach
from report_flights import FIX, NM, VARIATION_DEG, from_fix, truth_near
from synthetic import CHARTED, HERE, Chart, Log

import analyzer
from analyzer.procedure.charted import resolve
from analyzer.report.exports.geojson import debrief_geojson
from analyzer.report.exports.map_lines import charted_lines


@pytest.fixture(scope="module")
def maps(debriefs):
    return {name: json.loads(debrief_geojson(debrief)) for name, debrief in debriefs.items()}


@pytest.fixture(scope="module")
def across():
    return json.loads(debrief_geojson(across_180()))


def features(collection, kind):
    return [f for f in collection["features"] if f["properties"]["feature"] == kind]


def lines(feature):
    found = feature["geometry"]["coordinates"]
    return found if feature["geometry"]["type"] == "MultiLineString" else [found]


def apart_m(one, other):
    """Geodesic distance of two positions, by geographiclib."""
    return Geodesic.WGS84.Inverse(one[1], one[0], other[1], other[0])["s12"]


def positions(collection):
    for feature in collection["features"]:
        found = feature["geometry"]["coordinates"]
        yield from [found] if feature["geometry"]["type"] == "Point" else [p for line in lines(feature) for p in line]


def test_it_is_a_feature_collection(maps, flight):
    """By an independent model of RFC 7946, and without the members of older drafts that section 4 removed."""
    read = FeatureCollection.model_validate(maps[flight])
    assert len(read.features) == len(maps[flight]["features"])
    assert "crs" not in maps[flight]
    assert all(shapely.geometry.shape(f["geometry"]).is_valid for f in maps[flight]["features"])


def test_it_says_what_it_is_for(maps, documents, flight):
    assert maps[flight]["caution"] == documents[flight]["cautions"]
    assert "never for navigation" in maps[flight]["caution"]
    assert maps[flight]["standard"] == "faa-instrument"


def test_positions_have_two_numbers_of_at_most_seven_decimals(debriefs, flight):
    """Section 3.1.1: the third would be a height above the ellipsoid, which no log holds."""
    collection = json.loads(debrief_geojson(debriefs[flight]), parse_float=Decimal)
    for position in positions(collection):
        assert len(position) == 2
        assert all(-value.as_tuple().exponent <= 7 for value in position if isinstance(value, Decimal))
        assert abs(position[0]) <= 180
        assert abs(position[1]) <= 90


def test_the_limit_is_ten_miles_from_the_fix_all_round(maps):
    (limit,) = features(maps["clean.csv"], "limit")
    (ring,) = lines(limit)
    assert limit["properties"]["radius_nm"] == 10.0
    assert ring[0] == ring[-1]
    assert shapely.LinearRing(ring).is_ccw  # as section 3.1.6 winds an outer ring
    for one, other in pairwise(ring):
        middle = ((one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0)
        assert from_fix(one[1], one[0])[0] * NM == pytest.approx(10.0 * NM, abs=0.02)
        assert 10.0 * NM - 1.0 < from_fix(middle[1], middle[0])[0] * NM < 10.0 * NM + 0.02


def test_the_courses_run_as_they_are_flown(maps):
    """Outbound 061° from the fix, inbound 241° to it, on the geodesic all the way."""
    (out,), (home,) = (features(maps["clean.csv"], f"{course}_course") for course in ("outbound", "inbound"))
    assert (out["properties"]["course_deg"], home["properties"]["course_deg"]) == (61.0, 241.0)
    assert lines(out)[0][0] == lines(home)[0][-1] == [FIX[1], FIX[0]]
    for line in (lines(out)[0][1:], lines(home)[0][:-1]):
        for longitude, latitude in line:
            assert from_fix(latitude, longitude)[1] == pytest.approx(61.0 + VARIATION_DEG, abs=1e-3)
        assert max(from_fix(p[1], p[0])[0] for p in line) == pytest.approx(10.0, abs=1e-5)
    for one, other in (step for course in (out, home) for step in pairwise(lines(course)[0])):
        # a map draws straight between positions
        distance, bearing = from_fix((one[1] + other[1]) / 2.0, (one[0] + other[0]) / 2.0)
        assert abs(distance * NM * math.sin(math.radians(bearing - 61.0 - VARIATION_DEG))) < 0.2


def test_the_track_is_that_of_the_json_part_by_part(maps, documents, flight):
    """Every part that the log holds positions of, with all that the JSON says of it."""
    told = [
        {"feature": "track", "reversal": number, "hold": None, **part}
        for number, reversal in enumerate(documents[flight]["reversals"], 1)
        for part in reversal["parts"]
    ]
    tracks = [f["properties"] for f in features(maps[flight], "track")]
    mapped = [{k: v for k, v in t.items() if k not in ("times", "altitude_ft")} for t in tracks]
    assert [m for m in mapped if m["part"] is not None] == told
    assert all(m["reversal"] is m["hold"] is m["leg"] is None for m in mapped if m["part"] is None)
    assert mapped[0]["start"] == documents[flight]["track"]["start"]
    assert mapped[-1]["end"] == documents[flight]["track"]["end"]


def test_parts_join_and_their_lines_last_as_long_as_they_do(maps, sample):
    tracks = features(maps[sample], "track")
    for one, other in pairwise(tracks):
        assert lines(one)[-1][-1] == lines(other)[0][0]
    for track in tracks:
        told, (line,) = track["properties"], lines(track)
        assert (told["times"][0], told["times"][-1]) == (told["start"], told["end"])
        assert told["times"] == sorted(set(told["times"]))
        assert len(told["times"]) == len(told["altitude_ft"]) == len(line)
        assert sum(apart_m(*step) for step in pairwise(line)) / NM == pytest.approx(told["length_nm"], rel=0.005, abs=0.01)


def test_the_track_is_where_the_aircraft_was(maps, sample):
    for track in features(maps[sample], "track"):
        whole = zip(lines(track)[0], track["properties"]["times"], track["properties"]["altitude_ft"], strict=True)
        for position, time, altitude in list(whole)[1:-1:31]:  # both ends lie between whole seconds
            was = truth_near(sample, time)
            assert apart_m(position, (float(was["longitude_deg"]), float(was["latitude_deg"]))) < 20.0
            assert altitude == pytest.approx(float(was["altitude_ft"]), abs=80.0)


def test_findings_lie_where_the_json_says(maps, documents, flight):
    told = [
        {"feature": "finding", "reversal": number, "hold": None, **finding}
        for number, reversal in enumerate(documents[flight]["reversals"], 1)
        for finding in reversal["findings"]
        if finding["latitude_deg"] is not None
    ]
    found = features(maps[flight], "finding")
    assert [f["properties"] for f in found] == told
    assert [f["geometry"]["coordinates"] for f in found] == [[t["longitude_deg"], t["latitude_deg"]] for t in told]


def test_the_farthest_point_is_as_far_as_it_says(maps, sample):
    (farthest,) = features(maps[sample], "farthest")
    longitude, latitude = farthest["geometry"]["coordinates"]
    assert from_fix(latitude, longitude)[0] == pytest.approx(farthest["properties"]["distance_nm"], abs=2e-4)


def test_nothing_is_drawn_across_a_gap(maps, documents):
    """A minute of the inbound leg is missing: two lines, and nothing between them."""
    name = "with_gap.csv"
    (gap,) = documents[name]["track"]["gaps"]
    (inbound,) = (f for f in features(maps[name], "track") if f["properties"]["part"] == "inbound")
    assert inbound["geometry"]["type"] == "MultiLineString"
    times = inbound["properties"]["times"]
    assert [len(line) for line in lines(inbound)] == [len(line) for line in times]
    assert [len(line) for line in times] == [len(line) for line in inbound["properties"]["altitude_ft"]]
    assert not any(gap["start"] < time < gap["end"] for line in times for time in line)
    assert max(apart_m(*step) for line in lines(inbound) for step in pairwise(line)) < 100.0


def test_altitudes_that_were_not_logged_are_null(maps):
    for track in features(maps["no_altitude.csv"], "track"):
        assert set(track["properties"]["altitude_ft"]) == {None}
        assert len(track["properties"]["altitude_ft"]) == len(lines(track)[0])


def test_a_flight_without_an_approach_is_a_track_and_a_chart(maps):
    kinds = [f["properties"]["feature"] for f in maps["arrival_only.csv"]["features"]]
    assert kinds == ["fix", "limit", "outbound_course", "inbound_course", "track"]


def test_two_approaches_are_told_apart(maps):
    """And the hour between them is no line."""
    tracks = features(maps["two_approaches.csv"], "track")
    assert {t["properties"]["reversal"] for t in tracks} == {1, 2}
    assert max(apart_m(*step) for t in tracks for line in lines(t) for step in pairwise(line)) < 100.0


def test_lines_are_cut_at_180_degrees(across):
    """Section 3.1.9: what crosses is several lines, each ending or beginning on its own side at the same latitude."""
    crossing = [f for f in across["features"] if f["geometry"]["type"] == "MultiLineString"]
    assert {f["properties"]["feature"] for f in crossing} == {"track", "limit"}
    for feature in across["features"]:
        for line in lines(feature) if feature["geometry"]["type"] != "Point" else []:
            assert all(abs(one[0] - other[0]) < 90.0 for one, other in pairwise(line))
            assert all(one != other for one, other in pairwise(line))
    for feature in crossing:
        for one, other in pairwise(lines(feature)):
            assert abs(one[-1][0]) == 180.0
            assert other[0] == [-one[-1][0], one[-1][1]]
        shaped = [feature["properties"][name] for name in ("times", "altitude_ft") if name in feature["properties"]]
        assert all([len(line) for line in values] == [len(line) for line in lines(feature)] for values in shaped)


def test_the_limit_across_180_degrees_is_the_same_circle(across):
    (limit,) = features(across, "limit")
    centre = (ACROSS.longitude_deg, ACROSS.latitude_deg)
    for position in (p for line in lines(limit) for p in line):
        assert apart_m(centre, position) == pytest.approx(10.0 * NM, abs=0.8)  # where it is cut, between two of its points
    assert lines(limit)[0][0] == [-lines(limit)[-1][-1][0], lines(limit)[-1][-1][1]]


@pytest.mark.parametrize(("true_deg", "side"), [(242.0, 180.0), (62.0, -180.0)])
def test_a_course_that_begins_on_180_degrees_lies_on_one_side(true_deg, side):
    place = replace(ACROSS, outbound_true_deg=true_deg)
    for line in charted_lines(resolve(CHARTED.at(place), dt.date(2026, 6, 1)))[1:]:
        ((longitudes, latitudes),) = (part.T for part in line.lines)
        assert (abs(longitudes - side) < 1.0).all()
        assert {side, -17.3} <= {*longitudes, *latitudes}


def test_a_flight_across_180_degrees_is_the_flight_elsewhere_moved(across):
    """The Earth is the same all round: 140° further east it is the same line, uncut."""
    place = replace(ACROSS, longitude_deg=-40.0)
    flown = fly_approach(Pattern(roll_deg_s=5.0)).flown
    elsewhere = json.loads(debrief_geojson(analyzer.debrief(Log(noise_m=1.0).of(flown, place), CHARTED.at(place))))
    pairs = list(zip(features(across, "track"), features(elsewhere, "track"), strict=True))
    assert len(pairs) > 5
    for here, there in pairs:
        assert here["properties"]["start"] == there["properties"]["start"]
        assert there["geometry"]["type"] == "LineString"
        whole = [p for line in lines(here) for p in line if abs(p[0]) != 180.0]
        assert len(whole) == len(lines(there)[0])
        for one, other in zip(whole, lines(there)[0], strict=True):
            assert (one[0] + 140.0 - other[0] + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=3e-7)
            assert one[1] == pytest.approx(other[1], abs=3e-7)


@pytest.mark.parametrize("text", [*HOSTILE, "\x1b[31mred", "</script>"])
def test_text_is_what_it_was(debriefs, text):
    """JSON holds any text: it is read back whole, and the file keeps to one feature a line."""
    written = debrief_geojson(saying(debriefs["strong_wind.csv"], text))
    collection = json.loads(written)
    first = features(collection, "finding")[0]["properties"]
    assert (first["sentence"], first["source"], first["lesson"]["cause"]) == (text, text, text)
    assert collection["name"] == f"Wendle Island VOR 24: {text}"
    assert written.count("\n") == len(collection["features"]) + 2


def test_the_fix_is_named_as_it_is():
    (fix,) = features(json.loads(debrief_geojson(named("<b>|W\"ND'</b>"))), "fix")
    assert fix["properties"]["name"] == "<b>|W\"ND'</b>"
    assert fix["geometry"]["coordinates"] == [FIX[1], FIX[0]]


def test_the_same_debrief_gives_the_same_bytes(debriefs):
    assert debrief_geojson(debriefs["strong_wind.csv"]).encode() == debrief_geojson(debriefed_anew("strong_wind.csv")).encode()


def charted_as(chart):
    return {line.name: line for line in charted_lines(resolve(chart.at(HERE), dt.date(2026, 6, 1)))}


def distances_nm(line, latitude_deg, longitude_deg):
    return [apart_m((longitude_deg, latitude_deg), position) / NM for part in line.lines for position in part[:, :2]]


def test_the_limit_stands_about_the_point_it_is_measured_from():
    point = {"latitude_deg": HERE.latitude_deg + 0.1, "longitude_deg": HERE.longitude_deg}
    drawn = charted_as(Chart(within_nm=8.0, reversal={"within_from": point}))
    assert distances_nm(drawn["limit"], **point) == pytest.approx([8.0] * 361, abs=1e-5)


def test_an_arc_is_a_circle_about_its_own_centre_and_has_no_outbound_course():
    centre = {"latitude_deg": HERE.latitude_deg, "longitude_deg": HERE.longitude_deg + 0.2}
    arc = {"kind": "arc", "side": None, "turn": "right", "within_nm": None, "outbound_course_deg": None}
    drawn = charted_as(Chart(reversal=arc, tables={"arc": {**centre, "radius_nm": 12.0}}))
    assert set(drawn) == {"arc", "inbound"}
    assert distances_nm(drawn["arc"], **centre) == pytest.approx([12.0] * 361, abs=1e-5)
    assert math.degrees(drawn["inbound"].course_true_rad) == pytest.approx(HERE.outbound_true_deg + 180.0)


def test_without_a_limit_the_courses_are_drawn_all_the_same():
    drawn = charted_as(Chart(within_nm=None, reversal={"kind": "base-turn", "side": None, "turn": "right"}))
    assert set(drawn) == {"outbound", "inbound"}
    assert max(distances_nm(drawn["outbound"], HERE.latitude_deg, HERE.longitude_deg)) == pytest.approx(10.0, abs=1e-5)
