"""The student's sheet as a self-contained HTML page without a script."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analyzer.report.pages.page import whole_page
from analyzer.report.pictures.page_pictures import Picture

__all__ = ["sheet_page"]


def sheet_page(values: Mapping[str, Any], pictures: Sequence[Picture]) -> str:
    """The page of a sheet. `pictures` are the plan views of the sections in order, or that of a flight without an approach."""
    return whole_page("sheet", {"sheet": values, "pictures": pictures})
