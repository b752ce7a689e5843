"""Profile and strips by what is drawn, against the simulator's record, the logs, the procedure file and the standard's file."""

import math
import re
import tomllib
from importlib import resources
from itertools import pairwise

import numpy as np
import pytest
from drawn import line_through, points, texts, words
from geographiclib.geodesic import Geodesic
from report_flights import LOGS, NM, VARIATION_DEG, charted, from_fix, instant, truth, truth_between, truth_near

from analyzer.report.profile import profile
from analyzer.report.style import INK, LEG_COLOUR, QUIET, WARN, look

LEGS = ("arrival", "outbound", "reversal", "inbound", "final")
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
ALTITUDE_FT = 4 * 5.0 / 0.3048  # four standard deviations of the receiver's height


@pytest.fixture
def entry(documents, sample):
    return documents[sample]["reversals"][0]


@pytest.fixture
def side_view(figures, sample):
    return figures[sample, "profile"]


@pytest.fixture
def strips(figures, sample):
    """The seven strips by what they show, from the top; each has its quantity and unit at its left."""
    figure = figures[sample, "strips"]
    tops = [axes.get_position().y1 for axes in figure.axes]
    assert tops == sorted(tops, reverse=True)
    for axes, words in zip(figure.axes, TITLES.values(), strict=True):
        beside = [t.get_text() for t in axes.texts if t.get_rotation() == 90.0 and getattr(t, "xyann", (0.0,))[0] < 0.0]
        assert beside == [words]
    return dict(zip(TITLES, figure.axes, strict=True))


def leg_span(entry, leg: str) -> tuple[str, str]:
    parts = [part for part in entry["parts"] if part["leg"] == leg]
    return parts[0]["start"], parts[-1]["end"]


def seconds(text: str) -> float:
    return instant(text).timestamp()


def column(sample: str, name: str, times) -> np.ndarray:
    """A column of the truth at some instants."""
    known = np.array([seconds(row["time_utc"]) for row in truth(sample)])
    return np.interp(times, known, np.array([float(row[name]) for row in truth(sample)]))


def horizontal(axes, colour: str) -> list[tuple[float, float, float]]:
    """Level lines of a colour: left end, right end, height. A line across all the axes has ends 0 and 1."""
    found = []
    for line in line_through(axes, colour):
        drawn = points(line)
        if len(drawn) == 2 and drawn[0, 1] == drawn[1, 1]:
            found.append((float(drawn[0, 0]), float(drawn[1, 0]), round(float(drawn[0, 1]), 9)))
    return found


class TestProfile:
    def test_it_says_what_a_pilot_looks_for(self, side_view, entry):
        said = words(side_view)
        assert set(LEGS) <= set(said)
        assert said.count("WND") == 2
        assert "established" in said
        assert {"altitude, ft MSL", "distance flown in this picture, NM", "minimum 3,000", "2,600", "1,800", "640"} <= set(said)
        began = round(seconds(entry["descent"]["start"]))
        assert f"level left {began // 3600 % 24:02d}:{began // 60 % 60:02d}:{began % 60:02d}" in said

    def test_the_altitude_is_the_one_flown(self, side_view, entry, sample):
        (axes,) = side_view.axes
        for leg in LEGS:
            (line,) = line_through(axes, LEG_COLOUR[leg], 2.2)
            rows = truth_between(sample, *leg_span(entry, leg))
            drawn = points(line)[:, 1]
            flown = [float(row["altitude_ft"]) for row in rows]
            assert drawn.min() == pytest.approx(min(flown), abs=ALTITUDE_FT)
            assert drawn[-1] == pytest.approx(flown[-1], abs=ALTITUDE_FT)

    def test_the_distance_is_the_one_flown(self, side_view, entry, sample):
        """Over the legs after the arrival, summed second by second by geographiclib."""
        (axes,) = side_view.axes
        places = [
            (float(row["latitude_deg"]), float(row["longitude_deg"]))
            for row in truth_between(sample, leg_span(entry, "outbound")[0], leg_span(entry, "final")[1])
        ]
        flown = sum(Geodesic.WGS84.Inverse(*a, *b)["s12"] for a, b in pairwise(places)) / NM
        ends = [points(line_through(axes, LEG_COLOUR[leg], 2.2)[0]) for leg in ("outbound", "final")]
        assert ends[1][-1, 0] - ends[0][0, 0] == pytest.approx(flown, rel=0.005, abs=0.06)

    def test_each_minimum_lies_at_its_height_along_its_leg(self, side_view):
        (axes,) = side_view.axes
        floors = {height: (left, right) for left, right, height in horizontal(axes, WARN) if height != 2600.0}
        charted_ft = charted()["altitudes"]
        assert sorted(height for _, _, height in horizontal(axes, WARN)) == sorted(charted_ft.values())
        for leg in ("arrival", "inbound", "final"):
            drawn = points(line_through(axes, LEG_COLOUR[leg], 2.2)[0])[:, 0]
            assert floors[charted_ft[f"{leg}_ft"]] == pytest.approx((drawn[0], drawn[-1]))
        # outbound and reversal share theirs, one after the other
        (_, first_end, _), (second_start, _, _) = sorted(line for line in horizontal(axes, WARN) if line[2] == 2600.0)
        assert 0.0 <= second_start - first_end < 0.2

    def test_passages_and_being_established_stand_where_they_happened(self, side_view, entry):
        (axes,) = side_view.axes
        marks = sorted(points(line)[0, 0] for line in line_through(axes, QUIET))
        outbound = points(line_through(axes, LEG_COLOUR["outbound"], 2.2)[0])[0, 0]
        inbound, final = (points(line_through(axes, LEG_COLOUR[leg], 2.2)[0])[0, 0] for leg in ("inbound", "final"))
        # a turn that is led begins before the passage: up to ten seconds
        assert marks[0] == pytest.approx(outbound, abs=10.0 * entry["parts"][1]["ground_speed_kt"] / 3600.0)
        assert marks[1:] == pytest.approx([inbound, final], abs=0.06)

    def test_the_descent_is_marked_on_the_track(self, side_view, entry, sample):
        (axes,) = side_view.axes
        (mark,) = [points(line)[0] for line in axes.lines if line.get_marker() == "v"]
        assert mark[1] == pytest.approx(float(truth_near(sample, entry["descent"]["start"])["altitude_ft"]), abs=ALTITUDE_FT)

    def test_there_is_none_without_altitude(self, debriefs):
        debrief = debriefs["no_altitude.csv"]
        with look():
            assert profile(debrief, debrief.approaches[0]) is None


class TestStrips:
    def test_they_say_what_a_pilot_looks_for(self, figures, sample):
        said = words(figures[sample, "strips"])
        assert set(LEGS) <= set(said)
        assert said.count("right") == said.count("left") == 3
        assert {"0.75 of full scale", "time, UTC", "over the ground", "through the air, estimated"} <= set(said)
        assert {"limit 10 NM from the fix", "30°", "standard rate", "of full scale"} <= set(said)

    def test_all_share_the_same_time(self, strips, entry, documents, sample):
        """From a minute before the fix, or earlier, to the end."""
        limits = {axes.get_xlim() for axes in strips.values()}
        assert len(limits) == 1
        start, end = limits.pop()
        log_start = seconds(documents[sample]["track"]["start"])
        assert log_start <= start <= max(log_start, seconds(entry["passages"][0]["time"]) - 60.0) + 1.0
        assert end == pytest.approx(seconds(entry["parts"][-1]["end"]), abs=1.0)

    def test_times_are_written_where_they_are(self, strips):
        clock = [text for text in strips["turn_rate"].texts if re.fullmatch(r"\d\d:\d\d", text.get_text())]
        assert len(clock) >= 5
        for text in clock:
            hours, minutes = map(int, text.get_text().split(":"))
            assert text.get_position()[0] % 86400.0 == hours * 3600.0 + minutes * 60.0
        for name, axes in strips.items():
            assert name == "turn_rate" or not any(re.fullmatch(r"\d\d:\d\d", text.get_text()) for text in axes.texts)

    def test_heights_are_written_where_they_are(self, strips, side_view):
        for axes in (*strips.values(), *side_view.axes):
            left = axes.get_xlim()[0]
            numbers = [text for text in axes.texts if text.get_transform() == axes.transData and text.get_position()[0] < left]
            assert len(numbers) >= 3
            for text in numbers:
                assert float(text.get_text().replace("−", "-").replace(",", "")) == pytest.approx(
                    text.get_position()[1], abs=1e-9
                )

    def test_limits_lie_at_the_standards_values(self, strips):
        assert (STANDARD["turn_bank"]["unit"], STANDARD["course_deviation"]["unit"]) == ("deg", "of full scale")
        bank, share = STANDARD["turn_bank"]["value"], STANDARD["course_deviation"]["value"]
        assert sorted(height for *_, height in horizontal(strips["bank"], WARN)) == [-bank, bank]
        allowed = share * VOR_FULL_SCALE_DEG
        assert sorted(height for *_, height in horizontal(strips["deviation"], WARN)) == pytest.approx([-allowed, allowed])
        assert all(line[:2] == (0.0, 1.0) for name in ("bank", "deviation") for line in horizontal(strips[name], WARN))

    def test_minima_lie_at_the_charted_heights_while_they_hold(self, strips, entry):
        drawn = horizontal(strips["altitude"], WARN)
        start = strips["altitude"].get_xlim()[0]
        expected = []
        for leg in LEGS:
            first, last = map(seconds, leg_span(entry, leg))
            expected.append((max(first, start), last, charted()["altitudes"][f"{leg}_ft"]))
        assert sorted(drawn) == [pytest.approx(line, abs=2e-3) for line in sorted(expected)]

    def test_bank_is_the_simulators(self, strips, sample):
        """Right up. Noise in the positions leaves a degree or two of error; the wrong sign or unit would leave tens."""
        (line,) = line_through(strips["bank"], INK)
        times, bank = points(line).T
        off = bank - column(sample, "bank_deg", times)
        assert math.sqrt(np.mean(off**2)) < 2.5
        assert strips["bank"].get_ylim()[0] < bank.min() < 0.0 < bank.max() < strips["bank"].get_ylim()[1]

    def test_altitude_is_the_simulators(self, strips, sample):
        (line,) = line_through(strips["altitude"], INK)
        times, altitude = points(line).T
        assert np.abs(altitude - column(sample, "altitude_ft", times)).max() < ALTITUDE_FT

    def test_airspeed_is_the_simulators(self, strips, sample):
        """As far as turns tell it: within 6 kt, where ground speed is off by up to 37."""
        (line,) = line_through(strips["speed"], QUIET)
        times, speed = points(line).T
        off = speed - column(sample, "true_airspeed_kt", times)
        assert math.sqrt(np.mean(off**2)) < 6.0

    def test_ground_speed_is_the_one_logged(self, figures):
        """One sample log holds the receiver's own ground speed, in knots."""
        rows = LOGS["strong_wind.csv"].read_text(encoding="utf-8").splitlines()
        assert rows[0].endswith("ground speed [kt]")
        logged = {seconds(f"{date}T{time}Z"): float(speed) for date, time, *_, speed in (row.split(";") for row in rows[1:])}
        (line,) = line_through(figures["strong_wind.csv", "strips"].axes[list(TITLES).index("speed")], INK)
        times, speed = points(line).T
        off = np.array([speed[k] - logged[t] for k, t in enumerate(times.tolist()) if t in logged])
        assert len(off) > 700
        assert math.sqrt(np.mean(off**2)) < 1.5

    @pytest.mark.parametrize(("leg", "sign"), [("outbound", 1.0), ("inbound", -1.0)])
    def test_deviation_is_the_angle_at_the_fix_right_up(self, strips, sample, leg, sign):
        """The angle between the course and the bearing from the fix to where the simulator was, beyond 1 NM; dotted within."""
        solid, dotted = (
            points(line)[np.isfinite(points(line)[:, 1])]
            for line in sorted(line_through(strips["deviation"], LEG_COLOUR[leg]), key=lambda line: -line.get_linewidth())
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
            not_yet_settled = time < solid[0, 0] and abs(off) > 4.5
            assert not_yet_settled or from_fix(float(row["latitude_deg"]), float(row["longitude_deg"]))[0] < 1.0 + 0.06

    def test_words_at_the_limit_stand_at_it(self, strips):
        (text,) = [text for text in texts(strips["deviation"].figure) if text.get_text() == "0.75 of full scale"]
        assert text.get_position()[1] == pytest.approx(0.75 * VOR_FULL_SCALE_DEG)

    def test_without_altitude_there_are_five(self, pictures):
        """And the page has no profile."""
        names = [picture.name for picture in pictures["no_altitude.csv"][0]]
        assert names == ["plan", "strips"]
        drawn = pictures["no_altitude.csv"][0][1]
        assert [panel.quantity for panel in drawn.panels] == ["distance", "deviation", "speed", "bank", "turn_rate"]
        assert not any(words in drawn.svg for words in ("altitude, ft", "climb, ft/min"))

    def test_without_wind_there_is_no_airspeed(self, pictures):
        assert "through the air" not in pictures["cut_short.csv"][0][2].svg
        assert "through the air" in pictures["clean.csv"][0][2].svg
