"""Which flights hold a reversal: from wherever it is arrived, cut short, twice in a log, or not at all."""

import math
from dataclasses import replace

import pytest
from found import NOISY, found, starts
from patterns import Pattern, fly_approach
from scipy.optimize import brentq
from synthetic import CALM, Chart, Flown, Log, Place, Segment, Straight, Turn, fly, standard_rate_bank

WINDS = [CALM, (200.0, 25.0)]


@pytest.mark.parametrize("wind", WINDS)
@pytest.mark.parametrize("arrival", [0.0, 30.0, 60.0, 90.0, 120.0, 150.0, 179.0, -30.0, -60.0, -90.0, -120.0, -150.0, -179.0])
def test_arrivals_from_all_around(arrival, wind):
    side = 1 if round(arrival) % 4 else -1
    approach = fly_approach(Pattern(side=side, arrival_deg=arrival, wind=wind, roll_deg_s=5.0, intercept=True))
    (reversal,) = found(approach.flown)
    assert (reversal.flown, reversal.side) == ("45/180", side)
    times = starts(reversal)
    for name in ("offset_turn", "offset_leg", "reversal_turn"):
        assert times[name] == pytest.approx(approach.begin(name), abs=2.0), name
    turn = reversal.part("outbound_turn")
    if abs(arrival) <= 20.0:
        assert turn is None
    else:
        assert turn is not None
        assert turn.turn == (-1 if arrival > 0.0 else 1)
        assert times["outbound_turn"] == pytest.approx(approach.begin("outbound_turn"), abs=2.0)
        # closing with the course counts as outbound
        assert times["outbound"] == pytest.approx(approach.begin("closing"), abs=2.0)


@pytest.mark.parametrize(
    ("arrival", "closing", "wind"),
    [(120.0, 45.0, CALM), (179.0, 45.0, CALM), (-90.0, 30.0, (90.0, 20.0)), (90.0, 40.0, CALM)],
)
def test_the_turn_at_the_fix_is_not_the_one_that_ends_the_closing(arrival, closing, wind):
    pattern = Pattern(arrival_deg=arrival, closing_deg=closing, wind=wind, roll_deg_s=5.0, intercept=True)
    approach = fly_approach(pattern)
    (reversal,) = found(approach.flown)
    assert starts(reversal)["outbound_turn"] == pytest.approx(approach.begin("outbound_turn"), abs=2.0)


@pytest.mark.parametrize("leg_s", [52.0, 60.0, 70.0])
def test_a_reversal_that_never_met_the_inbound_course(leg_s):
    # The handbook's pattern with too long an offset leg, back beside the course and past the fix.
    approach = fly_approach(Pattern(leg_s=leg_s, roll_deg_s=5.0))
    (reversal,) = found(approach.flown)
    assert (reversal.flown, reversal.side) == ("45/180", 1)
    assert starts(reversal)["reversal_turn"] == pytest.approx(approach.begin("reversal_turn"), abs=2.0)


def test_a_shallow_80_260():
    pattern = Pattern(shape="80/260", speed_kt=80.0, bank_deg=9.3, roll_deg_s=5.0, intercept=True)  # 2.3°/s
    (reversal,) = found(fly_approach(pattern).flown)
    assert reversal.flown == "80/260"


@pytest.mark.parametrize(("offset_deg", "shape"), [(45.0, "45/180"), (62.0, "80/260"), (70.0, "80/260"), (80.0, "80/260")])
@pytest.mark.parametrize("leg_s", [0.5, 3.0, 6.0])
def test_a_turn_back_at_once_after_too_small_an_offset_turn(offset_deg, shape, leg_s):
    """Wide of 45° and back without a leg between: an 80/260 that was not turned far enough, whatever its turn is nearer to."""
    pattern = Pattern(leg_deg=offset_deg, leg_s=leg_s, roll_deg_s=5.0, wind=(30.0, 20.0), intercept=True)
    (reversal,) = found(fly_approach(pattern).flown)
    assert reversal.flown == shape


def test_an_outbound_turn_led_before_the_fix():
    # Crossing the outbound course at a right angle: the turn begins a radius before it and the fix is passed abeam in the turn.
    path = [Straight("arrival", 90.0), Turn("outbound_turn", -90.0, 20.0), Straight("outbound", 100.0)]
    path += [Turn("offset_turn", 45.0, 20.0), Straight("offset_leg", 45.0), Turn("reversal_turn", -225.0, 20.0)]
    path += [Straight("inbound", 260.0)]
    shift = fly(path[:2], (0.0, 0.0), 90.0, 120.0, roll_deg_s=5.0)
    flown = fly(path, (-float(shift.x_nm[-1]), -0.35), 90.0, 120.0, roll_deg_s=5.0)
    (reversal,) = found(flown)
    times = starts(reversal)
    assert times["outbound_turn"] == pytest.approx(90.0, abs=2.0)
    assert times["outbound"] == pytest.approx(flown.begins["outbound"], abs=2.0)
    passage = reversal.passage("outbound")
    assert passage is not None
    assert times["outbound_turn"] < passage.time_s - reversal.parts[0].start_s < times["outbound"]


@pytest.mark.parametrize("shape", ["45/180", "80/260"])
@pytest.mark.parametrize("into_s", [20.0, 35.0, 50.0])
def test_a_log_that_ends_in_the_turn_back(shape, into_s):
    approach = fly_approach(Pattern(shape=shape, arrival_deg=60.0, wind=(200.0, 15.0), roll_deg_s=5.0))
    (reversal,) = found(approach.flown, replace(NOISY, end_s=approach.begin("reversal_turn") + into_s))
    assert (reversal.flown, reversal.side) == (shape, 1)
    assert reversal.parts[-1].name == "reversal_turn"
    assert reversal.established_s is None
    assert reversal.passage("inbound") is None
    assert starts(reversal)["offset_turn"] == pytest.approx(approach.begin("offset_turn"), abs=2.0)


@pytest.mark.parametrize("side", [1, -1])
def test_a_log_that_ends_before_the_turn_back_holds_a_procedure_turn_cut_off(side):
    """The offset turn to the charted side shows what was begun (AIM 5-4-9 a.1): up to there it is assessed, no further."""
    approach = fly_approach(Pattern(side=side, roll_deg_s=5.0))
    chart = Chart(side="right" if side > 0 else "left")
    for last, end in (("offset_turn", "offset_leg"), ("offset_leg", "reversal_turn")):
        (reversal,) = found(approach.flown, replace(NOISY, end_s=approach.begin(end) - 1.0), chart=chart)
        assert (reversal.flown, reversal.side, reversal.turn) == ("45/180", side, None)
        assert [part.name for part in reversal.parts][-1] == last
        assert starts(reversal)["offset_turn"] == pytest.approx(approach.begin("offset_turn"), abs=2.0)


def test_a_log_that_ends_before_the_offset_turn_holds_no_reversal_nor_one_on_the_other_side():
    approach = fly_approach(Pattern(roll_deg_s=5.0))
    assert found(approach.flown, replace(NOISY, end_s=approach.begin("offset_turn") - 1.0)) == ()
    leg = replace(NOISY, end_s=approach.begin("reversal_turn") - 1.0)
    assert found(approach.flown, leg, chart=Chart(side="left")) == ()


@pytest.mark.parametrize("from_deg", [90.0, 270.0])
def test_an_approach_across_sixty_knots_of_wind(from_deg):
    """Held into it at 120 kt, the heading inbound is 30° off the course: sin 30° = 60/120."""
    pattern = Pattern(wind=(from_deg, 60.0), bank_deg=18.0, roll_deg_s=5.0, intercept=True)
    (reversal,) = found(fly_approach(pattern).flown)
    assert (reversal.flown, reversal.side) == ("45/180", 1)
    assert reversal.came_home
    assert reversal.established_s is not None


def test_a_log_that_ends_inbound_has_no_final():
    approach = fly_approach(Pattern(roll_deg_s=5.0))
    (reversal,) = found(approach.flown, replace(NOISY, end_s=approach.rolled_out_s + 60.0))
    assert reversal.parts[-1].name == "inbound"
    assert reversal.established_s is not None


@pytest.mark.parametrize("sides", [(1, 1), (1, -1)])
def test_two_reversals_in_one_log(sides):
    # After the first, straight on, round, and out over the fix again.
    once = [Straight("outbound", 120.0), Straight("offset_leg", 38.2)]
    path: list[Segment] = [Straight("arrival", 90.0)]
    for number, side in enumerate(sides):
        path += [replace(once[0], name=f"outbound {number}"), Turn(f"offset_turn {number}", side * 45.0, 18.24)]
        path += [replace(once[1], name=f"offset_leg {number}"), Turn(f"reversal_turn {number}", -side * 225.0, 18.24)]
        path += [Straight(f"inbound {number}", 174.0 + 100.0)]
        if number == 0:
            path += [Turn("missed 1", -45.0, 18.24), Straight("missed 2", 30.0), Turn("missed 3", 225.0, 18.24)]
            path += [Straight("again", 100.0)]
    flown = fly(path, (0.0, -3.0), 0.0, 120.0)
    reversals = found(flown)
    assert [reversal.side for reversal in reversals] == list(sides)
    assert [reversal.flown for reversal in reversals] == ["45/180", "45/180"]
    for number, reversal in enumerate(reversals):
        assert starts(reversal)["reversal_turn"] == pytest.approx(flown.begins[f"reversal_turn {number}"], abs=2.0)
    assert reversals[0].parts[-1].end_s <= reversals[1].parts[0].start_s


def moved(flown: Flown, x_nm: float, y_nm: float) -> Flown:
    return replace(flown, x_nm=flown.x_nm + x_nm, y_nm=flown.y_nm + y_nm)


@pytest.mark.parametrize(("x_nm", "y_nm"), [(4.0, 0.0), (-8.0, 0.0), (0.0, 15.0), (30.0, -20.0)])
def test_a_perfect_pattern_elsewhere_is_none(x_nm, y_nm):
    assert found(moved(fly_approach(Pattern(roll_deg_s=5.0)).flown, x_nm, y_nm)) == ()


def survey() -> list[Segment]:
    path: list[Segment] = [Straight("line", 120.0)]
    for number in range(6):
        path += [Turn(f"turn {number}", 180.0 * (-1.0) ** number, 20.0), Straight(f"line {number}", 150.0)]
    return path


@pytest.mark.parametrize("start", [(-5.0, -20.0), (-5.0, -3.0), (-2.0, 5.0), (20.0, 10.0)])
@pytest.mark.parametrize("heading", [0.0, 45.0, 90.0])
def test_survey_lines_are_no_reversal(start, heading):
    assert all(reversal.side is None for reversal in found(fly(survey(), start, heading, roll_deg_s=5.0)))


@pytest.mark.parametrize("start", [(0.0, 12.0), (0.0, 3.0), (0.5, 0.5), (-1.0, 0.0), (-6.0, 2.0)])
@pytest.mark.parametrize("bank", [8.0, 25.0])
def test_orbits_are_no_reversal(start, bank):
    orbits = [Turn(f"orbit {number}", 360.0, bank) for number in range(3)]
    assert found(fly([Straight("in", 30.0), *orbits, Straight("out", 60.0)], start, 40.0, roll_deg_s=5.0)) == ()


def test_overflights_are_no_reversal():
    for start, heading in (((-6.0, 0.0), 90.0), ((0.0, -6.0), 0.0), ((5.0, -5.0), 315.0)):
        assert found(fly([Straight("over", 400.0)], start, heading)) == ()


def test_straight_in():
    # Out of the north on the inbound course, after a dog-leg that ends on it 6 NM out.
    joining = fly([Straight("dog-leg", 120.0), Turn("join", 30.0, 15.0)], (0.0, 0.0), 150.0, 120.0, roll_deg_s=5.0)
    path = [Straight("dog-leg", 120.0), Turn("join", 30.0, 15.0), Straight("inbound", 240.0)]
    flown = fly(path, (-float(joining.x_nm[-1]), 6.0 - float(joining.y_nm[-1])), 150.0, 120.0, roll_deg_s=5.0)
    (reversal,) = found(flown)
    assert (reversal.flown, reversal.side, reversal.turn) == ("straight-in", None, None)
    assert [part.name for part in reversal.parts] == ["arrival", "inbound", "final"]
    assert starts(reversal)["final"] == pytest.approx(flown.begins["inbound"] + 180.0, abs=0.2)
    assert starts(reversal)["inbound"] == pytest.approx(flown.begins["inbound"], abs=10.0)
    assert found(flown, chart=Chart(side="left"))[0].flown == "straight-in"


def test_a_log_every_five_seconds_and_one_with_a_hole_in_it():
    approach = fly_approach(Pattern(wind=(200.0, 20.0), roll_deg_s=5.0))
    for log in (Log(step_s=5.0, noise_m=3.0), Log(noise_m=1.0, hole_s=(140.0, 170.0))):
        (reversal,) = found(approach.flown, log, Place(latitude_deg=-60.0))
        assert (reversal.flown, reversal.side) == ("45/180", 1)
        assert starts(reversal)["reversal_turn"] == pytest.approx(approach.begin("reversal_turn"), abs=2.5)


@pytest.mark.parametrize("off_deg", [-16.0, -8.0, 10.0])
@pytest.mark.parametrize("out_s", [46.0, 60.0])
def test_out_beside_the_course_and_back_to_the_fix_is_no_reversal(off_deg, out_s):
    """Over the fix, out, round by standard rate, and over the fix again on the way somewhere, never on the inbound course."""
    begin = -2.0 * math.sin(math.radians(off_deg)), -2.0 * math.cos(math.radians(off_deg))

    def run(turned_deg: float) -> Flown:
        path = [Straight("arrival", 60.0), Straight("out", out_s), Turn("round", turned_deg, standard_rate_bank(120.0))]
        return fly([*path, Straight("back", 150.0)], begin, off_deg, roll_deg_s=5.0)

    def miss(turned_deg: float) -> float:
        heading, flown = math.radians(off_deg + turned_deg), run(turned_deg)
        return float(flown.x_nm[-1]) * math.cos(heading) - float(flown.y_nm[-1]) * math.sin(heading)

    flown = run(brentq(miss, 182.0, 300.0))
    assert found(flown) == ()
    assert found(flown, chart=Chart(side="left")) == ()


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("dog_leg_s", [12.0, 20.0])
def test_a_turn_on_the_way_to_the_fix_is_no_part_of_the_one_at_it(side, dog_leg_s):
    """Round by 270° to the left beside the fix, so long straight on, and by a led turn of 90° to the left onto the course."""
    bank = standard_rate_bank(120.0)
    way: list[Segment] = [
        Straight("come", 60.0), Turn("join", -270.0, bank), Straight("dog-leg", dog_leg_s), Turn("outbound_turn", -90.0, bank)
    ]  # fmt: skip
    end = fly(way, (0.0, 0.0), 0.0, roll_deg_s=5.0)
    path = [*way, Straight("outbound", 120.0), Turn("offset_turn", 45.0, bank), Straight("offset_leg", 38.0)]
    path += [Turn("reversal_turn", -225.0, bank), Straight("inbound", 240.0)]
    flown = fly(path, (-float(end.x_nm[-1]), 0.7 - float(end.y_nm[-1])), 0.0, roll_deg_s=5.0)
    flown = flown if side > 0 else flown.mirrored()
    (reversal,) = found(flown, chart=Chart(side="right" if side > 0 else "left"))
    turn = reversal.part("outbound_turn")
    assert turn is not None
    assert turn.turn == -side
    assert starts(reversal)["outbound_turn"] == pytest.approx(flown.begins["outbound_turn"], abs=2.0)
