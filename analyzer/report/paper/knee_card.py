"""The knee card of a brief: one side to fly by, and a second with how its numbers were worked out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from itertools import groupby
from typing import TYPE_CHECKING, Any

from analyzer.brief.missed_timing import MISSED_TIME, begins_at
from analyzer.checks.phrases import height_unit, stopwatch
from analyzer.physics.units import NM
from analyzer.report.paper.knee_steps import Step, missed_steps, steps
from analyzer.report.paper.sizes import Paper
from analyzer.report.paper.typeset import short_words, typeset
from analyzer.report.paper.way_sketch import LONGEST_NAME, way_sketch
from analyzer.report.pictures.style import LEG_COLOUR
from analyzer.report.words.brief_final import missed_sentence, segment_headings, segment_note, segment_rows
from analyzer.report.words.brief_missed_and_holds import (
    HOLD_HEADINGS,
    hold_name,
    hold_note,
    hold_rows,
    hold_sentence,
    missed_headings,
    missed_note,
    missed_rows,
)
from analyzer.report.words.brief_text import (
    TABLE_NOTE,
    chances_sentence,
    conditions_sentence,
    entry_sentence,
    number_text,
    part_headings,
    part_rows,
    pattern_words,
    rule_text,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.clearance_text import minimum_sentence
from analyzer.report.words.layout import clipped
from analyzer.report.words.procedure_words import capital

if TYPE_CHECKING:
    from analyzer.brief.briefing import Brief
    from analyzer.brief.hold_laps import HoldLaps, Lap

__all__ = ["knee_card"]

# Measures of the card at A5, in points; on larger paper everything is larger.
_LEAST_MM = (139.7, 210.0)  # the narrower and the shorter of the small papers
_MARGIN_MM = 8.0
_LONGEST_TITLE = 34  # letters of the longest word that fits into a line
_POINTS_MM = 72.0 / 25.4
_WRITE_PT = 128.0  # width of the column to write in
_GAP_PT = 10.0
# the tallest that leaves room for the rest is taken; the lowest only on the back
_PLAN_HEIGHTS_PT = (280.0, 255.0, 230.0, 205.0, 185.0, 165.0, 148.0, 132.0, 118.0, 105.0, 90.0)


def knee_card(brief: Brief, paper: Paper) -> bytes:
    """The card as PDF. Equal briefs give equal bytes."""
    return typeset("knee_card", paper, _values(brief, paper))


def _values(brief: Brief, paper: Paper) -> dict[str, Any]:
    scale = min(paper.width_mm / _LEAST_MM[0], paper.height_mm / _LEAST_MM[1])
    width = (paper.width_mm * _POINTS_MM) / scale - 2.0 * _MARGIN_MM * _POINTS_MM - _WRITE_PT - _GAP_PT
    way, missed = steps(brief), missed_steps(brief)
    fix = clipped(brief.charted.procedure.fix.name, LONGEST_NAME)
    values: dict[str, Any] = {
        "title": short_words(brief.charted.procedure.title, _LONGEST_TITLE),
        "shape": pattern_words(brief.plan.pattern.shape),
        "scale": round(scale, 4),
        "margin_mm": _MARGIN_MM,
        "conditions": conditions_sentence(brief),
        "entry": entry_sentence(brief),
        "unit": brief.charted.altitude_unit,
        "steps": [_step(step) for step in way],
        "plans": [
            {"height": height, "width": round(width, 1), "svg": way_sketch(brief, (*way, *missed), width, height)}
            for height in _PLAN_HEIGHTS_PT
        ],
        "plan_alt": _plan_alt(brief, way),
        "write": {
            "minimum": _minimum(brief),
            "labels": [
                "ATIS",
                "wind",
                "QNH",
                "runway",
                f"over {fix}",
                "cleared",
            ],
            "width": _WRITE_PT,
            "gap": _GAP_PT,
        },
        "missed": {
            "sentence": missed_sentence(brief),
            "time": _missed_time(brief),
            "steps": [_step(step) for step in missed],
        },
        "holds": [_hold(brief, laps) for laps in brief.holds],
        "cautions": [*brief.cautions],
        "caution": CAUTION,
        "behind": _behind(brief),
    }
    charted = brief.charted
    names = [charted.procedure.fix.name, *(fix.name for fix in charted.fixes), *(hold.name for hold in charted.holds)]
    return {key: _cut(value, sorted(set(names), key=len, reverse=True)) for key, value in values.items()}


def _cut(value: Any, names: Sequence[str]) -> Any:
    """Values with every long name of a fix in their texts cut off, so that it fits into a column of the card."""
    if isinstance(value, str):
        for name in names:
            value = value.replace(name, clipped(name, LONGEST_NAME))
        return value
    if isinstance(value, dict):
        return {key: _cut(one, names) for key, one in value.items()}
    return [_cut(one, names) for one in value] if isinstance(value, (list, tuple)) else value


def _step(step: Step) -> dict[str, Any]:
    return {
        "name": step.name,
        "turn": step.turn,
        "heading": step.heading,
        "time": step.time,
        "speeds": step.speeds,
        "altitude": step.altitude,
        "rate": step.rate,
        "bounds": list(step.bounds),
        "notes": list(step.notes),
        "variant": asdict(step.variant) if step.variant is not None else None,
        "colour": LEG_COLOUR[step.leg],
    }


def _plan_alt(brief: Brief, way: tuple[Step, ...]) -> str:
    """Alternative text for the plan."""
    limit = brief.charted.limit_m
    of = f", {brief.plan.farthest_m / NM:.1f} NM away; the limit is {limit / NM:g} NM" if limit is not None else ""
    names = ", ".join(f"{number} {step.name}" for number, step in enumerate(way, 1))
    return f"Plan of the way to fly, true north up: {names}. Marked: the farthest point{of}."


def _minimum(brief: Brief) -> str:
    """The minimum of the approach, ``MDA 640 ft``; empty if none is charted."""
    minimum = brief.charted.minimum
    if minimum is None:
        return ""
    return f"{minimum.kind.upper()} {minimum.altitude_m / height_unit(brief.charted.altitude_unit).metres:.0f}"


def _missed_time(brief: Brief) -> dict[str, str] | None:
    """The time to the missed approach point, and where it starts."""
    timed = next((number for number in brief.numbers if number.name == MISSED_TIME), None)
    return None if timed is None else {"time": stopwatch(timed.value), "of": begins_at(brief.plan)}


def _hold(brief: Brief, laps: HoldLaps) -> dict[str, Any]:
    return {
        "name": hold_name(laps),
        "sentence": capital(hold_sentence(brief, laps)),
        "laps": [_lap(row, lap) for row, lap in zip(hold_rows(brief, laps), laps.laps, strict=True)],
        "rows": list(hold_rows(brief, laps)),
        "note": hold_note(laps),
    }


def _lap(row: tuple[str, ...], lap: Lap) -> dict[str, str]:
    """A lap as one line: name, turn and heading outbound, time outbound, turn back and its heading, heading inbound."""
    name, out, timed_from, _, _, back, inbound, _ = row
    return {
        "name": name,
        "out": out,
        "time": stopwatch(lap.outbound_s),
        "from": timed_from,
        "back": back,
        "inbound": inbound,
    }


def _behind(brief: Brief) -> dict[str, Any]:
    """The second side: the full tables, every number with how it was worked out, and the chances."""
    return {
        "tables": [
            {"headings": headings, "rows": rows, "note": note}
            for headings, rows, note in (
                (part_headings(brief), list(part_rows(brief)), TABLE_NOTE),
                (segment_headings(brief), list(segment_rows(brief)), segment_note(brief)),
                (missed_headings(brief), list(missed_rows(brief)), missed_note(brief)),
            )
            if rows
        ],
        "hold_headings": HOLD_HEADINGS,
        "minimum": minimum_sentence(brief.charted),
        "chances": chances_sentence(brief),
        "warnings": [*brief.charted.warnings],
        "groups": [
            {
                "heading": capital(name),
                "numbers": [{"name": n.name, "value": number_text(n), "how": n.how, "rule": rule_text(n)} for n in numbers],
            }
            for name, numbers in groupby(brief.numbers, key=lambda number: number.group)
        ],
    }
