"""Check of the time or length of the legs of a hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import CLOSE, GAP, NOT_ASSESSED, OUTSIDE, Context, Finding, judge
from analyzer.checks.hold_entries import entry_hidden
from analyzer.checks.outbound_legs import (
    TIMING_SD_S,
    least_time_s,
    leg_reading,
    length_read_by,
    rolled_out_s,
    timed_from,
    turned_through_s,
    wings_level_s,
)
from analyzer.checks.phrases import clock, miles
from analyzer.legs.reversal import Part, Reversal
from analyzer.physics import holding
from analyzer.physics.units import NM, wrap

__all__ = ["CHECKS", "hold_timing", "leg_time_s"]

_AT_FIX_S = 3.0  # of flight before the fix: less than a leg is known to
_AROUND_S = 2.0  # either side of a leg


def hold_timing(context: Context) -> tuple[Finding, ...]:
    """Time or length of the legs of a charted hold: outbound on entry, inbound in further circuits.

    Where the log begins in the hold, all circuits are further ones.
    """
    charted, reversal = context.motion.charted, context.reversal
    if charted.kind != "hold" or not reversal.flown.startswith("hold"):
        return ()
    outbound = reversal.part("outbound")
    findings = []
    if outbound is not None:
        if charted.leg_length_m is not None:
            legs = [part for part in reversal.parts if part.name == "outbound"]
            findings += [
                _length(context, leg, charted.leg_length_m, _lap(context, number)) for number, leg in enumerate(legs, 1)
            ]
        elif reversal.begins_on is None:
            begun = timed_from(context.motion, reversal, outbound)
            finding = _time(context, outbound, begun.time_s, begun.words, _lap(context, 1))
            hidden = entry_hidden(context)
            findings.append(replace(finding, verdict=NOT_ASSESSED, reason=hidden) if hidden is not None else finding)
        findings += _offset_track(context, outbound)
    if charted.leg_length_m is None:
        # the outbound leg is flown for its time on entry, and in later circuits adjusted for the time inbound
        first = 1 if reversal.begins_on is None else 0
        for number, leg in _inbound_legs(reversal):
            if number <= first:
                continue
            finding = _inbound_time(context, leg, _lap(context, number))
            findings.append(_of_entry_perhaps(finding) if number == 1 and reversal.begins_on == "inbound leg" else finding)
    return tuple(findings)


def _inbound_time(context: Context, inbound: Part, lap: int | None) -> Finding:
    """Time of an inbound leg from wings level on the course.

    Where the turn came out beside the course, a pilot may have begun to time there: AIM 5-3-8 j.4 does not say which counts, so
    there is a verdict only where both agree.
    """
    leg = _to_the_fix(context, inbound)
    finding = _time(context, leg, wings_level_s(context.motion, inbound), "wings level", lap)
    begins = (
        (rolled_out_s(context.motion, context.reversal, inbound), "the wings were level at {} already, beside the course"),
        (
            turned_through_s(context.motion, context.reversal, inbound),
            "the turn went through the inbound course at {}, where the wings may have been level between two positions",
        ),
    )
    for begun_s, why in begins:
        if begun_s is None or finding.verdict == NOT_ASSESSED:
            continue
        if _time(context, leg, begun_s, "wings level", lap).verdict != finding.verdict:
            reason = f"{why.format(clock(begun_s))}; timed from there it is {leg.end_s - begun_s:.0f} s"
            return replace(finding, verdict=NOT_ASSESSED, reason=reason)
    return finding


def _inbound_legs(reversal: Reversal) -> Iterator[tuple[int, Part]]:
    """The inbound legs with the number of their laps, as an entry that returns straight to the fix has none."""
    outbound = 0
    for part in reversal.parts:
        outbound += part.name == "outbound"
        if part.name == "inbound":
            yield part.lap or outbound, part


def _to_the_fix(context: Context, inbound: Part) -> Part:
    """An inbound leg to the fix of the hold: the part of that name goes on to a final approach fix beyond it."""
    passages = context.reversal.passages
    over = next((one.time_s for one in passages if one.direction == "inbound" and one.time_s > inbound.start_s), inbound.end_s)
    return replace(inbound, end_s=over)


def _of_entry_perhaps(finding: Finding) -> Finding:
    """The time of the first inbound leg where the lap before may be the entry, whose inbound leg is as long as it comes."""
    if finding.verdict not in (OUTSIDE, CLOSE):
        return finding
    reason = "the log begins on the inbound course, so that this may be the entry, whose inbound leg is not judged"
    return replace(finding, verdict=NOT_ASSESSED, reason=reason)


def _lap(context: Context, number: int) -> int | None:
    """The number of a lap in a published hold; None in a hold in lieu of a procedure turn."""
    return number if context.hold is not None else None


def _of_lap(lap: int | None, leg: str) -> str:
    """The beginning of a sentence on a leg, with its lap in a hold."""
    return leg.capitalize() if lap is None else f"Lap {lap}: {leg}"


def leg_time_s(context: Context, part: Part) -> float:
    """The charted leg time, else that for the altitude. [s]"""
    charted = context.motion.charted.leg_time_s
    if charted is not None:
        return charted
    return holding.usual_leg_s(context.motion.altitude_at(part.start_s))


def _time(context: Context, part: Part, start_s: float, words: str, lap: int | None) -> Finding:
    tolerance, wanted = context.standard["hold_timing"], leg_time_s(context, part)
    flown = part.end_s - start_s
    # outbound the time is a maximum; inbound it is a target
    off = flown - wanted if part.name == "outbound" else abs(flown - wanted)
    margin = tolerance.value - off
    reason: str | None
    cut = _cut_off(context, start_s, part)
    if cut is not None and flown < wanted + tolerance.value:
        verdict, reason = NOT_ASSESSED, cut  # it took longer than the log shows
    else:
        verdict, reason = judge(margin, TIMING_SD_S, cut)
    if verdict == OUTSIDE and flown > wanted and least_time_s(context.motion, start_s, part.end_s) < wanted + tolerance.value:
        verdict, reason = NOT_ASSESSED, GAP
    charted = "charted" if context.motion.charted.leg_time_s is not None else "standard"
    longest = context.standard.get("racetrack_time")
    designed = f" A racetrack's is designed for {longest.value:.0f} s at most." if longest and part.name == "outbound" else ""
    return Finding(
        check="hold_timing",
        leg=part.leg,
        part=part.name,
        lap=lap,
        sentence=(
            f"{_of_lap(lap, f'{part.name} leg')} flown {flown:.0f} s, timed from {words} at {clock(start_s)}; "
            f"{wanted:.0f} s {charted} ({'+' if part.name == 'outbound' else '±'}{tolerance.value:.0f} s).{designed}"
        ),
        verdict=verdict,
        measured=flown,
        limit=wanted,
        unit="s",
        tolerance=tolerance.value,
        margin=margin,
        sd=TIMING_SD_S,
        source=tolerance.source,
        reason=reason,
        place=context.place(start_s),
    )


def _cut_off(context: Context, start_s: float, part: Part) -> str | None:
    """Why the log does not show how long a leg took, None where it does."""
    motion = context.motion
    ends = part.end_s > float(motion.states.time_s[-1]) - 1.0
    # an inbound leg ends over the fix, where a log may end as well
    if ends and motion.distance_at(part.end_s) > _AT_FIX_S * float(motion.states.ground_speed_mps[-1]):
        return "the log ends in it"
    # a hole may hide the roll-out or the fix as well; after one the leg begins with what is left of a turn
    begun_s = start_s if part.name == "outbound" else min(start_s, part.start_s)
    return context.incomplete(begun_s - _AROUND_S, part.end_s + _AROUND_S, part.name)


def _length(context: Context, outbound: Part, wanted: float, lap: int | None) -> Finding:
    tolerance = context.standard["hold_length"]
    flown = leg_reading(context.motion, outbound.end_s, length_read_by(context.motion.charted))
    tolerance_m = tolerance.value * NM
    sd = TIMING_SD_S * float(context.motion.states.between(outbound.start_s, outbound.end_s).ground_speed_mps.mean())
    margin = wanted + tolerance_m - flown.length_m
    verdict, reason = judge(margin, sd, context.incomplete(outbound.start_s, outbound.end_s, "outbound"))
    return Finding(
        check="hold_timing",
        leg=context.outbound_leg,
        part="outbound",
        lap=lap,
        sentence=(
            f"{_of_lap(lap, 'outbound leg')} of {miles(flown.length_m)} {flown.words}; {miles(wanted, 1)} charted "
            f"(+{miles(tolerance_m, 1)})."
        ),
        verdict=verdict,
        measured=flown.length_m / NM,
        limit=wanted / NM,
        unit="NM",
        tolerance=tolerance.value,
        margin=margin / NM,
        sd=sd / NM,
        source=tolerance.source,
        reason=reason,
        place=context.place(outbound.end_s),
    )


def _offset_track(context: Context, outbound: Part) -> list[Finding]:
    """Time on the offset track of a teardrop entry compared with the design maximum, for information."""
    limit, passage = context.standard.get("offset_track_time"), context.reversal.passage("outbound")
    if limit is None or passage is None or context.reversal.flown != "hold-teardrop":
        return []
    charted = context.motion.charted
    states = context.motion.states.between(passage.time_s, outbound.end_s)
    offset = charted.outbound_true_rad + (charted.side or 0) * holding.TEARDROP_RAD
    on_it = np.abs(wrap(states.track_rad - offset)) < holding.TEARDROP_RAD / 2.0
    if not on_it.any():
        return []
    flown = float(states.time_s[on_it][-1]) - passage.time_s
    most = f"designed for {limit.value:.0f} s at most"
    sentence = f"Offset track of the teardrop entry held for {flown:.0f} s from over the fix; {most}."
    return [
        Finding(
            "hold_timing", context.outbound_leg, "outbound", sentence, NOT_ASSESSED, flown, limit.value, "s", sd=TIMING_SD_S,
            source=limit.source, reason="what a racetrack's area is designed for; for information only",
            place=context.place(passage.time_s),
        )
    ]  # fmt: skip


CHECKS = (
    Check(
        "hold_timing",
        hold_timing,
        "Time or length of the outbound leg as entered, and of the inbound leg of each further circuit; where the log "
        "begins in the hold, all are further circuits.",
        "Outbound from over or abeam the fix, whichever is later, to the turn, a parallel or teardrop leg from over the fix; "
        "1 min, above 14,000 ft 1.5 min, or as charted. A length along the course for RNAV, by DME from a VOR, else from the "
        "fix.",
        limits={"hold_timing": ("s",), "hold_length": ("NM",), "racetrack_time": ("s",), "offset_track_time": ("s",)},
        optional=frozenset({"racetrack_time", "offset_track_time"}),
        weight=3.0,
        all_lost_by={"s": 30.0, "NM": 0.5},
        of=("approach", "hold"),
    ),
)
