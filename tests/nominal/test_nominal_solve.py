"""Roots against closed forms, and what they cost in values of the function."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from analyzer.nominal.solve import solve

# a function, its bounds, and its root, known without any search
KNOWN: dict[str, tuple[Callable[[float], float], float, float, float]] = {
    "square": (lambda x: x * x - 2.0, 0.0, 2.0, math.sqrt(2.0)),
    "line": (lambda x: 3.0 * x - 1.0, -10.0, 10.0, 1.0 / 3.0),
    "falling": (lambda x: 1.0 - x**3, 0.0, 5.0, 1.0),
    "sine": (math.sin, 2.0, 4.0, math.pi),
    "exponential": (lambda x: math.exp(x) - 10.0, 0.0, 10.0, math.log(10.0)),
    "flat at the root": (lambda x: (x - 0.3) ** 3, 0.0, 1.0, 0.3),
    "steep on one side": (lambda x: (x - 0.9) * (1.0 if x < 0.9 else 1e6), 0.0, 1.0, 0.9),
    "the fixed point of the cosine": (lambda x: math.cos(x) - x, 0.0, 1.0, 0.739085133215160641655),  # OEIS A003957
}


def counted(measure: Callable[[float], float]) -> tuple[Callable[[float], float], list[float]]:
    asked: list[float] = []

    def noted(x: float) -> float:
        asked.append(x)
        return measure(x)

    return noted, asked


@pytest.mark.parametrize("name", KNOWN)
def test_roots_are_those_of_closed_forms(name):
    measure, low, high, root = KNOWN[name]
    assert solve(measure, low, high) == pytest.approx(root, abs=1e-7 * (high - low))


@pytest.mark.parametrize("name", [name for name in KNOWN if name not in ("flat at the root", "steep on one side")])
def test_a_smooth_function_is_asked_a_dozen_times(name):
    """Halving alone would ask 26 times, and 676 times where one search lies within another."""
    measure, low, high, _ = KNOWN[name]
    noted, asked = counted(measure)
    solve(noted, low, high)
    assert len(asked) <= 12


def test_without_a_change_of_sign_there_is_none():
    noted, asked = counted(lambda x: x * x + 1.0)
    assert solve(noted, -1.0, 1.0) is None
    assert len(asked) == 2


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-1.0, 0.0)])
def test_a_root_at_a_bound_is_that_bound(low, high):
    assert solve(lambda x: x, low, high) == 0.0


def test_a_jump_across_nought_is_found_by_halving():
    noted, asked = counted(lambda x: -1.0 if x < 0.731 else 2.0)
    assert solve(noted, 0.0, 1.0) == pytest.approx(0.731, abs=1e-7)
    assert len(asked) <= 30


def test_small_steps_and_noise_do_not_lead_away():
    """As of a path that is integrated in pieces: steps of a millimetre in a slope of thirty metres a second."""
    for seed in range(50):
        rng = np.random.default_rng(seed)
        root = float(rng.uniform(1.0, 599.0))
        noted, asked = counted(lambda s, root=root: round(30.0 * (s - root), 3))
        assert solve(noted, 0.0, 600.0) == pytest.approx(root, abs=1e-4)
        assert len(asked) <= 30


def test_any_cubic_with_one_root_between_the_bounds():
    """Roots that the polynomial was made of; the other two lie beyond the bounds."""
    rng = np.random.default_rng(7)
    for _ in range(300):
        root, others = float(rng.uniform(-0.99, 0.99)), rng.uniform(1.01, 9.0, 2) * rng.choice([-1.0, 1.0], 2)
        noted, asked = counted(lambda x, root=root, o=others: float((x - root) * (x - o[0]) * (x - o[1])))
        assert solve(noted, -1.0, 1.0) == pytest.approx(root, abs=2e-7)
        assert len(asked) <= 26
