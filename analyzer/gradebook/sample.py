"""A bounded sample of a stream of values: all of them while they are few, then every second, every fourth, and so on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Generic, TypeVar

__all__ = ["Sample"]

T = TypeVar("T")
_MOST = 20_000


@dataclass
class Sample(Generic[T]):
    """The values so far, or every `step`-th of them, at most `most`; `seen` counts all values."""

    most: int = _MOST
    values: list[T] = field(default_factory=list)
    step: int = 1
    seen: int = 0

    def add(self, value: T) -> None:
        """Add a value."""
        if self.seen % self.step == 0:
            self.values.append(value)
            if len(self.values) > self.most:
                self.values = self.values[::2]
                self.step *= 2
        self.seen += 1
