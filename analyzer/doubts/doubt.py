"""A doubt: evidence that a log, or the procedure it is judged by, does not match what was flown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Doubt", "Touched"]

Touched = Literal["nothing", "altitudes", "begin", "all"]


@dataclass(frozen=True)
class Doubt:
    """A doubt in a sentence or two, and what it touches.

    `touches` says which verdicts cannot stand: none of them (a hypothesis stated with them), those on altitudes (and on
    indicated airspeed, which goes with them), those that need what came before the log begins, or all. `reason` is what a
    verdict that is withdrawn gives as its own. `spans` are the stretches of time that it is about [s], none where it is the
    whole flight: an approach that none of them touches is not concerned. `mark` is the word that marks them in pictures, empty
    where there is nothing to be seen at a place.
    """

    text: str
    touches: Touched = "nothing"
    reason: str = ""
    spans: tuple[tuple[float, float], ...] = ()
    mark: str = ""

    def concerns(self, start_s: float, end_s: float) -> bool:
        """Whether it is about a stretch of time."""
        return not self.spans or any(begin < end_s and end > start_s for begin, end in self.spans)
