"""The steps of a knee card in the order flown, with what the pilot sets and reads in each."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from analyzer.brief.reversal_numbers import CHARTED_INTERCEPT
from analyzer.brief.segments import covered
from analyzer.checks.phrases import height_unit, stopwatch
from analyzer.frozen import dataclass
from analyzer.physics.units import DEG, FPM, KT, FloatArray, bearing_text
from analyzer.report.words.brief_final import named_segments
from analyzer.report.words.brief_missed_and_holds import named_missed_parts
from analyzer.report.words.brief_text import number_text, part_rows
from analyzer.vocabulary import Leg

if TYPE_CHECKING:
    from analyzer.brief.briefed_number import Number
    from analyzer.brief.briefing import Brief
    from analyzer.brief.parts import PlannedPart
    from analyzer.brief.segments import Segment

__all__ = ["Step", "Variant", "missed_steps", "steps"]

_SIDE = {1: "R", -1: "L", None: ""}
_CHANGES_FPM = 1.0  # a smaller rate is level
_APART_S = 1.5  # a time from abeam the fix that differs by less gets no line
_RADIAL = "heading at radial "


@dataclass(frozen=True)
class Variant:
    """Another way to fly a step: its name, the next step, and its turn and heading."""

    name: str
    beneath: str
    turn: str
    heading: str


@dataclass(frozen=True, eq=False)
class Step:
    """The texts of a step: ``R``, ``243°``, ``1:19``, ``2600``, ``↓206``; empty where a step has none.

    The heading of a turn is the roll-out heading, that of an arc (``→``) the last one. `altitude` is the altitude at the end,
    and `bounds` are the charted limits where they differ from it. `notes` are further lines. `places_m` are points of the
    step in metres north and east of the fix, shape (points, 2).
    """

    leg: Leg
    name: str
    turn: str
    heading: str
    time: str
    speeds: str
    altitude: str
    rate: str
    bounds: tuple[str, ...]
    notes: tuple[str, ...]
    variant: Variant | None
    places_m: FloatArray


def steps(brief: Brief) -> tuple[Step, ...]:
    """The steps from the first turn, or from the fix, to the runway or the end of the plan."""
    plan, found, begins = brief.plan, [], 0.0
    before_segments = plan.parts[: len(plan.parts) - covered(plan)]
    for row, part in zip(part_rows(brief), before_segments, strict=True):
        found.append(_of_part(brief, row[0], part, plan.path.between(begins, begins + part.seconds)))
        begins += part.seconds
    for name, segment in named_segments(brief):
        short = name.replace("threshold", "runway")
        found.append(_of_segment(brief, short, segment, plan.path.between(begins, begins + segment.seconds)))
        begins += segment.seconds
    return tuple(found)


def missed_steps(brief: Brief) -> tuple[Step, ...]:
    """The steps of the missed approach, if it is planned."""
    missed = brief.missed
    if missed is None:
        return ()
    found, begins = [], 0.0
    for name, part in named_missed_parts(missed):
        found.append(_of_part(brief, name, part, missed.path.between(begins, begins + part.seconds)))
        begins += part.seconds
    return tuple(found)


def _of_part(brief: Brief, name: str, part: PlannedPart, places: FloatArray) -> Step:
    known = math.isfinite(part.altitude_end_m)
    bank = "" if part.bank_rad is None else f"{part.bank_rad / DEG:.0f}° of bank"
    return Step(
        leg=part.leg,
        name=name,
        turn="→" if part.part == "arc" else _SIDE[part.turn],
        heading=bearing_text(part.heading_rad - brief.charted.variation.east_rad),
        time=stopwatch(part.seconds),
        speeds=bank or _speeds(brief, part.leg, part.ground_speed_mps),
        altitude=_altitude(brief, part.altitude_end_m) if known else "",
        rate=_rate(part.descent_mps) if known else "",
        bounds=(),
        notes=tuple(_notes(brief, part)),
        variant=_as_charted(brief, part),
        places_m=places,
    )


def _of_segment(brief: Brief, name: str, segment: Segment, places: FloatArray) -> Step:
    bounds = []
    if segment.least_m is not None and _altitude(brief, segment.least_m) != _altitude(brief, segment.altitude_end_m):
        bounds.append(f"min {_altitude(brief, segment.least_m)}")
    if segment.most_m is not None:
        bounds.append(f"max {_altitude(brief, segment.most_m)}")
    return Step(
        leg=segment.leg,
        name=name,
        turn="",
        heading=bearing_text(segment.heading_rad - brief.charted.variation.east_rad),
        time=stopwatch(segment.seconds),
        speeds=_speeds(brief, segment.leg, segment.ground_speed_mps),
        altitude=_altitude(brief, segment.altitude_end_m),
        rate="" if segment.level else _rate(segment.descent_mps),
        bounds=tuple(bounds),
        notes=(),
        variant=None,
        places_m=places,
    )


def _notes(brief: Brief, part: PlannedPart) -> Iterator[str]:
    """What begins or ends a part, other than time and heading."""
    numbers = {number.name: number for number in brief.numbers}
    fix = brief.charted.procedure.fix.name
    if part.part == "outbound_turn" and "lead onto the outbound course" in numbers:
        yield f"begin {number_text(numbers['lead onto the outbound course'])} before {fix}"
    if part.part == "outbound":
        yield from _outbound_notes(numbers, part, fix)
    if part.part == "arc_turn":
        yield f"begin {number_text(numbers['turn onto it at'])} from the arc's centre"
    if part.part == "arc":
        yield from _round(brief)
    if part.part == "reversal_turn" and brief.plan.pattern.shape == "arc":
        yield f"begin at radial {bearing_text(numbers['turn off it at radial'].value * DEG)}"


def _as_charted(brief: Brief, part: PlannedPart) -> Variant | None:
    """The turn back as charted for a 45° procedure turn, to the intercept heading."""
    intercept = next((number for number in brief.numbers if number.name == CHARTED_INTERCEPT), None)
    if intercept is None or part.part != "reversal_turn":
        return None
    course = bearing_text(brief.charted.inbound_true_rad - brief.charted.variation.east_rad)
    return Variant("or as charted", f"intercept {course}", _SIDE[part.turn], bearing_text(intercept.value * DEG))


def _outbound_notes(numbers: dict[str, Number], part: PlannedPart, fix: str) -> Iterator[str]:
    timed = numbers.get("outbound time")
    if timed is not None and abs(timed.value - part.seconds) > _APART_S:
        over = "over" if timed.how.startswith("from over") else "abeam"
        yield f"{stopwatch(timed.value)} from {over} {fix}"
    length = numbers.get("outbound leg in circuits")
    if length is not None:
        yield f"ends {number_text(length)} out, whatever the time"


def _round(brief: Brief) -> Iterator[str]:
    """The headings around an arc: each radial with the heading to fly there."""
    pairs = [
        f"{number.name.removeprefix(_RADIAL).removesuffix('°')}→{bearing_text(number.value * DEG).removesuffix('°')}"
        for number in brief.numbers
        if number.name.startswith(_RADIAL)
    ]
    if pairs:
        yield f"radial→heading: {'  '.join(pairs)}"


def _speeds(brief: Brief, leg: Leg, ground_mps: float) -> str:
    return f"{brief.conditions.indicated_mps(brief.charted, leg) / KT:.0f} kt, GS {ground_mps / KT:.0f}"


def _altitude(brief: Brief, metres: float) -> str:
    return f"{metres / height_unit(brief.charted.altitude_unit).metres:.0f}"


def _rate(descent_mps: float) -> str:
    rate = descent_mps / FPM
    return "" if abs(rate) < _CHANGES_FPM else f"{'↓' if rate > 0.0 else '↑'}{abs(rate):.0f}"
