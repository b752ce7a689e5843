"""The procedure in words: what was understood of a procedure file, as plain text of 80 columns."""

import math
import re
import textwrap
from collections.abc import Iterator

from analyzer.physics.units import DEG, FT, KT, NM, bearing_text
from analyzer.procedure.charted import Charted, Guidance
from analyzer.procedure.schema import Procedure

__all__ = ["procedure_text"]

_WIDTH = 80
_LABEL_WIDTH = 14
_NO_BREAK = "\N{NO-BREAK SPACE}"
_KINDS = {
    "procedure-turn": "procedure turn",
    "base-turn": "base turn",
    "hold": "hold in lieu of a procedure turn",
    "arc": "arc",
    "none": "none, straight in",
}
_WORDS = {1: "right", -1: "left"}
_CAUTION = "A training aid, never for navigation: the chart in force comes first."


def procedure_text(procedure: Procedure, charted: Charted) -> str:
    """What was understood of `procedure`, its warnings, and a last line that says ``ok``.

    `charted` is the same procedure resolved for a date; it gives the true courses and the variation.
    """
    heading = procedure.title if procedure.category is None else f"{procedure.title} (category {procedure.category})"
    lines = [*textwrap.wrap(heading, _WIDTH), "", *textwrap.wrap(_CAUTION, _WIDTH), ""]
    for label, text in _rows(procedure, charted):
        lines += _wrapped(text, label.ljust(_LABEL_WIDTH), " " * _LABEL_WIDTH)
    for warning in charted.warnings:
        lines += ["", *_wrapped(warning, "Warning: ", "  ")]
    return "\n".join([*lines, "", "ok", ""])


def _wrapped(text: str, first_indent: str, indent: str) -> list[str]:
    """Lines of the text, which never part a number from its unit."""
    joined = re.sub(r"(?<=\d) (?=(ft|NM|s|KIAS)\b)", _NO_BREAK, text)
    lines = textwrap.wrap(joined, _WIDTH, initial_indent=first_indent, subsequent_indent=indent, break_on_hyphens=False)
    return [line.replace(_NO_BREAK, " ") for line in lines]


def _rows(procedure: Procedure, charted: Charted) -> Iterator[tuple[str, str]]:
    fix = procedure.fix
    place = _place(charted.fix_latitude_rad, charted.fix_longitude_rad)
    yield "Fix", f"{fix.name} ({_upper(fix.kind)}), {place}, elevation {fix.elevation_ft:g} ft"
    yield "Variation", _variation(charted)
    yield "Reversal", _reversal(charted)
    if charted.kind not in ("arc", "none") or procedure.reversal.outbound_course_deg is not None:
        yield "Outbound", _course(charted, charted.outbound_true_rad)
    if charted.offset_true_rad is not None:
        yield "Offset", _course(charted, charted.offset_true_rad)
    yield "Inbound", _course(charted, charted.inbound_true_rad)
    yield from _limits(charted)
    yield "Guidance", _guidance(charted.guidance)
    if charted.glide_path_rad is not None and charted.threshold_crossing_height_m is not None:
        height_ft = charted.threshold_crossing_height_m / FT
        yield "Glide path", f"{charted.glide_path_rad / DEG:.3g}°, {height_ft:.0f} ft above the threshold"
    floors = [f"{leg} {floor / FT:.0f} ft" for leg, floor in charted.floors_m.items()]
    yield "At or above", ", ".join(floors) if floors else "nothing charted"
    if charted.runway is not None:
        runway = charted.runway
        threshold = f"threshold {_place(runway.latitude_rad, runway.longitude_rad)}, elevation {runway.elevation_m / FT:.0f} ft"
        yield "Runway", f"{runway.name}, {threshold}, heading {bearing_text(runway.heading_rad)} true"


def _reversal(charted: Charted) -> str:
    text = _KINDS[charted.kind]
    if charted.kind == "arc" and charted.arc_radius_m is not None:
        round_it = {1: "clockwise (right)", -1: "anticlockwise (left)", None: ""}[charted.turn]
        centre = _place(charted.arc_latitude_rad or 0.0, charted.arc_longitude_rad or 0.0)
        return f"{text} of {charted.arc_radius_m / NM:g} NM, {round_it} round {centre}"
    if charted.side is not None and charted.turn is not None:
        text += f" on the {_WORDS[charted.side]} of the outbound course, turning back to the {_WORDS[charted.turn]}"
    if charted.leg_time_s is not None:
        text += f", legs of {charted.leg_time_s:g} s"
    if charted.leg_length_m is not None:
        text += f", legs of {charted.leg_length_m / NM:g} NM"
    if charted.procedure.reversal.depicted_track:
        text += ", to be flown exactly as drawn"
    return text


def _limits(charted: Charted) -> Iterator[tuple[str, str]]:
    if charted.limit_m is not None:
        elsewhere = charted.procedure.reversal.within_from is not None
        centre = _place(charted.limit_latitude_rad, charted.limit_longitude_rad) if elsewhere else "the fix"
        yield "Limit", f"within {charted.limit_m / NM:g} NM of {centre}"
    if charted.maximum_speed_mps is not None:
        yield "Speed", f"{charted.maximum_speed_mps / KT:.0f} KIAS at most"


def _variation(charted: Charted) -> str:
    variation = charted.variation
    degrees = variation.east_rad / DEG
    text = f"{abs(degrees):.1f}° {'east' if degrees >= 0.0 else 'west'}, {variation.model}"
    if variation.date is None:
        return text
    return f"{text} on {variation.date.isoformat()}, standard deviation {variation.sd_rad / DEG:.1f}°"


def _guidance(guidance: Guidance) -> str:
    text = f"{_upper(guidance.kind)} at {_place(guidance.latitude_rad, guidance.longitude_rad)}, full scale "
    if guidance.full_scale_rad is not None:
        return f"{text}{guidance.full_scale_rad / DEG:g}°"
    scales = [scale / NM for scale in (guidance.full_scale_m, guidance.full_scale_final_m) if scale is not None]
    return f"{text}{' NM, on final '.join(f'{scale:g}' for scale in scales)} NM"


def _course(charted: Charted, true_rad: float) -> str:
    return f"{bearing_text(true_rad - charted.variation.east_rad)} magnetic, {bearing_text(true_rad)} true"


def _upper(kind: str) -> str:
    return kind.upper() if kind in ("vor", "ndb", "gps") else kind


def _place(latitude_rad: float, longitude_rad: float) -> str:
    """Degrees and decimals with the hemisphere, ``44.21370 N 9.08620 E``."""
    latitude, longitude = math.degrees(latitude_rad), math.degrees(longitude_rad)
    return f"{abs(latitude):.5f} {'N' if latitude >= 0 else 'S'} {abs(longitude):.5f} {'E' if longitude >= 0 else 'W'}"
