"""Entries that only the lap after them shows to have been ones: back beside the fix, or from another sector.

The hold of `hold_flights`: inbound due south, turns to the right, so that its laps lie in the west, at negative x.
"""

import math
from functools import cache

import pytest
from checked import all_of, one_of, solve
from hold_flights import SPEED_KT, chart, held, level
from missed_flights import A_SECOND, BANK, Whole
from synthetic import CALM, Flown, Segment, Straight, Turn, fly

from analyzer.debriefs.data import Approach as Debriefed

FAR_NM = 5.0  # before the fix


def _run(path: list[Segment], heading_deg: float) -> Flown:
    """Over the fix on a heading after so many miles towards it, then a path."""
    begins = -FAR_NM * math.sin(math.radians(heading_deg)), -FAR_NM * math.cos(math.radians(heading_deg))
    return fly([Straight("arrival", FAR_NM / A_SECOND), *path], begins, heading_deg, SPEED_KT, CALM, 5.0)


def _heading(path: list[Segment], first_deg: float) -> float:
    return first_deg + sum(segment.degrees for segment in path if isinstance(segment, Turn))


def _to_the_fix_s(path: list[Segment], first_deg: float) -> float:
    """Seconds straight on to the fix, or abeam it."""
    on = _run([*path, Straight("on", 1.0)], first_deg)
    step = on.x_nm[-1] - on.x_nm[-11], on.y_nm[-1] - on.y_nm[-11]  # in a second
    return -float(on.x_nm[-1] * step[0] + on.y_nm[-1] * step[1]) / float(step[0] ** 2 + step[1] ** 2) + 1.0


def _lap(path: list[Segment], first_deg: float, lap: int) -> list[Segment]:
    """A path, then to the right and out for 90 s, on the heading from which the turn back comes out on the course, and home."""

    def round_on(out_deg: float) -> list[Segment]:
        away = Turn(f"away{lap}", (out_deg - _heading(path, first_deg) + 30.0) % 360.0 - 30.0, BANK)
        return [*path, away, Straight(f"out{lap}", 90.0), Turn(f"back{lap}", 180.0 - out_deg, BANK)]

    whole = round_on(solve(lambda out_deg: float(_run(round_on(out_deg), first_deg).x_nm[-1]), 0.0, -40.0, 40.0))
    return [*whole, Straight(f"in{lap}", _to_the_fix_s(whole, first_deg))]


def _with_laps(entry: list[Segment], first_deg: float) -> Whole:
    path = _lap(_lap(entry, first_deg, 2), first_deg, 3)
    return Whole(_run([*path, Straight("on", 40.0)], first_deg), level())


@cache
def _straight_back(first_deg: float, way: int, *out: Segment) -> list[Segment]:
    """A path, then a turn until the fix lies ahead, by the degree, and on to it."""

    def misses_nm(turned: int) -> float:
        """How far the way on misses the fix; ten miles more where it lies behind."""
        back = [*out, Turn("back1", way * turned, BANK)]
        seconds = _to_the_fix_s(back, first_deg)
        end = _run([*back, Straight("in1", seconds)], first_deg) if seconds > 10.0 else _run(back, first_deg)
        return float(end.distance_nm[-1]) + (0.0 if seconds > 10.0 else 10.0)

    back = [*out, Turn("back1", way * min(range(120, 400), key=misses_nm), BANK)]
    return [*back, Straight("in1", _to_the_fix_s(back, first_deg))]


def _judged(flight: Whole, mirrored: bool) -> Debriefed:
    flown = flight.flown.mirrored() if mirrored else flight.flown
    return held(Whole(flown, level()), chart(turn="left" if mirrored else "right"))


def _laps(hold: Debriefed) -> list[tuple[str | None, int | None]]:
    return [(finding.part, finding.lap) for finding in all_of(hold, "hold_timing")]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("beside_nm", [0.6, 0.8, 1.0])
def test_a_parallel_entry_that_comes_back_beside_the_fix_is_the_first_lap(beside_nm, mirrored):
    """A minute outbound from over the fix; parallel to the course on the holding side until abeam it, and outbound again."""
    first = 60.0
    out: list[Segment] = [Turn("away1", -first, BANK), Straight("out1", 60.0 - first / 3.0 - 3.6), Turn("back1", -180.0, BANK)]
    aside = float(_run(out, first).x_nm[-1])
    turned = math.copysign(30.0, aside + beside_nm)

    def entry(seconds: float) -> list[Segment]:
        return [*out, Turn("off1", turned, BANK), Straight("cut1", seconds), Turn("along1", -turned, BANK)]

    near, far = (float(_run(entry(s), first).x_nm[-1]) for s in (5.0, 15.0))
    path = entry(5.0 + 10.0 * (-beside_nm - near) / (far - near))
    path.append(Straight("in1", _to_the_fix_s(path, first)))
    hold = _judged(_with_laps(path, first), mirrored)
    entered = one_of(hold, "hold_entry")
    assert (entered.verdict, entered.measured, entered.limit) == ("inside", "parallel", "parallel")
    assert _laps(hold) == [("outbound", 1), ("inbound", 2), ("inbound", 3)]
    assert all_of(hold, "hold_timing")[0].measured == pytest.approx(60.0, abs=2.0)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(
    # headings from the inbound course in the direction of the turns: parallel from 180 to 290 (AIM 5-3-8 j.3), and 5 more
    ("from_inbound_deg", "verdict"),
    [(270.0, "inside"), (293.0, "inside"), (304.0, "outside"), (330.0, "outside"), (0.0, "outside")],
)
def test_a_parallel_entry_is_one_from_whatever_sector_and_judged_by_it(from_inbound_deg, verdict, mirrored):
    """Away from the holding side to the outbound heading, 40 s, and back to the fix by the same way round; then laps."""
    first = (180.0 + from_inbound_deg) % 360.0
    out: list[Segment] = [Turn("away1", -first, BANK), Straight("out1", 40.0)]
    hold = _judged(_with_laps(_straight_back(first, -1, *out), first), mirrored)
    entered = one_of(hold, "hold_entry")
    assert (entered.verdict, entered.measured) == (verdict, "parallel")
    assert entered.limit == ("parallel" if from_inbound_deg == 270.0 else "direct")
    assert one_of(hold, "hold_turn").verdict == "inside"
    assert [lap for _, lap in _laps(hold)] == [1, 2, 3]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(
    ("from_inbound_deg", "verdict"), [(150.0, "inside"), (182.0, "inside"), (200.0, "outside"), (260.0, "outside")]
)
def test_a_teardrop_is_one_from_the_parallel_sector_too_and_judged_by_it(from_inbound_deg, verdict, mirrored):
    """Onto the heading 30° into the hold from the outbound one, a minute from the fix, and back to it; then laps."""
    first = (180.0 + from_inbound_deg) % 360.0
    turned = (-30.0 - first + 180.0) % 360.0 - 180.0
    onto: list[Segment] = [Turn("away1", turned, BANK)] if abs(turned) > 20.0 else [Straight("away1", 1.0)]
    out = [*onto, Straight("out1", 50.0)]
    hold = _judged(_with_laps(_straight_back(first, 1, *out), first), mirrored)
    entered = one_of(hold, "hold_entry")
    assert (entered.verdict, entered.measured) == (verdict, "teardrop")
    assert [lap for _, lap in _laps(hold)] == [1, 2, 3]


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_turn_onto_the_way_to_the_fix_is_not_the_entry_turn(mirrored):
    """It ends 8 s before the fix, on a heading that calls for the teardrop; the entry turn has the same direction."""
    first = (180.0 + 114.0) % 360.0
    before: list[Segment] = [Straight("arrival", 120.0), Turn("onto", 40.0, BANK), Straight("before", 8.0)]
    there = fly(before, (0.0, 0.0), first - 40.0, SPEED_KT, CALM, 5.0)
    entry = _straight_back(first, 1, Turn("away1", 36.0, BANK), Straight("out1", 48.0))
    path = [*before, *_lap(_lap(entry, first, 2), first, 3), Straight("on", 40.0)]
    flown = fly(path, (-float(there.x_nm[-1]), -float(there.y_nm[-1])), first - 40.0, SPEED_KT, CALM, 5.0)
    hold = _judged(Whole(flown, level()), mirrored)
    entered = one_of(hold, "hold_entry")
    assert (entered.verdict, entered.measured, entered.limit) == ("inside", "teardrop", "teardrop")


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(
    # seconds on the course: what is flown before it, level beside it and turning onto it, takes 32 s or so
    ("on_s", "verdict"),
    [(30.0, "not assessed"), (80.0, "outside"), (5.0, "outside")],
)
def test_an_inbound_leg_has_a_verdict_where_both_ways_to_time_it_agree(on_s, verdict, mirrored):
    """The turn inbound comes out beyond the course, which is joined later; which time counts AIM 5-3-8 j.4 leaves open."""
    first = [Turn("away1", 180.0, BANK), Straight("out1", 60.0), Turn("back1", 180.0, BANK), Straight("in1", 60.0)]

    def lap(off_deg: float, out_s: float) -> list[Segment]:
        out = [*first, Turn("away2", 180.0 + off_deg, BANK), Straight("out2", out_s), Turn("back2", 180.0 - off_deg, BANK)]
        join = [Turn("cut2", 30.0, BANK), Straight("close2", 4.0), Turn("join2", -30.0, BANK)]
        return [*out, Straight("beside2", 8.0), *join, Straight("in2", on_s)]

    def onto_the_course(out_s: float) -> list[Segment]:
        return lap(solve(lambda off_deg: float(_run(lap(off_deg, out_s), 180.0).x_nm[-1]), 0.0, -60.0, 85.0), out_s)

    path = onto_the_course(solve(lambda out_s: float(_run(onto_the_course(out_s), 180.0).y_nm[-1]), 0.0, 20.0, 200.0))
    path += [Turn("away3", 180.0, BANK), Straight("out3", 60.0)]
    hold = _judged(Whole(_run(path, 180.0), level()), mirrored)
    finding = next(finding for finding in all_of(hold, "hold_timing") if (finding.part, finding.lap) == ("inbound", 2))
    assert finding.verdict == verdict
