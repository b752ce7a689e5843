"""The student's sheet as a self-contained HTML page without a script."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analyzer.program import program_version
from analyzer.report.pages.debrief_page import page_environment
from analyzer.report.pictures.page_pictures import Picture
from analyzer.report.words.caution import CAUTION

__all__ = ["sheet_page"]


def sheet_page(values: Mapping[str, Any], pictures: Sequence[Picture]) -> str:
    """The page of a sheet. `pictures` are the plan views of the sections in order, or that of a flight without an approach."""
    return (
        page_environment()
        .get_template("sheet.html.j2")
        .render(sheet=values, pictures=pictures, caution=CAUTION, version=program_version())
    )
