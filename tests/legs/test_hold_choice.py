"""Which hold was flown, whether it was one or an approach, and where a turn inbound ends that comes out short of the course."""

from collections.abc import Sequence

import pytest
from checked import solve
from hold_flights import AWAY_NM, entered, inbound_s, level
from hold_flights import chart as chart_of_hold
from missed_flights import BANK, Whole, course, hold, laid
from missed_flights import chart as chart_of_missed
from synthetic import CALM, START_S, Chart, Flown, Segment, Straight, Turn, fly

START_NM = (0.0, 3.0)  # 90 s before the fix, on the inbound course
LAP = [Turn("away2", 180.0, BANK), Straight("out2", 60.0), Turn("back2", 180.0, BANK), Straight("in2", 60.0)]


def southbound(path: Sequence[Segment]) -> Flown:
    return fly(path, START_NM, 180.0, 120.0, CALM, 5.0)


def two_laps(on_s: float) -> Whole:
    entry = [Straight("arrival", 90.0), Turn("away1", 180.0, BANK), Straight("out1", 60.0), Turn("back1", 180.0, BANK)]
    return Whole(southbound([*entry, Straight("in1", 60.0), *LAP, Straight("on", on_s)]), level())


@pytest.mark.parametrize(("beyond_nm", "approached"), [(1.2, False), (1.4, False), (1.6, True), (3.0, True)])
def test_laps_at_the_fix_of_the_reversal_are_an_approach_where_a_final_leg_follows(beyond_nm, approached):
    """From a mile and a half on (common practice, no source); at 120 kt a mile takes half a minute."""
    here = hold(name="QRL", latitude_deg=Chart().at().fix.latitude_deg, longitude_deg=Chart().at().fix.longitude_deg)
    here["inbound_course_deg"] = Chart().at().reversal.inbound_course_deg
    flight = two_laps(beyond_nm * 30.0).flight(chart_of_missed(holds=[here]))
    assert [one.flown for one in flight.approaches] == (["hold-direct"] if approached else [])
    assert [held.hold.name for held in flight.holds] == ([] if approached else ["QRL"])


@pytest.mark.parametrize(("off_deg", "held"), [(0.0, True), (25.0, True), (-25.0, True), (35.0, False), (-35.0, False)])
def test_a_hold_on_a_course_near_that_of_the_reversal_is_meant_where_no_final_leg_follows(off_deg, held):
    """Within 30° (common practice, no source)."""
    here = hold(name="QRL", latitude_deg=Chart().at().fix.latitude_deg, longitude_deg=Chart().at().fix.longitude_deg)
    here["inbound_course_deg"] = (Chart().at().reversal.inbound_course_deg + off_deg) % 360.0
    flight = two_laps(30.0).flight(chart_of_missed(holds=[here]))
    assert (flight.approaches == ()) == held


@pytest.mark.parametrize("off_deg", [10.0, 20.0, 40.0])
@pytest.mark.parametrize("first", ["OSSIN", "OTHER"])
def test_of_two_holds_at_a_fix_the_one_on_the_course_that_was_flown_whichever_is_charted_first(off_deg, first):
    rows = [
        {"name": name, **laid(0.0, 0.0), "inbound_course_deg": course(inbound_deg), "turn": "right", "leg_time_s": 60.0}
        for name, inbound_deg in (("OSSIN", 180.0), ("OTHER", 180.0 + off_deg))
    ]
    rows = sorted(rows, key=lambda row: row["name"] != first)
    flight = entered("direct").flight(Chart(fix=laid(*AWAY_NM), tables={"holds": rows}))
    assert [held.hold.name for held in flight.holds] == ["OSSIN"]


def test_a_turn_inbound_that_comes_out_at_a_cut_ends_where_the_course_is_met():
    """It comes out 30° short of the course; half way through the turn that meets it, the track is within 15° of the course."""

    def out_and_back(cut_s: float) -> list[Segment]:
        wide = [Straight("arrival", 90.0), Turn("away1", 165.0, BANK), Straight("out1", 60.0), Turn("back1", 165.0, BANK)]
        return [*wide, Straight("cut1", cut_s), Turn("join1", 30.0, 15.0)]

    path = out_and_back(solve(lambda seconds: float(southbound(out_and_back(seconds)).x_nm[-1]), 0.0, 1.0, 60.0))
    path.append(Straight("in1", inbound_s(path, START_NM, 180.0, CALM)))
    flown = southbound([*path, *LAP, Straight("on", 40.0)])
    (held,) = Whole(flown, level()).flight(chart_of_hold()).holds
    turn, inbound = (part for part in held.flown.parts if part.lap == 1 and part.name in ("turn_inbound", "inbound"))
    met_s = (flown.begins["join1"] + flown.begins["in1"]) / 2.0
    assert turn.start_s - START_S == pytest.approx(flown.begins["back1"], abs=0.5)
    assert turn.end_s - START_S == pytest.approx(met_s, abs=0.5)
    assert inbound.start_s == turn.end_s


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("further", [1, 2])
def test_a_teardrop_entry_at_the_fix_of_a_procedure_turn_is_no_reversal_where_a_lap_follows(further, mirrored):
    """A teardrop under the barb would go on to the runway (AIM 5-4-9 a.1); this one goes round again, in the hold."""
    place = {"latitude_deg": Chart().at().fix.latitude_deg, "longitude_deg": Chart().at().fix.longitude_deg}
    here = hold(name="QRL", **place, turn="left" if mirrored else "right")
    here["inbound_course_deg"] = Chart().at().reversal.inbound_course_deg
    flown = entered("teardrop", further).flown
    flight = Whole(flown.mirrored() if mirrored else flown, level()).flight(chart_of_missed(holds=[here]))
    assert flight.approaches == ()
    (held,) = flight.holds
    assert (held.flown.flown, max(part.lap or 0 for part in held.flown.parts)) == ("hold-teardrop", further + 1)


@pytest.mark.parametrize("turn", ["left", "right"])
def test_a_teardrop_under_a_barb_that_goes_on_to_the_runway_is_the_reversal_whatever_hold_is_charted(turn):
    place = {"latitude_deg": Chart().at().fix.latitude_deg, "longitude_deg": Chart().at().fix.longitude_deg}
    here = hold(name="QRL", **place, turn=turn)
    here["inbound_course_deg"] = Chart().at().reversal.inbound_course_deg
    once = entered("teardrop").flown
    whole = [Straight("arrival", 90.0), Straight("out1", 75.0), Turn("back1", 210.0, BANK), Straight("home", 240.0)]
    flown = fly(whole, (float(once.x_nm[0]), float(once.y_nm[0])), -30.0, 120.0, CALM, 5.0)
    flight = Whole(flown, level()).flight(chart_of_missed(holds=[here]))
    assert [one.flown for one in flight.approaches] == ["base-turn"]
    assert flight.holds == ()
