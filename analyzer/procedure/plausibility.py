"""Possible values in a procedure file, so unusual that a typing error is likelier: one function and sentence each."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

from analyzer.procedure.altitude_unit import said
from analyzer.procedure.approach_plausibility import approach_warnings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.procedure.schema import Procedure

__all__ = ["warnings"]

# Keys of [reversal] that mean something for some kinds only.
_OF_KIND = {
    "side": ("procedure-turn", "base-turn", "hold"),
    "turn": ("procedure-turn", "base-turn", "hold", "arc"),
    "offset_course_deg": ("procedure-turn",),
    "leg_time_s": ("procedure-turn", "base-turn", "hold"),
    "leg_length_nm": ("procedure-turn", "base-turn", "hold"),
    "leg_by": ("procedure-turn", "base-turn", "hold"),
    "maximum_time_s": ("procedure-turn", "base-turn", "hold"),
    "entry_within_deg": ("procedure-turn", "base-turn", "hold"),
}


def warnings(procedure: Procedure) -> tuple[str, ...]:
    """All that is odd in `procedure`, in the order of the file."""
    checks = (
        _idle_keys,
        _reciprocal_courses,
        _base_turn_side,
        _offset_course,
        _distance_limit,
        _leg_limits,
        _guidance,
        _floors,
        _reversal_without_minimum,
    )
    sentences = itertools.chain.from_iterable(check(procedure) for check in checks)
    return (*sentences, *approach_warnings(procedure))


def _apart(one_deg: float, other_deg: float) -> float:
    """Signed angle from the one course to the other, -180 to 180 degrees."""
    return math.remainder(other_deg - one_deg, 360.0)


def _idle_keys(procedure: Procedure) -> Iterator[str]:
    reversal = procedure.reversal
    for key, kinds in _OF_KIND.items():
        if getattr(reversal, key) is not None and reversal.kind not in kinds:
            yield f"[reversal] {key} means nothing for kind {reversal.kind} and is ignored."
    if reversal.within_from is not None and reversal.within_nm is None:
        yield "[reversal] within_from is ignored, since there is no within_nm."
    if procedure.arc is not None and reversal.kind != "arc":
        yield f"[arc] means nothing for kind {reversal.kind} and is ignored."


def _reciprocal_courses(procedure: Procedure) -> Iterator[str]:
    reversal = procedure.reversal
    outbound, inbound = reversal.outbound_course_deg, reversal.inbound_course_deg
    if outbound is None or reversal.kind == "base-turn":
        return
    off = abs(_apart(outbound, inbound + 180.0))
    if off > 1.0:
        yield (
            f"[reversal] outbound_course_deg = {outbound:g} is {off:g}° off the reciprocal of inbound_course_deg = "
            f"{inbound:g}; only a base turn is usually charted so."
        )


def _base_turn_side(procedure: Procedure) -> Iterator[str]:
    reversal = procedure.reversal
    if reversal.kind != "base-turn" or reversal.outbound_course_deg is None:
        return
    divergence = _apart(reversal.inbound_course_deg + 180.0, reversal.outbound_course_deg)
    turn = 1.0 if reversal.turn == "right" else -1.0
    if divergence * turn >= 0.0 or abs(divergence) > 90.0:
        yield (
            f"[reversal] a base turn to the {reversal.turn} needs an outbound course on the "
            f"{'left' if turn > 0 else 'right'} of the reciprocal of the inbound course; "
            f"outbound_course_deg = {reversal.outbound_course_deg:g} and inbound_course_deg = {reversal.inbound_course_deg:g} "
            "do not fit."
        )


def _offset_course(procedure: Procedure) -> Iterator[str]:
    reversal = procedure.reversal
    if reversal.kind != "procedure-turn" or reversal.offset_course_deg is None or reversal.outbound_course_deg is None:
        return
    expected = reversal.outbound_course_deg + (45.0 if reversal.side == "right" else -45.0)
    if abs(_apart(expected, reversal.offset_course_deg)) > 5.0:
        yield (
            f"[reversal] offset_course_deg = {reversal.offset_course_deg:g} is not about 45° to the {reversal.side} "
            f"of outbound_course_deg = {reversal.outbound_course_deg:g}, which would be {expected % 360.0:g}."
        )


def _distance_limit(procedure: Procedure) -> Iterator[str]:
    within = procedure.reversal.within_nm
    if within is not None and not 5.0 <= within <= 15.0:
        yield f"[reversal] within_nm = {within:g} is outside the 5 to 15 NM that are published (AIM 5-4-9 a.3)."


def _guidance(procedure: Procedure) -> Iterator[str]:
    guidance = procedure.guidance
    if guidance is None:
        if procedure.fix.kind == "marker":
            yield "[guidance] is missing and a marker gives no course: deviations are measured there as if flown by gps."
    elif guidance.kind == "localizer" and guidance.latitude_deg is None and procedure.runway is None:
        yield (
            "[guidance] has no position of the localizer's antenna, and there is no [runway] to place it beyond: its "
            "angles are measured at the fix instead."
        )
    elif guidance.kind in ("vor", "ndb") and guidance.latitude_deg is None and guidance.kind != procedure.fix.kind:
        yield f"[guidance] is a {guidance.kind} without a position, and the fix is a {procedure.fix.kind}."


def _floors(procedure: Procedure) -> Iterator[str]:
    floors, unit = procedure.altitudes.by_leg(), procedure.altitude_unit
    for (before, higher), (leg, lower) in itertools.pairwise(floors.items()):
        if lower > higher:
            yield (
                f"[altitudes] {said(unit, f'{leg}_ft', lower)} is above {said(unit, f'{before}_ft', higher)}: a reversal is "
                "not flown uphill."
            )


def _reversal_without_minimum(procedure: Procedure) -> Iterator[str]:
    """The altitude of a procedure turn or hold is a minimum until established inbound (AIM 5-4-9 a and a.5)."""
    altitudes, kind = procedure.altitudes, procedure.reversal.kind
    outbound, then = altitudes.outbound_ft, altitudes.inbound_ft
    then = altitudes.final_ft if then is None else then
    if kind not in ("procedure-turn", "hold") or outbound is None or altitudes.reversal_ft is not None:
        return
    if then is None or then < outbound:
        yield (
            f"[altitudes] {said(procedure.altitude_unit, 'outbound_ft', outbound)} has no reversal_ft after it: the turn back "
            "is judged by no minimum, though this one usually holds until established inbound (AIM 5-4-9 a). If it does, give "
            "it as reversal_ft too."
        )


def _leg_limits(procedure: Procedure) -> Iterator[str]:
    reversal = procedure.reversal
    if reversal.kind != "hold" and reversal.leg_time_s is not None and reversal.leg_length_nm is not None:
        yield (
            f"[reversal] leg_time_s = {reversal.leg_time_s:g} and leg_length_nm = {reversal.leg_length_nm:g} are both given: "
            "the time is read as nominal and the length as the limit."
        )
    length, within = reversal.leg_length_nm, reversal.within_nm
    alike = reversal.within_from is None and (reversal.within_by == "dme") == (reversal.leg_by == "dme")
    if length is not None and within is not None and alike and length > within:
        yield (
            f"[reversal] leg_length_nm = {length:g} is beyond within_nm = {within:g}: the outbound leg would end outside the "
            "limit; correct one."
        )
