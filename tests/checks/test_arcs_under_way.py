"""A log that begins on a charted arc: there is no arrival in it, and so nothing that its minimum holds for."""

import math

import numpy as np
import pytest
from checked import all_of, one_of
from pyproj import Geod
from synthetic import FT, NM, START_S, Chart, Place

from analyzer import debrief
from analyzer.track.track import Track

CENTRE, RADIUS_NM, SPEED_KT = (41.2, -38.4), 10.0, 120.0
LEVEL_FT = 2500.0


def flown() -> tuple[Track, float]:
    """In along a radial from the north, 90° round the arc, and in from the east; turns at 3° a second; and when it is joined.

    Level at the altitude of the arc all the way.
    """
    step, turn_nm = SPEED_KT / 3600.0, SPEED_KT / 3600.0 / math.radians(3.0)
    points = [complex(RADIUS_NM + turn_nm + step * k, 0.0) for k in range(200, -1, -1)]  # north and east of the centre
    middle = complex(RADIUS_NM + turn_nm, turn_nm)  # of the turn onto the arc, from heading south to heading east
    points += [middle - turn_nm * complex(math.sin(a), math.cos(a)) for a in np.radians(np.arange(3.0, 91.0, 3.0))]
    joined_s, off = float(len(points)), math.atan2(turn_nm, RADIUS_NM)
    leaves = math.radians(90.0) - math.asin(turn_nm / (RADIUS_NM - turn_nm))
    points += [RADIUS_NM * complex(math.cos(a), math.sin(a)) for a in np.arange(off, leaves, step / RADIUS_NM)]
    middle = (RADIUS_NM - turn_nm) * complex(math.cos(leaves), math.sin(leaves))  # of the turn off it, to heading west
    points += [middle + turn_nm * complex(math.cos(a), math.sin(a)) for a in np.arange(leaves, math.pi, math.radians(3.0))]
    points += [complex(0.0, float(points[-1].imag) - step * k) for k in range(1, 270)]
    n, at = len(points), np.array(points)
    longitude, latitude, _ = Geod(ellps="WGS84").fwd(
        np.full(n, CENTRE[1]), np.full(n, CENTRE[0]), np.degrees(np.angle(at)), np.abs(at) * NM
    )
    track = Track(
        "arc.csv", "csv", START_S + np.arange(float(n)), np.radians(latitude), np.radians(longitude),
        np.full(n, LEVEL_FT * FT), {}, (), (), (),
    )  # fmt: skip
    return track, joined_s


def since(track: Track, begin_s: float) -> Track:
    later = track.time_s >= START_S + begin_s
    columns = (track.time_s, track.latitude_rad, track.longitude_rad, track.altitude_m)
    return Track("arc.csv", "csv", *(column[later] for column in columns), {}, (), (), ())


def chart():
    floors = {"arrival": LEVEL_FT + 1000.0, "outbound": LEVEL_FT - 100.0, "inbound": LEVEL_FT - 100.0}
    centre = {"latitude_deg": CENTRE[0], "longitude_deg": CENTRE[1], "radius_nm": RADIUS_NM}
    arc = Chart(None, None, reversal={"kind": "arc", "turn": "right"}, tables={"arc": centre}, floors_ft=floors)
    return arc.at(Place(*CENTRE, 90.0, 0.0))


@pytest.mark.parametrize("into_s", [5.0, 40.0, 150.0, 300.0])
def test_no_minimum_of_an_arrival_is_judged_where_the_log_begins_on_the_arc(into_s):
    track, joined_s = flown()
    (whole,) = debrief(track, chart()).approaches
    assert one_of(whole, "altitude_floor", leg="arrival").verdict == "outside"
    (approach,) = debrief(since(track, joined_s + into_s), chart()).approaches
    assert approach.reversal.flown == "arc"
    assert "outside" not in [finding.verdict for finding in all_of(approach, "altitude_floor")]
    assert one_of(approach, "altitude_floor", leg="outbound").verdict == "inside"
