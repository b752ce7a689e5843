"""The bank that a lesson advises for a turn: that of standard rate, with a reserve below the maximum."""

from __future__ import annotations

import math

from analyzer.checks.banks import required_bank
from analyzer.checks.finding import Context
from analyzer.lessons.reflight import Reflight
from analyzer.physics import turning
from analyzer.physics.units import DEG

__all__ = ["shallow", "usual_bank", "without_steep_turns"]

_SHALLOW_SHARE = 0.8  # of the usual rate of turn, below which a bank is too shallow: common practice, no source
_SPARE_RAD = 5.0 * DEG  # below the maximum bank, as a reserve for gusts; common practice, no source


def usual_bank(context: Context, true_airspeed_mps: float) -> float:
    """A bank for standard rate, or the most with a reserve, and never less than the standard requires. [rad]

    It is rounded to whole degrees.
    """
    required = required_bank(context, true_airspeed_mps) or 0.0
    standard = float(turning.bank_for_rate(true_airspeed_mps, turning.STANDARD_RATE_RADPS))
    bank = max(required, min(standard, context.standard["turn_bank"].value * DEG - _SPARE_RAD))
    return max(round(bank / DEG), math.ceil(round(required / DEG, 3))) * DEG


def shallow(context: Context, simulated: Reflight) -> bool:
    """Whether the reversing turn was so shallow that it takes much more room than usual."""
    usual = usual_bank(context, simulated.air.true_airspeed_mps)
    return math.tan(simulated.back_bank_rad) < _SHALLOW_SHARE * math.tan(usual)


def without_steep_turns(context: Context, simulated: Reflight) -> Reflight:
    """The same reversal, with the usual bank if one of its turns was steeper than the maximum: that is advised as well."""
    banks = [simulated.back_bank_rad, *([simulated.first.bank_rad] if simulated.first is not None else [])]
    if max(banks) <= context.standard["turn_bank"].value * DEG:
        return simulated
    return simulated.banked(usual_bank(context, simulated.air.true_airspeed_mps))
