"""A hold that is recognised explains the way out and back that it flies: no reversal is missed there."""

from dataclasses import replace

import pytest
from hold_flights import NOISY, chart, entered
from missed_flights import course, laid


@pytest.mark.parametrize("kind", ["teardrop", "parallel", "direct"])
@pytest.mark.parametrize("off_deg", [8.0, -8.0])
def test_a_hold_at_the_fix_of_a_procedure_turn_near_its_course_is_no_reversal_that_is_missed(kind, off_deg):
    courses = {"outbound_course_deg": course(off_deg % 360.0), "inbound_course_deg": course(180.0 + off_deg)}
    at_fix = replace(chart(), fix=laid(0.0, 0.0), reversal=courses)
    found = entered(kind, 2).debrief(at_fix, NOISY)
    assert len(found.holds) == 1
    assert not any("no reversal" in doubt for doubt in found.doubts)
