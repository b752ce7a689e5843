"""The greatest speed of each lap of a published hold, by the level of that lap, and the bank of each of its turns."""

import pytest
from checked import all_of
from hold_flights import chart, entered, held, level
from missed_flights import BANK, Whole, laps
from synthetic import Flown, Segment, Straight, Turn, fly


def test_each_lap_has_the_limit_of_its_own_level():
    """AIM 5-3-8 j.2: cleared down from 7,000 to 5,000 ft for the third lap, 200 kt count there and 230 kt before."""
    flown = entered("direct", 2).flown
    begun = flown.begins["away3"]
    heights = [(0.0, 7000.0), (begun - 100.0, 7000.0), (begun, 5000.0)]
    found = all_of(held(Whole(flown, heights)), "speed_limit")
    assert [(f.lap, f.limit) for f in found] == [
        (1, pytest.approx(230.0)),
        (2, pytest.approx(230.0)),
        (3, pytest.approx(200.0)),
    ]


def two_laps(fastest_kt: float = 120.0, steep_deg: float = BANK) -> Flown:
    """A minute a leg at 120 kt; in the second lap faster for the middle of the outbound leg, and a steeper turn inbound."""
    path: list[Segment] = [Straight("arrival", 90.0), *laps((60.0,)), Turn("away2", 180.0, BANK)]
    path += [Straight("faster", 30.0, fastest_kt), Straight("slower", 30.0, 120.0), Turn("back2", 180.0, steep_deg)]
    return fly([*path, Straight("in2", 80.0), Straight("on", 40.0)], (0.0, 3.0), 180.0, 120.0, roll_deg_s=5.0)


def test_the_lap_that_was_flown_too_fast_is_the_one_that_fails():
    limited = chart(maximum_speed_kias=125)
    found = {f.lap: f for f in all_of(held(Whole(two_laps(fastest_kt=150.0), level()), limited), "speed_limit")}
    assert (found[1].verdict, found[2].verdict) == ("inside", "outside")
    assert found[2].lesson is not None
    assert "The lap was begun at 11" in str(found[2].lesson.cause)
    assert str(found[2].lesson.advice).endswith("throughout the hold.")


@pytest.mark.parametrize(("bank_deg", "verdict"), [(25.0, "inside"), (38.0, "outside")])
def test_the_bank_of_each_turn_of_a_hold(bank_deg, verdict):
    """FAA-H-8083-15B ch. 7: 30° at most; a steep turn inbound in the second lap is that lap's."""
    flown = two_laps(steep_deg=bank_deg)
    found = {(f.lap, f.part): f for f in all_of(held(Whole(flown, level())), "turn_bank")}
    assert set(found) == {(lap, part) for lap in (1, 2) for part in ("entry_turn", "turn_inbound")}
    steep = found.pop((2, "turn_inbound"))
    assert (steep.verdict, steep.measured) == (verdict, pytest.approx(bank_deg, abs=2.0))
    assert {f.verdict for f in found.values()} == {"inside"}
    assert steep.sentence.startswith("Lap 2: bank in the turn inbound")
    if verdict == "outside":
        assert steep.lesson is not None
        assert "Bank 18° for standard rate" in str(steep.lesson.advice)
