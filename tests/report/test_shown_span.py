"""What pictures show of an arrival: its last minutes, but of one that goes out from the fix and comes back all of it."""

from dataclasses import replace

import pytest
from checked import NOISY, PLAIN
from patterns import fly_approach
from synthetic import START_S, Chart

from analyzer import debrief
from analyzer.legs.reversal import Part
from analyzer.report.pictures.style import shown_span

FLOWN = fly_approach(replace(PLAIN, outbound_s=200.0, arrival_s=300.0))


@pytest.mark.parametrize(
    ("flown", "begins_s", "shown_from_s"),
    [
        ("straight-in", FLOWN.outbound_passage_s, FLOWN.outbound_passage_s),  # what was flown was not recognised
        ("straight-in", 0.0, FLOWN.inbound_passage_s - 150.0),
        ("45/180", FLOWN.outbound_passage_s, FLOWN.inbound_passage_s - 150.0),
    ],
)
def test_the_stretch_that_pictures_show(flown, begins_s, shown_from_s):
    found = debrief(NOISY.of(FLOWN.flown), Chart().at())
    home_s, end_s = FLOWN.inbound_passage_s, FLOWN.inbound_passage_s + 50.0
    parts = Part("arrival", START_S + begins_s, START_S + home_s), Part("final", START_S + home_s, START_S + end_s)
    reversal = replace(found.approaches[0].reversal, flown=flown, parts=parts)
    assert shown_span(found.motion, reversal) == pytest.approx((START_S + shown_from_s, START_S + end_s), abs=0.01)
