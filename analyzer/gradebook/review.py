"""What an instructor said of the flights of a class, in a TOML file: remarks, marks changed with a reason, excused findings.

A changed mark keeps the one that was computed when it was changed, so that it can be said where that is another one by now.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from pathlib import Path
from typing import Annotated, TypeAlias

from pydantic import Field

from analyzer.checks.excuse_file import ExcuseTable, Number
from analyzer.errors import GradeError
from analyzer.frozen import dataclass
from analyzer.safe_text import plain_line
from analyzer.toml_files import Line, Table, checked, read_toml

__all__ = [
    "ChangedMark", "FlightReview", "Part", "Remark", "Review", "moved_words", "read_review", "remark_of", "review_by_log",
]  # fmt: skip

Part: TypeAlias = tuple[int | None, int | None]  # the number of an approach of a log, or that of a hold
_Percent = Annotated[float, Field(ge=0, le=100, description="a number from 0 to 100")]
_Words = Annotated[str, Field(min_length=1, max_length=2000, description="up to 2,000 letters")]
_NEAR_PERCENT = 0.05  # marks are kept to a tenth of a percent


class Remark(Table):
    """A remark on a flight, and whose it is."""

    log: Line
    remark: _Words
    by: Line = ""


class ChangedMark(Table):
    """A mark in the place of the computed one: of which approach or hold, why, and by whom.

    `computed` is the mark that was computed when it was changed, None where there was none. [percent]
    """

    log: Line
    approach: Number | None = None
    hold: Number | None = None
    mark: _Percent
    computed: _Percent | None = None
    reason: _Words
    by: Annotated[Line, Field(min_length=1, description="the name of who changed it")]

    @property
    def part(self) -> Part:
        """What it is the mark of."""
        return self.approach, self.hold


class Review(Table):
    """The file: all that was said of a class."""

    remarks: list[Remark] = Field(default_factory=list)
    excused: list[ExcuseTable] = Field(default_factory=list)
    marks: list[ChangedMark] = Field(default_factory=list)


@dataclass(frozen=True)
class FlightReview:
    """What was said of a log: remark and name, and the changed marks of its approaches and holds."""

    remark: str = ""
    by: str = ""
    marks: Mapping[Part, ChangedMark] = field(default_factory=dict)

    def key(self) -> list[object]:
        """What a sheet depends on, as JSON values."""
        return [self.remark, self.by, [self.marks[part].model_dump(mode="json") for part in sorted(self.marks, key=str)]]


def read_review(path: Path) -> Review:
    """What is said in a file; nothing where there is none.

    Raises
    ------
    GradeError
        The file cannot be read, or says one thing twice.
    """
    if not path.is_file():
        return Review()
    review = checked(Review, read_toml(path, "file of remarks", GradeError), str(path), GradeError)
    known: set[tuple[str, Part | None]] = set()
    for log, part in [*((one.log, None) for one in review.remarks), *((one.log, one.part) for one in review.marks)]:
        if (log, part) in known:
            raise GradeError(f"{path}: two {'remarks' if part is None else 'marks'} for {plain_line(log)}; keep one of them")
        known.add((log, part))
    return review


def review_by_log(review: Review) -> Mapping[str, FlightReview]:
    """What was said, by the name of the log."""
    said = {one.log: (one.remark, one.by) for one in review.remarks}
    marks: dict[str, dict[Part, ChangedMark]] = {}
    for one in review.marks:
        marks.setdefault(one.log, {})[one.part] = one
    return {log: FlightReview(*said.get(log, ("", "")), marks.get(log, {})) for log in sorted({*said, *marks})}


def remark_of(roster: str | None, review: FlightReview | None) -> str:
    """The instructor's remark in one line: that of the roster, and that of the review with its name."""
    return " ".join(plain_line(text) for text in _remarks(roster, review))


def _remarks(roster: str | None, review: FlightReview | None) -> Iterator[str]:
    if roster:
        yield roster
    if review is not None and review.remark:
        yield f"{review.remark} ({review.by})" if review.by else review.remark


def moved_words(changed: ChangedMark, computed: float | None) -> str:
    """What is said where the computed mark is another than when it was changed; empty where it is the same."""
    was, now = changed.computed, computed
    if was == now or (was is not None and now is not None and abs(was - now) <= _NEAR_PERCENT):
        return ""
    before, after = ("none" if value is None else f"{value:g}%" for value in (was, now))
    return f"the computed mark was {before} when {plain_line(changed.by)} changed it, and is {after} now"
