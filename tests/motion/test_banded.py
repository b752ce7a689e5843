"""What four neighbours are known by, against the inverse of the whole matrix."""

import numpy as np
import pytest

from analyzer.motion.banded import near_inverse, weighted_variance
from analyzer.motion.knots import Knots, basis
from analyzer.motion.likelihood import Design


@pytest.mark.parametrize("ratio", [1e-3, 1.0, 1e3, 1e6])
@pytest.mark.parametrize(("samples", "step_s"), [(200, 1.0), (60, 5.0), (1000, 0.2)])
def test_the_error_of_a_curve_is_that_of_the_whole_inverse(samples, step_s, ratio):
    """Uneven samples in two stretches; value, rate and acceleration at each."""
    chance = np.random.default_rng(0)
    time_s = np.sort(step_s * (np.arange(samples) + chance.uniform(0.0, 0.3, samples)))
    knots = Knots.over([(time_s[0], time_s[samples // 2 - 1]), (time_s[samples // 2], time_s[-1])])
    design = Design.of(knots, time_s)
    band = design.matrices.at(ratio)
    whole = sum(
        np.diag(band[k, : band.shape[1] - k], -k) + (np.diag(band[k, : band.shape[1] - k], k) if k else 0.0) for k in range(4)
    )
    covariance = np.linalg.inv(whole)
    near = near_inverse(band, design.factor(ratio))
    first, u = knots.locate(time_s)
    for order in range(3):
        weights = basis(u, order)
        exact = [weights[:, k] @ covariance[i : i + 4, i : i + 4] @ weights[:, k] for k, i in enumerate(first)]
        np.testing.assert_allclose(weighted_variance(near, first, weights), exact, rtol=1e-6)
