"""The stages of each reversal, from the fix to the roll-out inbound, solved in the wind.

What the chart leaves to the pilot is solved so that the reversing turn rolls out on the inbound course. Places are in metres
north and east of the fix; angles are true.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from analyzer.brief.conditions import Conditions, LegAir
from analyzer.brief.stages import Stage, fly_stages
from analyzer.errors import BriefError
from analyzer.frozen import dataclass
from analyzer.nominal.fly import Path, Straight, Turn
from analyzer.nominal.solve import solve
from analyzer.physics.units import DEG
from analyzer.procedure.charted import Charted

__all__ = ["SHAPES_OF_KIND", "Pattern", "base_turn", "eighty", "forty_five", "outbound_seconds", "shapes_of"]

_LONGEST_S = 600.0
_LONGEST_PAUSE_S = 15.0  # between the turns; with a longer one it is not an 80/260


@dataclass(frozen=True)
class Pattern:
    """A reversal: the stages up to the end of the reversing turn.

    Attributes
    ----------
    shape : str
        The shape in words.
    stages : tuple of Stage
        The stages.
    start_heading_rad, start_m
        Heading and place at the beginning.
    solved : str, optional
        What was adjusted so that the turn rolls out on the inbound course; None if nothing could be, and an intercept is
        needed.
    rolled_out_m : float
        Distance right of the inbound course at the end of the reversing turn; near zero if solved.
    """

    shape: str
    stages: tuple[Stage, ...]
    start_heading_rad: float
    solved: str | None
    rolled_out_m: float
    start_m: tuple[float, float] = (0.0, 0.0)

    @property
    def flown_as(self) -> str:
        """The name of this shape in a debrief."""
        return _FLOWN_AS.get(self.shape, self.shape)

    def fly(self, stages: Sequence[Stage] | None = None) -> Path:
        """The path of the pattern to the end of the reversing turn, or of other stages from the same beginning."""
        return fly_stages(self.stages if stages is None else stages, self.start_heading_rad, self.start_m)


def _across(stages: tuple[Stage, ...], heading: float, charted: Charted) -> float:
    return float(fly_stages(stages, heading).across_m(charted.inbound_true_rad)[-1])


def outbound_seconds(conditions: Conditions, ground_speed_mps: float, default_m: float) -> float:
    """Time of the outbound leg: as asked for, or of the length asked for, else of the default length. [s]"""
    if conditions.outbound_s is not None:
        return conditions.outbound_s
    return (conditions.outbound_m if conditions.outbound_m is not None else default_m) / ground_speed_mps


def _home(charted: Charted, air: LegAir) -> float:
    return air.hold_course(charted.inbound_true_rad)[0]


def forty_five(charted: Charted, conditions: Conditions, outbound_m: float) -> Pattern:
    """A 45/180: outbound, an offset leg on the charted heading, and a turn back onto the inbound course."""
    side = _side(charted)
    out, around = conditions.leg(charted, "outbound"), conditions.leg(charted, "reversal")
    heading, ground_speed = out.hold_course(charted.outbound_true_rad)
    offset = (
        charted.offset_true_rad if charted.offset_true_rad is not None else charted.outbound_true_rad + side * math.pi / 4.0
    )
    seconds = outbound_seconds(conditions, ground_speed, outbound_m)
    home = _home(charted, around)

    def stages(leg_s: float) -> tuple[Stage, ...]:
        return (
            Stage("outbound", "outbound", Straight(seconds), out, charted.outbound_true_rad),
            Stage("offset_turn", "reversal", Turn(offset, side, around.bank_rad), around),
            Stage("offset_leg", "reversal", Straight(leg_s), around),
            Stage("reversal_turn", "reversal", Turn(home, -side, around.bank_rad), around),
        )

    leg_s = solve(lambda s: _across(stages(s), heading, charted), 0.0, _LONGEST_S)
    flown = stages(leg_s if leg_s is not None else 0.0)
    return Pattern("45/180", flown, heading, "offset time" if leg_s is not None else None, _across(flown, heading, charted))


def eighty(charted: Charted, conditions: Conditions, outbound_m: float) -> Pattern:
    """An 80/260: outbound, a turn of 80 degrees, and a turn back; in still air a pause between the turns is needed."""
    side = _side(charted)
    out, around = conditions.leg(charted, "outbound"), conditions.leg(charted, "reversal")
    heading, ground_speed = out.hold_course(charted.outbound_true_rad)
    seconds, home = outbound_seconds(conditions, ground_speed, outbound_m), _home(charted, around)
    off = charted.outbound_true_rad + side * 80.0 * DEG

    def stages(pause_s: float) -> tuple[Stage, ...]:
        return (
            Stage("outbound", "outbound", Straight(seconds), out, charted.outbound_true_rad),
            Stage("offset_turn", "reversal", Turn(off, side, around.bank_rad), around),
            Stage("offset_leg", "reversal", Straight(pause_s), around),
            Stage("reversal_turn", "reversal", Turn(home, -side, around.bank_rad), around),
        )

    pause = solve(lambda s: _across(stages(s), heading, charted), 0.0, _LONGEST_PAUSE_S)
    flown = tuple(s for s in stages(pause or 0.0) if s.part != "offset_leg" or pause)
    solved = "pause between the turns" if pause is not None else None
    return Pattern("80/260", flown, heading, solved, _across(flown, heading, charted))


def base_turn(charted: Charted, conditions: Conditions, outbound_m: float) -> Pattern:
    """A base turn: outbound on the charted course, and a turn onto the inbound course.

    If no outbound leg is asked for, its time is solved so that the turn rolls out on the inbound course; otherwise the bank is.
    """
    turn = _side(charted) * -1
    out, around = conditions.leg(charted, "outbound"), conditions.leg(charted, "reversal")
    heading, ground_speed = out.hold_course(charted.outbound_true_rad)
    home = _home(charted, around)

    def stages(seconds: float, bank: float) -> tuple[Stage, ...]:
        return (
            Stage("outbound", "outbound", Straight(seconds), out, charted.outbound_true_rad),
            Stage("reversal_turn", "reversal", Turn(home, turn, bank), around),
        )

    if conditions.outbound_s is None and conditions.outbound_m is None:
        seconds = solve(lambda s: _across(stages(s, around.bank_rad), heading, charted), 5.0, _LONGEST_S)
        flown = stages(seconds if seconds is not None else outbound_m / ground_speed, around.bank_rad)
        solved = "outbound time" if seconds is not None else None
        return Pattern("base-turn", flown, heading, solved, _across(flown, heading, charted))
    if conditions.bank_rad is not None:
        raise BriefError("a base turn takes either --bank or --outbound: the one is solved for the other")
    asked = outbound_seconds(conditions, ground_speed, outbound_m)
    bank = solve(lambda b: _across(stages(asked, b), heading, charted), 3.0 * DEG, 30.0 * DEG)
    if bank is None:
        gentle, steep = (abs(_across(stages(asked, b), heading, charted)) for b in (3.0 * DEG, 30.0 * DEG))
        at_limit = solve(lambda s: _across(stages(s, 30.0 * DEG), heading, charted), 5.0, _LONGEST_S)
        near = f"; at 30° of bank {at_limit:.0f} s outbound does" if at_limit is not None and steep < gentle else ""
        raise BriefError(
            f"no bank up to 30° closes this base turn from {asked:.0f} s outbound{near}; choose another outbound length"
        )
    flown = stages(asked, bank)
    return Pattern("base-turn", flown, heading, "bank of the turn", _across(flown, heading, charted))


def _side(charted: Charted) -> int:
    if charted.side is None:
        raise BriefError("the procedure charts no side to manoeuvre on")
    return charted.side


# The usual shape first. Under a barb all four are the pilot's choice (AIM 5-4-9 a.1).
SHAPES_OF_KIND: Mapping[str, tuple[str, ...]] = {
    "procedure-turn": ("45/180", "80/260", "racetrack", "teardrop"),
    "base-turn": ("base-turn",),
    "hold": ("hold",),
    "arc": ("arc",),
    "none": (),
}
_FLOWN_AS: Mapping[str, str] = {"racetrack": "hold-direct", "teardrop": "base-turn"}


def shapes_of(charted: Charted) -> tuple[str, ...]:
    """The shapes that may be flown; only one if the track must be flown as drawn (AIM 5-4-9 a.1)."""
    shapes = SHAPES_OF_KIND[charted.kind]
    return shapes[:1] if charted.procedure.reversal.depicted_track else shapes
