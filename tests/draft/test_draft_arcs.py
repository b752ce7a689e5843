"""Arcs drafted: the one that the approach came in by, its station where that is given, and nothing where none was flown.

At 120 kt a circle of 10 NM takes a bank of v²/(g r) = tan 1.2°, one of 15 NM 0.8°.
"""

import math

import pytest
from checked import solve
from drafted import not_as_flown
from missed_flights import BANK, laid
from synthetic import HERE, KT, NM, Flown, G, Log, Straight, Turn, fly

from analyzer.draft.drafting import FixGiven, draft
from analyzer.errors import LogError

NOISY = Log(noise_m=2.0)
FIX = FixGiven(HERE.latitude_deg, HERE.longitude_deg, variation_deg_east=HERE.variation_deg)
SECOND_NM = 120.0 / 3600.0
OFF_BANK = BANK
LEAD_NM = (120.0 * KT) ** 2 / (G * math.tan(math.radians(BANK))) / NM  # radius of the turn off the arc


def bank_deg(radius_nm: float) -> float:
    return math.degrees(math.atan((120.0 * KT) ** 2 / (G * radius_nm * NM)))


def arc_and_in(radius_nm: float = 10.0, after: tuple[Straight | Turn, ...] = ()) -> Flown:
    """Clockwise from due west to the north of the origin, a turn off the arc, and south to the origin and beyond."""
    # the circle of the turn touches the arc from inside and the course: its centre is off the course by the lead
    swept = 90.0 - math.degrees(math.asin(LEAD_NM / (radius_nm - LEAD_NM)))
    path = [Turn("arc", swept, bank_deg(radius_nm)), Turn("off", 180.0 - swept, OFF_BANK)]
    down = fly(path, (-radius_nm, 0.0), 0.0)
    return fly([*path, Straight("in", float(down.y_nm[-1]) / SECOND_NM), *after], (-radius_nm, 0.0), 0.0)


def test_the_arc_of_the_approach_is_drafted_and_not_the_last_of_the_flight(tmp_path):
    """Clockwise at 10 NM and in; then 15 NM on, and round the other way at 15 NM for a third of the circle."""
    on = Straight("on", 15.0 / SECOND_NM), Turn("round", -90.0, BANK), Turn("second arc", -120.0, bank_deg(15.0))
    track = NOISY.of(arc_and_in(after=on))
    drafted = draft(track, FIX)
    assert (drafted.flown, drafted.procedure.reversal.turn, drafted.procedure.arc.radius_nm) == ("arc", "right", 10.0)
    assert not_as_flown(track, FIX, tmp_path) == []


def test_the_last_of_two_arcs_that_lead_in_is_drafted():
    """Round the origin at 20 NM, in to about 15 NM, on round, and off that to the origin: the second is left for the course."""
    start = (0.0, -20.0), 270.0
    inward = [Turn("outer", 150.0, bank_deg(20.0)), Turn("in", 90.0, BANK), Straight("closer", 120.0)]

    def across(flown: Flown) -> float:
        """How far the heading is from the tangent of the circle round the origin, clockwise."""
        bearing = math.degrees(math.atan2(flown.x_nm[-1], flown.y_nm[-1]))
        return math.remainder(float(flown.heading_deg[-1]) - bearing - 90.0, 360.0)

    back = solve(lambda by: across(fly([*inward, Turn("back", -by, BANK)], *start)), 0.0, 60.0, 120.0)
    joined = [*inward, Turn("back", -back, BANK)]
    radius_nm = float(fly(joined, *start).distance_nm[-1])
    joined.append(Turn("inner", 150.0, bank_deg(radius_nm)))
    off = solve(lambda by: across(fly([*joined, Turn("off", by, BANK)], *start)), 90.0, 60.0, 120.0)
    home = [*joined, Turn("off", off, BANK), Straight("home", radius_nm / SECOND_NM + 120.0)]
    arc = draft(NOISY.of(fly(home, *start)), FIX).procedure.arc
    assert arc.radius_nm == pytest.approx(radius_nm, abs=0.25)


@pytest.mark.parametrize("given", [True, False], ids=["station given", "by its curve"])
def test_the_station_of_an_arc_need_not_be_the_fix(given, tmp_path):
    """The fix stands 2 NM before the station that the arc is about: by the curve its place comes within half a mile."""
    place = laid(0.0, 2.0)
    station = (HERE.latitude_deg, HERE.longitude_deg) if given else None
    fix = FixGiven(place["latitude_deg"], place["longitude_deg"], variation_deg_east=HERE.variation_deg, station_deg=station)
    track = NOISY.of(arc_and_in(after=(Straight("on", 200.0),)))
    drafted = draft(track, fix)
    arc = drafted.procedure.arc
    assert arc.radius_nm == pytest.approx(10.0, abs=0.0 if given else 0.5)
    north = (arc.latitude_deg - HERE.latitude_deg) * 60.0
    east = (arc.longitude_deg - HERE.longitude_deg) * 60.0 * math.cos(math.radians(HERE.latitude_deg))
    assert math.hypot(north, east) < (0.001 if given else 0.5)
    assert drafted.remarks["arc.latitude_deg"].startswith("given" if given else "measured")
    assert not_as_flown(track, fix, tmp_path) == []


def test_a_wide_turn_is_no_arc():
    """At 120 kt and 10° of bank the circle has a radius of 1.2 NM: in by a curve, and not by an arc that is charted."""
    path = [Straight("west", 300.0), Turn("curve", 180.0, 10.5), Straight("in", 300.0)]
    start = fly(path, (0.0, 0.0), 0.0)
    flown = fly(path, (-float(start.x_nm[-1]), -float(start.y_nm[-1])), 0.0)
    try:
        drafted = draft(NOISY.of(flown), FIX)
    except LogError as error:
        assert "no approach" in str(error)  # noqa: PT017
    else:
        assert drafted.procedure.arc is None


def test_a_station_that_the_arc_is_not_about_is_refused():
    elsewhere = laid(9.0, 9.0)
    fix = FixGiven(
        HERE.latitude_deg, HERE.longitude_deg, variation_deg_east=HERE.variation_deg,
        station_deg=(elsewhere["latitude_deg"], elsewhere["longitude_deg"]),
    )  # fmt: skip
    with pytest.raises(LogError, match="--station LAT,LON"):
        draft(NOISY.of(arc_and_in(after=(Straight("on", 200.0),))), fix)
