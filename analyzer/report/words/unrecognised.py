"""Report text on a flight in which no approach was recognised: how far recognition got, and where it stopped."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.checks.phrases import clock
from analyzer.legs.arcs import arcs_about
from analyzer.legs.find_named import nearest_from
from analyzer.legs.grammar import SHAPES
from analyzer.legs.hidden import gap_words
from analyzer.legs.passages import find_passages
from analyzer.legs.reversal import Reversal
from analyzer.motion.states import seen_from
from analyzer.physics.units import DEG, NM
from analyzer.report.words.named_words import shape_title

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData

__all__ = ["nothing_found", "nowhere_near"]

_LEAST_LOG_S = 120.0  # of a log that holds a reversal or a final leg; common practice, no source
_NEAR_NM = 3.0  # of the fix: what passes farther off flies no approach to it
_FAR_NM = 100.0  # from where tenths say nothing
_MOST_PASSAGES = 3  # listed of a flight in which nothing was recognised


def nothing_found(debrief: DebriefData) -> str:
    """The sentence for a flight in which no approach was recognised."""
    fix = debrief.motion.charted.procedure.fix.name
    nearest = float(debrief.motion.states.distance_m.min()) / NM
    known = ", ".join(dict.fromkeys(shape.name.replace("-", " ") for shape in SHAPES))
    lasts_s = float(debrief.motion.states.time_s[-1] - debrief.motion.states.time_s[0])
    if lasts_s < _LEAST_LOG_S:
        return f"No approach recognised: the log holds only {lasts_s:.0f} s, which is too little of one."
    if far := nowhere_near(debrief):
        return f"No approach found: {far}. Is it the right procedure?{_at_holds(debrief)}{_arcs(debrief)}"
    return (
        f"No approach recognised: the flight comes within {nearest:.1f} NM of {fix}{_passed(debrief)}, but what it flies there "
        f"fits none of the known shapes: {known}.{_nearest(debrief)}{_at_holds(debrief)}{_arcs(debrief)}{_hidden(debrief)}"
    )


def nowhere_near(debrief: DebriefData) -> str:
    """How far off the fix the flight stays, where it flies no approach to it for that; empty where it comes near."""
    nearest = float(debrief.motion.states.distance_m.min()) / NM
    if nearest <= _NEAR_NM:
        return ""
    shown = f"{nearest:.1f}" if nearest < _FAR_NM else f"{nearest:,.0f}"
    return f"the flight comes no closer to {debrief.motion.charted.procedure.fix.name} than {shown} NM"


def _hidden(debrief: DebriefData) -> str:
    """The gaps of the log near the fix, which may be why nothing was recognised."""
    words = gap_words(debrief.motion)
    return f" {words[:1].upper()}{words[1:]}, which may hide the rest." if words else ""


def _passed(debrief: DebriefData) -> str:
    """When the fix was passed: how far recognition got."""
    times = [clock(passage.time_s) for passage in find_passages(debrief.motion.states)]
    more = " and later" if len(times) > _MOST_PASSAGES else ""
    return f" (passed at {', '.join(times[:_MOST_PASSAGES])}{more})" if times else ""


def _at_holds(debrief: DebriefData) -> str:
    """When the fixes of published holds were passed, other than the procedure's, though no lap was recognised there."""
    charted, states = debrief.motion.charted, debrief.motion.states
    passed = {}
    for hold in charted.holds:
        distance, bearing = seen_from(charted, hold.latitude_rad, hold.longitude_rad, states)
        passages = find_passages(replace(states, distance_m=distance, bearing_rad=bearing))
        if passages and distance is not states.distance_m:
            passed[hold.name] = clock(passages[0].time_s)
    return "".join(
        f" It passes {name}, where a hold is charted, at {time}, but no lap of it was recognised."
        for name, time in passed.items()
    )


def _nearest(debrief: DebriefData) -> str:
    """What comes nearest to a reversal from the first passage that anything can begin with, and where recognition stopped."""
    motion = debrief.motion
    passages = find_passages(motion.states)
    for number, passage in enumerate(passages[:_MOST_PASSAGES]):
        found = nearest_from(motion, passages[number:])
        if isinstance(found, Reversal) and found.named is not None and found.named.against:
            shape = shape_title(found.flown, motion.charted.kind)
            return f" Nearest is {shape} from {clock(passage.time_s)}, but {found.named.against[0]}."
    return ""


def _arcs(debrief: DebriefData) -> str:
    """The arcs flown about the point that the procedure's arc, or else its fix, is centred on."""
    charted = debrief.motion.charted
    latitude, longitude = charted.arc_latitude_rad, charted.arc_longitude_rad
    where = "the arc's centre"
    if latitude is None or longitude is None:
        latitude, longitude, where = charted.fix_latitude_rad, charted.fix_longitude_rad, charted.procedure.fix.name
    found = arcs_about(debrief.motion, latitude, longitude)
    arcs = ", ".join(f"{arc.radius_m / NM:.1f} NM through {abs(arc.swept_rad) / DEG:.0f}°" for arc in found)
    return f" It flies round {where} at {arcs}." if arcs else ""
