"""What to practise after an approach without a fault: the same again, with more margin where it was smallest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from analyzer.checks.finding import Finding
from analyzer.checks.overall import closest
from analyzer.checks.phrases import value_text
from analyzer.vocabulary import CheckName

__all__ = ["practice_sentence"]

# Common practice, no source. Braces stand for half of the limit.
_ADVICE: Mapping[CheckName, str] = {
    "distance_limit": "turn inbound a little earlier, with a mile left to the limit.",
    "altitude_floor": "level off 50 ft above the minimum and hold that.",
    "step_down": "level off 50 ft above the minimum and hold that.",
    "minimum_altitude": "level off 50 ft above the minimum and hold that.",
    "altitude_hold": "hold the altitude within {}.",
    "hold_altitude": "hold the altitude within {}.",
    "outbound_course": "hold the outbound course within {}.",
    "inbound_course": "hold the inbound course within {}.",
    "hold_course": "join the inbound course of the hold early and keep it within {}.",
    "final_course": "hold the final approach course within {}.",
    "missed_course": "hold the course of the missed approach within {}.",
    "turn_bank": "roll into the turns more gently, 5° or more below the limit.",
    "speed_limit": "fly 10 kt below the limit.",
    "target_speed": "hold the speed within {}.",
    "intercept": "begin to roll out onto the course a little earlier.",
    "descent_timing": "wait a few seconds more before each descent, until there is no doubt about being established.",
}


def practice_sentence(findings: Sequence[Finding]) -> str:
    """What to practise, from what was closest to its limit; empty where there is nothing to say."""
    nearest = closest(findings)
    if nearest is None or nearest.check not in _ADVICE:
        return ""
    half = value_text(nearest.limit / 2.0, nearest.unit) if isinstance(nearest.limit, float) else ""
    return f"fly it again with more margin where it was smallest: {_ADVICE[nearest.check].format(half)}"
