"""The decoder against the best of all cuts, each tried in turn."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.legs.decode import STEP_COST, Cut, decode

Case = tuple[np.ndarray, list[bool], bool]


def rows_flown(optional: list[bool], must_finish: bool) -> list[tuple[int, ...]]:
    """Every choice of steps that may be flown: none that cannot be left out is left out before the last one flown."""
    steps = len(optional)
    chosen = [tuple(c) for size in range(1, steps + 1) for c in itertools.combinations(range(steps), size)]
    allowed = [flown for flown in chosen if all(optional[k] for k in range(flown[-1]) if k not in flown)]
    return [flown for flown in allowed if not must_finish or flown[-1] == steps - 1]


def score(density: np.ndarray, starts: dict[int, int]) -> float:
    ends = [*list(starts.values())[1:], len(density)]
    sums = [density[start:end, step].sum() for (step, start), end in zip(starts.items(), ends, strict=True)]
    return float(sum(sums)) - STEP_COST * len(starts)


def best_of_all(density: np.ndarray, optional: list[bool], must_finish: bool) -> float:
    best = -math.inf
    for flown in rows_flown(optional, must_finish):
        for cuts in itertools.combinations(range(1, len(density)), len(flown) - 1):
            best = max(best, score(density, dict(zip(flown, (0, *cuts), strict=True))))
    return best


@st.composite
def cases(draw: st.DrawFn) -> Case:
    seconds, steps = draw(st.integers(1, 9)), draw(st.integers(1, 4))
    value = st.floats(-30.0, 10.0) | st.just(-math.inf)
    cells = draw(st.lists(value, min_size=seconds * steps, max_size=seconds * steps))
    optional = draw(st.lists(st.booleans(), min_size=steps, max_size=steps))
    return np.array(cells).reshape(seconds, steps), optional, draw(st.booleans())


@settings(max_examples=250, deadline=None)
@given(cases())
def test_no_other_cut_scores_better(case):
    density, optional, must_finish = case
    kept = density.copy()
    cut = decode(density, optional, must_finish)
    assert (density == kept).all()
    best = best_of_all(density, optional, must_finish)
    if best == -math.inf:
        assert cut.score == -math.inf
        return
    assert cut.score == pytest.approx(best, abs=1e-6)
    starts = {step: start for step, start in enumerate(cut.starts) if start is not None}
    assert tuple(starts) in rows_flown(optional, must_finish)
    assert list(starts.values()) == sorted(set(starts.values()))
    assert next(iter(starts.values())) == 0
    assert score(density, starts) == pytest.approx(best, abs=1e-6)


def plain(*columns: list[float]) -> np.ndarray:
    return np.column_stack([np.array(column, dtype=float) for column in columns])


def test_a_step_that_does_not_pay_its_cost_is_left_out():
    first, last = [0.0] * 4 + [-40.0] * 4, [-40.0] * 4 + [0.0] * 4
    worth_little = [-40.0] * 3 + [STEP_COST / 2.0 - 1.0, 0.0] + [-40.0] * 3
    worth_much = [-40.0] * 3 + [STEP_COST, STEP_COST] + [-40.0] * 3
    assert decode(plain(first, worth_little, last), [False, True, False], True).starts == (0, None, 4)
    assert decode(plain(first, worth_much, last), [False, True, False], True).starts == (0, 3, 5)


def test_a_log_may_stop_in_the_middle():
    density = plain([0.0] * 5 + [-50.0] * 3, [-50.0] * 5 + [0.0] * 3, [-50.0] * 8)
    assert decode(density, [False] * 3, must_finish=False) == Cut(-2.0 * STEP_COST, (0, 5, None))
    assert decode(density, [False] * 3, must_finish=True).score == pytest.approx(-50.0 - 3.0 * STEP_COST)


def test_fewer_seconds_than_steps_make_no_cut():
    assert decode(np.zeros((2, 3)), [False] * 3, must_finish=True).score == -math.inf
