"""A quick test whether a route turns back, by its raw records, for all routes of a country.

It passes every route in which `reversals` may find a reversal; `reversals` decides.
"""

from __future__ import annotations

import math
from typing import TypeAlias

__all__ = ["INTERCEPT", "OUTWARD", "REVERSES_DEG", "Route", "turns_back"]

OUTWARD = ("FC", "FD", "FA", "CD", "CF", "CA", "CR")  # legs on a course that can lead outbound in a teardrop
INTERCEPT = ("CI", "VI", "CR", "VR")  # legs that can lie between the turn and the course inbound
REVERSES_DEG = 120.0  # a greater turn is a reversal: without one, charts join a course at 120° at most (IPH ch. 4, of arcs)

Route: TypeAlias = list[bytes]
_CODED = (b"PI", b"HF", b"AF")
_OUTWARD, _INTERCEPT = (frozenset(path.encode() for path in paths) for paths in (OUTWARD, INTERCEPT))


def turns_back(route: Route) -> bytes | None:
    """The fix of a reversal in the records of a route, as in columns 30 to 38; None if there is none."""
    paths = [record[47:49] for record in route]
    for path in _CODED[:2]:
        if path in paths:
            return route[paths.index(path)][29:38]
    teardrop = _teardrop(route, paths)
    if teardrop is not None:
        return teardrop
    return route[len(paths) - 1 - paths[::-1].index(b"AF")][29:38] if b"AF" in paths else None


def _teardrop(route: Route, paths: list[bytes]) -> bytes | None:
    """The fix where an outbound course begins that the next course reverses."""
    if b"CF" not in paths:
        return None
    for i, path in enumerate(paths):
        if path not in _OUTWARD:
            continue
        k = next((k for k in range(i + 1, len(paths)) if paths[k] not in _INTERCEPT), None)
        if k is None or paths[k] != b"CF":
            continue
        out, back = (_degrees(route[j][70:74]) for j in (i, k))
        if out is None or back is None or abs(math.remainder(back - out, 360.0)) < REVERSES_DEG:
            continue
        begins = route[i] if path[:1] == b"F" else route[i - 1] if i else None
        if begins is not None and begins[29:34].strip():
            return begins[29:38]
    return None


def _degrees(text: bytes) -> float | None:
    """A course in degrees, in which the T of a true one stands for the tenths."""
    digits = text.replace(b"T", b"0")
    return int(digits) / 10.0 if digits.isdigit() else None
