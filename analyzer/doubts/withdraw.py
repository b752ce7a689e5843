"""Withdrawing the verdicts that cannot stand if a doubt is true."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from analyzer.checks.finding import NOT_ASSESSED, Finding, judge
from analyzer.checks.phrases import HEIGHT_UNITS
from analyzer.doubts.doubt import Doubt, Touched
from analyzer.legs.reversal import NamedAs, Reversal
from analyzer.vocabulary import CheckName

__all__ = ["withdraw", "withdraw_named"]

_ALTITUDES: frozenset[CheckName] = frozenset(
    {
        "altitude_floor",
        "altitude_hold",
        "descent_timing",
        "glide_path",
        "hold_altitude",
        "maximum_altitude",
        "minimum_altitude",
        "missed_altitude",
        "missed_climb",
        "missed_point",
        "speed_limit",
        "stabilised_descent",
        "step_down",
        "target_speed",
    }
)
# Of these, what an error that all altitudes have in common decides: by its sign above a minimum and below a maximum.
_ABOVE: frozenset[CheckName] = frozenset({"altitude_floor", "minimum_altitude", "missed_climb", "step_down"})
_BELOW: frozenset[CheckName] = frozenset({"maximum_altitude"})
_EITHER: frozenset[CheckName] = frozenset({"glide_path", "missed_altitude"})
_BEGIN: frozenset[CheckName] = frozenset(
    {"entry_sector", "hold_entry", "hold_timing", "leg_limit", "no_reversal", "reversal_shape", "station_passage"}
)
# Of these, what is timed from the beginning. How long a leg was, by its end, and the legs of further laps do not need that.
_TIMED: frozenset[CheckName] = frozenset({"hold_timing", "leg_limit"})
# The first part of a log that begins too late only looks like an arrival.
_OF_ARRIVAL: frozenset[CheckName] = frozenset({"altitude_floor", "altitude_hold", "maximum_altitude"})
# What a shape shows by being recognised, and does not by being named.
_SHOWN_BY_SHAPE: frozenset[CheckName] = frozenset(
    {"entry_sector", "hold_entry", "hold_turn", "no_reversal", "reversal_shape", "reversal_side"}
)
# A log without the beginning does not show that no reversal was flown.
_NOT_KNOWN = "Whether the charted reversal was flown."
_TOUCHED: Mapping[Touched, frozenset[CheckName]] = MappingProxyType(
    {"altitudes": _ALTITUDES, "begin": _BEGIN, "shape": _SHOWN_BY_SHAPE}
)


def withdraw(findings: Sequence[Finding], reversal: Reversal, doubts: Sequence[Doubt]) -> tuple[Finding, ...]:
    """The findings of an approach; those that a doubt touches become not assessed, for its reason."""
    start, end = reversal.parts[0].start_s, reversal.parts[-1].end_s
    concerned = [doubt for doubt in doubts if doubt.touches != "nothing" and doubt.concerns(start, end)]
    if not concerned:
        return tuple(findings)
    return tuple(_withdrawn(finding, concerned) for finding in findings)


def withdraw_named(findings: Sequence[Finding], reversal: Reversal) -> tuple[Finding, ...]:
    """The findings of an approach whose shape rests on what the user said: what only recognition could show is not assessed.

    Neither is what was measured on a part that is not flown like one of that shape.
    """
    named = reversal.named
    if named is None or not reversal.only_named:
        return tuple(findings)
    return tuple(_not_recognised(finding, named) for finding in findings)


def _not_recognised(finding: Finding, named: NamedAs) -> Finding:
    reason = None
    if finding.check in _SHOWN_BY_SHAPE:
        reason = "the shape was named, not recognised"
    elif finding.part is not None and finding.part in named.unlike:
        leg = " leg" if finding.part in ("outbound", "inbound") else ""
        reason = f"the {finding.part.replace('_', ' ')}{leg} is not recognised as one"
    if reason is None or finding.verdict == NOT_ASSESSED:
        return finding
    return replace(finding, verdict=NOT_ASSESSED, reason=reason, lesson=None, unexplained=False, withdrawn=True)


def _withdrawn(finding: Finding, doubts: Sequence[Doubt]) -> Finding:
    for doubt in doubts:
        if doubt.touches == "begin" and finding.check == "no_reversal" and finding.verdict == NOT_ASSESSED:
            return replace(
                finding, sentence=_NOT_KNOWN, verdict=NOT_ASSESSED, measured=None, reason=doubt.reason, withdrawn=True
            )
        if finding.verdict != NOT_ASSESSED and _touches(doubt, finding):
            return replace(finding, verdict=NOT_ASSESSED, reason=doubt.reason, lesson=None, unexplained=False, withdrawn=True)
    return finding


def _touches(doubt: Doubt, finding: Finding) -> bool:
    if doubt.touches in ("nothing", "all"):
        return doubt.touches == "all"
    if doubt.off_m is not None:
        return _decided(finding, doubt.off_m)
    if doubt.touches == "begin" and finding.check in _TIMED and (finding.unit != "s" or finding.part == "inbound"):
        return False
    of_arrival = doubt.touches == "begin" and finding.leg == "arrival" and finding.check in _OF_ARRIVAL
    return of_arrival or finding.check in _TOUCHED[doubt.touches]


def _decided(finding: Finding, off_m: float) -> bool:
    """Whether the verdict on an altitude might be another one with all altitudes lower by an error that they may have."""
    if finding.check not in _ABOVE | _BELOW | _EITHER:
        return False
    unit = HEIGHT_UNITS.get(finding.unit)
    if unit is None or finding.margin is None or finding.sd is None:
        return True  # a distance or an angle that follows from the altitude
    signs = (-1.0, 1.0) if finding.check in _EITHER else (1.0,) if finding.check in _BELOW else (-1.0,)
    return any(
        judge(finding.margin * unit.metres + sign * off_m, finding.sd * unit.metres)[0] != finding.verdict for sign in signs
    )
