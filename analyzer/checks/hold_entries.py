"""Check of the entry into a hold: the sector that the heading at the fix lies in, and the entry flown."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import GAP, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.hold_wrong_round import passed_before_s, wrong_round
from analyzer.checks.phrases import clock, degrees, side_word
from analyzer.frozen import dataclass
from analyzer.legs.circuits import is_parallel_entry_alone
from analyzer.physics import holding
from analyzer.physics.units import DEG, bearing_text

__all__ = [
    "CHECKS",
    "LIKE_A_DIRECT_ENTRY",
    "ArrivalHeading",
    "arrival_heading",
    "begun_in_turn",
    "entry_hidden",
    "hold_entry",
    "may_be_mirrored",
    "may_be_parallel",
]

LIKE_A_DIRECT_ENTRY = "A direct entry into a hold with {} turns looks the same"

_LEVEL_RAD, _TURNING_RAD = 3.0 * DEG, 8.0 * DEG
_AT_ONCE_S = 2.0  # from the beginning of the log
_BEFORE_S = 4.0  # before the entry: the heading at the fix, not that of a turn begun early
_LAP_S, _LONG_S = 240.0, 30.0
_ENTERING_S = 45.0  # after the fix, in which every entry but a straight one shows its turn
_TRACK_SD_RAD = 10.0 * DEG  # of a track used as the heading where no wind is known
_HEADING_SD_RAD = 1.0 * DEG
_TRIPLE, _WELL_INSIDE_RAD, _LIKE_TEARDROP_RAD = 3.0, 20.0 * DEG, 15.0 * DEG


@dataclass(frozen=True)
class ArrivalHeading:
    """The heading just before the entry into a hold, its error and instant, and the airspeed then. [rad, s, m/s]"""

    heading_rad: float
    sd_rad: float
    time_s: float
    true_airspeed_mps: float


def hold_entry(context: Context) -> tuple[Finding, ...]:
    """The entry into a charted hold against the one for the heading at the fix; near a sector's edge either is inside."""
    charted, reversal = context.motion.charted, context.reversal
    passage = reversal.passage("outbound")
    if charted.kind != "hold" or charted.turn is None or passage is None:
        return ()
    tolerance, leg = context.standard["hold_entry"], context.outbound_leg
    flown = reversal.flown.removeprefix("hold-")
    if flown not in holding.ENTRIES:
        sentence = f"The charted hold was not flown: {context.flown_words} instead."
        source = "AIM 5-4-9 a.5: a hold in lieu of a procedure turn is flown as charted"
        return (Finding("hold_entry", leg, None, sentence, OUTSIDE, reversal.flown, "hold", source=source,
                        place=context.place(passage.time_s)),)  # fmt: skip
    if reversal.side != charted.side:
        return (Finding("hold_entry", leg, None, f"Entry {flown}.", NOT_ASSESSED, flown, None, source=tolerance.source,
                        reason="the hold was flown with turns to the other side than charted"),)  # fmt: skip
    if reversal.begins_on is not None:
        counted = "; laps are numbered from the first that it shows" if context.hold is not None else ""
        return (Finding("hold_entry", leg, None, f"Entry into the hold, in which the log begins{counted}.", NOT_ASSESSED,
                        source=tolerance.source, reason="the entry is not in the log"),)  # fmt: skip
    arrived = arrival_heading(context)
    if arrived is None:
        return (Finding("hold_entry", leg, None, f"Entry {flown}.", NOT_ASSESSED, flown, None, source=tolerance.source,
                        reason="the log has no samples before the fix"),)  # fmt: skip
    heading = arrived.heading_rad
    expected = holding.entry_for(heading, charted.inbound_true_rad, charted.turn)
    margin = holding.sector_margin(flown, heading, charted.inbound_true_rad, charted.turn) + tolerance.value * DEG
    verdict, reason = judge(margin, arrived.sd_rad)
    hidden = entry_hidden(context) if wrong_round(context) is None else None  # of which it is a consequence
    hidden = hidden or begun_in_turn(context)
    if hidden is not None:
        verdict, reason = NOT_ASSESSED, hidden
    beyond_rad = tolerance.value * DEG - margin
    word = "heading" if context.figures.wind is not None else "track"
    alike = f" {LIKE_A_DIRECT_ENTRY.format(side_word(-charted.turn))}." if may_be_mirrored(context) else ""
    return (
        Finding(
            check="hold_entry",
            leg=context.outbound_leg,
            part="entry_turn" if reversal.part("entry_turn") is not None else "outbound",
            sentence=(
                f"Entry {flown}; {word} {bearing_text(heading - charted.variation.east_rad)} at the fix "
                + (
                    f"calls for it.{alike}"
                    if flown == expected
                    else f"lies {degrees(beyond_rad, 0)} beyond its sector, in that of a {expected} entry "
                    f"({tolerance.value:.0f}° allowed).{alike}"
                )
            ),
            verdict=verdict,
            measured=flown,
            limit=expected,
            unit="deg",
            margin=margin / DEG,
            sd=arrived.sd_rad / DEG,
            source=tolerance.source,
            basis="estimate",
            reason=reason,
            details={"heading_deg_magnetic": (heading - charted.variation.east_rad) / DEG % 360.0},
            place=context.place(arrived.time_s),
        ),
    )


def may_be_mirrored(context: Context) -> bool:
    """Whether a parallel entry that the heading does not call for may be a direct one into the hold on the other side.

    Both turn the same way over the same ground, and no lap shows which hold was meant.
    """
    turn, inbound = context.motion.charted.turn, context.motion.charted.inbound_true_rad
    arrived = arrival_heading(context)
    if turn is None or arrived is None or not is_parallel_entry_alone(context.reversal):
        return False
    margin = holding.sector_margin("parallel", arrived.heading_rad, inbound, turn) + context.standard["hold_entry"].value * DEG
    mirrored = holding.entry_for(arrived.heading_rad, inbound, -turn)
    return judge(margin, arrived.sd_rad)[0] == OUTSIDE and mirrored == "direct"


def may_be_parallel(context: Context) -> bool:
    """Whether a round of a hold on the other side may be a parallel entry into the charted one, for which the heading calls.

    Its turns are the same, and no lap after it shows which hold was meant.
    """
    charted, reversal = context.motion.charted, context.reversal
    arrived, rounds = arrival_heading(context), len(reversal.leg_spans("outbound"))
    if charted.turn is None or arrived is None or reversal.flown != "hold-direct" or rounds != 1:
        return False
    return holding.sector_margin("parallel", arrived.heading_rad, charted.inbound_true_rad, charted.turn) > 0.0


def arrival_heading(context: Context) -> ArrivalHeading | None:
    """True heading on reaching the fix of a hold, or the track if no wind is known; None without samples there."""
    passage, wind = context.reversal.passage("outbound"), context.figures.wind
    if passage is None:
        return None
    at = _arrival_instant(context, passage.time_s)
    states = context.motion.states.between(at - 1.0, at + 1.0)
    if not len(states):
        return None
    airspeed = float(states.true_airspeed_mps[0])
    if wind is None:
        return ArrivalHeading(float(states.track_rad[0]), _TRACK_SD_RAD, at, airspeed)
    return ArrivalHeading(float(states.heading_rad[0]), math.hypot(_HEADING_SD_RAD, wind.sd_mps / airspeed), at, airspeed)


def _arrival_instant(context: Context, passage_s: float) -> float:
    """The instant just before the entry: before the fix passage, or before a turn begun early. [s]

    A turn that was ended before the fix was one onto the way there.
    """
    turn = context.reversal.part("entry_turn")
    begun = min(passage_s, turn.start_s) if turn is not None else passage_s
    led = context.motion.states.between(begun, passage_s)
    level = np.flatnonzero(np.abs(led.bank_rad) < _LEVEL_RAD)
    if len(level) and float(np.abs(led.bank_rad[: level[-1] + 1]).max()) > _TURNING_RAD:
        return float(led.time_s[level[-1]])
    return max(begun - _BEFORE_S, float(context.motion.states.time_s[0]))


def entry_hidden(context: Context) -> str | None:
    """Why it is not known which entry was flown: a gap where its turn is, or a round before it; None where it is known."""
    passage = context.reversal.passage("outbound")
    if passage is None:
        return None
    before_s = passed_before_s(context)
    if before_s is not None:
        return f"the fix was passed at {clock(before_s)} already, and what was flown from there is not recognised as an entry"
    corrected = _corrected_direct(context)
    if corrected is not None:
        return corrected
    arrived_s = _arrival_instant(context, passage.time_s)
    # in a longer gap before it another lap may have been flown
    hidden = context.motion.holes_between(arrived_s - _LAP_S, arrived_s, _LONG_S)
    return GAP if hidden else context.incomplete(arrived_s, passage.time_s + _ENTERING_S)


def begun_in_turn(context: Context) -> str | None:
    """Why the heading at the fix is not known where the log begins in the turn that was begun there; None where it does not."""
    first, log_s = context.reversal.parts[0], float(context.motion.states.time_s[0])
    if first.name != "entry_turn" or first.start_s > log_s + _AT_ONCE_S:
        return None
    banked = np.abs(context.motion.states.between(log_s, log_s + _BEFORE_S).bank_rad)
    return "the log begins in the turn of the entry" if len(banked) and float(banked.min()) > _TURNING_RAD else None


def _corrected_direct(context: Context) -> str | None:
    """Why what looks like a teardrop entry may be a direct one: turned so at the fix, and corrected for the drift; else None.

    From well inside the direct sector the turn the way of the hold leads outbound, and three times the inbound drift against a
    wind from the holding side (AIM 5-3-8 j.8(c)) is the angle of a teardrop.
    """
    reversal, charted, wind = context.reversal, context.motion.charted, context.figures.wind
    first, arrived = reversal.part("entry_turn"), arrival_heading(context)
    if reversal.flown != "hold-teardrop" or charted.turn is None or wind is None or arrived is None:
        return None
    if first is None or first.turn != charted.turn:
        return None
    sector = holding.sector_margin("direct", arrived.heading_rad, charted.inbound_true_rad, charted.turn)
    course = charted.outbound_true_rad
    to_right_mps = wind.to_east_mps * math.cos(course) - wind.to_north_mps * math.sin(course)
    # looking outbound the hold lies to the left of its course where its turns are to the right
    drift = math.asin(max(-1.0, min(1.0, charted.turn * to_right_mps / arrived.true_airspeed_mps)))
    if sector < _WELL_INSIDE_RAD or _TRIPLE * drift < _LIKE_TEARDROP_RAD:
        return None
    return f"a direct entry corrected for three times the drift inbound, {degrees(drift, 0)}, looks the same"


CHECKS = (
    Check(
        "hold_entry",
        hold_entry,
        "Entry flown into a charted hold, against the sector that the heading at the fix lies in. A log that begins in the "
        "hold does not hold it.",
        "Heading from the inbound course in the direction of the turns: teardrop 110° to 180°, parallel 180° to 290°, else"
        " direct.",
        limits={"hold_entry": ("deg",)},
        weight=5.0,
        in_words=True,
        of=("approach", "hold"),
    ),
)
