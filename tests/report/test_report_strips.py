"""Strips by what is drawn, against the simulator's record, the logs, the procedure file and the standard's file."""

import math
import re
import tomllib
from importlib import resources

import numpy as np
import pytest
from drawn import horizontal, line_through, marks, panel_of, points, signs, texts, words
from report_flights import (
    ALTITUDE_FT,
    LEGS,
    LOGS,
    NM,
    PROCEDURE,
    VARIATION_DEG,
    charted,
    from_fix,
    leg_span,
    seconds,
    truth,
    truth_column,
    truth_near,
    truth_summary,
)

import analyzer
from analyzer.report.pictures.drawing import Area
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.strips import strips as strips_of
from analyzer.report.pictures.style import BAND, INK, LEG_COLOUR, QUIET, WARN
from analyzer.report.pictures.subject import Subject

STANDARD = tomllib.loads(resources.files("analyzer.standards").joinpath("faa-instrument.toml").read_text(encoding="utf-8"))
VOR_FULL_SCALE_DEG = 10.0  # either side, the usual figure
TITLES = {
    "distance": "distance, NM",
    "deviation": "course\ndeviation, °",
    "altitude": "altitude, ft",
    "vertical_speed": "climb, ft/min",
    "speed": "speed, kt",
    "bank": "bank, °",
    "turn_rate": "turn rate, °/s",
}


@pytest.fixture
def strips(figures, sample):
    """The seven strips by what they show, from the top; each has its quantity and unit at its left."""
    figure = figures[sample, "strips"]
    tops = [panel.frame.box[1] for panel in figure.panels]
    assert tops == sorted(tops)
    for axes, title in zip(figure.panels, TITLES.values(), strict=True):
        beside = [t.text for t in texts(axes) if t.angle_rad > 1.5 and t.away[0] < 0.0]
        assert beside == [title]
    return dict(zip(TITLES, figure.panels, strict=True))


def test_they_say_what_a_pilot_looks_for(figures, sample):
    said = words(figures[sample, "strips"])
    assert set(LEGS) <= set(said)
    assert said.count("right") == said.count("left") == 3
    assert {"0.75 of full scale", "time, UTC", "over the ground", "indicated, estimated"} <= set(said)
    assert {"limit 10 NM from the fix", "30°", "standard rate", "of full scale"} <= set(said)


def test_all_share_the_same_time(strips, entry, documents, sample):
    """From a minute before the fix, or earlier, to the end."""
    limits = {axes.frame.x for axes in strips.values()}
    assert len(limits) == 1
    start, end = limits.pop()
    log_start = seconds(documents[sample]["track"]["start"])
    assert log_start <= start <= max(log_start, seconds(entry["passages"][0]["time"]) - 60.0) + 1.0
    assert end == pytest.approx(seconds(entry["parts"][-1]["end"]), abs=1.0)


def test_times_are_written_where_they_are(strips):
    clock = [text for text in texts(strips["turn_rate"]) if re.fullmatch(r"\d\d:\d\d", text.text)]
    assert len(clock) >= 5
    for text in clock:
        hours, minutes = map(int, text.text.split(":"))
        assert text.x % 86400.0 == hours * 3600.0 + minutes * 60.0
    for name, axes in strips.items():
        assert name == "turn_rate" or not any(re.fullmatch(r"\d\d:\d\d", text.text) for text in texts(axes))


def test_heights_are_written_where_they_are(strips, side_view):
    for axes in (*strips.values(), *side_view.panels):
        left = axes.frame.x[0]
        numbers = [text for text in texts(axes) if text.x == left and text.across == "right" and text.away[0] < 0.0]
        assert len(numbers) >= 3
        for text in numbers:
            assert float(text.text.replace("−", "-").replace(",", "")) == pytest.approx(text.y, abs=1e-9)


def test_limits_lie_at_the_standards_values(strips, entry):
    assert (STANDARD["turn_bank"]["unit"], STANDARD["course_deviation"]["unit"]) == ("deg", "of full scale")
    bank, share = STANDARD["turn_bank"]["value"], STANDARD["course_deviation"]["value"]
    assert sorted(height for *_, height in horizontal(strips["bank"], WARN)) == [-bank, bank]
    assert all(line[:2] == strips["bank"].frame.x for line in horizontal(strips["bank"], WARN))
    allowed = share * VOR_FULL_SCALE_DEG
    assert {height for *_, height in horizontal(strips["deviation"], WARN)} == {-allowed, allowed}
    # on the parts that are flown along a course, and nowhere else
    start = strips["deviation"].frame.x[0]
    along = [part for part in entry["parts"] if part["part"] in ("outbound", "inbound", "final")]
    spans = [(max(seconds(part["start"]), start), seconds(part["end"])) for part in along]
    drawn = [line[:2] for line in horizontal(strips["deviation"], WARN) if line[2] > 0.0]
    assert [end for line in sorted(drawn) for end in line] == pytest.approx([end for span in spans for end in span], abs=2e-3)


def test_the_limit_on_final_is_that_of_the_final_leg():
    # FAA-S-ACS-11 AA.VI: a quarter of full scale on final; what it allows before is that of the instrument rating
    by_transport = analyzer.debrief(analyzer.read_track(LOGS["clean.csv"]), analyzer.read_procedure(PROCEDURE), "faa-transport")
    axes = panel_of(strips_of(Subject(by_transport, by_transport.approaches[0]), WIDE), "deviation")
    (final,) = [part for part in by_transport.approaches[0].reversal.parts if part.name == "final"]
    on_final = {height for start, _, height in horizontal(axes, WARN) if start >= final.start_s - 1.0}
    assert on_final == {-0.25 * VOR_FULL_SCALE_DEG, 0.25 * VOR_FULL_SCALE_DEG}
    before = {abs(height) for _, end, height in horizontal(axes, WARN) if end <= final.start_s + 1.0}
    assert before == {by_transport.standard["course_deviation"].value * VOR_FULL_SCALE_DEG}


def test_minima_lie_at_the_charted_heights_while_they_hold(strips, entry):
    drawn = horizontal(strips["altitude"], WARN)
    start = strips["altitude"].frame.x[0]
    expected = []
    for leg in LEGS:
        first, last = map(seconds, leg_span(entry, leg))
        expected.append((max(first, start), last, charted()["altitudes"][f"{leg}_ft"]))
    assert sorted(drawn) == [pytest.approx(line, abs=2e-3) for line in sorted(expected)]


def test_bank_is_the_simulators(strips, sample):
    """Right up. Noise in the positions leaves a degree or two of error; the wrong sign or unit would leave tens."""
    (line,) = line_through(strips["bank"], INK)
    times, bank = points(line).T
    off = bank - truth_column(sample, "bank_deg", times)
    assert math.sqrt(np.mean(off**2)) < 2.5
    assert strips["bank"].frame.y[0] < bank.min() < 0.0 < bank.max() < strips["bank"].frame.y[1]


def test_altitude_is_the_simulators(strips, sample):
    (line,) = line_through(strips["altitude"], INK)
    times, altitude = points(line).T
    assert np.abs(altitude - truth_column(sample, "altitude_ft", times)).max() < ALTITUDE_FT


def test_airspeed_is_the_simulators(strips, sample):
    """As far as turns tell it: within 6 kt, where ground speed is off by up to 37.

    Indicated from true by the density of the standard atmosphere (ICAO Doc 7488), from memory: so low and slow as this the
    compressibility of the air is under 0.2 kt.
    """
    (line,) = line_through(strips["speed"], INK, 1.4)[:1]
    times, speed = points(line).T
    metres = truth_column(sample, "altitude_ft", times) * 0.3048
    density = (1.0 - 2.25577e-5 * metres) ** 4.25588
    off = speed - truth_column(sample, "true_airspeed_kt", times) * np.sqrt(density)
    assert math.sqrt(np.mean(off**2)) < 6.0


def test_ground_speed_is_the_one_logged(figures):
    """One sample log holds the receiver's own ground speed, in knots."""
    rows = LOGS["strong_wind.csv"].read_text(encoding="utf-8").splitlines()
    assert rows[0].endswith("ground speed [kt]")
    logged = {seconds(f"{date}T{time}Z"): float(speed) for date, time, *_, speed in (row.split(";") for row in rows[1:])}
    (line,) = line_through(panel_of(figures["strong_wind.csv", "strips"], "speed"), QUIET, 1.0)[:1]
    times, speed = points(line).T
    off = np.array([speed[k] - logged[t] for k, t in enumerate(times.tolist()) if t in logged])
    assert len(off) > 700
    assert math.sqrt(np.mean(off**2)) < 1.5


@pytest.mark.parametrize(("leg", "sign"), [("outbound", 1.0), ("inbound", -1.0)])
def test_deviation_is_the_angle_at_the_fix_right_up(strips, sample, leg, sign):
    """The angle between the course and the bearing from the fix to where the simulator was, beyond 1 NM; dotted within.

    Dotted as well until the course is tracked: an intercept is not judged.
    """
    solid, dotted = (
        points(line)[np.isfinite(points(line)[:, 1])]
        for line in sorted(line_through(strips["deviation"], LEG_COLOUR[leg]), key=lambda line: -line.width)
    )
    course = charted()["reversal"]["outbound_course_deg"] + VARIATION_DEG
    assert len(solid) > 40
    for time, drawn in solid[::10]:
        row = truth_near(sample, float(time))
        distance, bearing = from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))
        assert distance > 0.99
        off = sign * ((bearing - course + 180.0) % 360.0 - 180.0)
        # the receiver's error, and half a second's drift across a course
        assert drawn == pytest.approx(off, abs=math.degrees(12.0 / NM / distance) + 0.2)
    for time, off in dotted:
        row = truth_near(sample, float(time))
        cut = -math.copysign(1.0, off) * ((true_track_deg(row) - course - (0.0 if sign > 0 else 180.0) + 180.0) % 360.0 - 180.0)
        # beyond half of full scale, or still cutting towards the course by 3° or more, less what the receiver errs by
        not_yet_tracked = time < solid[0, 0] and (abs(off) > 4.5 or cut > 1.5)
        assert not_yet_tracked or from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))[0] < 1.0 + 0.06


def true_track_deg(row: dict[str, str]) -> float:
    """The track over the ground that heading, airspeed and wind make."""
    heading, speed = math.radians(float(row["heading_deg_true"])), float(row["true_airspeed_kt"])
    north = speed * math.cos(heading) + float(row["wind_to_north_kt"])
    east = speed * math.sin(heading) + float(row["wind_to_east_kt"])
    return math.degrees(math.atan2(east, north))


def test_words_at_the_limit_stand_at_it(strips):
    (text,) = [text for text in texts(strips["deviation"]) if text.text == "0.75 of full scale"]
    assert text.y == pytest.approx(0.75 * VOR_FULL_SCALE_DEG)


def test_without_altitude_there_are_five(pictures):
    """And the page has no profile."""
    names = [picture.name for picture in pictures["no_altitude.csv"][0]]
    assert names == ["plan", "strips"]
    drawn = pictures["no_altitude.csv"][0][1]
    assert [frame.quantity for frame in drawn.views[0].frames] == ["distance", "deviation", "speed", "bank", "turn_rate"]
    assert not any(words in drawn.views[0].svg for words in ("altitude, ft", "climb, ft/min"))


def test_without_wind_there_is_no_airspeed(pictures):
    assert "indicated" not in pictures["cut_short.csv"][0][-1].views[0].svg
    assert "indicated, estimated" in pictures["clean.csv"][0][-1].views[0].svg


def test_distance_is_the_simulators(strips, sample):
    """From the fix to where the simulator was, by geographiclib: within the receiver's error."""
    (line,) = line_through(strips["distance"], INK, None)[:1]
    times, distance = points(line).T
    known = [seconds(row["time_utc"]) for row in truth(sample)]
    flown = [from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))[0] for row in truth(sample)]
    assert np.abs(distance - np.interp(times, known, flown)).max() < 12.0 / NM
    assert strips["distance"].frame.y[0] == 0.0


def test_the_limit_of_distance_and_the_farthest_point_are_marked(strips, sample, entry):
    axes = strips["distance"]
    ((begin, end, limit),) = horizontal(axes, WARN)
    assert limit == charted()["reversal"]["within_nm"]
    # a limit of the reversal: from over the fix until established inbound, and not on final
    over = next(passage["time"] for passage in entry["passages"] if passage["direction"] == "outbound")
    assert (begin, end) == pytest.approx((seconds(over), seconds(entry["figures"]["established"])), abs=2e-3)
    assert end < seconds(leg_span(entry, "final")[0])
    (mark,) = [(mark.x, mark.y) for mark in signs(axes, "circle")]
    known = truth_summary(sample)
    assert mark[1] == pytest.approx(known["greatest_distance_nm"], abs=12.0 / NM)
    # near its greatest the distance hardly changes: a few seconds along the turn
    assert mark[0] == pytest.approx(seconds(known["greatest_distance_utc"]), abs=5.0)


def test_vertical_speed_is_the_simulators(strips, sample):
    """Up positive, feet a minute: what it sums up to is the height that was gained and lost, all along the flight."""
    (line,) = line_through(strips["vertical_speed"], INK)
    times, climb = points(line).T
    gained = np.concatenate([[0.0], np.cumsum(np.diff(times) * (climb[1:] + climb[:-1]) / 2.0)]) / 60.0
    altitude = truth_column(sample, "altitude_ft", times)
    assert np.abs(gained - (altitude - altitude[0])).max() < ALTITUDE_FT
    known = [seconds(row["time_utc"]) for row in truth(sample)]
    rates = np.interp(times, known, np.gradient([float(row["altitude_ft"]) for row in truth(sample)], known) * 60.0)
    assert math.sqrt(np.mean((climb - rates) ** 2)) < 100.0  # a mark of the instrument; descents are at 700
    assert rates.min() < -500.0


def test_turn_rate_is_the_simulators(strips, sample):
    """Right up, degrees a second: within a tenth of standard rate of how the simulator's heading changed."""
    line = max(line_through(strips["turn_rate"], INK), key=lambda line: len(points(line)))
    times, rate = points(line).T
    known = np.array([seconds(row["time_utc"]) for row in truth(sample)])
    heading = np.unwrap([float(row["heading_deg_true"]) for row in truth(sample)], period=360.0)
    flown = np.interp(times, known, np.gradient(heading, known))
    assert math.sqrt(np.mean((rate - flown) ** 2)) < 0.3
    assert rate.min() < -1.5
    assert rate.max() > 1.5


def test_standard_rate_is_marked_at_three_degrees_a_second(strips):
    """14 CFR 1 and the Pilot/Controller Glossary: a turn of three degrees a second."""
    assert sorted(height for *_, height in horizontal(strips["turn_rate"], QUIET)) == pytest.approx([-3.0, 0.0, 3.0])
    (text,) = [text for text in texts(strips["turn_rate"]) if text.text == "standard rate"]
    assert text.y == pytest.approx(3.0)


def band_at(axes, times) -> tuple[np.ndarray, np.ndarray]:
    """Lower and upper edge of the band about a curve at some instants."""
    bands = [mark for mark in marks(axes) if isinstance(mark, Area) and mark.colour == BAND]
    corners = np.vstack([np.column_stack([band.x, band.y]) for band in bands])
    edges = []
    for time in times:
        heights = corners[np.abs(corners[:, 0] - time) < 1e-6, 1]
        edges.append((heights.min(), heights.max()))
    low, high = np.array(edges).T
    return low, high


def test_the_band_about_the_bank_holds_what_was_flown(strips, sample):
    """Two standard deviations hold 19 of 20 of what the simulator flew, and are no wider than three degrees on average."""
    (line,) = line_through(strips["bank"], INK)
    times, bank = points(line).T
    low, high = band_at(strips["bank"], times)
    flown = truth_column(sample, "bank_deg", times)
    assert np.mean((low <= flown) & (flown <= high)) >= 0.95
    assert 0.2 < np.mean(high - low) / 2.0 < 3.0
    assert bank - low == pytest.approx(high - bank, abs=1e-9)


def test_the_second_scale_is_the_share_of_full_scale(strips, sample):
    """A VOR's needle stands at the edge at 10 degrees."""
    axes = strips["deviation"]
    right = axes.frame.x[1]
    scale = {float(text.text.replace("−", "-")): text.y for text in texts(axes) if text.x == right and text.across == "left"}
    assert set(scale) == {-1.0, -0.5, 0.0, 0.5, 1.0}
    for share, height in scale.items():
        assert height == pytest.approx(share * VOR_FULL_SCALE_DEG)
    (said,) = [text for text in texts(axes) if text.text == "of full scale"]
    assert said.x == right
    assert said.away[0] > 0.0


def test_limits_are_dashed_as_the_caption_says(strips, pictures, sample):
    for name in ("distance", "deviation", "bank"):
        assert all(line.dash for line in line_through(strips[name], WARN))
    assert not any(line.dash for line in line_through(strips["altitude"], WARN))
    caption = pictures[sample][0][-1].caption
    assert "Dashed red: limits" in caption
    assert "two standard deviations" in caption
    assert "dotted where it does not count: within 1 NM of the fix" in caption


def test_what_cannot_be_told_has_no_strip(pictures):
    for name, drawn in pictures.items():
        for approach in drawn:
            panels = [frame.quantity for frame in approach[-1].views[0].frames]
            assert panels == [one for one in TITLES if one in panels]
            assert ("altitude" in panels) == ("vertical_speed" in panels) == (name != "no_altitude.csv")
