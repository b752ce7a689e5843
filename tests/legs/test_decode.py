"""The decoder against the best of all cuts, each tried in turn."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.legs.decode import STEP_COST, Cut, CutEnd, decode

Case = tuple[np.ndarray, list[bool], CutEnd]


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


def best_of_all(density: np.ndarray, optional: list[bool], end: CutEnd) -> float:
    best = -math.inf
    for stop in range(1, len(density) + 1) if end == "last step, any second" else [len(density)]:
        for flown in rows_flown(optional, end != "any step"):
            for cuts in itertools.combinations(range(1, stop), len(flown) - 1):
                best = max(best, score(density[:stop], dict(zip(flown, (0, *cuts), strict=True))))
    return best


@st.composite
def cases(draw: st.DrawFn) -> Case:
    seconds, steps = draw(st.integers(1, 9)), draw(st.integers(1, 4))
    value = st.floats(-30.0, 10.0) | st.just(-math.inf)
    cells = draw(st.lists(value, min_size=seconds * steps, max_size=seconds * steps))
    optional = draw(st.lists(st.booleans(), min_size=steps, max_size=steps))
    end = draw(st.sampled_from(["last step", "any step", "last step, any second"]))
    return np.array(cells).reshape(seconds, steps), optional, end


@settings(max_examples=250, deadline=None)
@given(cases())
def test_no_other_cut_scores_better(case):
    density, optional, end = case
    kept = density.copy()
    cut = decode(density, optional, end)
    assert (density == kept).all()
    best = best_of_all(density, optional, end)
    if best == -math.inf:
        assert cut.score == -math.inf
        return
    assert cut.score == pytest.approx(best, abs=1e-6)
    starts = {step: start for step, start in enumerate(cut.starts) if start is not None}
    assert tuple(starts) in rows_flown(optional, end != "any step")
    assert cut.stop == len(density) or (end == "last step, any second" and cut.stop > max(starts.values()))
    assert list(starts.values()) == sorted(set(starts.values()))
    assert next(iter(starts.values())) == 0
    assert score(density[: cut.stop], starts) == pytest.approx(best, abs=1e-6)


def plain(*columns: list[float]) -> np.ndarray:
    return np.column_stack([np.array(column, dtype=float) for column in columns])


def test_a_step_that_does_not_pay_its_cost_is_left_out():
    first, last = [0.0] * 4 + [-40.0] * 4, [-40.0] * 4 + [0.0] * 4
    worth_little = [-40.0] * 3 + [STEP_COST / 2.0 - 1.0, 0.0] + [-40.0] * 3
    worth_much = [-40.0] * 3 + [STEP_COST, STEP_COST] + [-40.0] * 3
    assert decode(plain(first, worth_little, last), [False, True, False], "last step").starts == (0, None, 4)
    assert decode(plain(first, worth_much, last), [False, True, False], "last step").starts == (0, 3, 5)


def test_a_log_may_stop_in_the_middle():
    density = plain([0.0] * 5 + [-50.0] * 3, [-50.0] * 5 + [0.0] * 3, [-50.0] * 8)
    assert decode(density, [False] * 3, "any step") == Cut(-2.0 * STEP_COST, (0, 5, None), 8)
    assert decode(density, [False] * 3, "last step").score == pytest.approx(-50.0 - 3.0 * STEP_COST)


def test_fewer_seconds_than_steps_make_no_cut():
    assert decode(np.zeros((2, 3)), [False] * 3, "last step").score == -math.inf


def test_what_follows_the_last_step_may_be_left_alone():
    density = plain([0.0] * 4 + [-50.0] * 8, [-50.0] * 4 + [1.0] * 5 + [-50.0] * 3)
    assert decode(density, [False] * 2, "last step, any second") == Cut(5.0 - 2.0 * STEP_COST, (0, 4), 9)


def test_half_a_day_of_seconds_scores_as_the_minutes_that_count():
    # Half a day in which the first step is as likely as anything and the second most unlikely, before the ten seconds it is in.
    for seconds in (100, 43_200):
        first, last = np.zeros(seconds), np.full(seconds, -40.0)
        first[-10:], last[-10:] = -60.0, 3.0
        assert decode(np.column_stack([first, last]), [False] * 2, "last step") == Cut(
            30.0 - 2.0 * STEP_COST, (0, seconds - 10), seconds
        )
    # and of what cannot be for most of it
    first[:-10], last[:-10] = 0.0, -np.inf
    assert decode(np.column_stack([first, last]), [False] * 2, "last step").score == pytest.approx(30.0 - 2.0 * STEP_COST)
    assert decode(np.column_stack([last, first]), [False] * 2, "last step").score == -np.inf
