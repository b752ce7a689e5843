"""Hold entries flown in a strong wind, as planned: each is the one that AIM 5-3-8 j.3 gives for its heading on arrival.

A teardrop's leg is a ground track 30° off the outbound course, outbound the correction is three drifts (AIM 5-3-8 j), and the
turn at the fix is blown away from it.
"""

import datetime as dt
import math

import pytest
from synthetic import Chart

from analyzer import debrief
from analyzer.brief.conditions import Conditions, parse_speeds, parse_winds
from analyzer.brief.plan import make_plan
from analyzer.brief.planned_track import planned_track
from analyzer.procedure.charted import resolve


@pytest.mark.parametrize(
    ("entry", "turn", "leg", "wind", "arrival_deg", "speed"),
    [
        # the arrival is a heading from the inbound course; sectors: teardrop 110 to 180 right of it in right turns, parallel 70
        # to 180 left of it, direct between (AIM figure 5-3-3)
        ("teardrop", "right", {"leg_time_s": 60.0}, "290/20", 130.0, "95"),
        ("teardrop", "right", {"leg_time_s": 90.0}, "133/27", 117.0, "104"),
        ("teardrop", "left", {"leg_time_s": 60.0}, "354/28", 237.0, "159"),
        ("teardrop", "left", {"leg_time_s": 90.0}, "352/31", 243.0, "89"),
        ("parallel", "left", {"leg_time_s": 90.0}, "094/31", 83.0, "102"),
        ("parallel", "right", {"leg_time_s": 90.0}, "067/29", 276.0, "90"),
        ("direct", "right", {"leg_time_s": 90.0}, "140/31", 350.0, "86"),
        ("direct", "right", {"leg_time_s": 60.0}, "139/20", 341.0, "80"),
        ("direct", "left", {"leg_time_s": 90.0}, "329/26", 51.0, "80"),
    ],
)
def test_an_entry_is_told_in_wind(entry, turn, leg, wind, arrival_deg, speed):
    hold = {"kind": "hold", "turn": turn, **leg}
    procedure = Chart(side=None, within_nm=12.0, reversal=hold, floors_ft={"outbound": 3000.0}).at()
    charted = resolve(procedure, dt.date(2026, 6, 1))
    arrival = charted.inbound_true_rad + math.radians(arrival_deg)
    plan = make_plan(charted, Conditions(parse_speeds([speed]), winds=parse_winds([wind]), arrival_rad=arrival))
    (approach,) = debrief(planned_track(plan), procedure).approaches
    assert approach.reversal.flown == f"hold-{entry}"
    assert approach.reversal.side == (-1 if turn == "right" else 1)
    (finding,) = (finding for finding in approach.findings if finding.check == "hold_entry")
    assert finding.limit == entry
