"""A Kalman filter and Rauch-Tung-Striebel smoother for a body whose jerk is drawn anew each second, with plain matrices.

R. E. Kalman, "A new approach to linear filtering and prediction problems", J. Basic Eng. 82 (1960), 35-45; H. E. Rauch,
F. Tung, C. T. Striebel, "Maximum likelihood estimates of linear dynamic systems", AIAA J. 3 (1965), 1445-1450.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# position, velocity, acceleration and jerk a second later; the jerk is replaced by a new one
STEP = np.array([[1.0, 1.0, 0.5, 1.0 / 6.0], [0.0, 1.0, 1.0, 0.5], [0.0, 0.0, 1.0, 1.0], [0.0, 0.0, 0.0, 0.0]])
VAGUE = np.array([1e4, 1e3, 1e2])  # standard deviations of the unknown beginning, far above any flight's


@dataclass(frozen=True, eq=False)
class Smoothed:
    """State and covariance at every whole second, and minus twice the log-likelihood of the samples less a constant."""

    mean: Floats  # (n, 4)
    covariance: Floats  # (n, 4, 4)
    deviance: float


def seen_at(into_s: float) -> Floats:
    """How a position is seen some time into a second."""
    return np.array([1.0, into_s, into_s**2 / 2.0, into_s**3 / 6.0])


def smooth(time_s: Floats, sample: Floats, seconds: int, noise_sd: float, jerk_sd: float) -> Smoothed:
    """Smooth samples of one coordinate taken at any times from 0 to `seconds`."""
    fresh = np.diag([0.0, 0.0, 0.0, jerk_sd**2])
    mean, covariance = np.zeros(4), np.diag([*VAGUE**2, jerk_sd**2])
    filtered: list[tuple[Floats, Floats]] = []
    predicted: list[tuple[Floats, Floats]] = []
    deviance = 0.0
    interval = np.minimum(time_s.astype(int), seconds - 1)
    for k in range(seconds):
        if k:
            mean, covariance = STEP @ mean, STEP @ covariance @ STEP.T + fresh
        predicted.append((mean, covariance))
        for i in np.flatnonzero(interval == k):
            h = seen_at(time_s[i] - k)
            variance = float(h @ covariance @ h) + noise_sd**2
            gain, surprise = covariance @ h / variance, sample[i] - float(h @ mean)
            mean = mean + gain * surprise
            kept = np.eye(4) - np.outer(gain, h)
            covariance = kept @ covariance @ kept.T + noise_sd**2 * np.outer(gain, gain)
            deviance += np.log(variance) + surprise**2 / variance
        filtered.append((mean, covariance))
    means, covariances = [filtered[-1][0]], [filtered[-1][1]]
    for k in range(seconds - 2, -1, -1):
        back = np.linalg.solve(predicted[k + 1][1], STEP @ filtered[k][1]).T
        means.append(filtered[k][0] + back @ (means[-1] - predicted[k + 1][0]))
        covariances.append(filtered[k][1] + back @ (covariances[-1] - predicted[k + 1][1]) @ back.T)
    return Smoothed(np.array(means[::-1]), np.array(covariances[::-1]), float(deviance))
