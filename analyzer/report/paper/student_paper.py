"""The student's sheet on paper, on one side if it fits, with the plan as large as the rest allows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analyzer.report.paper.printed_pictures import printed
from analyzer.report.paper.sizes import Paper
from analyzer.report.paper.typeset import short_words, typeset
from analyzer.report.pictures.page_pictures import Picture
from analyzer.report.words.caution import CAUTION

__all__ = ["student_paper"]

_LONGEST = 40  # letters of the longest word that fits into a line


def student_paper(values: Mapping[str, Any], pictures: Sequence[Picture], paper: Paper) -> bytes:
    """The sheet as PDF. Equal values give equal bytes. `pictures` are as for the page."""
    said = {
        **values,
        "title": short_words(values["title"], _LONGEST),
        "who": short_words(values["who"], _LONGEST),
        "facts": [(name, short_words(fact, _LONGEST)) for name, fact in values["facts"]],
        "remark": short_words(values["remark"], _LONGEST),
        "pictures": [printed(picture) for picture in pictures],
        "caution": CAUTION,
    }
    return typeset("student_sheet", paper, said)
