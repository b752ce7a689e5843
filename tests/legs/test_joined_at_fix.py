"""A flight that comes to the fix from aside, joins the final course there and lands is an approach, flown straight in."""

from dataclasses import replace

import pytest
from checked import NOISY, all_of, one_of
from final_flights import NORTH_OUT, runway
from missed_flights import A_SECOND, ELEVATION_FT, THRESHOLD_NM, Heights, Whole, chart
from synthetic import START_S, Chart, Flown, Segment, Straight, Turn, fly, standard_rate_bank

from analyzer import debrief

ARRIVAL_S = 420.0  # from farther away than the reversal would be flown


def to_the_runway(turn_deg: float, seconds_s: float, after: tuple[Segment, ...] = ()) -> Flown:
    """Straight to the fix, a turn onto the inbound course that ends just beyond it, and so long on along it."""
    first = 180.0 - turn_deg
    path = [Straight("arrival", ARRIVAL_S), Turn("join", turn_deg, 18.0)]
    turned = fly(path, (0.0, 0.0), first, roll_deg_s=5.0)
    start = (-float(turned.x_nm[-1]), -float(turned.y_nm[-1]) - 0.2)
    return fly([*path, Straight("landing", seconds_s), *after], start, first, roll_deg_s=5.0)


def down(to_ft: float, seconds_s: float) -> Heights:
    return [(0.0, 2500.0), (ARRIVAL_S, 2500.0), (ARRIVAL_S + seconds_s, to_ft)]


LANDING_S = (THRESHOLD_NM - 0.3) / A_SECOND
ARC = {"kind": "arc", "turn": "right", "side": None, "within_nm": None, "outbound_course_deg": None}


def arc_chart() -> Chart:
    charted = chart()
    fix = charted.at().fix
    arc = {"latitude_deg": fix.latitude_deg - 0.1, "longitude_deg": fix.longitude_deg, "radius_nm": 6.0}
    return replace(charted, reversal={**charted.reversal, **ARC}, tables={**charted.tables, "arc": arc})


@pytest.mark.parametrize("charted", [chart(), arc_chart()], ids=["procedure turn", "arc"])
@pytest.mark.parametrize("turn_deg", [25.0, -25.0, 60.0])
def test_it_is_found_and_what_was_charted_is_said_not_to_be_flown(charted, turn_deg):
    flown = Whole(to_the_runway(turn_deg, LANDING_S), down(ELEVATION_FT + 40.0, LANDING_S))
    (approach,) = flown.debrief(charted).approaches
    reversal = approach.reversal
    assert (reversal.flown, reversal.ending, reversal.side) == ("straight-in", "reached the runway", None)
    assert [part.name for part in reversal.parts] == ["arrival", "final"]
    missing = one_of(approach, "no_reversal")
    assert missing.verdict == "not assessed"
    assert (
        "The charted arc was not flown" if "arc" in charted.tables else "The charted reversal was not flown"
    ) in missing.sentence
    assert one_of(approach, "final_course").verdict == "inside"
    assert all_of(approach, "arc_radius") == []


def test_without_the_landing_it_is_a_flight_over_the_fix():
    """Level along the course and on."""
    level = Whole(to_the_runway(25.0, LANDING_S), down(2500.0, LANDING_S))
    assert level.debrief(chart()).approaches == ()
    away = Whole(to_the_runway(25.0, 60.0, (Turn("off", 120.0, 18.0), Straight("on", 200.0))), down(1500.0, LANDING_S))
    assert away.debrief(chart()).approaches == ()


def test_who_turns_back_at_the_fix_does_not_join_there():
    """More than a quarter turn onto the course is a reversal of some kind, or a circuit."""
    flown = Whole(to_the_runway(130.0, LANDING_S), down(ELEVATION_FT + 40.0, LANDING_S))
    assert [one.reversal.flown for one in flown.debrief(chart()).approaches] != ["straight-in"]


def test_a_straight_in_flown_again_is_established_on_its_course_and_not_only_at_the_fix():
    """Over the fix on the course and away, round a racetrack of 15 NM, and in again: no reversal is charted to be flown."""
    bank = standard_rate_bank(120.0)
    around = [Turn("away", 180.0, bank), Straight("north", 540.0), Turn("back", 180.0, bank)]
    way = fly([Straight("over", 120.0), *around, Straight("inbound", 620.0)], (0.0, 1.2), 180.0)
    inbound_s, fix_s = way.begins["inbound"], float(way.time_s[way.time_s > 700.0][way.y_nm[way.time_s > 700.0] <= 0.0][0])
    heights = [(0.0, 3000.0), (inbound_s + 60.0, 3000.0), (fix_s - 100.0, 2100.0), (fix_s, 2100.0)]
    heights += [(fix_s + 150.0, 550.0), (fix_s + 160.0, 505.0)]
    chart = Chart(
        side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"arrival": 2900.0, "inbound": 2000.0},
        tables={"runway": runway()},
    )  # fmt: skip
    approach = debrief(replace(NOISY, altitude_ft=heights).of(way, NORTH_OUT), chart.at(NORTH_OUT)).approaches[-1]
    inbound = approach.reversal.part("inbound")
    assert inbound is not None
    assert inbound.start_s - START_S == pytest.approx(inbound_s, abs=10.0)
    assert [f.verdict for f in approach.findings if f.check == "altitude_floor"] == ["inside", "inside"]


@pytest.mark.parametrize("aside_nm", [0.75, -0.85, 1.4])
@pytest.mark.parametrize("goes_around", [True, False])
def test_who_comes_straight_in_beside_the_course_was_never_established(aside_nm, goes_around):
    """Parallel to it, farther off than half of the scale of GPS, which is half a mile: outside, and no missing approach."""
    way = fly([Straight("beside", 600.0)], (aside_nm, 12.0), 180.0)
    down_s = 360.0 + (4.5 if goes_around else 4.9) * 30.0
    heights = [(0.0, 2100.0), (360.0, 2100.0), (down_s, 900.0 if goes_around else 505.0)]
    heights += [(down_s + 60.0, 1900.0)] if goes_around else []
    chart = Chart(
        side=None, within_nm=None, reversal={"kind": "none"}, floors_ft={"inbound": 2000.0},
        tables={"runway": runway(), "guidance": {"kind": "gps"}},
    )  # fmt: skip
    log = replace(NOISY, altitude_ft=heights, end_s=600.0 if goes_around else down_s)
    (approach,) = debrief(log.of(way, NORTH_OUT), chart.at(NORTH_OUT)).approaches
    finding = one_of(approach, "established")
    assert (approach.reversal.flown, finding.verdict) == ("straight-in", "outside")
    assert finding.measured == pytest.approx(abs(aside_nm), abs=0.02)
    # where a reversal is charted, it may be any flight past the fix
    charted = Chart(tables={"runway": runway(), "guidance": {"kind": "gps"}}).at(NORTH_OUT)
    assert debrief(log.of(way, NORTH_OUT), charted).approaches == ()
