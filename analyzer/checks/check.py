"""A check as one row: its name, the function, what it measures in words, the limits it compares with, and what it weighs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from analyzer.checks.finding import Context, Finding
from analyzer.vocabulary import CheckName, Entry

__all__ = ["Check"]


@dataclass(frozen=True)
class Check:
    """A check. It stands as a row at the end of the module of its function.

    `text` says what it measures, `formula` how. `limits` names the limits of a standard that it may use, each with the units
    that it may be given in; `optional` are those that a standard may leave out, of which the check then says nothing. `weight`
    is what it counts in the rubric that ships, 0 for a check that only informs, and `fails_outright` says that one finding
    outside makes the mark nought there. `in_words` says that what is measured is a word, `of` what it is a check of.
    """

    name: CheckName
    function: Callable[[Context], tuple[Finding, ...]]
    text: str
    formula: str
    limits: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    optional: frozenset[str] = frozenset()
    weight: float = 0.0
    fails_outright: bool = False
    in_words: bool = False
    of: tuple[Entry, ...] = ("approach",)
