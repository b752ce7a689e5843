"""A procedure in words, all but its reversal: arrivals, altitudes, final course, minimums, missed approach, holds, speeds."""

import math
from collections.abc import Iterator

from analyzer.checks.phrases import side_word
from analyzer.physics.units import KT, NM, bearing_text
from analyzer.procedure.approach import Minimum, PublishedHold
from analyzer.procedure.charted import Charted
from analyzer.procedure.resolve_fixes import along_inbound
from analyzer.report.words.procedure_words import (
    altitude_range,
    altitude_text,
    east_text,
    leg_length_text,
    minutes_text,
    place_text,
)

__all__ = ["altitude_rows", "approach_rows", "arrival_rows"]

Rows = Iterator[tuple[str, str]]

_ROLES = {
    "intermediate-fix": "intermediate fix",
    "final-approach-fix": "final approach fix",
    "step-down": "step-down fix",
    "missed-approach-point": "missed approach point",
}
_NAME_WIDTH = 12  # of the column of names; a longer name shifts its own row


def arrival_rows(charted: Charted) -> Rows:
    """The routes to the reversal fix, and the DME station."""
    label = "Arrivals"
    for row, arrival in zip(charted.procedure.arrivals, charted.arrivals, strict=True):
        course = f"{bearing_text(math.radians(row.course_deg))} magnetic"
        words = [f"from {arrival.name} on {course}", "" if arrival.reversal else "NoPT"]
        words.append(altitude_range(arrival.minimum_m, None, charted.altitude_unit))
        yield label, ", ".join(filter(None, words))
        label = ""
    if charted.dme is not None:
        dme = charted.dme
        elevation = altitude_text(dme.elevation_m, charted.altitude_unit)
        yield "DME", f"{dme.name}, {place_text(dme.latitude_rad, dme.longitude_rad)}, elevation {elevation}"


def altitude_rows(charted: Charted) -> Rows:
    """The altitudes of the legs before the minimum: mandatory, minimum and maximum."""
    floors, ceilings, unit = charted.floors_m, charted.ceilings_m, charted.altitude_unit
    at = [leg for leg, floor in floors.items() if ceilings.get(leg) == floor]
    if at:
        yield "At", ", ".join(f"{leg} {altitude_text(floors[leg], unit)}" for leg in at)
    above = ", ".join(f"{leg} {altitude_text(floor, unit)}" for leg, floor in floors.items() if leg not in at)
    if above or not (at or ceilings):
        yield "At or above", above or "nothing charted"
    below = ", ".join(f"{leg} {altitude_text(ceiling, unit)}" for leg, ceiling in ceilings.items() if leg not in at)
    if below:
        yield "At or below", below


def approach_rows(charted: Charted) -> Rows:
    """The final course and what follows it, in the order flown, then the target speeds."""
    yield from _final_course(charted)
    yield from _minimums(charted)
    yield from _missed(charted)
    label = "Holds"
    for k in range(len(charted.holds)):
        yield label, _hold(charted, k)
        label = ""
    if charted.target_speeds_mps:
        yield "Target speeds", ", ".join(f"{leg} {speed / KT:.0f} KIAS" for leg, speed in charted.target_speeds_mps.items())


def _final_course(charted: Charted) -> Rows:
    """The fixes along the final course in order, with the reversal fix and the threshold among them."""
    if not charted.fixes:
        return
    procedure, runway, unit = charted.procedure, charted.runway, charted.altitude_unit
    passed: list[tuple[float, int, str, str, str]] = [(0.0, 0, procedure.fix.name, "reversal fix", "")]
    for row, fix in zip(procedure.fixes, charted.fixes, strict=True):
        course = f"on {bearing_text(math.radians(row.course_deg))}" if row.course_deg is not None else ""
        reading = f"{row.dme_nm:g} DME" if row.dme_nm is not None else ""
        allowed = altitude_range(fix.minimum_m, fix.maximum_m, unit)
        passed.append((fix.along_m, 1, fix.name, _ROLES[fix.role], ", ".join(filter(None, [reading, course, allowed]))))
    if runway is not None:
        along = along_inbound(procedure, charted.inbound_true_rad, runway.latitude_rad, runway.longitude_rad)
        passed.append((along, 2, f"runway {runway.name}", "threshold", ""))
    passed.sort()
    width = min(_NAME_WIDTH, max(len(name) for _, _, name, _, _ in passed))
    label, before = "Final course", None
    for along, _, name, role, words in passed:
        way = "" if before is None else f"{(along - before) / NM:.1f} NM"
        yield label, f"{name:<{width}}  {way:>7}  {role}{', ' if words else ''}{words}"
        label, before = "", along


def _minimums(charted: Charted) -> Rows:
    minimum = charted.minimum
    if minimum is None:
        return
    if len(charted.minimums) > 1:
        yield "Minimum", f"{_line(minimum)}: {_minimum(charted, minimum)}"
        label = "All minimums"
        for line in charted.minimums:
            yield label, f"{_line(line)}: {_minimum(charted, line)}"
            label = ""
        return
    as_inbound = "" if charted.minimums else ", charted as the inbound minimum: the facility is on the field"
    yield "Minimum", f"{_minimum(charted, minimum)}{as_inbound}"


def _minimum(charted: Charted, minimum: Minimum) -> str:
    text = f"{minimum.kind.upper()} {altitude_text(minimum.altitude_m, charted.altitude_unit)}"
    if minimum.visual_descent_point_m is not None:
        text += f", visual descent point {minimum.visual_descent_point_m / NM:g} NM before the threshold"
    return text


def _line(minimum: Minimum) -> str:
    return f"{minimum.line}{'' if minimum.category is None else f', {_categories(minimum.category)}'}"


def _categories(category: str) -> str:
    return f"{'category' if len(category) == 1 else 'categories'} {category}"


def _missed(charted: Charted) -> Rows:
    missed = charted.missed
    if missed is None:
        return
    unit, table = charted.altitude_unit, charted.procedure.missed_approach
    course = table.course_deg if table is not None else None
    way = [f"turn {side_word(missed.turn)}"] if missed.turn is not None else []
    way += [f"to {bearing_text(math.radians(course))} magnetic"] if course is not None else []
    way += [f"{'' if course is not None else 'direct '}to {missed.to}"] if missed.to is not None else []
    steps = [f"climb on the final course to {altitude_text(missed.climb_m, unit)}"] if missed.climb_m is not None else []
    if way:
        climbing = f" climbing to {altitude_text(missed.altitude_m, unit)}" if missed.altitude_m is not None else ""
        steps.append(f"{' '.join(way)}{climbing}")
    elif missed.altitude_m is not None:
        steps.append(f"straight ahead to {altitude_text(missed.altitude_m, unit)}")
    if any(hold.name == missed.to for hold in charted.holds):
        steps.append("hold")
    begins = _missed_begins(charted)
    yield "Missed", f"{begins}{': ' if begins and steps else ''}{', then '.join(steps)}"


def _missed_begins(charted: Charted) -> str:
    """Where or when the missed approach begins; empty if that is not charted."""
    missed = charted.missed
    point = charted.fix_of("missed-approach-point")
    ways = [f"at {point.name}"] if point is not None else []
    if missed is not None and missed.time_s is not None and missed.time_at_mps is not None:
        first = charted.fix_of("final-approach-fix") or charted.procedure.fix
        ways.append(f"{minutes_text(missed.time_s)} from {first.name} at {missed.time_at_mps / KT:g} kt over the ground")
    if charted.minimum is not None and charted.minimum.kind == "da":
        ways.insert(0, "at the decision altitude")
    return ", or ".join(ways)


def _hold(charted: Charted, k: int) -> str:
    hold, row = charted.holds[k], charted.procedure.holds[k]
    words = [hold.name, "missed approach" if hold.role == "missed-approach" else ""]
    if row.latitude_deg is not None:
        words.append(place_text(hold.latitude_rad, hold.longitude_rad))
    words.append(f"inbound {bearing_text(math.radians(row.inbound_course_deg))} magnetic")
    words += [
        f"{side_word(hold.turn)} turns",
        _hold_leg(hold),
        altitude_range(hold.minimum_m, hold.maximum_m, charted.altitude_unit),
    ]
    if hold.maximum_speed_mps is not None:
        words.append(f"{hold.maximum_speed_mps / KT:.0f} KIAS at most")
    if hold.category is not None:
        words.append(_categories(hold.category))
    if row.variation_deg_east is not None:
        words.append(f"variation {east_text(row.variation_deg_east)}")
    return ", ".join(filter(None, words))


def _hold_leg(hold: PublishedHold) -> str:
    if hold.leg_time_s is not None:
        return f"legs of {hold.leg_time_s:g} s"
    if hold.leg_length_m is not None:
        return f"legs of {leg_length_text(hold.leg_length_m, hold.leg_by)}"
    return ""
