"""A log of half a day holds the approaches that its cuts hold, with their verdicts, and takes no more a second than they do."""

import datetime as dt
import tracemalloc
from dataclasses import replace

import pytest
from all_day import Day, day_of, part_of
from patterns import Approach, Pattern, fly_approach
from synthetic import CALM, CHARTED, Log, Segment, Straight, Turn, fly

from analyzer import debrief
from analyzer.debriefs.data import Approach as Debriefed
from analyzer.legs import match
from analyzer.legs.decode import decode
from analyzer.legs.flight import find_flight
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve
from analyzer.track.track import Track

WIND = (250.0, 18.0)
CRUISE: list[Segment] = [Straight("leg", 2000.0), Turn("dog-leg", 40.0, 15.0), Straight("on", 2000.0)]
ORBITS: list[Segment] = [Turn(f"orbit {number}", 360.0, 6.0) for number in range(8)]
LINES = [part for n in range(9) for part in (Straight(f"line {n}", 400.0), Turn(f"turn {n}", 180.0 * (-1.0) ** n, 22.0))]
HOLD = [part for n in range(26) for part in (Straight(f"leg {n}", 60.0), Turn(f"turn {n}", 180.0, 18.0))]
CIRCLES: list[Segment] = [Turn(f"circle {number}", -360.0, 25.0) for number in range(40)]
STRAIGHT_IN = Approach(fly([Straight("inbound", 530.0)], (0.0, 15.0), 180.0, 120.0, CALM), 0.0, 450.0, 0.0)


def coming_down(approach: Approach) -> list[tuple[float, float]]:
    """Level, down when on the inbound course, and to 800 ft when past the fix."""
    home = approach.inbound_passage_s
    return [(0.0, 3000.0), (home - 100.0, 3000.0), (home - 50.0, 2200.0), (home, 2200.0), (home + 75.0, 800.0)]


@pytest.fixture(scope="module")
def day() -> Day:
    pattern = Pattern(wind=WIND, roll_deg_s=5.0, intercept=True, final_s=80.0)
    ways = (
        pattern,
        replace(pattern, side=-1),  # the wrong side
        replace(pattern, shape="80/260", arrival_deg=60.0),
        replace(pattern, arrival_deg=-90.0, outbound_s=420.0),  # beyond the limit
        replace(pattern, arrival_deg=150.0, speed_kt=95.0),
    )
    approaches = [fly_approach(one) for one in ways]
    approaches.insert(3, STRAIGHT_IN)
    between = [
        ((-60.0, -50.0), 70.0, CRUISE), ((70.0, 20.0), 200.0, ORBITS), ((5.0, 45.0), 10.0, LINES), ((-12.0, 18.0), 90.0, HOLD),
        ((-80.0, 60.0), 120.0, CRUISE), ((18.0, -6.0), 0.0, CIRCLES),
    ]  # fmt: skip
    return day_of(approaches, [coming_down(one) for one in approaches], between, 120.0, WIND, 5500.0)


@pytest.fixture(scope="module")
def log(day) -> Track:
    return Log(altitude_ft=day.heights_ft, noise_m=1.0).of(day.flown)


def told(one: Debriefed) -> dict[tuple[object, ...], str]:
    """The verdicts of an approach, but for the way to it and the missed approach, of which a cut holds less.

    Where it was fastest is left out of what a finding is known by: two parts may be as fast as each other.
    """
    found = (f for f in one.findings if f.leg not in ("arrival", "missed"))
    return {(f.check, f.fix, *((f.leg, f.part) if f.check != "speed_limit" else ())): f.verdict for f in found}


def test_half_a_day_holds_what_its_cuts_hold(day, log):
    assert log.time_s[-1] - log.time_s[0] > 11.5 * 3600.0
    whole = debrief(log, CHARTED.at()).approaches
    assert [one.reversal.flown for one in whole] == ["45/180", "45/180", "80/260", "straight-in", "45/180", "45/180"]
    for one, (begin, end) in zip(whole, day.spans_s, strict=True):
        (cut,) = debrief(part_of(log, begin - 200.0, end + 100.0), CHARTED.at()).approaches
        assert (one.reversal.flown, one.reversal.side) == (cut.reversal.flown, cut.reversal.side)
        ours = {part.name: part.start_s for part in one.reversal.parts if part.name != "arrival"}
        theirs = {part.name: part.start_s for part in cut.reversal.parts if part.name != "arrival"}
        assert list(ours) == list(theirs)
        assert all(abs(ours[name] - theirs[name]) < 1.5 for name in ours), (ours, theirs)
        assert told(one) == told(cut)
        if one.figures.farthest is not None and cut.figures.farthest is not None:
            assert one.figures.farthest.distance_m == pytest.approx(cut.figures.farthest.distance_m, abs=5.0)


def test_of_half_a_day_an_arrival_is_the_last_of_the_way(day, log):
    for one in debrief(log, CHARTED.at()).approaches:
        arrival = one.reversal.part("arrival")
        assert arrival is not None
        assert arrival.duration_s <= 1200.0


def test_work_and_memory_grow_with_the_log_and_no_faster(log, monkeypatch):
    """Shapes are fitted to each second a few times at most, however long the log is; ten hours take four times the memory."""
    fitted: list[int] = []

    def counting(gain, *others):
        fitted.append(len(gain))
        return decode(gain, *others)

    monkeypatch.setattr(match, "decode", counting)

    def taken(hours: float) -> tuple[float, float]:
        motion = analyse_motion(part_of(log, 0.0, hours * 3600.0), resolve(CHARTED.at(), dt.date(2026, 6, 1)))
        fitted.clear()
        find_flight(motion)
        seconds = float(sum(fitted))
        tracemalloc.start()
        find_flight(motion)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return seconds, float(peak)

    (short_s, short_b), (long_s, long_b) = taken(2.5), taken(10.0)
    assert 0.0 < short_s < 4.0 * 2.5 * 3600.0
    assert 0.0 < long_s < 4.0 * 10.0 * 3600.0
    assert long_b < 1.5 * 4.0 * short_b
