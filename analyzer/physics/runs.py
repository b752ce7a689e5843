"""Runs of a series over which something holds."""

from __future__ import annotations

import numpy as np

from analyzer.physics.units import BoolArray

__all__ = ["true_runs"]


def true_runs(where: BoolArray) -> list[tuple[int, int]]:
    """The first index of each run of true values, and the one after its last.

    >>> true_runs(np.array([True, False, True, True, False]))
    [(0, 1), (2, 4)]
    >>> true_runs(np.array([], dtype=bool))
    []
    """
    edges: list[int] = (np.flatnonzero(where[1:] != where[:-1]) + 1).tolist()
    if len(where) and where[0]:
        edges.insert(0, 0)
    if len(where) and where[-1]:
        edges.append(len(where))
    return list(zip(edges[::2], edges[1::2], strict=True))
