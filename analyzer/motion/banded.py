"""Cholesky factors of long banded matrices, at a fraction of the work where most columns are alike, and what they are for.

Samples at even steps make the same column over and over. The factor of such a matrix settles: from some column on, its columns
are alike too, up to rounding. So only the first few hundred columns of each such run are factored, and the last of them stands
for the rest.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from analyzer.frozen import dataclass
from analyzer.motion.lapack import dpbtrf
from analyzer.physics.units import FloatArray

__all__ = ["NEAR", "Pencil", "near_inverse", "weighted_variance"]

NEAR = 4  # unknowns next to each other, of which any two share an entry of the band

_SETTLING = 256  # columns of a run that are kept: a smoothing over seven seconds settles within them
_SETTLED = 1e-12  # change of the factor from one column to the next, in shares of its diagonal; rounding leaves a tenth of that


@dataclass(frozen=True, eq=False)
class Pencil:
    """The matrices A + λ B for any λ: bands in lower form, one below the other. Made by `Pencil.of`.

    `source` gives for each column the one of the `kept` columns that has its factor, `cut` those that stand for several.
    """

    a: FloatArray
    b: FloatArray
    kept_a: FloatArray
    kept_b: FloatArray
    source: npt.NDArray[np.int64]
    cut: npt.NDArray[np.int64]

    @classmethod
    def of(cls, a: FloatArray, b: FloatArray) -> Pencil:
        """The pencil of two bands."""
        alike = (a[:, 1:] == a[:, :-1]).all(axis=0) & (b[:, 1:] == b[:, :-1]).all(axis=0)
        places = np.arange(a.shape[1])
        began = np.maximum.accumulate(np.where(np.concatenate([[False], alike]), 0, places))
        kept = places - began < _SETTLING
        source = np.cumsum(kept) - 1
        # the entries of a column stand together in memory, as LAPACK wants them
        whole_a, whole_b, kept_a, kept_b = (np.asfortranarray(band) for band in (a, b, a[:, kept], b[:, kept]))
        return cls(whole_a, whole_b, kept_a, kept_b, source, np.unique(source[~kept]))

    def factor(self, ratio: float) -> FloatArray | None:
        """Cholesky factor for one λ, in the same form; None where the matrix is not positive definite."""
        factor, fault = dpbtrf(self.kept_a + ratio * self.kept_b, lower=1, overwrite_ab=1)
        if not fault and len(self.cut):
            change = np.abs(factor[:, self.cut] - factor[:, self.cut - 1])
            if (change <= _SETTLED * factor[0, self.cut]).all():
                return np.ascontiguousarray(factor.T).take(self.source, axis=0).T
            factor, fault = dpbtrf(self.a + ratio * self.b, lower=1, overwrite_ab=1)
        return None if fault else factor

    def at(self, ratio: float) -> FloatArray:
        """The matrix for one λ."""
        matrix: FloatArray = self.a + ratio * self.b
        return matrix


def near_inverse(matrix: FloatArray, factor: FloatArray) -> FloatArray:
    """What each four unknowns next to each other are known by, from the lower band of their normal equations and its factor.

    It is the inverse of their covariance, factored as L D Lᵀ: the rows are the diagonal of D and then L below its own, row by
    row; shape (10, n - 3), a column for the four from each unknown on. What the four are known by without those behind them is
    in the factor; what those behind take away is in the factor of the same matrix begun from its end.
    """
    n = matrix.shape[1] - NEAR + 1
    front = [[factor[i - k, k : k + n] for k in range(i + 1)] for i in range(NEAR)]
    behind = np.zeros((NEAR, matrix.shape[1] + NEAR))  # row k: how each unknown hangs on the k-th behind it
    behind[:, : matrix.shape[1]] = _reversed(dpbtrf(_reversed(matrix), lower=1, overwrite_ab=1)[0])
    pivots: list[FloatArray] = []
    below: list[list[FloatArray]] = []
    for i in range(NEAR):
        scaled: list[FloatArray] = []
        for j in range(i + 1):
            known = front[i][0] * front[j][0]
            for k in range(1, j + 1):
                known += front[i][k] * front[j][k]
            for k in range(NEAR, NEAR + j):
                known -= behind[k - i, i : i + n] * behind[k - j, j : j + n]
            for k in range(j):
                known -= scaled[k] * below[j][k] if j < i else scaled[k] ** 2 / pivots[k]
            scaled.append(known)
        below.append([scaled[k] / pivots[k] for k in range(i)])
        pivots.append(scaled[i])
    return np.array([*pivots, *(row for rows in below for row in rows)])


def weighted_variance(near: FloatArray, first: npt.NDArray[np.int64], weights: FloatArray) -> FloatArray:
    """Variance of weighted sums of four unknowns, `weights` of shape (4, m), from the `first` on, by their `near_inverse`."""
    d0, d1, d2, d3, l10, l20, l21, l30, l31, l32 = near.take(first, axis=1)
    z0 = weights[0]
    z1 = weights[1] - l10 * z0
    z2 = weights[2] - l20 * z0 - l21 * z1
    z3 = weights[3] - l30 * z0 - l31 * z1 - l32 * z2
    variance: FloatArray = z0**2 / d0 + z1**2 / d1 + z2**2 / d2 + z3**2 / d3
    return variance


def _reversed(band: FloatArray) -> FloatArray:
    """The lower band of the matrix with its rows and columns in reverse order; of a factor, that of its transpose."""
    turned = np.zeros_like(band, order="F")
    for off, row in enumerate(band):
        turned[off, : len(row) - off] = row[: len(row) - off][::-1]
    return turned
