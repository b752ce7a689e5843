"""Typesetting of a template of this package and its data as a tagged PDF with embedded fonts.

Text reaches a template as data and is never read as markup, so names in a file cannot change the layout. Equal data give equal
bytes: the document has no date, and its identifiers follow from its content. The network is not used, and the system's fonts
only where there are letters that DejaVu lacks.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import util
from pathlib import Path
from typing import Any

from analyzer.errors import AnalyzerError
from analyzer.program import program_version
from analyzer.report.paper.sizes import Paper
from analyzer.report.words.layout import clipped
from analyzer.report.words.letters import beyond_dejavu

__all__ = ["AUTHOR", "short_words", "typeset"]

AUTHOR = "approach-analyzer"
_TEMPLATES = Path(__file__).with_name("templates")
_FONTS = ("mpl-data", "fonts", "ttf")  # DejaVu, which matplotlib ships, for both text and pictures


def typeset(template: str, paper: Paper, values: Mapping[str, Any]) -> bytes:
    """The PDF of a template (its name without ``.typ``) on a paper, filled with JSON values."""
    import typst  # a library of 81 MB that nothing else needs

    said = {
        **values,
        "author": f"{AUTHOR} {program_version()}",
        "paper": {"width_mm": paper.width_mm, "height_mm": paper.height_mm},
    }
    text = json.dumps(said, ensure_ascii=False, allow_nan=False)
    try:
        content: bytes = typst.compile(
            str(_TEMPLATES / f"{template}.typ"),
            root=str(_TEMPLATES),
            font_paths=[str(_font_folder())],
            ignore_system_fonts=not beyond_dejavu(text),
            sys_inputs={"values": text},
        )
    except typst.TypstError as error:
        raise AnalyzerError(f"the PDF cannot be typeset: {error}; choose another format") from error
    return content


def short_words(text: str, longest: int) -> str:
    """The text with words cut to at most `longest` letters, so that each fits into a line."""
    return " ".join(clipped(word, longest) for word in text.split(" "))


def _font_folder() -> Path:
    """The folder of matplotlib's fonts, found without importing it, which takes a third of a second."""
    found = util.find_spec("matplotlib")
    if found is None or found.origin is None:
        raise AnalyzerError("the PDF cannot be typeset: matplotlib, whose fonts it uses, is not installed")
    return Path(found.origin).parent.joinpath(*_FONTS)
