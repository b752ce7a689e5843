"""Entries into a hold: the published sectors, their mirror image, and how the 70-degree line divides the circle."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.physics.holding import ENTRIES, entry_for, sector_margin
from analyzer.physics.units import DEG

INBOUND = 10.0  # of the published example, with right turns
headings = st.floats(0.0, 360.0)
turns = st.sampled_from([1, -1])


def called_for(heading_deg: float, turn: int = 1, inbound_deg: float = INBOUND) -> str:
    return entry_for(heading_deg * DEG, inbound_deg * DEG, turn)


def margin_deg(entry: str, heading_deg: float, turn: int = 1) -> float:
    return sector_margin(entry, heading_deg * DEG, INBOUND * DEG, turn) / DEG


def mirrored(heading_deg: float) -> float:
    """The heading as far to the other side of the inbound course."""
    return (2.0 * INBOUND - heading_deg) % 360.0


@pytest.mark.parametrize(("heading", "entry"), [(30.0, "direct"), (150.0, "teardrop"), (250.0, "parallel"), (305.0, "direct")])
def test_worked_examples(heading, entry):
    # By the 70-degree line of AIM 5-3-8 j.3, figure 5-3-4; 030 is also an example of ICAO Doc 8168 Part I, section 6.
    assert called_for(heading) == entry
    assert called_for(mirrored(heading), turn=-1) == entry


@pytest.mark.parametrize(
    ("entry", "first", "last"), [("direct", 300.0, 480.0), ("teardrop", 120.0, 190.0), ("parallel", 190.0, 300.0)]
)
def test_published_sectors(entry, first, last):
    # ICAO Doc 8168, as quoted: inbound 010, right turns: teardrop 120 to 190, parallel 190 to 300, direct 300 to 120.
    inside = [first + 0.5 + k for k in range(int(last - first))]
    assert {called_for(heading % 360.0) for heading in inside} == {entry}
    assert {called_for(mirrored(heading), turn=-1) for heading in inside} == {entry}
    for edge in (first, last):
        assert margin_deg(entry, edge) == pytest.approx(0.0, abs=1e-9)
        assert margin_deg(entry, mirrored(edge), turn=-1) == pytest.approx(0.0, abs=1e-9)
    assert margin_deg(entry, (first + last) / 2.0) == pytest.approx((last - first) / 2.0)


@pytest.mark.parametrize(("edge", "one", "other"), [(120.0, "direct", "teardrop"), (190.0, "teardrop", "parallel"),
                                                    (300.0, "parallel", "direct")])  # fmt: skip
def test_either_entry_within_five_degrees_of_an_edge(edge, one, other):
    # AIM 5-3-8 j.8(d): within 5° either is good practice.
    for heading in (edge - 4.9, edge, edge + 4.9):
        assert margin_deg(one, heading) > -5.0
        assert margin_deg(other, heading) > -5.0
    assert margin_deg(other, edge - 5.1) < -5.0
    assert margin_deg(one, edge + 5.1) < -5.0


@given(headings, headings, turns)
def test_turning_the_whole_hold_changes_nothing(heading, by, turn):
    # away from the edges, where rounding would decide
    if min(abs(margin_deg(entry, heading, turn)) for entry in ENTRIES) > 1e-6:
        assert called_for(heading + by, turn, INBOUND + by) == called_for(heading, turn)


@given(headings, turns)
def test_every_heading_lies_in_one_sector_only(heading, turn):
    margins = {entry: margin_deg(entry, heading, turn) for entry in ENTRIES}
    if min(abs(margin) for margin in margins.values()) > 1e-6:
        assert [entry for entry, margin in margins.items() if margin > 0.0] == [called_for(heading, turn)]


@given(headings, turns, st.floats(-40.0, 40.0))
def test_a_margin_changes_by_no_more_than_the_heading_does(heading, turn, by):
    for entry in ENTRIES:
        assert abs(margin_deg(entry, heading + by, turn) - margin_deg(entry, heading, turn)) <= abs(by) + 1e-9


def test_opposite_to_the_inbound_course_teardrop_and_parallel_meet():
    # whichever way the hold turns, the outbound course itself is the edge between the two
    for turn in (1, -1):
        for entry in ("teardrop", "parallel"):
            assert sector_margin(entry, math.pi, 0.0, turn) == pytest.approx(0.0, abs=1e-12)
