"""Each event counts once: a finding that follows from another one refers to that and is not assessed.

An offset leg on the wrong side is also on the wrong heading; a descent begun too early also goes below a minimum. In each row
below the cause stands for the event, so that a mark does not count it twice. One level below a minimum that two legs share is
one event for as long as the aircraft stays below it, and so is one above a maximum.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from analyzer.checks.finding import CLOSE, INSIDE, NOT_ASSESSED, OUTSIDE, Finding
from analyzer.checks.phrases import check_name, part_words
from analyzer.frozen import dataclass
from analyzer.motion.states import States
from analyzer.physics.units import FT
from analyzer.vocabulary import CheckName, Verdict

__all__ = ["MINIMUMS", "once"]

MINIMUMS: tuple[CheckName, ...] = ("minimum_altitude", "step_down", "altitude_floor")
_FEET = {"ft": 1.0, "m": 1.0 / FT}
_SAME_S = 90.0  # findings on altitude this close in time belong to one descent
_JOINED_S = 20.0  # a course flown this long was joined, and leaving it is another event; common practice, no source


@dataclass(frozen=True)
class _Follows:
    """A rule: a finding of the check `effect` follows from one of `cause` that is outside, if `of` holds for the two.

    `stayed` is for altitudes with the same limit: the aircraft stayed beyond it from the one to the other.
    """

    cause: CheckName
    effect: CheckName
    of: Callable[[Finding, Finding], bool] = lambda _, __: True
    verdicts: tuple[Verdict, ...] = (OUTSIDE,)  # of the effect
    stayed: bool = False


def _near(cause: Finding, effect: Finding) -> bool:
    """Whether the two happened close to each other in time, or on the same leg."""
    if cause.place is None or effect.place is None:
        return False
    return cause.leg == effect.leg or abs(cause.place.time_s - effect.place.time_s) < _SAME_S


def _at_once(cause: Finding, effect: Finding) -> bool:
    """Whether the two happened close to each other in time."""
    return cause.place is not None and effect.place is not None and abs(cause.place.time_s - effect.place.time_s) < _SAME_S


def _same_limit(cause: Finding, effect: Finding) -> bool:
    """Whether both have the same minimum, as a leg and its fixes under an assigned altitude."""
    return cause.limit == effect.limit


def _went_on(cause: Finding, effect: Finding) -> bool:
    """Whether two fixes have the same minimum, and the aircraft was below it before the first of them already."""
    if cause.place is None or effect.place is None:
        return False
    return _same_limit(cause, effect) and cause.place.time_s < effect.place.time_s


def _worse(cause: Finding, effect: Finding) -> bool:
    """Whether the cause was farther beyond the limit, or as far and earlier: an event counts where it was worst."""
    if cause.place is None or effect.place is None or cause.margin is None or effect.margin is None:
        return False
    return (cause.margin, cause.place.time_s) < (effect.margin, effect.place.time_s)


def _same_low(cause: Finding, effect: Finding) -> bool:
    """Whether two legs with the same minimum were low in one go: one low, which counts where it was lowest."""
    return cause.leg != effect.leg and _worse(cause, effect)


def _early_turn(cause: Finding, effect: Finding) -> bool:
    """Whether both are about the turn: begun before the missed approach point, and so below the altitude to turn at."""
    if cause.place is None or effect.place is None:
        return False
    return cause.measured is None and abs(cause.place.time_s - effect.place.time_s) < 1.0


def _goes_on(cause: Finding, effect: Finding) -> bool:
    """Whether the lowest altitude came after an early descent began and before the descent was allowed."""
    if cause.place is None or effect.place is None:
        return False
    return (
        effect.margin is not None
        and effect.place.time_s - 1.0 <= cause.place.time_s <= effect.place.time_s - effect.margin + 1.0
    )


def _low_before(cause: Finding, effect: Finding) -> bool:
    """Whether the altitude that a descent left early is the minimum that was undershot before it."""
    left_ft = effect.details.get("left_ft")
    if left_ft is None or not isinstance(cause.limit, float) or cause.unit not in _FEET:
        return False
    earlier = cause.place is not None and effect.place is not None and cause.place.time_s <= effect.place.time_s
    return earlier and abs(cause.limit * _FEET[cause.unit] - left_ft) < 1.0


def _same_lap(cause: Finding, effect: Finding) -> bool:
    """Whether the downward departure was in the lap that went below the minimum of the hold."""
    return cause.lap == effect.lap and effect.details.get("departure_ft", 0.0) < 0.0


def _same_inbound_leg(cause: Finding, effect: Finding) -> bool:
    """Whether the inbound leg that was timed from joining the course is one on which the course was not joined."""
    return cause.lap == effect.lap and effect.part == "inbound"


def _before_laps(cause: Finding, _: Finding) -> bool:
    """Whether the wrong turn was in a round before the laps, which was the entry."""
    return "before_laps" in cause.details


def _below(cause: Finding, effect: Finding) -> bool:
    """Whether the departure from a level was downwards, where and when the minimum of the leg was undershot."""
    return effect.details.get("departure_ft", 0.0) < 0.0 and cause.leg == effect.leg and _at_once(cause, effect)


def _too_low(cause: Finding, effect: Finding) -> bool:
    """Whether the level flown on the leg lies below its minimum; holding that precisely earns no credit either."""
    level, minimum = effect.details.get("level_ft"), cause.limit
    if level is None or not isinstance(minimum, float) or cause.unit not in _FEET:
        return False
    return cause.leg == effect.leg and level < minimum * _FEET[cause.unit]


def _never_joined(_: Finding, effect: Finding) -> bool:
    """Whether the course was never joined after a turn to the wrong side, so that the deviation results from the turn."""
    return effect.details.get("left_after_s", 0.0) < _JOINED_S


def _flown_on(cause: Finding, effect: Finding) -> bool:
    """Whether the missed approach straight ahead went on away from the final course, to the side on which that was missed."""
    away = effect.details.get("off_final_course_deg", 0.0) * cause.details.get("cross_track_nm", 0.0)
    return away > 0.0 and _never_joined(cause, effect)


_JUDGED: tuple[Verdict, ...] = (OUTSIDE, CLOSE, INSIDE)
_ROWS = (
    _Follows("reversal_side", "offset_heading"),
    _Follows("step_down", "altitude_floor", _near),
    _Follows("step_down", "altitude_floor", stayed=True),
    _Follows("step_down", "descent_timing", _near, (OUTSIDE, CLOSE)),
    _Follows("step_down", "step_down", _went_on),
    _Follows("step_down", "minimum_altitude", _same_limit),
    _Follows("altitude_floor", "altitude_floor", _same_low, (OUTSIDE, CLOSE), stayed=True),
    _Follows("maximum_altitude", "maximum_altitude", _worse, (OUTSIDE, CLOSE), stayed=True),
    _Follows("altitude_floor", "descent_timing", _goes_on, (OUTSIDE, CLOSE)),
    _Follows("altitude_floor", "descent_timing", _low_before, (OUTSIDE, CLOSE), stayed=True),
    *(_Follows(cause, "altitude_hold", _below) for cause in MINIMUMS),
    _Follows("altitude_floor", "hold_altitude", _same_lap),
    *(_Follows(cause, "altitude_hold", _too_low, _JUDGED) for cause in MINIMUMS),
    _Follows("established", "inbound_course"),
    _Follows("hold_turn", "hold_entry", _before_laps, _JUDGED),
    _Follows("reversal_side", "hold_entry", _before_laps, _JUDGED),
    _Follows("hold_course", "hold_timing", _same_inbound_leg, (OUTSIDE, CLOSE, NOT_ASSESSED)),
    _Follows("established", "intercept"),
    _Follows("final_course", "missed_course", _flown_on, (OUTSIDE, CLOSE)),
    _Follows("missed_point", "missed_climb", _early_turn, (OUTSIDE, CLOSE)),
    _Follows("missed_turn", "missed_course", _never_joined),
)


def once(findings: Sequence[Finding], states: States | None = None) -> tuple[Finding, ...]:
    """The findings, where each that follows from another is not assessed, with the other as the reason.

    `states` are those of the flight, for its altitudes: without them it is not known what stayed beyond a limit.
    """
    outside = [finding for finding in findings if finding.verdict == OUTSIDE]
    causes: dict[int, Finding] = {}
    for finding in findings:
        of_it = (
            cause
            for row in _ROWS
            if row.effect == finding.check and finding.verdict in row.verdicts
            for cause in outside
            if cause.check == row.cause and row.of(cause, finding) and (not row.stayed or _stayed(states, cause, finding))
        )
        cause = next(of_it, None)
        if cause is not None:
            causes[id(finding)] = cause
    return tuple(_following(one, _first(causes, causes[id(one)])) if id(one) in causes else one for one in findings)


def _first(causes: Mapping[int, Finding], cause: Finding) -> Finding:
    """The finding that counts, at the end of what follows from what."""
    seen: set[int] = set()
    while id(cause) in causes and id(cause) not in seen:
        seen.add(id(cause))
        cause = causes[id(cause)]
    return cause


def _stayed(states: States | None, cause: Finding, effect: Finding) -> bool:
    """Whether the aircraft stayed beyond the limit that two findings have in common, from where the one lies to the other."""
    if states is None or cause.place is None or effect.place is None:
        return False
    if not isinstance(cause.limit, float) or cause.unit not in _FEET:
        return False
    if effect.unit in _FEET and not _same_limit(cause, effect):
        return False
    limit_m, (begin, end) = cause.limit * _FEET[cause.unit] * FT, sorted((cause.place.time_s, effect.place.time_s))
    altitude_m = states.between(begin, end).altitude_m
    back = altitude_m <= limit_m if cause.check == "maximum_altitude" else altitude_m >= limit_m
    return bool(np.isfinite(altitude_m).any()) and not bool(back.any())


def _following(finding: Finding, cause: Finding) -> Finding:
    # where its sentence has it: altitudes are of legs
    where = part_words(cause.leg if cause.basis == "altitude" else cause.part or cause.leg, cause.lap)
    before = finding.place is not None and cause.place is not None and finding.place.time_s < cause.place.time_s
    how = "is one event with" if before and finding.check == cause.check else "follows from"
    reason = f"it {how} {check_name(cause.check, cause.unit)} ({where}) and is counted there"
    return replace(finding, verdict=NOT_ASSESSED, reason=reason)
