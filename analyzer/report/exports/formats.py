"""The formats that a debrief can be written in, in one table."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import TYPE_CHECKING

from analyzer.frozen import dataclass
from analyzer.report.paper.sizes import A4, Paper

if TYPE_CHECKING:
    from analyzer.debriefs.data import DebriefData, Section
    from analyzer.report.pictures.drawing import Drawing

__all__ = ["FORMATS", "Format", "Output", "formats_on"]

_DPI = 110


@dataclass(frozen=True)
class Output:
    """A file of a report: the end of its name, after the log's, and its content."""

    ending: str
    content: bytes


@dataclass(frozen=True)
class Format:
    """A format: the suffix of its files, whether it is a single file, and the function that writes a debrief in it."""

    suffix: str
    one_file: bool
    write: Callable[[DebriefData], Iterator[Output]]


def _html(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.pages.debrief_page import debrief_page
    from analyzer.report.pictures.page_pictures import draw_debrief

    yield Output(".html", debrief_page(debrief, draw_debrief(debrief)).encode())


def _pdf(debrief: DebriefData, paper: Paper = A4) -> Iterator[Output]:
    from analyzer.report.paper.debrief_sheets import debrief_sheets

    yield Output(".pdf", debrief_sheets(debrief, paper))


def _png(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.pictures.figures import figure_of, look

    for name, drawing in _drawings(debrief):
        content, author = io.BytesIO(), {"Software": "approach-analyzer"}
        with look():
            figure_of(drawing).savefig(content, format="png", dpi=_DPI, metadata=author, pil_kwargs={"compress_level": 2})
        yield Output(f"-{name}.png", content.getvalue())


def _svg(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.pictures.svg import svg_file

    for name, drawing in _drawings(debrief):
        yield Output(f"-{name}.svg", svg_file(drawing).encode())


def _drawings(debrief: DebriefData) -> Iterator[tuple[str, Drawing]]:
    """Every picture of a flight, with the end of its file name."""
    from analyzer.report.pictures.layout import WIDE
    from analyzer.report.pictures.page_pictures import drawings_of
    from analyzer.report.pictures.subject import Subject

    for section in debrief.sections:
        for name, drawing in drawings_of(Subject(section.seen, section.approach), WIDE):
            yield f"{name}{_numbered(section)}", drawing


def _json(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.exports.json_text import json_text

    yield Output(".json", json_text(debrief).encode())


def _csv(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.exports.csv_tables import findings_csv, parts_csv, track_csv

    yield Output("-track.csv", track_csv(debrief).encode())
    yield Output("-parts.csv", parts_csv(debrief).encode())
    yield Output("-findings.csv", findings_csv(debrief).encode())


def _markdown(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.exports.markdown import debrief_markdown

    yield Output(".md", debrief_markdown(debrief).encode())


def _geojson(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.exports.geojson import debrief_geojson

    yield Output(".geojson", debrief_geojson(debrief).encode())


def _kml(debrief: DebriefData) -> Iterator[Output]:
    from analyzer.report.exports.kml import debrief_kml

    yield Output(".kml", debrief_kml(debrief).encode())


def _numbered(section: Section) -> str:
    """The end of a picture's name: ``-hold`` for a hold, and the number of a second approach or hold and later ones.

    It follows the picture's own name, so that it cannot be confused with a log's: ``a-plan-2.png`` belongs to ``a.csv``, and
    ``a-2-plan.png`` to ``a-2.csv``.
    """
    number = f"-{section.number}" if section.number > 1 else ""
    return f"-hold{number}" if section.of == "hold" else number


FORMATS: Mapping[str, Format] = {
    "html": Format(".html", True, _html),
    "pdf": Format(".pdf", True, _pdf),
    "png": Format(".png", False, _png),
    "svg": Format(".svg", False, _svg),
    "json": Format(".json", True, _json),
    "csv": Format(".csv", False, _csv),
    "markdown": Format(".md", True, _markdown),
    "geojson": Format(".geojson", True, _geojson),
    "kml": Format(".kml", True, _kml),
}


def formats_on(paper: Paper) -> Mapping[str, Format]:
    """`FORMATS` with the PDF laid out for `paper`."""
    return {**FORMATS, "pdf": Format(".pdf", True, partial(_pdf, paper=paper))}
