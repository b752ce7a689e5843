"""The brief as JSON values, version 1. Names carry units; courses and headings are magnetic where they say so."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from analyzer.brief.planned_track import START_S
from analyzer.brief.segments import Segment, segments
from analyzer.physics.units import DEG, FPM, FT, KT, NM, FloatArray
from analyzer.report.documents.brief_missed_document import holds_document, missed_document
from analyzer.report.words.brief_final import missed_sentence
from analyzer.report.words.brief_text import conditions_sentence
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import minimum_document

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.brief.parts import PlannedPart

__all__ = ["brief_document"]

_VERSION = 1
_PATH_STEP_S = 2.0
_FINE = 3  # decimals of what is shown in whole units: read back and shown again it is the same


def brief_document(brief: Brief) -> dict[str, Any]:
    """The whole brief as a JSON object."""
    plan, chances = brief.plan, brief.chances
    east = brief.charted.variation.east_rad
    return {
        "version": _VERSION,
        "cautions": CAUTION,
        "procedure": brief.charted.procedure.to_json(),
        "variation_deg_east": _number(east / DEG, 2),
        "minimum": minimum_document(brief.charted),
        "conditions": conditions_sentence(brief),
        "shape": plan.pattern.flown_as,
        "solved": plan.pattern.solved,
        "notes": list(brief.cautions),
        "parts": [_part(part, east) for part in brief.parts],
        "segments": [_segment(segment, east) for segment in segments(plan)],
        "missed_approach": missed_sentence(brief) or None,
        "missed": missed_document(brief),
        "holds": holds_document(brief),
        "farthest_nm": _number(plan.farthest_m / NM, 3),
        "path": _path(brief),
        "numbers": [
            {
                "group": number.group,
                "name": number.name,
                "value": _number(number.value, 3),
                "unit": number.unit,
                "how": number.how,
                "rule": {"words": number.rule.words, "value": _number(number.rule.value, 3)} if number.rule else None,
            }
            for number in brief.numbers
        ],
        "chances": {
            "flights": len(chances.farthest_m),
            "errors_two_sd": {
                "wind_kt": _number(chances.errors.wind_mps / KT, 1),
                "heading_deg": _number(chances.errors.heading_rad / DEG, 1),
                "timing_s": _number(chances.errors.timing_s, 1),
                "speed_kt": _number(chances.errors.speed_mps / KT, 1),
            },
            "beyond_limit_share": _number(chances.beyond, 4),
            "farthest_nm": _percentiles(chances.farthest_m),
            "rolled_out_right_nm": _percentiles(chances.rolled_out_m),
            "joined_arc_nm": _percentiles(chances.joined_m) if chances.joined_m is not None else None,
        },
    }


def _percentiles(metres: FloatArray) -> dict[str, Any]:
    return {f"{share}%": _number(float(np.percentile(metres, share)) / NM, 2) for share in (5, 50, 95)}


def _part(part: PlannedPart, east_rad: float) -> dict[str, Any]:
    return {
        "part": part.part,
        "leg": part.leg,
        "heading_deg_magnetic": _number((part.heading_rad - east_rad) / DEG % 360.0, _FINE),
        "course_deg_magnetic": _number((part.course_rad - east_rad) / DEG % 360.0, _FINE)
        if part.course_rad is not None
        else None,
        "true_airspeed_kt": _number(part.air.true_airspeed_mps / KT, 1),
        "wind_from_deg_true": _number(part.air.wind_from_rad / DEG % 360.0, 1),
        "wind_kt": _number(part.air.wind_mps / KT, 1),
        "ground_speed_kt": _number(part.ground_speed_mps / KT, _FINE),
        "duration_s": _number(part.seconds, _FINE),
        "length_nm": _number(part.length_m / NM, _FINE),
        "bank_deg": _number(part.bank_rad / DEG, _FINE) if part.bank_rad is not None else None,
        "turn": {1: "right", -1: "left", None: None}[part.turn],
        "altitude_start_ft": _number(part.altitude_start_m / FT, 0),
        "altitude_end_ft": _number(part.altitude_end_m / FT, 0),
        "descent_fpm": _number(part.descent_mps / FPM, 0),
        "end_distance_nm": _number(part.end_distance_m / NM, 2),
        "end_slant_nm": _number(part.end_slant_m / NM, 2),
    }


def _segment(segment: Segment, east_rad: float) -> dict[str, Any]:
    return {
        "leg": segment.leg,
        "to": segment.to,
        "ends": segment.ends,
        "visual": segment.visual,
        "course_deg_magnetic": _number((segment.course_rad - east_rad) / DEG % 360.0, 1),
        "ground_speed_kt": _number(segment.ground_speed_mps / KT, 1),
        "duration_s": _number(segment.seconds, 1),
        "length_nm": _number(segment.length_m / NM, 2),
        "altitude_start_ft": _number(segment.altitude_start_m / FT, 0),
        "altitude_end_ft": _number(segment.altitude_end_m / FT, 0),
        "descent_fpm": _number(segment.descent_mps / FPM, 0),
        "minimum_ft": _number(segment.least_m / FT, 0) if segment.least_m is not None else None,
        "maximum_ft": _number(segment.most_m / FT, 0) if segment.most_m is not None else None,
    }


def _path(brief: Brief) -> dict[str, Any]:
    """The planned path: a position every few seconds and at the end, with the time since passing the fix."""
    track = brief.track()
    since = track.time_s - START_S
    kept = np.flatnonzero((since >= 0.0) & ((since % _PATH_STEP_S == 0.0) | (since == since[-1])))
    return {
        "time_s": [_number(float(since[k]), 1) for k in kept],
        "latitude_deg": [_number(float(track.latitude_rad[k]) / DEG, 6) for k in kept],
        "longitude_deg": [_number(float(track.longitude_rad[k]) / DEG, 6) for k in kept],
        "altitude_ft": [_number(float(track.altitude_m[k]) / FT, 0) for k in kept],
    }


def _number(value: float | None, decimals: int) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), decimals) + 0.0
