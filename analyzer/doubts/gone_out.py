"""Whether a reversal was flown that is not recognised, or the log begins after it began."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from analyzer.checks.phrases import clock, degrees, miles, side_word
from analyzer.doubts.doubt import Doubt
from analyzer.legs.hidden import gap_words
from analyzer.legs.passages import find_passages
from analyzer.legs.reversal import STRAIGHT_IN, Reversal
from analyzer.legs.segments import Segment
from analyzer.motion.motion import Motion
from analyzer.physics.geodesy import inverse
from analyzer.physics.units import DEG, KT, NM, unwrapped, wrap
from analyzer.procedure.charted import Charted

__all__ = ["gone_out"]

_OUT_RAD, _HOME_RAD = 45.0 * DEG, 20.0 * DEG
_NEAR_COURSE_M = 2.0 * NM  # vectors lead out farther from the course
_SOON_S = 420.0  # from the way out to the way home
_BEGIN_S = 90.0  # into the log
_AT_FIX_M = 0.15 * NM  # a log that begins this near begins at the fix
_OVER_FIX_M = 0.1 * NM  # passed this near, the fix is where the procedure file has it
_OUT_S, _ALONG_RAD = 30.0, 10.0 * DEG  # of a way out: so long, and within full scale of a VOR along the course
_FLYING_MPS = 40.0 * KT
_AWAY_M = 0.4 * NM  # of a log that begins on the way out
_TURNING_RAD_S, _TURNS_RAD = 1.5 * DEG, 60.0 * DEG  # of a log that begins in a turn back
_ONTO_COURSE_S = 180.0  # from the beginning of the log, for the rest of that turn and the intercept
_REASON = "the log begins too late to tell"
_IN_TURN = "the log begins in the turn back"
_ON_THE_WAY = "the log begins on the way out"
_NAME_IT = "Where you know better, name it with --flown."
_UNRECOGNISED = "no reversal was recognised though one seems to have been flown"


def gone_out(motion: Motion, flown: Sequence[Reversal], segments: Sequence[Segment]) -> Iterator[Doubt]:
    """The doubts about what came before the recognised approaches, by the straight segments of the flight."""
    charted = motion.charted
    if charted.kind == "none" or charted.held is not None or charted.cleared.way is not None:
        return
    late = _begins_late(motion, flown)
    if late is not None:
        yield late
        return
    reversals = [one for one in flown if one.flown != STRAIGHT_IN and all(part.leg != "hold" for part in one.parts)]
    if reversals:
        return
    segments = _apart_from_holds(segments, flown)
    out_s = _out_and_home(charted, segments)
    begins, fix = float(motion.states.time_s[0]), charted.procedure.fix.name
    if out_s is None and _outward_at_first(motion, segments):
        out_s = begins
    if out_s is None:
        if _in_turn_at_first(motion, segments):
            yield Doubt(
                f"The log begins {miles(float(motion.states.distance_m[0]), 1)} from {fix}, in a turn that leads back to the "
                "course: the reversal cannot be judged without its beginning. Start the log before the fix.",
                "begin",
                _IN_TURN,
            )
        return
    if out_s < begins + _BEGIN_S and _leads_away(motion):
        distance = miles(float(motion.states.distance_m[0]), 1)
        yield Doubt(
            f"The log begins {distance} from {fix}, on the way out, and comes back on the course: the reversal cannot be "
            "judged without its beginning. Start the log before the fix.",
            "begin",
            _ON_THE_WAY,
        )
    else:
        yield Doubt(_unrecognised(motion, segments, out_s), "begin", _UNRECOGNISED)


def _unrecognised(motion: Motion, segments: Sequence[Segment], out_s: float) -> str:
    """What was flown from the way out to the way home, in words, where no reversal is recognised in it."""
    passed_s, fix = _passed_before_home(motion, segments, out_s), motion.charted.procedure.fix.name
    if passed_s is None:
        return (
            f"The flight goes out at {clock(out_s)} and comes back on the course, but no reversal from {fix} is "
            f"recognised: was it flown from there, and is the position of {fix} in the procedure file right?"
        )
    hidden = gap_words(motion, passed_s, _home_s(motion, segments, out_s))
    return (
        f"The flight passes {fix} at {clock(passed_s)}, {_outward_words(motion, segments, passed_s)} and comes back on "
        "the course, but what it flies in between is no reversal that is recognised"
        + (f": {hidden}, which hides what was flown. It is not judged." if hidden else f", so it is not judged. {_NAME_IT}")
    )


def _apart_from_holds(segments: Sequence[Segment], flown: Sequence[Reversal]) -> list[Segment]:
    """The segments that no lap of a hold that is recognised explains."""
    holds = [(one.begun_s, one.parts[-1].end_s) for one in flown if any(part.leg == "hold" for part in one.parts)]
    return [one for one in segments if not any(begin < (one.start_s + one.end_s) / 2.0 < end for begin, end in holds)]


def _passed_before_home(motion: Motion, segments: Sequence[Segment], out_s: float) -> float | None:
    """When the flight passes over the fix before the way home, so that its position is right; None where it does not. [s]"""
    home_s = _home_s(motion, segments, out_s)
    if math.isinf(home_s):
        return None
    over = (one.time_s for one in find_passages(motion.states) if one.distance_m < _OVER_FIX_M and one.time_s < home_s)
    return max(over, default=None)


def _home_s(motion: Motion, segments: Sequence[Segment], out_s: float) -> float:
    """When the way home on the course begins after the way out; infinite if there is none. [s]"""
    return next((home.start_s for home in _homeward(motion.charted, segments) if home.start_s > out_s), math.inf)


def _outward_words(motion: Motion, segments: Sequence[Segment], passed_s: float) -> str:
    """How the flight goes out after passing the fix: ``goes out 24° left of the charted outbound course``."""
    out = next((one for one in segments if one.end_s > passed_s + _OUT_S), None)
    if out is None:
        return "goes out"
    off = float(wrap(out.course_rad - motion.charted.outbound_true_rad))
    side = side_word(1 if off > 0.0 else -1)
    if abs(off) < _ALONG_RAD:
        return "goes out along the outbound course"
    return f"goes out {degrees(abs(off), 0)} {side} of the charted outbound course"


def _begins_late(motion: Motion, flown: Sequence[Reversal]) -> Doubt | None:
    """A doubt if the first passage of the fix is the first sample: the fix was passed before the log begins, or not at all."""
    states = motion.states
    if not flown or not flown[0].passages or float(states.ground_speed_mps[0]) < _FLYING_MPS:
        return None
    first = flown[0].passages[0]
    if first.direction != "outbound" or first.time_s > float(states.time_s[0]) + 1.0 or first.distance_m < _AT_FIX_M:
        return None
    fix = _fix_of(motion, flown[0])
    return Doubt(
        f"The log begins {miles(first.distance_m)} beyond {fix}: it does not show when or how the fix was "
        "passed, so the entry and times from there are not judged.",
        "begin",
        _REASON,
        ((float(states.time_s[0]), flown[0].parts[-1].end_s),),
    )


def _fix_of(motion: Motion, flown: Reversal) -> str:
    """The name of the fix that something was flown from: in a hold, of the one that is as far off as its first passage."""
    holds = motion.charted.holds
    if not holds or all(part.leg != "hold" for part in flown.parts):
        return motion.charted.procedure.fix.name
    first = flown.passages[0]
    here = motion.position_at(first.time_s)
    off_m = {one: float(inverse(one.latitude_rad, one.longitude_rad, *here)[0]) - first.distance_m for one in holds}
    return min(off_m, key=lambda one: abs(off_m[one])).name


def _out_and_home(charted: Charted, segments: Sequence[Segment]) -> float | None:
    """When a segment leads out near the course, if one after it leads home on the course. [s]"""
    outward = charted.inbound_true_rad + 180.0 * DEG
    for out in segments:
        leads_out = min(abs(float(wrap(out.course_rad - course))) for course in (outward, charted.outbound_true_rad))
        if leads_out > _OUT_RAD or abs(out.off_m) > _NEAR_COURSE_M or out.ends_m < 0.0:
            continue
        if any(out.end_s < home.start_s < out.end_s + _SOON_S for home in _homeward(charted, segments)):
            return out.start_s
    return None


def _outward_at_first(motion: Motion, segments: Sequence[Segment]) -> bool:
    """Whether the log begins near the course, outbound but too briefly for a segment, and then leads home on the course."""
    states = motion.states
    leads_out = abs(float(wrap(float(states.track_rad[0]) - float(states.bearing_rad[0])))) < _OUT_RAD
    if not leads_out or not _begins_outbound(motion):
        return False
    for home in _homeward(motion.charted, segments):
        before = states.between(float(states.time_s[0]), home.start_s)
        if len(before) and home.start_s < float(states.time_s[0]) + _SOON_S:
            return float(before.distance_m.max()) > float(states.distance_m[0]) + _AWAY_M
    return False


def _begins_outbound(motion: Motion) -> bool:
    """Whether the log begins in flight, near the course on the outbound side of the fix."""
    states, outward = motion.states, motion.charted.inbound_true_rad + 180.0 * DEG
    distance, bearing = float(states.distance_m[0]), float(states.bearing_rad[0])
    near = abs(float(wrap(bearing - outward))) < _OUT_RAD and distance * abs(math.sin(bearing - outward)) < _NEAR_COURSE_M
    return near and float(states.ground_speed_mps[0]) >= _FLYING_MPS


def _leads_away(motion: Motion) -> bool:
    """Whether the flight leads away from the fix as the log begins; one that leads to it has yet to begin the reversal."""
    states = motion.states
    return abs(float(wrap(float(states.track_rad[0]) - float(states.bearing_rad[0])))) < 90.0 * DEG


def _in_turn_at_first(motion: Motion, segments: Sequence[Segment]) -> bool:
    """Whether the log begins near the course in a turn of 60° or more that leads home on the course."""
    states, rate = motion.states, motion.states.turn_rate_rad_s
    if abs(float(rate[0])) < _TURNING_RAD_S or not _begins_outbound(motion):
        return False
    same_way = rate * math.copysign(1.0, float(rate[0])) > 0.0
    end = len(rate) if same_way.all() else int(np.argmin(same_way))
    turned = abs(float(unwrapped(states.track_rad[:end])[-1] - states.track_rad[0]))
    begins = float(states.time_s[0])
    return turned > _TURNS_RAD and any(home.start_s < begins + _ONTO_COURSE_S for home in _homeward(motion.charted, segments))


def _homeward(charted: Charted, segments: Sequence[Segment]) -> list[Segment]:
    """The segments that lead home on the course."""
    return [
        home
        for home in segments
        if abs(float(wrap(home.course_rad - charted.inbound_true_rad))) < _HOME_RAD and abs(home.off_m) < _NEAR_COURSE_M
    ]
