"""The shapes of course reversals, as data: each is a row of steps that are flown one after the other.

A step says how the aircraft moves in it: whether it turns, and which headings it passes through. Headings count in degrees
from the outbound course towards the side that the reversal is flown on, so that one row serves both sides and every course;
for a step whose place is ``on course`` or ``off course`` they count so that 180 is the inbound course, which need not be the
opposite of the outbound one. `densities` turns a step into a log-density for each second of a flight, and `decode` finds the
best places to cut. A new shape begins with a row here; DEVELOPERS.md lists what else names shapes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from analyzer.frozen import dataclass
from analyzer.legs.reversal import STRAIGHT_IN
from analyzer.procedure.schema import ReversalKind
from analyzer.vocabulary import PartName, ShapeName

__all__ = ["ENTRIES_BEFORE_A_LAP", "SHAPES", "SHAPES_AS_CHARTED", "Place", "Shape", "Step", "Turning"]

# towards the side, away from it, one or the other, not at all, or whatever comes
Turning = Literal["towards", "away", "either", "straight", "free"]
# up to the outbound passage; close to the fix; after the passage; the same along the outbound course, on the side that the
# reversal is flown on, across it on the other side, or parallel to the course a turn's width away; near enough to join the
# arc, or on it; established inbound, or not
Place = Literal[
    "any",
    "in",
    "at fix",
    "out",
    "out along",
    "out aside",
    "out across",
    "out beside",
    "to arc",
    "on arc",
    "on course",
    "off course",
]


@dataclass(frozen=True, eq=False)
class Step:
    """One step of a shape, itself and no other with the same values.

    `heading_deg` is the arc of headings that the step passes through, None for all. `spread_deg` is how far pilots stray from
    it (one standard deviation), wider where a course is tracked in wind or closed with. `drifts` says up to how many times the
    drift the heading may be held into the wind: once where a ground track is flown, thrice outbound in a hold (AIM 5-3-8 j).
    `place` binds a step to where it can be.
    """

    part: PartName
    turning: Turning
    heading_deg: tuple[float, float] | None = None
    spread_deg: float = 12.0
    place: Place = "any"
    drifts: float = 0.0
    optional: bool = False


@dataclass(frozen=True)
class Shape:
    """A shape of approach.

    `least_turn_deg` is the least change of heading in its reversing turn. `charts` names the kinds of charted
    reversal that it is looked for under, none for all: the same track is a base turn on one chart and the teardrop entry of a
    hold on another. `from_passage` says whether it begins with a passage of the fix.
    """

    name: ShapeName
    steps: tuple[Step, ...]
    least_turn_deg: float = 0.0
    charts: tuple[ReversalKind, ...] = ()
    from_passage: bool = True


_ARRIVAL = Step("arrival", "free")
_ARRIVAL_TO_FIX = Step("arrival", "free", place="in")  # so that a hold's whole entry turn is distinguished from it
_OUTBOUND_TURN = Step("outbound_turn", "either", place="at fix", optional=True)
_OUTBOUND = Step("outbound", "straight", (0.0, 0.0), 15.0, "out along")
# Of a base turn, straight from the fix but off the course: 30° to either side at most, or out as if it were charted mirrored,
# which is twice its angle off: 45° for the usual ones.
_OFF_OUTBOUND = Step("outbound", "straight", (-30.0, 45.0), 8.0, "out")
# From the sectors of a hold's entries (AIM 5-3-8 j.3): headings at the fix up to 70° into the hold, up to 110° away from it.
_TEARDROP_TURN = Step("entry_turn", "either", (0.0, 70.0), 15.0, "at fix", optional=True)
_PARALLEL_TURN = Step("entry_turn", "either", (-110.0, 0.0), 15.0, "at fix", optional=True)
_INTERCEPT = Step("intercept", "free", (120.0, 240.0), 15.0, "off course", optional=True)
_INBOUND = Step("inbound", "straight", (180.0, 180.0), 12.0, "on course", drifts=1.0)

SHAPES: tuple[Shape, ...] = (
    Shape(
        "45/180",
        (
            _ARRIVAL,
            _OUTBOUND_TURN,
            _OUTBOUND,
            Step("offset_turn", "towards", (0.0, 45.0), place="out aside"),
            Step("offset_leg", "straight", (45.0, 45.0), place="out aside"),
            Step("reversal_turn", "away", (-180.0, 45.0), place="out"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=120.0,
    ),
    Shape(
        "80/260",
        (
            _ARRIVAL,
            _OUTBOUND_TURN,
            _OUTBOUND,
            Step("offset_turn", "towards", (0.0, 80.0), place="out aside"),
            Step("reversal_turn", "away", (-180.0, 80.0), place="out"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=180.0,
    ),
    Shape(
        "base-turn",
        (_ARRIVAL, _OUTBOUND_TURN, _OUTBOUND, Step("reversal_turn", "away", (-200.0, 0.0), place="out"), _INTERCEPT, _INBOUND),
        least_turn_deg=90.0,
        charts=("base-turn",),
    ),
    Shape(
        "base-turn",
        (
            _ARRIVAL,
            _OUTBOUND_TURN,
            _OFF_OUTBOUND,
            Step("reversal_turn", "away", (-200.0, 45.0), place="out"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=90.0,
        charts=("base-turn",),
    ),
    Shape(
        "base-turn",
        (
            _ARRIVAL,
            _OUTBOUND_TURN,
            Step("outbound", "straight", (10.0, 35.0), place="out"),
            Step("reversal_turn", "away", (-180.0, 35.0), place="out"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=90.0,
        charts=("procedure-turn", "arc", "none"),
    ),
    Shape(
        "hold-direct",
        (
            _ARRIVAL_TO_FIX,
            Step("entry_turn", "away", (0.0, 180.0), 30.0, "at fix", drifts=3.0),
            Step("outbound", "straight", (0.0, 0.0), 18.0, "out beside", drifts=3.0),
            Step("reversal_turn", "away", (-180.0, 0.0), 20.0, "out", drifts=3.0),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=90.0,
    ),
    Shape(
        "hold-teardrop",
        (
            _ARRIVAL_TO_FIX,
            _TEARDROP_TURN,
            Step("outbound", "straight", (30.0, 30.0), 15.0, "out", drifts=1.0),
            Step("reversal_turn", "away", (-180.0, 30.0), 20.0, "out"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=90.0,
        charts=("hold",),
    ),
    Shape(
        "hold-parallel",
        (
            _ARRIVAL_TO_FIX,
            _PARALLEL_TURN,
            Step("outbound", "straight", (0.0, 0.0), 15.0, "out across", drifts=1.0),
            Step("reversal_turn", "towards", (0.0, 225.0), 15.0, "out"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=120.0,
        charts=("hold",),
    ),
    Shape(
        "arc",
        (
            _ARRIVAL,
            Step("arc_turn", "either", place="to arc", optional=True),
            Step("arc", "straight", spread_deg=8.0, place="on arc"),
            Step("reversal_turn", "either"),
            _INTERCEPT,
            _INBOUND,
        ),
        least_turn_deg=40.0,
        from_passage=False,
    ),
    Shape(STRAIGHT_IN, (_ARRIVAL, _INBOUND), from_passage=False),
)

# The entries that leave the fix along the outbound course, from whatever heading: a lap that follows shows which hold is meant,
# and so that it was entered, be it from another entry's sector.
ENTRIES_BEFORE_A_LAP: tuple[Shape, ...] = tuple(
    replace(shape, steps=tuple(replace(step, heading_deg=None) if step.part == "entry_turn" else step for step in shape.steps))
    for shape in SHAPES
    if shape.name in ("hold-parallel", "hold-teardrop")
)

# The shapes that fly a chart as it is meant, by the kind of reversal charted.
SHAPES_AS_CHARTED: Mapping[ReversalKind, tuple[ShapeName, ...]] = {
    "procedure-turn": ("45/180", "80/260"),
    "base-turn": ("base-turn",),
    "hold": ("hold-direct", "hold-teardrop", "hold-parallel"),
    "arc": ("arc",),
    "none": (STRAIGHT_IN,),
}
