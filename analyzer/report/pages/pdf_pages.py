"""Pages of paper: A4 sheets of figures and of plain text, put together as a PDF. The same bytes for the same input."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from importlib import metadata

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from analyzer.report.pictures.style import look

__all__ = ["A4_IN", "pdf", "text_pages"]

A4_IN = (8.27, 11.69)
_LINES_A_PAGE = 84


def pdf(pages: Iterable[Figure]) -> bytes:
    """A PDF of some figures, a page each. They may be drawn while it is written."""
    content = io.BytesIO()
    creator = f"approach-analyzer {metadata.version('approach-analyzer')}"
    with (
        look(),
        PdfPages(content, metadata={"CreationDate": None, "Creator": creator, "Producer": None}) as document,
    ):
        for page in pages:
            document.savefig(page)
    return content.getvalue()


def text_pages(lines: Sequence[str]) -> Iterator[Figure]:
    """Sheets with lines of plain text, in letters of one width: 80 of them fit across."""
    for first in range(0, len(lines), _LINES_A_PAGE):
        figure = Figure(figsize=A4_IN)
        text = "\n".join(lines[first : first + _LINES_A_PAGE])
        figure.text(0.07, 0.96, text, family="monospace", fontsize=8.2, va="top", linespacing=1.18, parse_math=False)
        yield figure
