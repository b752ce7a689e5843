"""Whether the flight is a survey, which explains why no reversal is recognised."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analyzer.checks.phrases import clock
from analyzer.doubts.doubt import Doubt
from analyzer.legs.reversal import Reversal
from analyzer.legs.segments import Segment
from analyzer.legs.survey import find_surveys

__all__ = ["surveys"]


def surveys(segments: Sequence[Segment], flown: Sequence[Reversal]) -> Iterator[Doubt]:
    """A doubt for each survey, in a flight without an approach, by its straight segments."""
    if flown:
        return
    for survey in find_surveys(segments):
        yield Doubt(
            f"From {clock(survey.start_s)} to {clock(survey.end_s)} the flight flies {survey.lines} parallel lines, each next "
            "to the last, as for a survey: the turns between them are no course reversal."
        )
