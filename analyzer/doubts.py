"""What makes one doubt that log and procedure belong together: coordinates exchanged, a sign turned, courses that are true.

Nothing is put right: each doubt says what would fit, for the user to check against log and chart.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np

from analyzer.draft.courses import inbound_courses
from analyzer.motion.model import Motion
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, wrap

__all__ = ["doubts"]

_NOWHERE_NEAR_M = 3.0 * NM
_PASSED_M = 1.5 * NM  # a place as near as this to the track would fit
_LEAST_VARIATION_RAD = 3.0 * DEG  # less is not told from a course badly held
_FITS_RAD = 1.5 * DEG  # of a course flown that fits
_EXCHANGED = "latitude and longitude exchanged"


def doubts(motion: Motion) -> tuple[str, ...]:
    """All doubts about a flight and its procedure, a sentence or two each."""
    if float(motion.states.distance_m.min()) > _NOWHERE_NEAR_M:
        return tuple(_elsewhere(motion))
    return tuple(_true_courses(motion))


def _elsewhere(motion: Motion) -> Iterator[str]:
    """Whether the flight would pass the fix if its coordinates, or the log's, were otherwise."""
    charted, states = motion.charted, motion.states
    fix = charted.fix_latitude_rad, charted.fix_longitude_rad
    for exchanged, turned in itertools.product((False, True), ((1, 1), (1, -1), (-1, 1), (-1, -1))):
        place = fix[::-1] if exchanged else fix
        latitude, longitude = turned[0] * place[0], turned[1] * place[1]
        if (latitude, longitude) == fix or abs(latitude) > math.pi / 2.0:
            continue
        distance, _ = geodesy.inverse(latitude, longitude, states.latitude_rad, states.longitude_rad)
        nearest = float(np.min(distance))
        if nearest < _PASSED_M:
            named = zip(("latitude", "longitude"), turned, strict=True)
            signs = [f"the sign of the {name} turned" for name, sign in named if sign < 0]
            what = " and ".join([*([_EXCHANGED] if exchanged else []), *signs])
            yield (
                f"With {what} the flight would pass {nearest / NM:.1f} NM from {charted.procedure.fix.name}: look at them in "
                "the log and in the procedure file."
            )
            return


def _true_courses(motion: Motion) -> Iterator[str]:
    """Whether the courses flown differ from those charted by just the variation, or by twice that."""
    charted = motion.charted
    variation = charted.variation.east_rad
    if abs(variation) < _LEAST_VARIATION_RAD:
        return
    flown = inbound_courses(motion.states)
    courses = charted.inbound_true_rad, charted.outbound_true_rad + math.pi
    off = [float(wrap(flown_one - course)) for flown_one in flown[:1] for course in courses]
    if not off or min(map(abs, off)) < max(_FITS_RAD, abs(variation) / 2.0):
        return
    by = f"{abs(variation) / DEG:.0f}° {'east' if variation > 0.0 else 'west'}"
    if all(abs(one + variation) < _FITS_RAD for one in off):
        yield (
            f"The courses flown lie off those charted by just the variation, {by}: are the courses in the procedure file true "
            "ones? It takes magnetic ones."
        )
    elif all(abs(one + 2.0 * variation) < _FITS_RAD for one in off):
        yield (
            f"The courses flown lie off those charted by twice the variation, {by}: is the sign of variation_deg_east in the "
            "procedure file right? East is positive."
        )
