"""A flight that comes to the fix from aside, joins the final course there and lands is an approach, flown straight in."""

from dataclasses import replace

import pytest
from checked import all_of, one_of
from missed_flights import A_SECOND, ELEVATION_FT, THRESHOLD_NM, Heights, Whole, chart
from synthetic import Chart, Flown, Segment, Straight, Turn, fly

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
