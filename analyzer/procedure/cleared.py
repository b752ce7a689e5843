"""A clearance applied to a charted procedure: assigned altitudes replace lower minimums of legs and their fixes."""

from __future__ import annotations

from dataclasses import replace

from analyzer.procedure.approach import ChartedFix, Minimum, PublishedHold
from analyzer.procedure.charted import Charted
from analyzer.procedure.clearance import Clearance, fix_legs
from analyzer.vocabulary import LEGS

__all__ = ["clear"]


def clear(charted: Charted, clearance: Clearance) -> Charted:
    """The procedure as it was cleared.

    An assigned altitude replaces the minimum of its leg where it is higher or the leg has none; a lower one does not, since a
    clearance lowers no charted minimum. The same holds for the minimum of each fix that the leg leads to. Under radar vectors
    the arrival is on no charted route, so that what is assigned on it stands alone. The clearance is kept as `cleared`, from
    which the checks know what excuses the reversal, and which minimums were assigned.
    """
    assigned = dict(clearance.assigned_m)
    legs = fix_legs([fix.role for fix in charted.fixes])
    floors = {leg: _higher(charted.floors_m.get(leg), assigned.get(leg)) for leg in LEGS if leg != "final"}
    if clearance.way == "vectors" and "arrival" in assigned:
        floors["arrival"] = assigned["arrival"]
    return replace(
        charted,
        floors_m={leg: floor for leg, floor in floors.items() if floor is not None},
        minimum=_final(charted.minimum, assigned.get("final")),
        fixes=tuple(_fix(fix, assigned.get(leg)) for fix, leg in zip(charted.fixes, legs, strict=True)),
        holds=tuple(_held(hold, assigned.get("hold")) for hold in charted.holds),
        cleared=clearance,
    )


def _higher(charted_m: float | None, assigned_m: float | None) -> float | None:
    return max((altitude for altitude in (charted_m, assigned_m) if altitude is not None), default=None)


def _final(minimum: Minimum | None, assigned_m: float | None) -> Minimum | None:
    if assigned_m is None:
        return minimum
    if minimum is None:
        return Minimum("mda", assigned_m, "straight-in", None, None)
    return replace(minimum, altitude_m=max(minimum.altitude_m, assigned_m))


def _fix(fix: ChartedFix, assigned_m: float | None) -> ChartedFix:
    """The missed approach point keeps its minimum, which is that of the approach."""
    if assigned_m is None or fix.minimum_m is None or fix.role == "missed-approach-point" or fix.minimum_m > assigned_m:
        return fix
    return replace(fix, minimum_m=assigned_m, assigned=True)


def _held(hold: PublishedHold, assigned_m: float | None) -> PublishedHold:
    if assigned_m is None or (hold.maximum_m is not None and hold.maximum_m < assigned_m):
        return hold  # of several holds, an altitude is assigned in those that allow it
    return replace(hold, minimum_m=_higher(hold.minimum_m, assigned_m))
