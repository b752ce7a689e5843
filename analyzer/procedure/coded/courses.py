"""The inbound course of a reversal, from its records."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.fields import Course
from analyzer.procedure.coded.frame import apart, rounded
from analyzer.procedure.coded.leg import Leg
from analyzer.procedure.coded.reversals import CodedReversal

__all__ = ["inbound_course", "offset_error_deg", "outbound_of_offset"]

_OFFSET_DEG = 45.0


def inbound_course(approach: CodedApproach, reversal: CodedReversal) -> Course | None:
    """The inbound course as coded; None if no record has it.

    For a hold it is the course of its leg, for a teardrop that of the leg back. For a procedure turn it is the course of the
    leg that follows, or that leads to its fix in the final route; failing both, the one that its 45° leg belongs to. After an
    arc it is the course of the first leg on a course.
    """
    if reversal.kind == "hold":
        return reversal.leg.course
    if reversal.kind == "base-turn":
        return reversal.inbound.course if reversal.inbound is not None else None
    course = _following(reversal.after) or _at_fix(approach.final.legs, reversal)
    if course is not None or reversal.kind == "arc" or reversal.leg.course is None:
        return course
    offset = reversal.leg.course
    return Course(rounded(outbound_of_offset(reversal) + 180.0), offset.true)


def _following(legs: Sequence[Leg]) -> Course | None:
    return next((leg.course for leg in legs if leg.path in ("CF", "TF") and leg.course is not None), None)


def _at_fix(legs: Sequence[Leg], reversal: CodedReversal) -> Course | None:
    """The course of the final leg to the last fix of the reversal's route, else of the first leg beyond it."""
    last = next((leg.fix for leg in reversed((reversal.leg, *reversal.after)) if leg.fix is not None), None)
    there = next((i for i, leg in enumerate(legs) if leg.fix == last), None)
    if there is None:
        return _following(legs)
    own = _following(legs[there : there + 1]) if reversal.kind != "arc" else None
    return own or _following(legs[there + 1 :])


def outbound_of_offset(reversal: CodedReversal) -> float:
    """The outbound course of a procedure turn by its 45° leg; the turn back is towards it. [degrees]"""
    course = reversal.leg.course
    if course is None:
        return math.nan
    return course.degrees + (_OFFSET_DEG if reversal.turn == "right" else -_OFFSET_DEG)


def offset_error_deg(reversal: CodedReversal, inbound_deg: float) -> float:
    """Difference of a procedure turn's 45° leg from 45° off the inbound course. [degrees]"""
    return abs(apart(inbound_deg + 180.0, outbound_of_offset(reversal)))
