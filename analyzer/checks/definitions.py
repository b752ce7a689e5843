"""What each check measures, in words: its definition, and the formula or rule that it goes by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["DEFINITIONS", "Definition"]


@dataclass(frozen=True)
class Definition:
    """A check in words. `limits` names the limits of the standard that it may use."""

    text: str
    formula: str
    limits: tuple[str, ...] = ()


DEFINITIONS: Mapping[str, Definition] = {
    "distance_limit": Definition(
        "Greatest distance from the fix, or the point that the limit is charted from, between passing the fix outbound and "
        "being established inbound; with further circuits of a hold, after the last of them.",
        "Geodesic distance on WGS 84. What a DME reads is the slant range, the root of distance squared plus height above the "
        "station squared.",
        ("reversal_distance",),
    ),
    "reversal_side": Definition(
        "The side of the outbound course, looking outbound, that the reversal was flown on.",
        "The side of the best-fitting shape; a hold with right turns lies left of its outbound course.",
    ),
    "no_reversal": Definition(
        "Whether a reversal was flown where one is charted, and none where none is.", "The shape that fits the track best."
    ),
    "altitude_floor": Definition(
        "Lowest altitude in each leg against its charted minimum; on arrival from when the minimum was first reached.",
        "Margin = lowest altitude - minimum + tolerance. Below the minimum on final nothing is judged: the runway may be in "
        "sight.",
        ("altitude_floor", "minimum_descent_altitude"),
    ),
    "descent_timing": Definition(
        "When the minimum of a leg was left by more than 100 ft, against the start of the leg that allows it: passing the fix, "
        "being established inbound, passing the fix inbound.",
        "Margin = instant left - instant allowed. Standard deviation = that of the altitude over 300 ft/min.",
    ),
    "altitude_hold": Definition(
        "Greatest departure from a level that was held, leg by leg, with what left it and came back.",
        "Level: less than 150 ft/min over 40 s, for 40 s at least. Level parts within 150 ft of each other are one.",
        ("altitude_hold",),
    ),
    "outbound_course": Definition(
        "Greatest deviation from the outbound course, beyond 1 NM of the fix and outside the cone of ambiguity, from the first "
        "time within 5° of it; where it was never so near, wherever the track did not cut back to it by 3° or more.",
        "Angle at the guidance between the course and the aircraft, as a share of full scale; for GPS the distance off the "
        "course.",
        ("course_deviation",),
    ),
    "inbound_course": Definition(
        "The same from the inbound course, from established to the fix.",
        "As outbound. Established: within 5° of the course as seen from the fix and tracking within 15° of it.",
        ("course_deviation",),
    ),
    "outbound_length": Definition(
        "Distance from the fix where the outbound part ends, with its time from the fix and its ground speed.",
        "Geodesic distance at the start of the roll into the next turn. Where to turn is the pilot's choice.",
    ),
    "offset_heading": Definition(
        "Mean heading of the offset leg against the charted one.",
        "Heading = direction of ground velocity less the estimated wind; its error grows with that of the wind.",
        ("heading",),
    ),
    "offset_time": Definition(
        "Time on the offset leg, wings level, and from the start of its turn. The time is the pilot's choice.",
        "In still air 2/(rate of turn) seconds, 38 s at 3°/s, roll the turn back onto the course at any speed.",
        ("offset_time",),
    ),
    "turn_bank": Definition(
        "Peak bank of each turn; the mean over its steady part beside it.",
        "tan(bank) = acceleration across the motion through the air over the weight of the moment; or as recorded.",
        ("turn_bank",),
    ),
    "turn_rate": Definition(
        "Mean rate of each turn over its steady part. The rate is the pilot's choice.",
        "Acceleration across the motion through the air, over true airspeed.",
        ("turn_rate",),
    ),
    "intercept": Definition(
        "How far the track went beyond the inbound course, and how far from the fix it was established.",
        "Greatest cross-track beyond the course, on the far side from where the turn began; in a hold, of all circuits.",
        ("overshoot",),
    ),
    "speed_limit": Definition(
        "Greatest indicated airspeed from passing the fix outbound until established.",
        "Recorded; or true airspeed, ground velocity less wind, through the standard atmosphere or the QNH and temperature "
        "given.",
        ("reversal_speed",),
    ),
    "station_passage": Definition(
        "Distance abeam the fix at each passage, and the change of track inside the cone of ambiguity.",
        "Radius of the cone = height above the station times tan 50° for a VOR, tan 40° for an NDB.",
        ("station_passage",),
    ),
    "hold_entry": Definition(
        "Entry flown into a charted hold, against the sector that the heading at the fix lies in.",
        "Heading from the inbound course in the direction of the turns: teardrop 110° to 180°, parallel 180° to 290°, else "
        "direct.",
        ("hold_entry",),
    ),
    "hold_timing": Definition(
        "Time or length of the outbound leg as entered, and of the inbound leg of each further circuit.",
        "Outbound from wings level or abeam the fix, whichever is later, to the turn; 1 min, above 14,000 ft 1.5 min, or as "
        "charted.",
        ("hold_timing", "hold_length"),
    ),
    "arc_radius": Definition(
        "Greatest departure from the charted arc on the arc part.",
        "Geodesic distance from the arc's centre less its radius.",
        ("arc_radius",),
    ),
    "final_alignment": Definition(
        "Angle between the median final track and the runway, and where the track meets the extended centre line.",
        "Down to 100 ft above the threshold.",
        ("final_alignment",),
    ),
    "glide_path": Definition(
        "Greatest departure from the charted glide path, from meeting it until 500 ft above the threshold.",
        "Angle of elevation at the point where the path meets the runway, less the path's; full scale 0.7°.",
        ("glide_path",),
    ),
    "stabilised_descent": Definition(
        "Greatest rate of descent on final below 1,000 ft above the threshold.",
        "Change of altitude over 15 s.",
        ("stabilised_descent",),
    ),
}
