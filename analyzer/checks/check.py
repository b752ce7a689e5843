"""A check as a row of a table: its name, function, description, limits, and what it counts in a mark."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field

from analyzer.checks.finding import Context, Finding
from analyzer.frozen import dataclass
from analyzer.vocabulary import CheckName, Entry

__all__ = ["Check"]


@dataclass(frozen=True)
class Check:
    """A check, listed in the `CHECKS` of the module that defines its function.

    Attributes
    ----------
    text, formula : str
        What the check measures, and how.
    limits : mapping
        The limits of a standard that it uses, each with the units that it may be given in.
    optional : frozenset of str
        Those that a standard may omit; the check then has no finding on them, or one for information.
    weight : float
        Its weight in the rubric that ships; 0 for a check that is for information only.
    all_lost_by : mapping
        How far outside a finding earns nothing in that rubric, by unit; ``of_limit`` is a share of its limit. Where its unit is
        not named here, a finding outside earns nothing however near it is.
    fails_outright : bool
        Whether one finding that earns nothing reduces the mark to zero in that rubric.
    in_words : bool
        Whether it measures a word instead of a number.
    of : tuple of str
        What it applies to: an approach, a hold, or both.
    """

    name: CheckName
    function: Callable[[Context], tuple[Finding, ...]]
    text: str
    formula: str
    limits: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    optional: frozenset[str] = frozenset()
    weight: float = 0.0
    all_lost_by: Mapping[str, float] = field(default_factory=dict)
    fails_outright: bool = False
    in_words: bool = False
    of: tuple[Entry, ...] = ("approach",)
