"""The record of an approach or hold in the document of a log: what was flown, mark, reasons, and the result of each check."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from analyzer.checks.excuse import Excused
from analyzer.checks.finding import CLOSE, OUTSIDE, Finding
from analyzer.checks.phrases import check_name
from analyzer.debriefs.data import Section
from analyzer.grade.thin_track import thin_track
from analyzer.gradebook.mark import CheckResult, Mark, Marked
from analyzer.report.words.excuse_words import excuse_words

__all__ = ["section_records"]

Json = dict[str, Any]
_MOST_REASONS = 3
_COPIED = (
    "hold", "charted", "flown", "flown_score_gap", "named", "side", "turn", "entry", "wind", "farthest", "overall", "figures",
)  # fmt: skip


def section_records(marked: Sequence[tuple[Section, Marked]], documents: Sequence[Json]) -> list[Json]:
    """The records of approaches or holds with their marks, from their entries in the document of the debrief (JSON)."""
    return [_entry(section, document, mark) for (section, mark), document in zip(marked, documents, strict=True)]


def _entry(section: Section, document: Json, marked: Marked) -> Json:
    """The record of an approach or hold: what was flown, the mark, the reasons, the track, and the result of each check."""
    approach, verdict = section.approach, document["overall"]["verdict"]
    deciding = [finding for finding in approach.findings if finding.verdict == verdict in (OUTSIDE, CLOSE)]
    return {
        **{key: document[key] for key in _COPIED},
        "mark": _mark(marked.mark),
        "reasons": [finding.sentence for finding in deciding[:_MOST_REASONS]],
        "excused": [_excused(finding, finding.excused) for finding in approach.findings if finding.excused is not None],
        "checks": {check: _check(result) for check, result in marked.results.items()},
        "track": thin_track(section.seen, approach),
    }


def _excused(finding: Finding, excused: Excused) -> Json:
    """An excused finding: its check, how it reads, the excuse in words, and the same in short for a table."""
    name = check_name(finding.check, finding.unit)
    short = f"{name}: {excused.excuse.reason} ({excused.excuse.by})"
    return {"name": name, "sentence": finding.sentence, "words": excuse_words(finding), "short": short}


def _mark(mark: Mark) -> Json:
    return {
        "percent": None if mark.percent is None else round(mark.percent, 1),
        "earned": round(mark.earned, 2),
        "possible": round(mark.possible, 2),
        "apply": round(mark.apply, 2),
        "failed_outright": list(mark.failed_outright),
        "note": mark.note,
        "incomplete": mark.incomplete,
    }


def _check(result: CheckResult) -> Json:
    worst = result.worst
    return {
        "verdict": worst.verdict,
        "measured": worst.measured if isinstance(worst.measured, str) else _rounded(worst.measured),
        "unit": worst.unit,
        "margin": _rounded(worst.margin),
        "inside": result.inside,
        "outside": result.outside,
        "weight": result.weight,
        "earned": round(result.earned, 2),
        "possible": round(result.possible, 2),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None or value != value or abs(value) == float("inf") else round(float(value), 3)
