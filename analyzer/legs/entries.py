"""The entry that a lap of a hold shows to have been one, though it is no reversal by itself.

A parallel entry or a teardrop may come back beside the fix, be blown back over it in its turn, or be flown from a sector that
calls for another; then it is told from other flying only by the lap that follows it, which says which hold was meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.legs.assemble import Window, assemble
from analyzer.legs.circuits import CIRCUITS
from analyzer.legs.fits import misfits
from analyzer.legs.grammar import ENTRIES_BEFORE_A_LAP
from analyzer.legs.match import Match, called_for, explains, matches_of, taken
from analyzer.legs.passages import Abeam
from analyzer.legs.reversal import Reversal
from analyzer.legs.windows import window_from
from analyzer.motion.motion import Motion
from analyzer.physics import holding
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG

__all__ = ["entry_before"]

_BEFORE_S = 4  # states are a second apart; the heading at the fix, not that of a turn begun early
# Before the lap, at most: blown back over the fix before its turn was ended, an entry comes round to it once more, a whole turn
# at standard rate and half a minute.
_ROUND_S = 150.0
_TOLERANCE_RAD = 5.0 * DEG  # beyond a sector's edge, either entry is good practice (AIM 5-3-8 j.8(d))


def entry_before(motion: Motion, approaches: Sequence[Reversal], passages: Sequence[Abeam], lap: Reversal) -> Reversal | None:
    """The entry that led to a lap of the charted hold, which begins with the last of some passages; None where none did.

    What was taken for a round of the mirrored hold may be it. Another passage may lie between: over the fix it turned.
    """
    charted, over = motion.charted, passages[-1]
    if charted.kind != "hold" or lap.flown not in CIRCUITS or lap.side is None or lap.side != charted.side:
        return None
    others = list(approaches)
    if others and others[-1].passages[-1].time_s == over.time_s:
        if not others[-1].flown.startswith("hold-") or others[-1].side == lap.side or others[-1].named is not None:
            return None
        others.pop()
    begins_s = float(motion.states.time_s[0])
    free_from_s = max((one.parts[-1].end_s for one in others), default=begins_s)
    came_back_s = max((one.passages[-1].time_s for one in others if one.passages), default=begins_s)
    lap_s = next(part.start_s for part in lap.parts if part.name != "arrival")
    for passage in passages[-2:-4:-1]:
        window = window_from(motion, came_back_s, free_from_s, passage, over) if passage.time_s >= free_from_s else None
        if window is None or window.inbound is None:
            return None
        entry = _entry_in(motion, replace(window, end="last step, any second"), lap.side, lap_s - _ROUND_S)
        if entry is not None:
            return entry
    return None


def _entry_in(motion: Motion, window: Window, side: int, least_until_s: float) -> Reversal | None:
    """The entry that a stretch from one passage of the fix to another begins with, where one explains it long enough."""
    matches = [
        # whether its sector calls for it is judged; it says little on whether it was flown
        replace(match, gain=match.gain - min(0.0, called_for(motion, window, match.shape, match.side)))
        for match in matches_of(motion, window, ENTRIES_BEFORE_A_LAP)
        if match.side == side and set(match.unlike) <= {"inbound"} and _is_entry(motion, window, match)
    ]
    best = max(matches, key=lambda match: match.gain, default=None)
    if best is None or not explains(motion, window, best):
        return None
    flown = taken(window, best)
    if float(flown.time_s[-1]) < least_until_s:
        return None
    return assemble(motion, replace(window, states=flown), best.shape, best.side, best.cut, best.gain)


def _is_entry(motion: Motion, window: Window, match: Match) -> bool:
    """Whether a cut is that entry and no round of the hold that begins the wrong way."""
    if next(misfits(motion, window, match.shape, match.side, match.cut), None) is not None or window.outbound is None:
        return False
    states, charted = window.states, motion.charted
    starts = {step.part: start for step, start in zip(match.shape.steps, match.cut.starts, strict=True) if start is not None}
    turn = min(starts.get("entry_turn", len(states)), int(np.searchsorted(states.time_s, window.outbound.time_s)))
    heading = float(states.heading_rad[max(0, turn - _BEFORE_S)])
    if holding.sector_margin("direct", heading, charted.inbound_true_rad, -match.side) < _TOLERANCE_RAD:
        return True
    # from the direct sector the turn away from the holding side tells it from a direct entry
    out = states.between(float(states.time_s[starts["outbound"]]), float(states.time_s[starts["reversal_turn"] - 1]))
    across_m = match.side * out.cross_track_m(charted.outbound_true_rad)
    return match.shape.name == "hold-parallel" and bool(len(out)) and median(across_m) < 0.0
