"""Whether the lines flown meet elsewhere than at the fix, or differ from the charted courses by one angle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from analyzer.doubts.doubt import Doubt
from analyzer.frozen import dataclass
from analyzer.legs.course_lines import course_lines
from analyzer.legs.segments import Segment
from analyzer.motion.motion import Motion
from analyzer.physics.units import DEG, NM, FloatArray, wrap, wrap_positive
from analyzer.procedure.charted import Charted

__all__ = ["lines"]

_ALIGNED_RAD, _FAR_OFF_RAD = 25.0 * DEG, 40.0 * DEG  # from a charted course: meant to be flown along it
_ALONG_RAD = 5.0 * DEG  # from it: parallel
_OUT_RAD = 120.0 * DEG  # from the inbound course: gone out from the fix
_OUT_LEG_RAD = 35.0 * DEG  # from the outbound course: the outbound leg of a hold, or an arrival that leads into it
_NEAR_COURSE_M = 2.5 * NM  # farther from the course lies another leg
_BEFORE_M, _BEYOND_M = 0.5 * NM, 1.0 * NM  # the fix: where an inbound line begins, and an outbound one ends
_NEXT_S = 60.0  # after an arrival, in which its turn at the fix is flown
_ENTRY_S = 120.0  # likewise into a hold, by up to 180° in a jet's turn of 25° of bank
_SHIFT_M, _SHARE = 0.4 * NM, 0.25
_MISSES_M = 0.35 * NM  # at least one line misses the fix by this: lines at a small angle meet at a vague place
_LEFT_M = 0.2 * NM  # a line flown well may miss the fix by this
_PAST_M, _ASIDE_M = 2.0 * NM, 0.2 * NM  # before and beyond the fix, and to the side of it: full scale within a mile of it
_CROSSING = 0.15  # least over greatest singular value: below, lines are parallel and do not fix the place along them
_ANGLE_RAD, _ALIKE_RAD, _THROUGH_M = 3.0 * DEG, 2.5 * DEG, 0.4 * NM
_LONG_M = 8.0 * NM  # an inbound line this long is enough, where none leads out
_AROUND_AN_ARC = ("arc", "none")
_WELL_KNOWN_M = 3.0 * NM  # the angle of a line this long is known without another
_EXCHANGED_RAD = 15.0 * DEG
_FITS_RAD = 1.5 * DEG


@dataclass(frozen=True)
class _Lines:
    """The lines that locate the fix: along the inbound course, along the outbound one, and the arrivals before them."""

    inbound: tuple[Segment, ...]
    outbound: tuple[Segment, ...]
    arrivals: tuple[Segment, ...]

    @property
    def aligned(self) -> tuple[Segment, ...]:
        """Those along a charted course."""
        return (*self.inbound, *self.outbound)


def lines(motion: Motion, segments: Sequence[Segment]) -> Iterator[Doubt]:
    """A doubt if another fix, or courses turned by one angle, would explain most of the deviation of the lines flown."""
    states, charted, text = motion.states, motion.charted, None
    against = np.cos(states.track_rad - charted.inbound_true_rad) < math.cos(_OUT_RAD)
    if against.any():
        flown = _lines(charted, segments, float(states.time_s[int(np.argmax(against))]))
        text = _turned(charted, flown) or _moved(charted, flown) or _exchanged(charted, segments)
    text = text or _past(charted, segments)
    if text is not None:
        yield Doubt(text)


def _lines(charted: Charted, segments: Sequence[Segment], gone_out_s: float) -> _Lines:
    """The segments flown along the charted courses, or leading to them; inbound only after the flight went out."""
    segments = [one for one in segments if not _bent(charted, one)]
    inbound = [
        one
        for one in segments
        if _aligned(one, charted.inbound_true_rad) and one.start_s > gone_out_s and abs(one.off_m) < _NEAR_COURSE_M
    ]
    inbound = [one for one in inbound if one.begins_m < -_BEFORE_M] or inbound
    outbound: list[Segment] = []
    if charted.kind not in ("hold", "arc", "none"):
        outbound = [
            one
            for one in segments
            if _aligned(one, charted.outbound_true_rad) and one.ends_m > _BEYOND_M and abs(one.off_m) < _NEAR_COURSE_M
        ]
    first = min((one.start_s for one in (*inbound, *outbound)), default=-math.inf)
    before = [one for one in segments if one.end_s <= first + 1.0 and one.along_m < 0.0 and abs(one.off_m) < _NEAR_COURSE_M]
    if charted.kind == "hold":
        # Its outbound leg lies off the course, up to 30° in a teardrop and as much in a strong wind, and what comes after that
        # leg, such as the intercept that ends a parallel entry, is no arrival. Nor is it where that leg goes on from the
        # arrival without a turn, and so is no segment of its own.
        out_s = min((one.start_s for one in segments if _off(one, charted.outbound_true_rad) <= _OUT_LEG_RAD), default=math.inf)
        before = [one for one in before if 0.0 <= out_s - one.end_s < _ENTRY_S and one.along_m < -_BEFORE_M]
    elif charted.kind not in _AROUND_AN_ARC and not outbound:
        before = []  # the outbound leg goes on from the arrival without a turn, and what is left leads to the inbound course
    arrivals = [one for one in before[-1:] if charted.kind == "hold" or first - one.end_s < _NEXT_S]
    return _Lines(tuple(inbound), tuple(outbound), tuple(arrivals))


def _bent(charted: Charted, segment: Segment) -> bool:
    """Whether a segment beyond the fix follows a course that is charted to bend, and so says nothing of the one before."""
    if segment.begins_m < -_BEFORE_M:
        return False
    to_it = _off(segment, charted.inbound_true_rad)
    beyond = (*course_lines(charted, "inbound"), *course_lines(charted, "final"))
    return any(_off(segment, line.course_rad) < min(_ALONG_RAD, to_it) for line in beyond)


def _off(segment: Segment, course_rad: float) -> float:
    return abs(float(wrap(segment.course_rad - course_rad)))


def _aligned(segment: Segment, course_rad: float) -> bool:
    """Whether a segment was meant to be flown along a course; one through the fix may be off by twice the variation."""
    off = _off(segment, course_rad)
    return off < _ALIGNED_RAD or (off < _FAR_OFF_RAD and abs(segment.off_m) < _THROUGH_M)


def _turned(charted: Charted, flown: _Lines) -> str | None:
    """The doubt if the lines pass through the fix, but differ from the charted courses by one angle."""
    courses = [(one, charted.inbound_true_rad) for one in flown.inbound]
    courses += [(one, charted.outbound_true_rad) for one in flown.outbound]
    both = bool(flown.inbound and flown.outbound) or charted.kind in ("hold", "arc", "none")
    enough = len(courses) > 1 or any(one.ends_m - one.begins_m > _WELL_KNOWN_M for one, _ in courses)
    if not courses or not both or not enough or max(abs(one.off_m) for one, _ in courses) > _THROUGH_M:
        return None
    angles = np.array([float(wrap(one.course_rad - course)) for one, course in courses])
    angle = float(angles.mean())
    if abs(angle) < _ANGLE_RAD or float(np.abs(angles - angle).max()) > _ALIKE_RAD:
        return None
    variation = charted.variation.east_rad
    by = f"{abs(variation) / DEG:.0f}° {'east' if variation > 0.0 else 'west'}"
    if abs(variation) > _ANGLE_RAD and abs(angle + variation) < _FITS_RAD:
        return (
            f"The courses flown lie off those charted by just the variation, {by}: are the courses in the procedure file true "
            "ones? They must be magnetic."
        )
    if abs(variation) > _ANGLE_RAD / 2.0 and abs(angle + 2.0 * variation) < _FITS_RAD:
        return (
            f"The courses flown lie off those charted by twice the variation, {by}: is the sign of variation_deg_east in the "
            "procedure file right? East is positive."
        )
    side = "right" if angle > 0.0 else "left"
    return (
        f"All courses flown lie off those charted by the same angle, {abs(angle) / DEG:.0f}° to the {side}, and lead through "
        f"{charted.procedure.fix.name}: are the courses and the variation in the procedure file right?"
    )


def _moved(charted: Charted, flown: _Lines) -> str | None:
    """The doubt if the lines meet at one place that is not the fix."""
    inbound = [one for one in flown.inbound if _off(one, charted.inbound_true_rad) < _ALONG_RAD]
    used = [*inbound, *flown.outbound, *flown.arrivals]
    alone = len(used) == 1 and (charted.kind not in _AROUND_AN_ARC or used[0].ends_m - used[0].begins_m < _LONG_M)
    if not inbound or alone:
        return None
    across = np.array([one.course_rad + 0.5 * math.pi for one in used])
    normal = np.stack([np.cos(across), np.sin(across)], axis=1)
    off = np.array([one.off_m for one in used])
    place: FloatArray = np.linalg.lstsq(normal, off, rcond=_CROSSING)[0]
    moved = float(np.hypot(*place))
    if (
        moved < _SHIFT_M
        or float(np.abs(off).max()) < _MISSES_M
        or float(np.abs(off - normal @ place).max()) > max(_LEFT_M, _SHARE * moved)
    ):
        return None
    bearing = float(wrap_positive(np.float64(math.atan2(place[1], place[0]))))
    fix = charted.procedure.fix.name
    where = f"{moved / NM:.1f} NM {_compass(bearing)} of {fix}"
    how = "meet" if np.linalg.matrix_rank(normal, tol=_CROSSING * math.sqrt(len(used))) > 1 else "run parallel to the courses"
    return f"The lines flown {how} {where} as charted, and not at it: is the position of {fix} in the procedure file right?"


def _past(charted: Charted, segments: Sequence[Segment]) -> str | None:
    """The doubt if a straight line leads past the fix, parallel to the course, from well before it to well beyond.

    No one follows such a line by a needle that shows the angle at the fix: it would go to full scale there and back.
    """
    for one in segments:
        parallel = _off(one, charted.inbound_true_rad) < _FITS_RAD and one.begins_m < -_PAST_M and one.ends_m > _PAST_M
        if parallel and abs(one.off_m) > _ASIDE_M:
            fix = charted.procedure.fix.name
            side = "right" if one.off_m > 0.0 else "left"
            return (
                f"The way in runs parallel to the course and leads straight past {fix}, {abs(one.off_m) / NM:.2f} NM to the "
                f"{side} of it: is the position of {fix} in the procedure file right?"
            )
    return None


def _exchanged(charted: Charted, segments: Sequence[Segment]) -> str | None:
    """The doubt if the flight goes out on the inbound course and comes in on the outbound one, and never as charted."""
    if charted.kind in _AROUND_AN_ARC:
        return None
    near = [one for one in segments if abs(one.off_m) < _THROUGH_M]
    to_inbound = [one for one in near if _off(one, charted.inbound_true_rad) < _EXCHANGED_RAD]
    to_outbound = [one for one in near if _off(one, charted.outbound_true_rad) < _EXCHANGED_RAD]
    charted_way = [one for one in to_inbound if _off(one, charted.inbound_true_rad) < _ALONG_RAD]
    as_charted = any(one.begins_m < -_BEYOND_M for one in charted_way) or any(one.begins_m > -_BEFORE_M for one in to_outbound)
    gone = [one for one in to_inbound if one.begins_m > -_BEFORE_M and one.ends_m > _BEYOND_M]
    come = [one for one in to_outbound if one.begins_m < -_BEYOND_M]
    if as_charted or not gone or not come or come[-1].start_s < gone[0].end_s:
        return None
    return (
        "The flight goes out on the course that is charted inbound and comes in on its reciprocal: are "
        "inbound_course_deg and outbound_course_deg in the procedure file exchanged?"
    )


def _compass(bearing_rad: float) -> str:
    """A direction as one of eight points of the compass."""
    words = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")
    return words[round(bearing_rad / (45.0 * DEG)) % 8]
