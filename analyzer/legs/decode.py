"""Cutting a stretch of seconds into the steps of a row, in order, so that the sum of their log-densities is greatest.

The model runs from left to right, so dynamic programming needs no loop over time: the best score of a step at every second is
its running sum plus a running maximum over the second it began at [1]_.

References
----------
.. [1] L. R. Rabiner, "A tutorial on hidden Markov models and selected applications in speech recognition",
   Proc. IEEE 77 (1989), 257-286, sections III.B (the recursion) and IV.A (left-to-right models).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analyzer.physics.units import FloatArray

__all__ = ["STEP_COST", "Cut", "decode"]

STEP_COST = 5.0  # in log-density: what one more step must gain before it is believed


@dataclass(frozen=True)
class Cut:
    """Where the steps begin: the index of each step's first second, None where it was left out or not reached."""

    score: float
    starts: tuple[int | None, ...]


def decode(log_density: FloatArray, optional: Sequence[bool], must_finish: bool) -> Cut:
    """The best cut.

    Parameters
    ----------
    log_density : array, shape (n, steps)
        Log-density of each second under each step; -inf where the step cannot be.
    optional : sequence of bool, length steps
        Whether a step may be left out.
    must_finish : bool
        Whether the last second must be in the last step. A log that stops in the middle may end in any.

    Returns
    -------
    Cut
        With score -inf where no cut is possible.
    """
    n, steps = log_density.shape
    # an impossible second weighs so much that no path through it is ever best, without the arithmetic of infinities
    total = np.vstack([np.zeros(steps), np.cumsum(np.maximum(log_density, -1e6), axis=0)])
    best = np.full((steps, n), -np.inf)
    begun: npt.NDArray[np.int64] = np.zeros((steps, n), dtype=np.int64)
    before: list[list[int]] = []
    came: list[npt.NDArray[np.int64]] = []
    for step in range(steps):
        predecessors = _predecessors(step, optional)
        before.append(predecessors)
        entry = np.full((max(1, len(predecessors)), n), -np.inf)
        for row, predecessor in enumerate(predecessors):
            if predecessor < 0:
                entry[row, 0] = 0.0
            else:
                entry[row, 1:] = best[predecessor, :-1]
        came.append(np.argmax(entry, axis=0))
        gain = entry.max(axis=0) - total[:-1, step]
        running = np.maximum.accumulate(gain)
        best[step] = total[1:, step] + running - STEP_COST
        begun[step] = np.maximum.accumulate(np.where(gain == running, np.arange(n), 0))
    last = steps - 1 if must_finish else int(np.argmax(best[:, -1]))
    score = float(best[last, -1])
    return Cut(score if score > -1e5 else -np.inf, _trace(last, n - 1, begun, before, came, steps))


def _predecessors(step: int, optional: Sequence[bool]) -> list[int]:
    """Steps that may come right before this one; -1 is the beginning."""
    found, at = [], step - 1
    while True:
        found.append(at)
        if at < 0 or not optional[at]:
            return found
        at -= 1


def _trace(
    step: int,
    at: int,
    begun: npt.NDArray[np.int64],
    before: list[list[int]],
    came: list[npt.NDArray[np.int64]],
    steps: int,
) -> tuple[int | None, ...]:
    starts: list[int | None] = [None] * steps
    while step >= 0:
        start = int(begun[step, at])
        starts[step] = start
        step, at = before[step][int(came[step][start])], start - 1
        if at < 0:
            break
    return tuple(starts)
