"""Verdicts do not depend on where on Earth a flight is flown, under which variation, or on which side."""

from dataclasses import replace

import pytest
from checked import NOISY, debriefed
from patterns import Pattern, fly_approach
from synthetic import Chart, Place

from analyzer.debriefs.data import Approach

FLOORS = {"arrival": 2900.0, "outbound": 2900.0, "reversal": 2900.0, "inbound": 2000.0, "final": 700.0}
# Too far, too steep in the turn back, and down too early.
FLIGHT = Pattern(
    speed_kt=150.0, back_bank_deg=38.0, outbound_s=230.0, wind=(140.0, 22.0), roll_deg_s=5.0, intercept=True, arrival_deg=-50.0
)
PLACES = {
    "here": Place(),
    "south": Place(latitude_deg=-33.4, longitude_deg=18.2, outbound_true_deg=211.0, variation_deg=24.0),
    "equator": Place(latitude_deg=0.05, longitude_deg=-90.3, outbound_true_deg=3.0, variation_deg=0.5),
    "date line": Place(latitude_deg=-17.1, longitude_deg=179.97, outbound_true_deg=88.0, variation_deg=12.0),
    "far north": Place(latitude_deg=72.0, longitude_deg=20.0, outbound_true_deg=300.0, variation_deg=9.0),
}


def mirrored(side: int, place: Place) -> Approach:
    flown = fly_approach(
        replace(FLIGHT, side=side, wind=(side * FLIGHT.wind[0], FLIGHT.wind[1]), arrival_deg=side * FLIGHT.arrival_deg)
    )
    heights = [(0.0, 3000.0), (flown.begin("reversal_turn") + 10.0, 3000.0), (flown.begin("reversal_turn") + 70.0, 2100.0)]
    chart = Chart(side="right" if side > 0 else "left", within_nm=8.0, floors_ft=FLOORS)
    return debriefed(flown, replace(NOISY, noise_m=0.5, altitude_ft=heights), chart, place)


def verdicts(approach: Approach) -> list[tuple[str, str, str]]:
    return [(f.check, f.leg, f.verdict) for f in approach.findings]


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize("side", [1, -1])
def test_the_same_flight_elsewhere_and_mirrored(name, side):
    here, there = mirrored(1, PLACES["here"]), mirrored(side, PLACES[name])
    assert {"outside", "inside", "not assessed"} <= {verdict for *_, verdict in verdicts(here)}
    assert verdicts(there) == verdicts(here)
    for one, other in zip(here.findings, there.findings, strict=True):
        if isinstance(one.measured, float):
            assert isinstance(other.measured, float)
            # meridians converge by half a degree over 10 NM at 72° of latitude, which changes headings
            assert other.measured == pytest.approx(one.measured, rel=0.05, abs=0.6)
        assert (one.lesson is None) == (other.lesson is None)
