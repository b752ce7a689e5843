"""A number of a brief, in the unit pilots use, with its derivation and its rule of thumb."""

from __future__ import annotations

from analyzer.frozen import dataclass

__all__ = ["Number", "Rule"]


@dataclass(frozen=True)
class Rule:
    """A rule of thumb in words, and its value."""

    words: str
    value: float


@dataclass(frozen=True)
class Number:
    """A number in the unit pilots use; `how` says how it was derived."""

    group: str
    name: str
    value: float
    unit: str
    how: str
    rule: Rule | None = None
