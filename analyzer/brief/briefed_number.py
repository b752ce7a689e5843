"""A number of a brief, in the trade's unit, with how it was worked out and its rule of thumb."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Number", "Rule"]


@dataclass(frozen=True)
class Rule:
    """A rule of thumb: in words, and what it gives."""

    words: str
    value: float


@dataclass(frozen=True)
class Number:
    """A number in the trade's unit, with how it was worked out."""

    group: str
    name: str
    value: float
    unit: str
    how: str
    rule: Rule | None = None
