"""A procedure file read back in words, as plain text of 80 columns."""

import math
import re
from collections.abc import Iterator

from analyzer.checks.phrases import side_word
from analyzer.physics.units import DEG, KT, NM, bearing_text
from analyzer.procedure.charted import Charted, Guidance
from analyzer.procedure.schema import Procedure
from analyzer.report.words.layout import wrapped
from analyzer.report.words.procedure_approach import altitude_rows, approach_rows, arrival_rows
from analyzer.report.words.procedure_words import altitude_text, east_text, leg_length_text, minutes_text, place_text

__all__ = ["procedure_text"]

_LABEL_WIDTH = 14
_NO_BREAK = "\N{NO-BREAK SPACE}"
_KINDS = {
    "procedure-turn": "procedure turn",
    "base-turn": "base turn",
    "hold": "hold in lieu of a procedure turn",
    "arc": "arc",
    "none": "none, straight in",
}
_CAUTION = "A training aid, never for navigation: the chart in force comes first."


def procedure_text(procedure: Procedure, charted: Charted) -> str:
    """The procedure as it was understood, its warnings, and a last line ``ok``, which names the warnings where there are any.

    `charted` is the same procedure resolved for a date; it gives the true courses and the variation.
    """
    heading = procedure.title if procedure.category is None else f"{procedure.title} (category {procedure.category})"
    lines = [*wrapped(heading), "", *wrapped(_CAUTION), ""]
    for label, text in _rows(procedure, charted):
        lines += _units_kept(text, label.ljust(_LABEL_WIDTH), " " * _LABEL_WIDTH)
    for warning in charted.warnings:
        lines += ["", *_units_kept(warning, "Warning: ", "  ")]
    count = len(charted.warnings)
    but = "" if not count else f", but see the {'warning' if count == 1 else f'{count} warnings'} above"
    return "\n".join([*lines, "", f"ok{but}", ""])


def _units_kept(text: str, first_indent: str, indent: str) -> list[str]:
    """Lines of the text, in which a number stays on one line with its unit."""
    joined = re.sub(r"(?<=\d) (?=(ft|m|NM|s|min|kt|KIAS)\b)", _NO_BREAK, text)
    return [line.replace(_NO_BREAK, " ") for line in wrapped(joined, first_indent, indent)]


def _rows(procedure: Procedure, charted: Charted) -> Iterator[tuple[str, str]]:
    fix, reversal, unit = procedure.fix, procedure.reversal, charted.altitude_unit
    place = place_text(charted.fix_latitude_rad, charted.fix_longitude_rad)
    elevation = f"{fix.elevation_ft:g} ft" if unit == "ft" else altitude_text(charted.fix_elevation_m, unit)
    yield "Fix", f"{fix.name} ({_upper(fix.kind)}), {place}, elevation {elevation}"
    yield "Variation", _variation(charted)
    yield from arrival_rows(charted)
    yield "Reversal", _reversal(charted)
    outbound_deg = reversal.outbound_course_deg
    if charted.kind not in ("arc", "none") or outbound_deg is not None:
        magnetic_deg = outbound_deg if outbound_deg is not None else reversal.inbound_course_deg + 180.0
        yield "Outbound", f"{bearing_text(math.radians(magnetic_deg))} magnetic, {bearing_text(charted.outbound_true_rad)} true"
    if charted.offset_true_rad is not None:
        by_pilot = "" if charted.offset_charted else " (45° off the outbound course, not charted: left to the pilot)"
        yield "Offset", f"{_course(charted, charted.offset_true_rad)}{by_pilot}"
    yield "Inbound", _course(charted, charted.inbound_true_rad)
    yield from _limits(charted)
    yield "Guidance", _guidance(charted.guidance)
    if charted.glide_path_rad is not None and charted.threshold_crossing_height_m is not None:
        height = altitude_text(charted.threshold_crossing_height_m, unit)
        yield "Glide path", f"{charted.glide_path_rad / DEG:.3g}°, {height} above the threshold"
    yield from altitude_rows(charted)
    yield from approach_rows(charted)
    if charted.runway is not None:
        runway = charted.runway
        threshold = f"threshold {place_text(runway.latitude_rad, runway.longitude_rad)}"
        length = "" if runway.length_m is None else f", length {altitude_text(runway.length_m, unit)}"
        elevation = altitude_text(runway.elevation_m, unit)
        yield (
            "Runway",
            f"{runway.name}, {threshold}, elevation {elevation}, heading {bearing_text(runway.heading_rad)} true{length}",
        )


def _reversal(charted: Charted) -> str:
    text = _KINDS[charted.kind]
    if charted.kind == "arc" and charted.arc_radius_m is not None:
        direction = {1: "clockwise (right)", -1: "anticlockwise (left)", None: ""}[charted.turn]
        centre = place_text(charted.arc_latitude_rad or 0.0, charted.arc_longitude_rad or 0.0)
        return f"{text} of {charted.arc_radius_m / NM:g} NM, {direction} around {centre}"
    if charted.kind == "base-turn" and charted.turn is not None:
        text += f" to the {side_word(charted.turn)}"
    elif charted.side is not None and charted.turn is not None:
        text += f" on the {side_word(charted.side)} of the outbound course, turning back to the {side_word(charted.turn)}"
    if charted.kind == "hold" and charted.leg_time_s is not None:
        text += f", legs of {charted.leg_time_s:g} s"
    if charted.kind == "hold" and charted.leg_length_m is not None:
        text += f", legs of {leg_length_text(charted.leg_length_m, charted.leg_by)}"
    if charted.procedure.reversal.depicted_track:
        text += ", to be flown exactly as drawn"
    return text


def _limits(charted: Charted) -> Iterator[tuple[str, str]]:
    if charted.limit_m is not None:
        yield "Limit", f"within {charted.limit_m / NM:g} NM of {_limit_centre(charted)}"
    leg = []
    if charted.kind != "hold" and charted.leg_time_s is not None:
        leg.append(f"{minutes_text(charted.leg_time_s)} nominal")
    if charted.kind != "hold" and charted.leg_length_m is not None:
        leg.append(f"to {leg_length_text(charted.leg_length_m, charted.leg_by)}")
    if charted.maximum_time_s is not None:
        leg.append(f"{minutes_text(charted.maximum_time_s)} at most")
    if leg:
        yield "Outbound leg", ", ".join(leg)
    if charted.entry_within_rad is not None:
        yield "Entry", f"within {charted.entry_within_rad / DEG:g}° of the outbound course"
    if charted.maximum_speed_mps is not None:
        yield "Speed", f"{charted.maximum_speed_mps / KT:.0f} KIAS at most"


def _limit_centre(charted: Charted) -> str:
    if charted.within_by_dme and charted.dme is not None:
        return f"{charted.dme.name} by DME"
    if charted.procedure.reversal.within_from is not None:
        return place_text(charted.limit_latitude_rad, charted.limit_longitude_rad)
    return "the fix"


def _variation(charted: Charted) -> str:
    variation, guidance = charted.variation, charted.procedure.guidance
    text = f"{east_text(variation.east_rad / DEG)}, {variation.model}"
    if guidance is not None and guidance.variation_deg_east is not None:
        text += " for the guidance"
        if charted.procedure.fix.variation_deg_east is not None:
            text += f"; at {charted.procedure.fix.name} {east_text(charted.procedure.fix.variation_deg_east)}"
    if variation.date is None:
        return text
    return f"{text} on {variation.date.isoformat()}, standard deviation {variation.sd_rad / DEG:.1f}°"


def _guidance(guidance: Guidance) -> str:
    text = f"{_upper(guidance.kind)} at {place_text(guidance.latitude_rad, guidance.longitude_rad)}, full scale "
    if guidance.full_scale_rad is not None:
        return f"{text}{guidance.full_scale_rad / DEG:.3g}°"
    scales = [scale / NM for scale in (guidance.full_scale_m, guidance.full_scale_final_m) if scale is not None]
    return f"{text}{' NM, on final '.join(f'{scale:g}' for scale in scales)} NM"


def _course(charted: Charted, true_rad: float) -> str:
    return f"{bearing_text(true_rad - charted.variation.east_rad)} magnetic, {bearing_text(true_rad)} true"


def _upper(kind: str) -> str:
    return kind.upper() if kind in ("vor", "ndb", "gps") else kind
