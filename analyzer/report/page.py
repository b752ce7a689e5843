"""The debrief as one HTML page that stands by itself: no script, no request, pictures inside."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import metadata
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from analyzer.checks.model import CLOSE, INSIDE, OUTSIDE, Finding
from analyzer.checks.overall import grouped, overall
from analyzer.checks.words import check_name
from analyzer.report.beside import BESIDE_HEADINGS, BESIDE_NOTE, beside_rows, beside_sentences
from analyzer.report.document import CAUTION
from analyzer.report.pictures import Picture
from analyzer.report.reading import reading_sentence, span_text, variation_sentence
from analyzer.report.summary import (
    HEADINGS,
    flown_sentence,
    lesson_lines,
    nothing_found,
    part_row,
    wind_sentence,
)

if TYPE_CHECKING:
    from analyzer.debriefing import Approach, Debrief

__all__ = ["debrief_page", "page_environment"]

_STYLE: dict[str, str] = {OUTSIDE: "outside", CLOSE: "close", INSIDE: "inside"}
_NUMERIC = (3, 4, 6)  # columns of the table of parts that hold plain numbers, from 1


def page_environment() -> Environment:
    """The templates of pages: everything is escaped, and a name that is missing is an error."""
    return Environment(
        loader=PackageLoader("analyzer.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def debrief_page(debrief: Debrief, pictures: Sequence[Sequence[Picture]]) -> str:
    """The page of a debrief. `pictures` holds those of each approach, in order."""
    environment = page_environment()
    track, charted = debrief.motion.track, debrief.motion.charted
    return environment.get_template("debrief.html.j2").render(
        title=charted.procedure.title,
        file=track.file,
        span=span_text(debrief),
        standard=debrief.standard.title,
        nothing=nothing_found(debrief) if not debrief.approaches else "",
        approaches=[_approach(debrief, a, drawn) for a, drawn in zip(debrief.approaches, pictures, strict=True)],
        headings=HEADINGS,
        beside_headings=BESIDE_HEADINGS,
        beside_note=BESIDE_NOTE,
        numeric=_NUMERIC,
        reading=reading_sentence(debrief),
        notes=[note.text for note in debrief.motion.notes],
        variation=variation_sentence(debrief),
        caution=CAUTION,
        version=metadata.version("approach-analyzer"),
    )


def _approach(debrief: Debrief, approach: Approach, drawn: Sequence[Picture]) -> dict[str, Any]:
    verdict, why = overall(approach.findings, approach.reversal)
    variation = debrief.motion.charted.variation.east_rad
    return {
        "verdict": verdict.capitalize(),
        "why": f"{why}.",
        "style": _STYLE.get(verdict, ""),
        "first": [
            {"sentence": f.sentence, "lesson": lesson_lines(f)} for f in approach.findings if f.verdict in (OUTSIDE, CLOSE)
        ][:3],
        "flown": flown_sentence(debrief.motion.charted.kind, approach.reversal),
        "wind": wind_sentence(approach.figures.wind),
        "pictures": [{"svg": Markup(p.svg), "caption": p.caption, "alt": p.alt} for p in drawn],  # noqa: S704 - matplotlib escapes
        "brief": _against_brief(debrief, approach),
        "parts": [part_row(figures, variation) for figures in approach.figures.parts],
        "groups": [
            {"heading": heading, "findings": [_finding(f) for f in group]} for heading, group in grouped(approach.findings)
        ],
    }


def _against_brief(debrief: Debrief, approach: Approach) -> dict[str, Any] | None:
    comparison = approach.comparison
    if comparison is None:
        return None
    return {
        "sentences": beside_sentences(comparison, approach.figures, approach.reversal),
        "rows": list(beside_rows(comparison, debrief.motion.charted.variation.east_rad)),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "name": check_name(finding.check),
        "sentence": finding.sentence,
        "reason": finding.reason or "",
        "source": finding.source,
        "lesson": lesson_lines(finding),
    }
