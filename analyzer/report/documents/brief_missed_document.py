"""The missed approach and the holds of a brief as JSON values. Names carry units; courses and headings are magnetic."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analyzer.brief.climb import LEAST_GRADIENT
from analyzer.checks.phrases import side_word
from analyzer.physics.units import DEG, FPM, FT, KT, NM

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.brief.hold_laps import HoldLaps, Lap
    from analyzer.brief.missed_path import MissedPath

__all__ = ["holds_document", "missed_document"]


def missed_document(brief: Brief) -> dict[str, Any] | None:
    """The planned missed approach; None if the brief has none."""
    missed = brief.missed
    if missed is None:
        return None
    arrival, levelled = missed.stages[-1].course_rad, missed.levelled_s
    known = missed.climb.rate_mps is None
    return {
        "begins": missed.begins.where,
        "begins_s": _rounded(missed.begins.time_s, 1),
        "altitude_ft": _rounded(missed.begins.altitude_m / FT, 0),
        "climb_fpm": None if missed.climb.rate_mps is None else _rounded(missed.climb.rate_mps / FPM, 0),
        "climb_ft_per_nm": _rounded(LEAST_GRADIENT * NM / FT, 0) if known else None,
        "climb_words": missed.climb.words,
        "first_turn": _first_turn(missed, brief.charted.variation.east_rad),
        "altitude_reached_s": None if levelled is None else _rounded(levelled, 1),
        "to": missed.to,
        "end_s": _rounded(float(missed.path.time_s[-1]), 1),
        "end_altitude_ft": _rounded(float(missed.altitude_m[-1]) / FT, 0),
        "arrival_course_deg_magnetic": None if arrival is None else _magnetic(arrival, brief.charted.variation.east_rad),
    }


def _first_turn(missed: MissedPath, east_rad: float) -> dict[str, Any] | None:
    turn = missed.turn
    if turn is None:
        return None
    part = missed.parts[turn.number]
    if part.turn is None or part.bank_rad is None:
        return None
    return {
        "begins_s": _rounded(turn.seconds, 1),
        "begins_nm": _rounded(turn.length_m / NM, 2),
        "altitude_ft": _rounded(turn.altitude_m / FT, 0),
        "turn": side_word(part.turn),
        "heading_deg_magnetic": _magnetic(part.heading_rad, east_rad),
        "bank_deg": _rounded(part.bank_rad / DEG, 1),
        "rate_deg_s": _rounded(part.air.rate_rad_s / DEG, 2),
    }


def holds_document(brief: Brief) -> list[dict[str, Any]]:
    """The published holds with their laps."""
    return [_hold(laps, brief.charted.variation.east_rad) for laps in brief.holds]


def _hold(laps: HoldLaps, east_rad: float) -> dict[str, Any]:
    hold, numbers, arrival = laps.hold, laps.numbers, laps.arrival_rad
    known = numbers is not None and arrival is not None
    return {
        "name": hold.name,
        "role": hold.role,
        "category": hold.category,
        "inbound_course_deg_magnetic": _magnetic(hold.inbound_true_rad, east_rad),
        "turn": side_word(hold.turn),
        "leg_length_nm": None if hold.leg_length_m is None else _rounded(hold.leg_length_m / NM, 2),
        "altitude_ft": _rounded(laps.air.altitude_m / FT, 0),
        "minimum_ft": None if hold.minimum_m is None else _rounded(hold.minimum_m / FT, 0),
        "maximum_ft": None if hold.maximum_m is None else _rounded(hold.maximum_m / FT, 0),
        "maximum_speed_kias": _rounded(laps.maximum_mps / KT, 0),
        "maximum_speed_source": laps.maximum_source,
        "true_airspeed_kt": _rounded(laps.air.true_airspeed_mps / KT, 1),
        "wind_from_deg_true": _rounded(laps.air.wind_from_rad / DEG % 360.0, 1),
        "wind_kt": _rounded(laps.air.wind_mps / KT, 1),
        "arrival_course_deg_magnetic": None if arrival is None else _magnetic(arrival, east_rad),
        "entry": numbers.entry if numbers is not None and known else None,
        "entry_heading_deg_magnetic": _magnetic(numbers.arrival_heading_rad, east_rad)
        if numbers is not None and known
        else None,
        "entries_as_good": list(numbers.neighbours) if numbers is not None and known else [],
        "laps": [_lap(lap, east_rad) for lap in laps.laps],
        "refused": laps.refused,
    }


def _lap(lap: Lap, east_rad: float) -> dict[str, Any]:
    return {
        "lap": lap.number,
        "turn": side_word(lap.turn),
        "outbound_heading_deg_magnetic": _magnetic(lap.outbound_heading_rad, east_rad),
        "outbound_s": _rounded(lap.outbound_s, 1),
        "timed_from": lap.timed_from,
        "outbound_wings_level_s": _rounded(lap.level_s, 1),
        "outbound_end_nm": _rounded(lap.length_m / NM, 2),
        "turn_back": side_word(lap.turn_back),
        "turn_back_heading_deg_magnetic": _magnetic(lap.back_heading_rad, east_rad),
        "joined": lap.joined,
        "inbound_heading_deg_magnetic": _magnetic(lap.inbound_heading_rad, east_rad),
        "inbound_s": _rounded(lap.inbound_s, 1),
    }


def _magnetic(true_rad: float, east_rad: float) -> float:
    return _rounded((true_rad - east_rad) / DEG % 360.0, 1)


def _rounded(value: float, decimals: int) -> float:
    return round(float(value), decimals) + 0.0
