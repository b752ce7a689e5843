"""The form in which a user says what was flown: the passages of the fix to choose from, and the shapes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime

from analyzer.checks.phrases import clock, height_unit, miles
from analyzer.debriefs.data import DebriefData
from analyzer.desk.asked import Choice, FlownSeen, PassageSeen
from analyzer.legs.find_named import nearest_from
from analyzer.legs.match_named import Impossible
from analyzer.legs.passages import Abeam, find_passages
from analyzer.motion.motion import Motion
from analyzer.physics.units import bearing_text
from analyzer.report.pictures.passage_sketch import passage_sketches
from analyzer.report.pictures.svg import inline_svg
from analyzer.report.words.named_words import shape_title

__all__ = ["flown_form"]

_MOST = 24  # passages that are shown; a log of a day at one fix has more
_MOST_REASONS = 2
_SOON_S = 30.0  # a lap may be begun a little before its fix, and end a little after
_SHAPES = (
    Choice("45/180", "45/180 procedure turn"),
    Choice("80/260", "80/260 procedure turn"),
    Choice("base-turn", "Base turn, or teardrop"),
    Choice("hold", "Hold, whichever entry"),
    Choice("hold-direct", "Hold with a direct entry, or racetrack"),
    Choice("hold-teardrop", "Hold with a teardrop entry"),
    Choice("hold-parallel", "Hold with a parallel entry"),
    Choice("arc", "Arc, up to the passage"),
    Choice("straight-in", "Straight in, up to the passage"),
)


def flown_form(debrief: DebriefData, given: Sequence[str], fault: str = "", passage: str = "", shape: str = "") -> FlownSeen:
    """The form of a flight: `given` are the words kept of it; passage, shape and fault are of what was just sent."""
    motion = debrief.motion
    each = [(one, find_passages(one.states)) for one in motion.flights]  # in each flight of the log, those of its own
    found = [(one, passages[number:]) for one, passages in each for number in range(len(passages))][:_MOST]
    drawn = passage_sketches(motion, [passages[0].time_s for _, passages in found])
    seen = tuple(
        _seen(debrief, *one, inline_svg(drawing, f"passage{number}-"))
        for number, (one, drawing) in enumerate(zip(found, drawn, strict=True))
    )
    fix = motion.charted.procedure.fix.name
    return FlownSeen(motion.track.file, fix, seen, _SHAPES, tuple(given), fault, passage, shape)


def _seen(debrief: DebriefData, motion: Motion, passages: Sequence[Abeam], picture: str) -> PassageSeen:
    """What is said of the first of some passages in a flight of the log."""
    passage = passages[0]
    value = datetime.fromtimestamp(round(passage.time_s), tz=UTC).strftime("%Y-%m-%dT%H:%M:%S")
    return PassageSeen(
        value,
        clock(passage.time_s),
        _where(motion, passage),
        _then(motion, passages, float(debrief.motion.states.time_s[-1])),
        _recognised(debrief, passage) or _nearest(motion, passages),
        picture,
    )


def _where(motion: Motion, passage: Abeam) -> str:
    """How far off the fix is passed, how high, and on which course."""
    states = motion.states
    k = min(int(states.time_s.searchsorted(passage.time_s)), len(states) - 1)
    course = bearing_text(float(states.track_rad[k]) - motion.charted.variation.east_rad)
    altitude = motion.altitude_at(passage.time_s)
    height = f", {height_unit(motion.charted.altitude_unit).text(altitude)}" if math.isfinite(altitude) else ""
    return f"{miles(passage.distance_m)} off{height}, on course {course}"


def _then(motion: Motion, passages: Sequence[Abeam], log_ends_s: float) -> str:
    """How far the aircraft goes afterwards in a flight of the log, and when it is back."""
    after = passages[1] if len(passages) > 1 else None
    until = after.time_s if after is not None else float(motion.states.time_s[-1])
    states = motion.states.between(passages[0].time_s, until)
    farthest = miles(float(states.distance_m.max()), 1) if len(states) else "0 NM"
    ends = "the log ends" if until >= log_ends_s else "the aircraft was set elsewhere"
    back = f"back at the fix at {clock(after.time_s)}" if after is not None else f"{ends} at {clock(until)}"
    return f"then up to {farthest} away; {back}"


def _recognised(debrief: DebriefData, passage: Abeam) -> str:
    """What is recognised or named at a passage."""
    kind = debrief.motion.charted.kind
    words = []
    for approach in debrief.approaches:
        one = approach.reversal
        how = "Named" if one.only_named else "Recognised"
        for number, at in enumerate(one.passages):
            if at.time_s == passage.time_s:
                where = "begins here" if number == 0 and at.direction == "outbound" else "comes back here"
                words.append(f"{how}: {shape_title(one.flown, kind)} {where}.")
    held = (one.motion.charted.procedure.fix.name for one in debrief.holds for laps in one.approaches
            if laps.reversal.begun_s - _SOON_S <= passage.time_s <= laps.reversal.parts[-1].end_s + _SOON_S)  # fmt: skip
    return " ".join(words or [f"Recognised: in the hold at {name}." for name in held])


def _nearest(motion: Motion, passages: Sequence[Abeam]) -> str:
    """What comes nearest to a reversal from a passage, and where recognition stopped."""
    found = nearest_from(motion, passages)
    if isinstance(found, Impossible):
        return f"Not recognised: {found.why}."
    against = found.named.against if found.named is not None else ()
    more = "; and more" if len(against) > _MOST_REASONS else ""
    why = f": {'; '.join(against[:_MOST_REASONS])}{more}" if against else ""
    return f"Not recognised. Nearest is {shape_title(found.flown, motion.charted.kind)}{why}."
