"""The minimum, the missed approach and the holds inferred from a flight, as tables of a procedure file with remarks.

Only values known with confidence are included, and each remark gives the origin of its value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from analyzer.checks.levels import level_stretches
from analyzer.checks.phrases import side_word
from analyzer.draft.hold_leg import hold_leg
from analyzer.draft.holds_apart import held_away
from analyzer.draft.kept_altitudes import hundred_below_ft
from analyzer.draft.kept_courses import circular_median
from analyzer.draft.stretches import Turned, turns_of
from analyzer.frozen import dataclass
from analyzer.legs.flight import Flight, find_flight
from analyzer.legs.held import Held
from analyzer.legs.reversal import Part, Reversal
from analyzer.motion.motion import ON_GROUND_MPS, Motion
from analyzer.motion.states import States
from analyzer.physics.geodesy import inverse
from analyzer.physics.quantiles import median
from analyzer.physics.units import DEG, FT, NM, bearing_text, wrap

__all__ = ["Beyond", "drafted_beyond"]

_LEVEL_S, _LEVEL_M = 15, 40.0 * FT  # states are a second apart; from end to end of so many seconds
_LOWEST_M = 60.0 * FT  # above the lowest point before a climb: level there, and not on the way down
_DESCENDED_M = 200.0 * FT  # below where final began: not a level of the inbound leg
_ABOVE_GROUND_M = (200.0 * FT, 1000.0 * FT)  # a minimum above where the flight landed; common practice, no source
_STRAIGHT_S = 40.0  # after the turn: a course was flown
_KEPT_RAD = 8.0 * DEG  # a course that is drafted to a degree, and judged to ten
_AHEAD_RAD = 15.0 * DEG  # of the inbound course: straight ahead
_LATE_S = 600.0  # into a missed approach: a later turn leads somewhere else; no source
_CLIMB_M = 200.0 * FT
_SETTLED_S = 30.0  # the last of an inbound leg, flown on the course and no longer intercepting it
_SOON_S = 60.0  # after the missed approach: what it led to
_AT_FIX_M = 0.5 * NM  # from the reversal's fix: a hold is at it
_ROUND_FT, _SHORT_FT = 100.0, 15.0  # a level may be a little short of the hundred that was held


@dataclass(frozen=True)
class Beyond:
    """The tables, the remarks by ``table.key``, and the approach with its missed approach."""

    tables: Mapping[str, Any]
    remarks: Mapping[str, str]
    approach: Reversal


def drafted_beyond(motion: Motion, flight: Flight, approach: Reversal) -> Beyond:
    """Infer tables from the approaches and holds of a flight, each from the last approach that shows it.

    Parameters
    ----------
    motion : Motion
        The flight, with the chart of the reversal alone.
    flight : Flight
        What was found by that chart.
    approach : Reversal
        The approach of `flight` that is drafted.
    """
    holds_flown = held_away(motion, replace(approach, parts=tuple(part for part in approach.parts if part.name != "missed")))
    if holds_flown:
        charted = replace(motion.charted, holds=tuple(held.hold for held in holds_flown))
        with_holds = find_flight(Motion(replace(motion.curves, charted=charted), motion.states))
        if any(_same(one, approach) for one in with_holds.approaches):
            flight = with_holds
        else:
            holds_flown = ()  # the reversal itself may be a hold that is flown on its way
    last = next(one for one in flight.approaches if _same(one, approach))
    latest = [last, *(one for one in reversed(flight.approaches) if one.begun_s < last.begun_s)]
    missed = next((part for one in latest if (part := one.last_part("missed")) is not None), None)
    tables: dict[str, Any] = {}
    minimum = next((level for one in latest if (level := _minimum_ft(motion, one)) is not None), None)
    if minimum is not None and (level := _lowest_final_m(motion, last)) is not None:
        minimum = min(minimum, hundred_below_ft(level / FT + _SHORT_FT))
    if minimum is not None:
        tables["minimum"] = {"kind": "mda", "altitude_ft": minimum}
    once = list({held.hold: held for held in sorted(holds_flown, key=lambda held: _after_missed(held, missed))}.values())
    holds = [_hold(motion, held, number, len(once), missed) for number, held in enumerate(once, 1)]
    if missed is not None:
        tables["missed_approach"] = _missed(motion, missed)
        led_to = {hold["name"] for hold in holds if hold["role"] == "missed-approach"}
        if motion.charted.procedure.fix.name in led_to and tables["missed_approach"]:
            # direct to the fix of the reversal: the course flown depends only on where the turn ended
            tables["missed_approach"].pop("course_deg", None)
            tables["missed_approach"]["to"] = motion.charted.procedure.fix.name
    if holds:
        tables["holds"] = holds
    tables = {name: table for name, table in tables.items() if table}
    remarks = _remarks(tables)
    if any(hold["name"] == motion.charted.procedure.fix.name for hold in holds):
        remarks["holds.name"] = "assumed: it was flown at the fix of the reversal"
    return Beyond(tables, remarks, last)


def _same(one: Reversal, other: Reversal) -> bool:
    return one.flown == other.flown and one.begun_s < other.parts[-1].end_s and other.begun_s < one.parts[-1].end_s


def _remarks(tables: Mapping[str, Any]) -> dict[str, str]:
    remarks = {
        "minimum.kind": "assumed: a level was flown before the climb or the landing; or da",
        "minimum.altitude_ft": "measured: the hundred below the level flown",
        "missed_approach.climb_ft": "measured: where the turn was begun",
        "missed_approach.turn": "measured",
        "missed_approach.course_deg": "measured, magnetic",
        "missed_approach.to": "measured: the hold that was flown after it",
        "missed_approach.altitude_ft": "measured: where the climb was levelled off",
        "holds.name": "assumed: a name of your own",
        "holds.role": "measured: what it was flown after",
        "holds.latitude_deg": "measured: where its turns began",
        "holds.longitude_deg": "measured",
        "holds.inbound_course_deg": "measured, magnetic",
        "holds.turn": "measured",
        "holds.leg_time_s": "measured, to 5 s, or 60 where that is near; leg_length_nm where the chart has miles",
        "holds.leg_length_nm": "measured, to half a mile; leg_time_s where the chart has minutes",
        "holds.leg_by": "assumed: along-track or dme",
    }
    rows = [(name, row) for name, table in tables.items() for row in (table if isinstance(table, list) else [table])]
    return {f"{name}.{key}": remarks[f"{name}.{key}"] for name, row in rows for key in row if f"{name}.{key}" in remarks}


def _minimum_ft(motion: Motion, approach: Reversal) -> float | None:
    """The level that the final descent ended at before the climb or the landing, rounded down to a hundred. [ft]"""
    final = approach.last_part("final")
    if final is None or not motion.has_altitude:
        return None
    states, level = motion.states.between(final.start_s, final.end_s), _lowest_final_m(motion, approach)
    if level is None or level > float(states.altitude_m[0]) - _DESCENDED_M:
        return None
    if approach.ending == "climbed away":
        kept = level - float(np.nanmin(states.altitude_m)) < _LOWEST_M
    else:
        rest = motion.states.between(final.start_s, float(motion.states.time_s[-1]))
        least, most = _ABOVE_GROUND_M
        landed = bool((rest.ground_speed_mps < ON_GROUND_MPS).any())
        kept = landed and least < level - float(np.nanmin(rest.altitude_m)) < most
    return hundred_below_ft(level / FT + _SHORT_FT) if kept else None


def _lowest_final_m(motion: Motion, approach: Reversal) -> float | None:
    """The lowest level of the final leg. [m]"""
    final = approach.last_part("final")
    return None if final is None else _lowest_level_m(motion.states.between(final.start_s, final.end_s))


def _lowest_level_m(states: States) -> float | None:
    """The lowest altitude held for 15 s in a stretch, without time on the ground. [m]"""
    if len(states) <= _LEVEL_S:
        return None
    altitude = states.altitude_m
    level = np.abs(altitude[_LEVEL_S:] - altitude[:-_LEVEL_S]) < _LEVEL_M
    level &= states.ground_speed_mps[_LEVEL_S:] > 2.0 * ON_GROUND_MPS
    begins = np.flatnonzero(level)
    return min((median(altitude[k : k + _LEVEL_S + 1]) for k in begins), default=None)


def _missed(motion: Motion, missed: Part) -> dict[str, Any]:
    """The table ``[missed_approach]``: the first turn, the course kept after it, and the altitude of the level-off.

    Empty if the flight after the first turn does not show its purpose: without a turn, straight ahead would be charted.
    """
    table: dict[str, Any] = {}
    states = motion.states.between(missed.start_s, missed.end_s)
    turns = turns_of(states)
    after = _after_turn(states, turns)
    log_ends = missed.end_s >= float(motion.states.time_s[-1]) - 1.0
    if turns and (after is None or (log_ends and not _keeps(states, turns[0].end_s, after))):
        return {}
    if turns and turns[0].start_s - missed.start_s > _LATE_S:
        return {}
    if not turns and bool((np.abs(wrap(states.track_rad - motion.charted.inbound_true_rad)) > _AHEAD_RAD).any()):
        return {}
    altitude = _levelled_ft(motion, missed)
    if turns and after is not None:
        climb = _climb_ft(motion, missed, turns[0].start_s)
        if climb is not None and altitude is not None and climb < altitude:
            table["climb_ft"] = climb
        east = motion.charted.variation.east_rad
        table |= {"turn": side_word(1 if turns[0].by_rad > 0.0 else -1), "course_deg": _whole_deg(after - east)}
    return table | ({"altitude_ft": altitude} if altitude is not None else {})


def _keeps(states: States, turned_s: float, course_rad: float) -> bool:
    """Whether the course after a turn was kept over most of the rest of the way."""
    rest = states.between(turned_s, float(states.time_s[-1])).track_rad
    return bool(np.median(np.abs(wrap(rest[len(rest) // 2 :] - course_rad))) < _KEPT_RAD)


def _after_turn(states: States, turns: tuple[Turned, ...]) -> float | None:
    """The true track after the first turn, if it was kept until the next turn or the end. [rad]"""
    if not turns:
        return None
    until = turns[1].start_s if len(turns) > 1 else float(states.time_s[-1])
    if until - turns[0].end_s < _STRAIGHT_S:
        return None
    return circular_median(states.between((turns[0].end_s + until) / 2.0, until).track_rad)


def _climb_ft(motion: Motion, missed: Part, turn_s: float) -> float | None:
    """The hundred below the altitude where the turn began; None if it began with the climb, or no altitude is known."""
    if not motion.has_altitude:
        return None
    at = motion.altitude_at(turn_s)
    return hundred_below_ft(at / FT + _SHORT_FT) if at - motion.altitude_at(missed.start_s) >= _CLIMB_M else None


def _levelled_ft(motion: Motion, missed: Part) -> float | None:
    """The level that the climb led to, to a hundred: the first well above its beginning."""
    if not motion.has_altitude:
        return None
    begun = motion.altitude_at(missed.start_s)
    until = min(missed.end_s + _SOON_S, float(motion.states.time_s[-1]))
    levels = (level.altitude_m for level in level_stretches(motion.states.between(missed.start_s, until)))
    first = next((level for level in levels if level - begun > _CLIMB_M), None)
    return None if first is None else round(first / FT / _ROUND_FT) * _ROUND_FT


def _after_missed(held: Held, missed: Part | None) -> bool:
    return missed is not None and missed.start_s <= held.start_s <= missed.end_s + _SOON_S


def _hold(motion: Motion, held: Held, number: int, many: int, missed: Part | None) -> dict[str, Any]:
    """One hold of ``[[holds]]``; its role is that of the missed approach if that leads to it."""
    hold = held.hold
    charted = motion.charted
    away, _ = inverse(hold.latitude_rad, hold.longitude_rad, charted.fix_latitude_rad, charted.fix_longitude_rad)
    if float(away) < _AT_FIX_M:
        where: dict[str, Any] = {"name": charted.procedure.fix.name}
    else:
        where = {"name": "HOLD" if many == 1 else f"HOLD {number}"}
        where |= {"latitude_deg": round(hold.latitude_rad / DEG, 4), "longitude_deg": round(hold.longitude_rad / DEG, 4)}
    return {
        **where,
        "role": "missed-approach" if _after_missed(held, missed) else "published",
        "inbound_course_deg": _whole_deg(_inbound_rad(held) - motion.charted.variation.east_rad),
        "turn": side_word(hold.turn),
        **hold_leg(held.motion, held.flown)[0],
    }


def _inbound_rad(held: Held) -> float:
    """The true inbound course of a hold: the median of the courses on which its inbound legs ended. [rad]"""
    legs = [part for part in held.flown.parts if part.name == "inbound"]
    ends = [held.motion.states.between(max(leg.start_s, leg.end_s - _SETTLED_S), leg.end_s).track_rad for leg in legs]
    return circular_median(np.array([circular_median(end) for end in ends if len(end)] or [held.hold.inbound_true_rad]))


def _whole_deg(angle: float) -> float:
    return float(bearing_text(angle).rstrip("°")) % 360.0
