"""A comparison as JSON values; the schema is ``analyzer/report/compare.schema.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analyzer.comparison.laps import laps_flown
from analyzer.comparison.trends import attempts_needed
from analyzer.physics.units import DEG, KT
from analyzer.report.documents.debrief_document import named_document, rfc3339
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import cleared_document, minimum_document

if TYPE_CHECKING:
    from analyzer.comparison.attempt import Attempt
    from analyzer.comparison.comparing import ComparisonData, Row

__all__ = ["COMPARE_VERSION", "compare_document"]

COMPARE_VERSION = 1


def compare_document(comparison: ComparisonData) -> dict[str, Any]:
    """The comparison as a JSON object. Attempts are numbered from 1 in the order flown; figures list their values so."""
    first = comparison.attempts[0].debrief
    return {
        "version": COMPARE_VERSION,
        "cautions": CAUTION,
        "procedure": first.motion.charted.procedure.title,
        "standard": first.standard.name,
        "cleared": cleared_document(first.motion.charted.cleared),
        "minimum": minimum_document(first.motion.charted),
        "attempts": [_attempt(attempt) for attempt in comparison.attempts],
        "left_out": list(comparison.left_out),
        "figures": [_figure(row) for row in comparison.rows],
        "changed_most": [row.figure.key for row in comparison.changed_most],
        "attempts_needed_for_a_trend": attempts_needed(comparison.tested),
    }


def _attempt(attempt: Attempt) -> dict[str, Any]:
    wind = attempt.approach.figures.wind
    return {
        "number": attempt.number,
        "file": attempt.debrief.motion.track.file,
        "pilot": attempt.pilot or None,
        "start": rfc3339(attempt.start_s),
        "flown": attempt.approach.reversal.flown,
        "named": named_document(attempt.approach.reversal.named),
        "hold": _hold(attempt),
        "verdict": attempt.verdict,
        "wind_from_deg_true": None if wind is None else round(wind.from_true_rad / DEG, 1),
        "wind_kt": None if wind is None else round(wind.speed_mps / KT, 1),
    }


def _hold(attempt: Attempt) -> dict[str, Any] | None:
    """The hold that was flown, with its laps; None for an approach."""
    if attempt.hold is None:
        return None
    return {
        "name": attempt.hold,
        "laps": [
            {
                "lap": lap.number,
                "part": lap.part,
                "measured": None if lap.timed is None else round(lap.timed, 2),
                "charted": None if lap.charted is None else round(lap.charted, 2),
                "unit": lap.unit,
                "altitude_off_ft": None if lap.off_level_ft is None else round(lap.off_level_ft),
            }
            for lap in laps_flown(attempt)
        ],
    }


def _figure(row: Row) -> dict[str, Any]:
    decimals, trend = row.figure.decimals + 1, row.trend
    return {
        "figure": row.figure.key,
        "name": row.figure.name,
        "unit": row.figure.unit,
        "own_contribution": row.figure.own,
        "values": [None if value is None else round(value.value, decimals) for value in row.values],
        "sd": [None if value is None or value.sd is None else round(value.sd, decimals + 1) for value in row.values],
        "better": row.figure.better,
        "best": list(row.best),
        "spread": None if row.spread is None else round(row.spread, decimals),
        "change": None if row.change is None else round(row.change, decimals),
        "change_beyond_error": row.changed is not None,
        "trend": None
        if trend is None
        else {"an_attempt": round(trend.slope, decimals + 1), "p": round(trend.p, 4), "claimed": row.claimed},
    }
