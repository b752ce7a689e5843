"""All doubts about a flight and its procedure, the most far-reaching first."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.doubts.altitude_jumps import altitude_jumps
from analyzer.doubts.beside_runway import beside_runway
from analyzer.doubts.coarse import coarse
from analyzer.doubts.crossed import crossed
from analyzer.doubts.doubt import Doubt
from analyzer.doubts.gone_out import gone_out
from analyzer.doubts.ground import ground
from analyzer.doubts.heights import heights
from analyzer.doubts.hidden_turns import hidden_turns
from analyzer.doubts.jumps import jumps
from analyzer.doubts.minutes import minutes
from analyzer.doubts.orbits import orbits
from analyzer.doubts.pace import pace
from analyzer.doubts.place import place
from analyzer.doubts.surges import surges
from analyzer.doubts.surveys import surveys
from analyzer.legs.reversal import Reversal
from analyzer.legs.segments import straight_segments
from analyzer.motion.motion import Motion

__all__ = ["find_doubts"]


def find_doubts(motion: Motion, flown: Sequence[Reversal]) -> tuple[Doubt, ...]:
    """The doubts whether the flight is possible, and flown by this procedure; `flown` are its approaches and holds."""
    segments = straight_segments(motion)
    surveyed = tuple(surveys(segments, flown))
    # survey lines say nothing about the fix
    placed = () if surveyed else tuple(place(motion, segments))
    # a wrong fix or course explains why no reversal is recognised
    # what was named where nothing is recognised does not show that it began at this fix
    recognised = [one for one in flown if one.named is None or one.named.recognised is not None]
    unrecognised = () if placed or surveyed else tuple(gone_out(motion, recognised, segments))
    # exchanged coordinates distort the turns, too
    of_pace = () if placed and not flown else tuple(pace(motion, flown))
    of_height = tuple(heights(motion, flown)) or tuple(altitude_jumps(motion)) or tuple(ground(motion))
    # altitudes in another unit make descents steep, too
    of_scale = () if any(doubt.off_m is None for doubt in of_height) else tuple(minutes(motion))
    of_jumps = tuple(jumps(motion))
    # where the aircraft was moved its speed jumps, too
    of_log = (*coarse(motion), *(of_jumps or surges(motion)))
    of_flight = (*crossed(motion, flown), *of_pace, *of_height, *surveyed, *unrecognised, *placed, *of_scale)
    return (*of_log, *hidden_turns(motion, flown), *beside_runway(motion, flown), *of_flight, *orbits(motion, flown))
