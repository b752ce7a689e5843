"""Typesetting: a template of this package and its data in, a tagged PDF with its own fonts out.

Text reaches a template as data and is never read as markup, so that no name in a file can steer it. The same data give the same
bytes: the document has no date, and its identifiers follow from its content. No network and no font of the system is used.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import metadata, util
from pathlib import Path
from typing import Any

from analyzer.errors import AnalyzerError
from analyzer.report.paper.sizes import Paper
from analyzer.report.words.layout import clipped

__all__ = ["AUTHOR", "short_words", "typeset"]

AUTHOR = "approach-analyzer"
_TEMPLATES = Path(__file__).with_name("templates")
_FONTS = ("mpl-data", "fonts", "ttf")  # DejaVu, which matplotlib ships: text and pictures are set in one face


def typeset(template: str, paper: Paper, values: Mapping[str, Any]) -> bytes:
    """The PDF of a template (its name without ``.typ``) on some paper, filled with values as JSON has them."""
    import typst  # 81 MB of library, which nothing else needs

    said = {
        **values,
        "author": f"{AUTHOR} {metadata.version('approach-analyzer')}",
        "paper": {"width_mm": paper.width_mm, "height_mm": paper.height_mm},
    }
    try:
        content: bytes = typst.compile(
            str(_TEMPLATES / f"{template}.typ"),
            root=str(_TEMPLATES),
            font_paths=[str(_font_folder())],
            ignore_system_fonts=True,
            sys_inputs={"values": json.dumps(said, ensure_ascii=False, allow_nan=False)},
        )
    except typst.TypstError as error:
        raise AnalyzerError(f"the PDF cannot be typeset: {error}; choose another format") from error
    return content


def short_words(text: str, longest: int) -> str:
    """A text whose words are no longer than so many letters, so that lines can end between them; longer ones are cut."""
    return " ".join(clipped(word, longest) for word in text.split(" "))


def _font_folder() -> Path:
    """Where matplotlib keeps its fonts; found without loading it, which takes a third of a second."""
    found = util.find_spec("matplotlib")
    if found is None or found.origin is None:
        raise AnalyzerError("the PDF cannot be typeset: matplotlib, whose fonts it uses, is not installed")
    return Path(found.origin).parent.joinpath(*_FONTS)
