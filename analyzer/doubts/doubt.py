"""A doubt: evidence that a log, or the procedure it is judged by, does not match what was flown."""

from __future__ import annotations

from typing import Literal

from analyzer.frozen import dataclass

__all__ = ["Doubt", "Touched"]

Touched = Literal["nothing", "altitudes", "begin", "shape", "all"]


@dataclass(frozen=True)
class Doubt:
    """A doubt about a flight or its procedure.

    Attributes
    ----------
    text : str
        The doubt, in a sentence or two.
    touches : {"nothing", "altitudes", "begin", "shape", "all"}
        The verdicts that it withdraws: none (a hypothesis stated with them), those on altitudes and on indicated airspeed,
        which depends on them, those that need what happened before the log begins, those on the shape and its side, or all.
    reason : str
        The reason given for verdicts that are withdrawn.
    spans : tuple of (float, float)
        The stretches of time that it is about; empty for the whole flight. [s]
    mark : str
        The label of these stretches in pictures; empty where there is nothing to show at a place.
    off_m : float, optional
        How much too high all altitudes may be, negative where too low: a verdict on altitudes that is the same without it
        stands. None where the altitudes say nothing at all. [m]
    """

    text: str
    touches: Touched = "nothing"
    reason: str = ""
    spans: tuple[tuple[float, float], ...] = ()
    mark: str = ""
    off_m: float | None = None

    def concerns(self, start_s: float, end_s: float) -> bool:
        """Whether the doubt is about a stretch of time."""
        return not self.spans or any(begin < end_s and end > start_s for begin, end in self.spans)
