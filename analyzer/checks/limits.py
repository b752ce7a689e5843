"""Limits with their sources, and standards as collections of limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from typing import Literal, TypeAlias

from analyzer.frozen import dataclass

__all__ = ["FROM_TURN", "SEEN", "Limit", "Seen", "Standard"]

FROM_TURN = "s from the start of the turn"
# How the source of a limit was read.
Seen: TypeAlias = Literal["publication", "transcription", "secondary", "memory", "none"]
SEEN: Mapping[Seen, str] = {
    "publication": "read in the publication",
    "transcription": "read in a transcription of it",
    "secondary": "read where another quotes it",
    "memory": "from memory; no copy was read",
    "none": "no publication known",
}


@dataclass(frozen=True)
class Limit:
    """One limit of a standard.

    Attributes
    ----------
    value : float
        The limit, in `unit`, the unit it is published in.
    meaning : str
        What it limits.
    source, seen : str
        The publication, and how that was read: a key of `SEEN`.
    by_category : mapping
        Values by approach category.
    by_altitude_ft : mapping
        Values by altitude, each up to and including its key; `value` applies above the highest.
    reading : str
        How an ambiguous rule is interpreted; empty where it is not ambiguous.
    """

    value: float
    unit: str
    meaning: str
    source: str
    seen: Seen
    by_category: Mapping[str, float] = field(default_factory=dict)
    by_altitude_ft: Mapping[float, float] = field(default_factory=dict)
    reading: str = ""

    def for_category(self, category: str | None) -> Limit:
        """The limit for an approach category, A to E; itself where it has no value for the category."""
        if category is None or category not in self.by_category:
            return self
        return replace(self, value=self.by_category[category], meaning=f"{self.meaning} (category {category})", by_category={})

    def at_altitude(self, altitude_ft: float) -> float:
        """The value at an altitude: that of the lowest band that includes it, or `value` above all bands."""
        bands = [top for top in self.by_altitude_ft if altitude_ft <= top]
        return self.by_altitude_ft[min(bands)] if bands else self.value


@dataclass(frozen=True)
class Standard:
    """A named standard: the limits that the checks use, by name.

    `own` lists the limits that its file gives itself, rather than taking them from the standard it is based on.
    """

    name: str
    title: str
    based_on: str | None
    limits: Mapping[str, Limit]
    own: tuple[str, ...]

    def __getitem__(self, name: str) -> Limit:
        return self.limits[name]

    def get(self, name: str) -> Limit | None:
        """An optional limit; None where the standard omits it."""
        return self[name] if name in self.limits else None

    def for_category(self, category: str | None) -> Standard:
        """The standard with the values for an approach category, A to E; None keeps the general values."""
        return replace(self, limits={name: limit.for_category(category) for name, limit in self.limits.items()})
