"""Cutting a stretch of seconds into an ordered row of steps so that the sum of their log-densities is greatest.

The model runs from left to right, so dynamic programming needs no loop over time: the best score of a step at every second is
its running sum plus a running maximum over the second it began at [1]_. Densities are best given relative to those of an
unspecified flight, so that a score does not depend on the length of the stretch.

References
----------
.. [1] L. R. Rabiner, "A tutorial on hidden Markov models and selected applications in speech recognition",
   Proc. IEEE 77 (1989), 257-286, sections III.B (the recursion) and IV.A (left-to-right models).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypeAlias

import numpy as np

from analyzer.frozen import dataclass
from analyzer.physics.runs import true_runs
from analyzer.physics.units import BoolArray, FloatArray

__all__ = ["STEP_COST", "Cut", "CutEnd", "decode"]

CutEnd: TypeAlias = Literal["last step", "any step", "last step, any second"]

STEP_COST = 5.0  # in log-density: the gain that one more step needs to be accepted


@dataclass(frozen=True)
class Cut:
    """Where the steps begin: the index of each step's first second, None where it was left out or not reached.

    `stop` is the second after the last one that the steps take up.
    """

    score: float
    starts: tuple[int | None, ...]
    stop: int


def decode(log_density: FloatArray, optional: Sequence[bool], end: CutEnd) -> Cut:
    """The best cut.

    Parameters
    ----------
    log_density : array, shape (n, steps)
        Log-density of each second under each step; -inf where the step cannot be.
    optional : sequence of bool, length steps
        Whether a step may be left out.
    end : str
        Where the cut must end: in the last step at the last second; in any step there, for a log that stops in the middle; or
        in the last step at whatever second is best, ignoring what follows.

    Returns
    -------
    Cut
        With score -inf where no cut is possible.
    """
    n, steps = log_density.shape
    rows = log_density.T
    possible = np.isfinite(rows)
    always = [row.all() for row in possible]
    total = np.zeros((steps, n + 1))
    np.cumsum(rows if all(always) else np.where(possible, rows, 0.0), axis=1, out=total[:, 1:])
    # row 0 is the beginning, row k the k-th step; column t the best score of having ended with it before second t
    ended = np.full((steps + 1, n + 1), -np.inf)
    ended[0, 0] = 0.0
    earliest = _earliest(optional)
    gain = np.empty((steps, n))  # the value of beginning a step at each second, for its later seconds
    for step in range(steps):
        first_row = earliest[step]
        before = ended[step, :-1] if first_row == step else ended[first_row : step + 1, :-1].max(axis=0)
        np.subtract(before, total[step, :-1], out=gain[step])
        # a step goes on through no second that it cannot be in, so that each run of possible seconds stands alone
        for first, last in [(0, n)] if always[step] else true_runs(possible[step]):
            best = np.maximum.accumulate(gain[step, first:last])
            best += total[step, first + 1 : last + 1]
            np.subtract(best, STEP_COST, out=ended[step + 1, first + 1 : last + 1])
    last_row = 1 + int(np.argmax(ended[1:, -1])) if end == "any step" else steps
    stop = 1 + int(np.argmax(ended[steps, 1:])) if end == "last step, any second" else n
    score = float(ended[last_row, stop])
    if score == -np.inf:
        return Cut(score, (None,) * steps, stop)
    return Cut(score, _trace(last_row, stop, gain, ended, earliest, possible), stop)


def _earliest(optional: Sequence[bool]) -> list[int]:
    """For each step the first row of those that may come before it: back to one that must not be left out, or the beginning."""
    rows: list[int] = []
    for step in range(len(optional)):
        rows.append(rows[-1] if step and optional[step - 1] else step)
    return rows


def _trace(
    row: int, end: int, gain: FloatArray, ended: FloatArray, earliest: Sequence[int], possible: BoolArray
) -> tuple[int | None, ...]:
    """Where the steps begin on the best path that ends with a row before a second: of equals, the latest of each."""
    starts: list[int | None] = [None] * len(gain)
    while row > 0 and end > 0:
        step = row - 1
        barred = np.flatnonzero(~possible[step, :end])
        first = int(barred[-1]) + 1 if len(barred) else 0
        end = starts[step] = end - 1 - int(np.argmax(gain[step, first:end][::-1]))
        row = step - int(np.argmax(ended[earliest[step] : step + 1, end][::-1]))
    return tuple(starts)
