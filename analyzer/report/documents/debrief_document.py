"""The debrief as JSON values, version 2. Names carry units, times are RFC 3339 UTC, unknown values are null."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from analyzer.checks.excuse import Excuse, Excused
from analyzer.checks.figures import Figures, PartFigures
from analyzer.checks.finding import Finding
from analyzer.checks.overall import overall
from analyzer.checks.phrases import side_word
from analyzer.legs.held import laps_of
from analyzer.legs.reversal import NamedAs, Reversal
from analyzer.motion.wind import Wind
from analyzer.physics.units import DEG, FT, KT, NM
from analyzer.report.words.against_brief import against_brief_document
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import cleared_document, minimum_document

if TYPE_CHECKING:
    from analyzer.debriefs.data import Approach, DebriefData, IdleExcuse

__all__ = ["VERSION", "debrief_document", "entries", "named_document", "rfc3339"]

VERSION = 2

Json = dict[str, Any]


def debrief_document(debrief: DebriefData) -> Json:
    """The whole debrief as a JSON object; see ``analyzer/report/debrief.schema.json``."""
    track, charted = debrief.motion.track, debrief.motion.charted
    return {
        "version": VERSION,
        "cautions": CAUTION,
        "track": {
            "file": track.file,
            "format": track.format,
            "start": _time(float(track.time_s[0])),
            "end": _time(float(track.time_s[-1])),
            "samples": len(track),
            "interval_s": _number(track.interval_s, 3),
            "altitude_reference": track.altitude_reference if track.has_altitude else None,
            "gaps": [{"start": _time(gap.start_s), "end": _time(gap.end_s)} for gap in track.gaps],
            "notes": [{"text": note.text, "count": note.count} for note in debrief.motion.notes],
        },
        "procedure": {
            **charted.procedure.to_json(),
            "variation": {
                "deg_east": _number(charted.variation.east_rad / DEG, 2),
                "model": charted.variation.model,
                "warnings": list(charted.warnings),
            },
        },
        "standard": debrief.standard.name,
        "cleared": cleared_document(charted.cleared),
        "minimum": minimum_document(charted),
        "doubts": list(debrief.doubts),
        "excuses_not_used": [_idle(idle) for idle in debrief.idle],
        "reversals": [_reversal(debrief, approach) for approach in debrief.approaches],
        "holds": [_reversal(hold, laps) for hold in debrief.holds for laps in hold.approaches],
    }


def entries(document: Json) -> Iterator[tuple[Json, Json]]:
    """Every approach and then every hold of a document, each preceded by its number: ``{"reversal": 1, "hold": None}``."""
    for number, reversal in enumerate(document["reversals"], 1):
        yield {"reversal": number, "hold": None}, reversal
    for number, hold in enumerate(document["holds"], 1):
        yield {"reversal": None, "hold": number}, hold


def rfc3339(time_s: float) -> str:
    """An instant, in UTC to the millisecond: ``2026-06-28T15:45:33.000Z``."""
    return datetime.fromtimestamp(round(time_s, 3), tz=UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _time(time_s: float | None) -> str | None:
    return None if time_s is None else rfc3339(time_s)


def _number(value: float | None, decimals: int) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), decimals)


def _reversal(debrief: DebriefData, approach: Approach) -> Json:
    reversal, figures = approach.reversal, approach.figures
    entered = reversal.flown.startswith("hold-") and reversal.begins_on is None
    return {
        "hold": _hold(debrief, reversal),
        "charted": debrief.motion.charted.kind,
        "flown": reversal.flown,
        "flown_score_gap": _number(reversal.score_gap, 1),
        "named": named_document(reversal.named),
        "side": _side(reversal.side),
        "turn": _side(reversal.turn),
        "entry": reversal.flown.removeprefix("hold-") if entered else None,
        "wind": _wind(figures.wind),
        "clock_shown": approach.clock_shown,
        "passages": [
            {"time": _time(p.time_s), "distance_nm": _number(p.distance_m / NM, 3), "direction": p.direction}
            for p in reversal.passages
        ],
        "parts": [_part(debrief, part) for part in figures.parts],
        "farthest": _farthest(debrief, figures),
        "descent": _descent(reversal, figures),
        "overall": dict(zip(("verdict", "sentence"), overall(approach.findings, reversal), strict=True)),
        "altitude_remark": approach.altitude_remark or None,
        "figures": _figures(reversal, figures),
        "findings": [_finding(finding) for finding in approach.findings],
        "against_brief": None
        if approach.comparison is None
        else against_brief_document(approach.comparison, debrief.motion.charted.variation.east_rad),
    }


def _hold(debrief: DebriefData, reversal: Reversal) -> Json | None:
    """The published hold and the number of laps flown; None for an approach."""
    hold = debrief.motion.charted.held
    return None if hold is None else {"name": hold.name, "laps": len(laps_of(reversal))}


def named_document(named: NamedAs | None) -> Json | None:
    """What of an approach was named by the user and what that costs; None where all of it was recognised."""
    if named is None:
        return None
    return {
        "passage": named.passage,
        "shape": named.shape,
        "recognised": named.recognised,
        "against": list(named.against),
        "unlike": list(named.unlike),
    }


def _side(side: int | None) -> str | None:
    return None if side is None else side_word(side)


def _wind(wind: Wind | None) -> Json | None:
    if wind is None:
        return None
    return {
        "from_deg_true": _number(wind.from_true_rad / DEG, 1),
        "speed_kt": _number(wind.speed_mps / KT, 2),
        "sd_kt": _number(wind.sd_mps / KT, 2),
        "source": wind.source,
    }


def _part(debrief: DebriefData, figures: PartFigures) -> Json:
    part, turn = figures.part, figures.turn
    course = None
    if figures.course_rad is not None:
        course = (figures.course_rad - debrief.motion.charted.variation.east_rad) / DEG % 360.0
    return {
        "part": part.name,
        "leg": part.leg,
        "lap": part.lap,
        "start": _time(part.start_s),
        "end": _time(part.end_s),
        "duration_s": _number(part.duration_s, 1),
        "length_nm": _number(figures.length_m / NM, 2),
        "course_deg": _number(course, 1),
        "ground_speed_kt": _number(figures.ground_speed_mps / KT, 1),
        "altitude_start_ft": _number(figures.altitude_start_m / FT, 0),
        "altitude_end_ft": _number(figures.altitude_end_m / FT, 0),
        "altitude_min_ft": _number(figures.altitude_min_m / FT, 0),
        "bank_mean_deg": _number(turn.direction * turn.bank_mean_rad / DEG, 2) if turn else None,
        "bank_peak_deg": _number(turn.direction * turn.bank_peak_rad / DEG, 2) if turn else None,
        "turn_rate_mean_deg_s": _number(turn.direction * turn.rate_mean_rad_s / DEG, 2) if turn else None,
        "turn": _side(part.turn),
    }


def _farthest(debrief: DebriefData, figures: Figures) -> Json | None:
    farthest = figures.farthest
    if farthest is None:
        return None
    latitude, longitude = debrief.motion.position_at(farthest.time_s)
    return {
        "distance_nm": _number(farthest.distance_m / NM, 4),
        "slant_nm": _number(farthest.slant_m / NM, 4),
        "sd_nm": _number(farthest.stated_sd_m / NM, 4),
        "time": _time(farthest.time_s),
        "latitude_deg": _number(latitude / DEG, 6),
        "longitude_deg": _number(longitude / DEG, 6),
    }


def _descent(reversal: Reversal, figures: Figures) -> Json | None:
    descent = figures.descent
    if descent is None:
        return None
    start_part = reversal.part_at(descent.start_s)
    end_part = reversal.part_at(descent.end_s) if descent.end_s is not None else None
    return {
        "start": _time(descent.start_s),
        "end": _time(descent.end_s),
        "start_part": start_part.name if start_part is not None else None,
        "end_part": end_part.name if end_part is not None else None,
    }


def _figures(reversal: Reversal, figures: Figures) -> Json:
    outbound, inbound, indicated = figures.outbound, figures.inbound, figures.indicated
    return {
        "established": _time(reversal.first_established_s),
        "outbound_length_nm": _number(_in(figures.outbound_length_m, NM), 3),
        "offset_leg_s": _number(figures.offset_leg_s, 1),
        "outbound_peak_deviation_deg": _number(abs(outbound.peak_rad) / DEG, 2) if outbound else None,
        "inbound_peak_deviation_deg": _number(abs(inbound.peak_rad) / DEG, 2) if inbound else None,
        "overshoot_nm": _number(_in(figures.overshoot_m, NM), 3),
        "max_indicated_kt": _number(indicated.speed_mps / KT, 1) if indicated else None,
    }


def _in(value: float | None, factor: float) -> float | None:
    return None if value is None else value / factor


def _finding(finding: Finding) -> Json:
    place = finding.place
    return {
        "check": finding.check,
        "leg": finding.leg,
        "part": finding.part,
        "fix": finding.fix,
        "lap": finding.lap,
        "measured": _value(finding.measured),
        "limit": _value(finding.limit),
        "unit": finding.unit,
        "tolerance": _number(finding.tolerance, 3),
        "margin": _number(finding.margin, 3),
        "sd": _number(finding.sd, 4),
        "verdict": finding.verdict,
        "reason": finding.reason,
        "excused": _excused(finding.excused),
        "time": _time(place.time_s if place else None),
        "latitude_deg": _number(place.latitude_rad / DEG, 6) if place else None,
        "longitude_deg": _number(place.longitude_rad / DEG, 6) if place else None,
        "source": finding.source,
        "basis": finding.basis,
        "sentence": finding.sentence,
        "lesson": None if finding.lesson is None else {"cause": finding.lesson.cause, "advice": finding.lesson.advice},
        "details": {name: _number(value, 3) for name, value in sorted(finding.details.items())},
    }


def _excused(excused: Excused | None) -> Json | None:
    """Who excused a finding, why and when, with the verdict that it would have; None where nobody did."""
    if excused is None:
        return None
    return {**_given(excused.excuse), "verdict": excused.verdict}


def _given(excuse: Excuse) -> Json:
    return {
        "by": excuse.by,
        "reason": excuse.reason,
        "on": None if excuse.on is None else excuse.on.isoformat(),
        "sentence": excuse.sentence or None,
    }


def _idle(idle: IdleExcuse) -> Json:
    """An excuse that names no finding: which it meant, and why it is not used."""
    excuse = idle.excuse
    return {
        **{name: getattr(excuse, name) for name in ("check", "approach", "hold", "leg", "part", "fix", "lap")},
        "time": _time(excuse.time_s),
        **_given(excuse),
        "why": idle.why,
    }


def _value(value: float | str | None) -> float | str | None:
    return value if isinstance(value, str) else _number(value, 3)
