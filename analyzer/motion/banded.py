"""Cholesky factors of long banded matrices, at a fraction of the work where most columns are alike.

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

__all__ = ["Pencil"]

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
