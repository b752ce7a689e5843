"""What worker processes hand to the pages of briefs: plain values, without anything that takes long to load."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analyzer.frozen import dataclass

__all__ = ["BriefDrawn", "BriefField", "BriefForm", "BriefKept", "Briefs", "Laid"]


@dataclass(frozen=True)
class BriefKept:
    """A brief of the folder: its file, its name, the procedure, what it was made for, the greatest distance, and when.

    `chart` is the procedure file that it can be opened again with, empty where the file does not say it.
    """

    file: str
    name: str
    title: str
    conditions: str
    farthest: str
    kept: str
    chart: str = ""
    fault: str = ""


@dataclass(frozen=True)
class Laid:
    """The briefs of a flight's procedure, the latest first, the one that it is compared with, and why it cannot be."""

    offered: tuple[BriefKept, ...] = ()
    brief: str = ""
    fault: str = ""


@dataclass(frozen=True)
class BriefField:
    """A field of the brief form: how it is asked for, what it holds, and the slider that is bound to it.

    The slider goes from `least` to `most` in steps of `step`. While the field is empty, which means what `empty` says, it is
    at `rest`, or where the field `like` is. Typed, anything from `low` to `high` is accepted. A field with choices, each a
    value with its words, has no slider.
    """

    name: str
    label: str
    unit: str
    group: str
    least: float = 0.0
    most: float = 0.0
    step: float = 1.0
    low: float = 0.0
    high: float = 0.0
    rest: float = 0.0
    empty: str = ""
    said: str = ""
    like: str = ""
    text: str = ""
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class BriefForm:
    """A brief to be asked for: its chart, the fields with what they hold, and the file that it was opened from, if any.

    `filled_from` is the log of the flight that the fields were filled in from, and `filled` says with what.
    """

    chart: str
    title: str
    fields: tuple[BriefField, ...]
    name: str = ""
    file: str = ""
    was: str = ""
    filled_from: str = ""
    filled: tuple[str, ...] = ()


@dataclass(frozen=True)
class BriefDrawn:
    """A brief as it is shown: the result in a sentence, and the values that the templates of a brief take."""

    said: str
    content: Mapping[str, Any]


@dataclass(frozen=True)
class Briefs:
    """The briefs of a folder, the latest first, and the charts that one can be made of, each with its title."""

    kept: tuple[BriefKept, ...]
    charts: tuple[tuple[str, str], ...]
