"""The globe file: valid by the schema of OGC KML 2.2, read back by fastkml and lxml, and measured with geographiclib."""

import unicodedata
from datetime import datetime, timedelta
from html.parser import HTMLParser
from io import BytesIO
from itertools import pairwise

import fastkml
import pytest
from export_flights import ACROSS, DIRECTING, HOSTILE, across_180, debriefed_anew, named, saying
from fastkml.validator import validate
from geographiclib.geodesic import Geodesic
from lxml import etree
from patterns import Pattern, fly_approach
from report_flights import FIX, FT, NM, from_fix, instant, truth_near
from synthetic import CHARTED, START_S, Log

import analyzer
from analyzer.report.exports.kml import debrief_kml
from analyzer.report.pictures.style import LEG_COLOUR

KML = {"k": "http://www.opengis.net/kml/2.2"}


@pytest.fixture(scope="module")
def globes(debriefs):
    return {name: debrief_kml(debrief) for name, debrief in debriefs.items()}


@pytest.fixture(scope="module")
def across():
    return parsed(debrief_kml(across_180()))


def parsed(text):
    return etree.fromstring(text.encode(), etree.XMLParser(resolve_entities=False))


def found(element, path):
    return element.xpath(path, namespaces=KML)


def named_folder(root, name):
    (folder,) = found(root, f"//k:Folder[k:name='{name}']")
    return folder


def coordinates(element):
    """Positions of every line below an element."""
    return [
        [tuple(float(value) for value in position.split(",")) for position in text.split()]
        for text in found(element, ".//k:LineString/k:coordinates/text()")
    ]


def track_folders(root):
    return found(root, "//k:Folder[k:Placemark/k:TimeSpan]")


def apart_m(one, other):
    return Geodesic.WGS84.Inverse(one[1], one[0], other[1], other[0])["s12"]


def test_it_is_valid_kml(globes, flight, tmp_path):
    """By OGC's own schema, and every style that is asked for is there."""
    file = tmp_path / "globe.kml"
    file.write_text(globes[flight], encoding="utf-8")
    assert validate(file_to_validate=file) is True
    root = parsed(globes[flight])
    asked = {text.removeprefix("#") for text in found(root, "//k:styleUrl/text()")}
    assert asked <= set(found(root, "//k:Style/@id"))


def test_it_uses_no_vendor_s_names(globes, flight):
    assert {etree.QName(element).namespace for element in parsed(globes[flight]).iter()} == {KML["k"]}


def test_another_library_finds_the_approach_and_its_parts(globes, documents, flight):
    (document,) = fastkml.KML.parse(BytesIO(globes[flight].encode())).features
    folders = [feature for feature in document.features if feature.name.startswith("Approach")]
    assert len(folders) == len(documents[flight]["reversals"])
    for folder, reversal in zip(folders, documents[flight]["reversals"], strict=True):
        assert folder.name.endswith(f": {reversal['flown']}, {reversal['overall']['verdict']}")
        *parts, findings = folder.features
        assert [part.name for part in parts] == [part["part"].replace("_", " ") for part in reversal["parts"]]
        for part, told in zip(parts, reversal["parts"], strict=True):
            line = part.features[0]
            assert line.times.begin.dt == instant(told["start"])
            assert line.times.end.dt == instant(told["end"])
            assert line.style_url.url == f"#{told['leg']}"
        assert [placemark.description.splitlines()[0].split(" Not assessed:")[0] for placemark in findings.features] == [
            finding["sentence"] for finding in reversal["findings"]
        ]


def test_it_says_what_it_is_for(globes, documents, flight):
    (description,) = found(parsed(globes[flight]), "/k:kml/k:Document/k:description/text()")
    assert description.splitlines()[0] == documents[flight]["cautions"]


def test_findings_lie_where_and_when_the_json_says(globes, documents, sample):
    findings = found(named_folder(parsed(globes[sample]), "Findings"), "k:Placemark")
    told = documents[sample]["reversals"][0]["findings"]
    assert len(findings) == len(told)
    for placemark, finding in zip(findings, told, strict=True):
        assert found(placemark, "string(k:name)") == f"{finding['check'].replace('_', ' ')}: {finding['verdict']}"
        assert found(placemark, "string(k:TimeStamp/k:when)") == (finding["time"] or "")
        place = [float(value) for value in found(placemark, "string(k:Point/k:coordinates)").split(",") if value]
        expected = [finding["longitude_deg"], finding["latitude_deg"]] if finding["time"] else []
        assert place == pytest.approx(expected, abs=6e-7)
        assert f"Source: {finding['source']}" in found(placemark, "string(k:description)").splitlines()
        for sentence in (finding["lesson"] or {}).values():
            assert sentence is None or sentence in found(placemark, "string(k:description)")


def test_heights_are_metres_above_the_sea(globes, sample):
    """Against the simulator's own record in feet."""
    for folder in track_folders(parsed(globes[sample])):
        assert set(found(folder, ".//k:altitudeMode/text()")) == {"absolute"}
        assert not found(folder, ".//k:tessellate")  # which is for lines on the ground
        (line,) = coordinates(folder)
        for time, position in ((found(folder, "string(.//k:begin)"), line[0]), (found(folder, "string(.//k:end)"), line[-1])):
            was = truth_near(sample, time)
            assert position[2] == pytest.approx(float(was["altitude_ft"]) * FT, abs=25.0)


def test_every_whole_minute_is_marked_where_the_aircraft_was(globes, sample, debriefs):
    root, time_s = parsed(globes[sample]), debriefs[sample].motion.track.time_s
    marks = found(root, "//k:Folder[k:Placemark/k:TimeSpan]/k:Placemark[k:TimeStamp]")
    times = [instant(found(mark, "string(k:TimeStamp/k:when)")) for mark in marks]
    first = datetime.fromtimestamp(float(time_s[0]), tz=times[0].tzinfo)
    assert all(time.second == time.microsecond == 0 for time in times)
    assert times == sorted(set(times))
    assert len(times) == sum((first + timedelta(seconds=k)).second == 0 for k in range(int(time_s[-1] - time_s[0]) + 1))
    for mark, time in zip(marks, times, strict=True):
        was = truth_near(sample, time.isoformat())
        longitude, latitude, _ = (float(value) for value in found(mark, "string(k:Point/k:coordinates)").split(","))
        assert apart_m((longitude, latitude), (float(was["longitude_deg"]), float(was["latitude_deg"]))) < 20.0
        assert found(mark, "string(k:name)") == f"{time:%H:%M:%S}"


def test_minutes_are_found_between_samples():
    """A log whose samples lie between whole seconds has its whole minutes too."""
    log = Log(noise_m=1.0, start_s=START_S + 0.4)
    debrief = analyzer.debrief(log.of(fly_approach(Pattern(roll_deg_s=5.0)).flown), CHARTED.at())
    marks = found(parsed(debrief_kml(debrief)), "//k:Folder[k:Placemark/k:TimeSpan]/k:Placemark/k:TimeStamp/k:when/text()")
    minutes = int((debrief.motion.track.time_s[-1] - START_S) // 60)
    assert marks == [f"2026-06-01T10:{minute:02d}:00.000Z" for minute in range(1, minutes + 1)]


def test_the_limit_is_ten_miles_from_the_fix_all_round(globes):
    root = parsed(globes["clean.csv"])
    (limit,) = found(root, "//k:Placemark[k:name='limit 10 NM']")
    (ring,) = coordinates(limit)
    assert ring[0] == ring[-1]
    assert [from_fix(latitude, longitude)[0] for longitude, latitude in ring] == pytest.approx([10.0] * len(ring), abs=1e-5)
    assert found(limit, "string(.//k:altitudeMode)") == "clampToGround"
    (fix,) = found(root, "//k:Placemark[k:name='WND']/k:Point/k:coordinates/text()")
    assert [float(value) for value in fix.split(",")] == [FIX[1], FIX[0]]
    assert {"outbound course 061°", "inbound course 241°"} < set(found(root, "//k:Folder[k:name='Charted']//k:name/text()"))


def test_legs_have_the_colours_of_the_pictures(globes):
    """KML counts alpha, blue, green, red (OGC 07-147r2, 16.9)."""
    root = parsed(globes["clean.csv"])
    for leg, colour in LEG_COLOUR.items():
        (written,) = found(root, f"//k:Style[@id='{leg}']/k:LineStyle/k:color/text()")
        assert bytes.fromhex(written)[::-1] == bytes.fromhex(colour[1:]) + b"\xff"


def test_without_altitudes_the_track_lies_on_the_ground(globes):
    root = parsed(globes["no_altitude.csv"])
    assert set(found(root, "//k:altitudeMode/text()")) == {"clampToGround"}
    assert {len(position) for line in coordinates(root) for position in line} == {2}


def test_nothing_is_drawn_or_marked_in_a_gap(globes, documents):
    (gap,) = documents["with_gap.csv"]["track"]["gaps"]
    root = parsed(globes["with_gap.csv"])
    assert not [
        when for when in found(root, "//k:Folder[k:Placemark/k:TimeSpan]//k:when/text()") if gap["start"] < when < gap["end"]
    ]
    for folder in track_folders(root):
        assert len(coordinates(folder)) == (2 if found(folder, "string(k:name)") == "inbound" else 1)
        assert max(apart_m(*step) for line in coordinates(folder) for step in pairwise(line)) < 100.0


def test_two_approaches_are_two_folders(globes):
    names = found(parsed(globes["two_approaches.csv"]), "/k:kml/k:Document/k:Folder/k:name/text()")
    assert [name.split(":")[0] for name in names if name.startswith("Approach")] == ["Approach 1 of 2", "Approach 2 of 2"]


def test_a_flight_without_an_approach_is_there_all_the_same(globes):
    root = parsed(globes["arrival_only.csv"])
    assert len(coordinates(named_folder(root, "Outside the approaches"))) == 1
    assert "No approach" in found(root, "string(/k:kml/k:Document/k:description)")


def test_lines_are_cut_at_180_degrees(across):
    lines = coordinates(across)
    assert all(abs(one[0] - other[0]) < 90.0 for line in lines for one, other in pairwise(line))
    assert all(-180.0 <= position[0] <= 180.0 for line in lines for position in line)
    crossing = found(across, "//k:MultiGeometry")
    assert len(crossing) == 3  # limit, arrival and final
    (limit,) = found(across, "//k:Placemark[k:name='limit 10 NM']")
    for position in (p for line in coordinates(limit) for p in line):
        centre = (ACROSS.longitude_deg, ACROSS.latitude_deg)
        assert apart_m(centre, position) == pytest.approx(10.0 * NM, abs=0.8)


class Tags(HTMLParser):
    """What a reader that takes text for HTML makes of it."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.text = [], ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):  # noqa: ARG002 - the signature is the parser's
        self.tags.append(tag)

    def handle_data(self, data):
        self.text += data

    def handle_comment(self, data):  # noqa: ARG002
        self.tags.append("!--")

    def unknown_decl(self, data):  # noqa: ARG002
        self.tags.append("![")


@pytest.mark.parametrize("text", [*HOSTILE, "<!-- x", "<![CDATA[ x", "\x1b[31mred", "half \ud83d pair \ufffe"])
def test_text_is_text(debriefs, text):
    """Shown as HTML or not: no tag in a description, and nothing in the file that acts."""
    written = debrief_kml(saying(debriefs["strong_wind.csv"], text))
    root = parsed(written)
    assert {element.tag for element in root.iter()} == {e.tag for e in parsed(debrief_kml(debriefs["strong_wind.csv"])).iter()}
    first = found(named_folder(root, "Findings"), "string(k:Placemark[1]/k:description)")
    shown = Tags(first)
    assert shown.tags == []
    readable = "".join("" if DIRECTING.match(c) else c if c.isprintable() else " " for c in text)
    assert readable.split()[0] in shown.text
    assert len(shown.text.splitlines()) == 4  # sentence, why, try, source
    assert not DIRECTING.search(written)
    assert not [c for c in written if unicodedata.category(c) in ("Cc", "Cs") and c != "\n"]


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "]]> & <b>x</b> &lt;"])
def test_names_are_whole(name):
    root = parsed(debrief_kml(named(name)))
    assert found(root, "string(//k:Folder[k:name='Charted']/k:Placemark[1]/k:name)") == name
    assert found(root, "string(/k:kml/k:Document/k:name)") == f"{name}: strong_wind.csv"
    assert Tags(found(named_folder(root, "Findings"), "string(k:Placemark[1]/k:description)")).tags == []


def test_the_same_debrief_gives_the_same_bytes(debriefs):
    assert debrief_kml(debriefs["strong_wind.csv"]).encode() == debrief_kml(debriefed_anew("strong_wind.csv")).encode()
