"""A limit of a standard with its source, and a standard as the limits that checks compare with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

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
    """One limit of a standard, in the unit it is published in, with its source and how that was seen (a key of `SEEN`).

    `by_category` holds values for approach categories, `by_altitude_ft` values up to and including an altitude, above the last
    of which `value` holds. `reading` says how a rule that can be read in two ways is read here, empty where there is but one.
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
        """The limit for an approach category, A to E; the general one where there is none for it."""
        if category is None or category not in self.by_category:
            return self
        return replace(self, value=self.by_category[category], meaning=f"{self.meaning} (category {category})", by_category={})

    def at_altitude(self, altitude_ft: float) -> float:
        """The value at an altitude: that of the lowest band that reaches up to it, `value` above them all."""
        bands = [top for top in self.by_altitude_ft if altitude_ft <= top]
        return self.by_altitude_ft[min(bands)] if bands else self.value


@dataclass(frozen=True)
class Standard:
    """A named standard: a limit for each name that the checks ask for, some of which it may leave out.

    `own` are those that its file gives itself.
    """

    name: str
    title: str
    based_on: str | None
    limits: Mapping[str, Limit]
    own: tuple[str, ...]

    def __getitem__(self, name: str) -> Limit:
        return self.limits[name]

    def get(self, name: str) -> Limit | None:
        """A limit that a standard may leave out; None where it does."""
        return self[name] if name in self.limits else None

    def for_category(self, category: str | None) -> Standard:
        """The standard with every limit's value that of an approach category, A to E; None keeps the general ones."""
        return replace(self, limits={name: limit.for_category(category) for name, limit in self.limits.items()})
