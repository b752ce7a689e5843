"""What worker processes hand to the pages of classes: plain values, without anything that takes long to load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

from analyzer.desk.asked import Choice
from analyzer.frozen import dataclass

__all__ = ["ClassCount", "ClassFlight", "ClassListed", "ClassSeen", "PartSeen", "Plan"]


@dataclass(frozen=True)
class ClassCount:
    """How many logs a class has, how many of them are graded as the class is set now, and how many by earlier settings.

    `with_sheets` says whether students' sheets were made.
    """

    logs: int = 0
    graded: int = 0
    earlier: int = 0
    with_sheets: bool = False

    @property
    def waiting(self) -> int:
        """The number of logs that are to be graded."""
        return self.logs - self.graded


@dataclass(frozen=True)
class ClassListed:
    """A class of the list: its name, its title, and how far it is graded."""

    name: str
    title: str
    count: ClassCount
    fault: str = ""


@dataclass(frozen=True)
class Plan:
    """The form of what a class is graded by: its choices, and what is given."""

    charts: tuple[Choice, ...]
    rubrics: tuple[Choice, ...]
    papers: tuple[Choice, ...]
    given: Mapping[str, str]


@dataclass(frozen=True)
class ClassSeen:
    """A class for its page.

    `listed` are the values of the list of flights, `shown` what follows it and `rules` how marks are worked out, as HTML; all
    are empty before anything is graded. `sheets` are the numbers of students' sheets that hold, and of those that are to be
    made anew.
    """

    name: str
    title: str
    place: str
    count: ClassCount
    plan: Plan
    roster: str = ""
    students: int = 0
    notes: tuple[str, ...] = ()
    fault: str = ""
    listed: Mapping[str, Any] = field(default_factory=dict)
    shown: str = ""
    rules: str = ""
    sheets: tuple[int, int] = (0, 0)
    workbook: bool = True


@dataclass(frozen=True)
class PartSeen:
    """An approach or hold in the form of the instructor: its field's name, title, computed mark, what stands in its place.

    `computed` is in percent, empty for none, as the form sends it back; `words` says it. `was` are mark and reason as they are
    kept.
    """

    field: str
    title: str
    computed: str
    words: str
    mark: str = ""
    reason: str = ""
    by: str = ""
    moved: str = ""
    was: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class ClassFlight:
    """A flight of a class: its debrief, what the instructor said of it, and its neighbours in the list."""

    name: str
    title: str
    log: str
    who: str
    place: str
    head: str
    verdicts: str
    body: str
    parts: Sequence[PartSeen]
    remark: str
    was_remark: str
    by: str
    from_roster: str
    before: str = ""
    after: str = ""
    fault: str = ""
    wrong: str = ""
