"""A limit of a standard with its source, and a standard as the limits that checks compare with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

__all__ = ["FROM_TURN", "SEEN", "Limit", "Standard"]

FROM_TURN = "s from the start of the turn"
# How the source of a limit was read.
SEEN: Mapping[str, str] = {
    "publication": "read in the publication",
    "transcription": "read in a transcription of it",
    "secondary": "read where another quotes it",
    "none": "no publication known",
}


@dataclass(frozen=True)
class Limit:
    """One limit of a standard, in the unit it is published in, with its source and how that was seen (a key of `SEEN`)."""

    value: float
    unit: str
    meaning: str
    source: str
    seen: str
    by_category: Mapping[str, float] = field(default_factory=dict)

    def for_category(self, category: str | None) -> Limit:
        """The limit for an approach category, A to E; the general one where there is none for it."""
        if category is None or category not in self.by_category:
            return self
        return replace(self, value=self.by_category[category], meaning=f"{self.meaning} (category {category})", by_category={})


@dataclass(frozen=True)
class Standard:
    """A named standard: a limit for each name that the checks ask for. `own` are those that its file gives itself."""

    name: str
    title: str
    based_on: str | None
    limits: Mapping[str, Limit]
    own: tuple[str, ...]

    def __getitem__(self, name: str) -> Limit:
        return self.limits[name]

    def for_category(self, category: str | None) -> Standard:
        """The standard with every limit's value that of an approach category, A to E; None keeps the general ones."""
        return replace(self, limits={name: limit.for_category(category) for name, limit in self.limits.items()})
