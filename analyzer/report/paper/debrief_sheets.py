"""The debrief on paper: result and faults first, then the pictures, then all measurements."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from analyzer.checks.altitude_remark import altitude_sentence
from analyzer.checks.finding import CLOSE, INSIDE, OUTSIDE, Finding
from analyzer.checks.overall import grouped, informs, overall
from analyzer.checks.phrases import check_name
from analyzer.report.paper.printed_pictures import printed_pictures
from analyzer.report.paper.sizes import Paper
from analyzer.report.paper.typeset import short_words, typeset
from analyzer.report.pictures.faults import Fault, faults_of
from analyzer.report.pictures.style import VERDICT_STYLE
from analyzer.report.pictures.subject import Subject
from analyzer.report.words.against_brief import (
    against_brief_headings,
    against_brief_note,
    against_brief_rows,
    against_brief_sentences,
)
from analyzer.report.words.caution import CAUTION
from analyzer.report.words.excuse_words import excused_rows
from analyzer.report.words.key_figures import key_figures
from analyzer.report.words.log_sentences import first_sentences, reading_sentence, span_text, variation_sentence
from analyzer.report.words.parts_table import PARTS_NOTE, parts_table
from analyzer.report.words.practice import practice_sentence
from analyzer.report.words.summary import (
    clock_sentence,
    finding_cells,
    flown_sentence,
    lesson_lines,
    needs_sentence,
    whole_sentence,
    wind_sentence,
)
from analyzer.report.words.unrecognised import nothing_found

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData, Section

__all__ = ["debrief_sheets"]

_LONGEST_TITLE, _LONGEST_FILE = 48, 64  # letters of the longest word that fits into a line


def debrief_sheets(
    debrief: DebriefData, paper: Paper, worded: Callable[[dict[str, Any]], dict[str, Any]] = lambda values: values
) -> bytes:
    """The debrief as PDF; `worded` puts its sentences into the words of whoever reads it. Equal debriefs give equal bytes."""
    return typeset("debrief", paper, worded(_values(debrief)))


def _values(debrief: DebriefData) -> dict[str, Any]:
    charted = debrief.motion.charted
    return {
        "title": short_words(charted.procedure.title, _LONGEST_TITLE),
        "file": short_words(debrief.motion.track.file, _LONGEST_FILE),
        "span": span_text(debrief.motion.track),
        "standard": debrief.standard.title,
        "sentences": list(first_sentences(debrief)),
        "nothing": nothing_found(debrief) if not debrief.sections else "",
        "pictures": [] if debrief.sections else printed_pictures(Subject(debrief, None)),
        "doubts": list(debrief.doubts),
        "flights": [_flight(section) for section in debrief.sections],
        "parts_note": PARTS_NOTE,
        "beside_headings": against_brief_headings(charted),
        "beside_note": against_brief_note(charted),
        "reading": f"{reading_sentence(debrief)} {altitude_sentence(debrief.motion)}".strip(),
        "notes": [note.text for note in debrief.motion.notes],
        "variation": variation_sentence(debrief),
        "caution": CAUTION,
    }


def _flight(section: Section) -> dict[str, Any]:
    """An approach or hold: its text for the first sheet, its pictures and its tables."""
    debrief, approach = section.seen, section.approach
    charted = debrief.motion.charted
    verdict, why = overall(approach.findings, approach.reversal)
    groups = grouped(approach.findings)
    headings, parts = parts_table(debrief.motion, approach.figures)
    # a wind that is known is one of the figures above
    no_wind = wind_sentence(approach.figures) if approach.figures.wind is None else ""
    sentences = (flown_sentence(charted, approach), no_wind, clock_sentence(approach))
    return {
        "title": section.title,
        "verdict": verdict,
        "style": VERDICT_STYLE.get(verdict, "unknown"),
        "why": why,
        "remark": approach.altitude_remark,
        "practise": practice_sentence(approach.findings) if verdict == INSIDE else "",
        "faults": [_fault(fault) for fault in faults_of(approach)],
        "excused": excused_rows(approach.findings),
        "key": [{"name": key.name, "value": key.value, "beside": key.beside} for key in key_figures(debrief, approach)],
        "flown": " ".join(filter(None, sentences)),
        "pictures": printed_pictures(Subject(debrief, approach)),
        "part_headings": headings,
        "parts": parts,
        "brief": _against_brief(section),
        "groups": [
            {"heading": heading, "rows": [_row(section, finding) for finding in group]}
            for heading, group in groups
            if group[0].verdict not in (OUTSIDE, CLOSE) and group[0].excused is None
        ],
    }


def _fault(fault: Fault) -> dict[str, Any]:
    finding = fault.finding
    return {
        "number": fault.number,
        "style": VERDICT_STYLE[finding.verdict],
        "verdict": finding.verdict,
        "name": check_name(finding.check, finding.unit),
        "sentence": finding.sentence,
        "lesson": lesson_lines(finding),
        "source": finding.source,
    }


def _row(section: Section, finding: Finding) -> dict[str, Any]:
    """A finding in a table, as cells, or as a sentence if cells do not say enough."""
    short = (finding.verdict == INSIDE or informs(finding)) and not needs_sentence(finding)
    cells = finding_cells(finding, section.seen.motion.charted) if short else None
    return {
        "cells": cells,
        "name": check_name(finding.check, finding.unit),
        "sentence": whole_sentence(finding),
        "source": finding.source,
    }


def _against_brief(section: Section) -> dict[str, Any] | None:
    comparison = section.approach.comparison
    if comparison is None:
        return None
    return {
        "sentences": against_brief_sentences(comparison, section.approach.figures, section.approach.reversal),
        "rows": list(against_brief_rows(comparison, section.seen.motion.charted)),
    }
