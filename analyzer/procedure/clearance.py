"""What air traffic control cleared: straight in, vectors, or altitudes assigned to legs, as given on the command line.

A log does not show a clearance, so it has to be given. `analyzer.procedure.cleared` applies one to a resolved procedure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal, TypeAlias, get_args

from analyzer.errors import ClearanceError
from analyzer.frozen import dataclass
from analyzer.physics.units import FT
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import AltitudeUnit, FixRole
from analyzer.vocabulary import Leg

__all__ = ["AS_CHARTED", "CLEARED_LEGS", "Clearance", "Way", "fix_legs", "read_clearance"]

Way: TypeAlias = Literal["straight-in", "vectors"]
_WAYS: tuple[Way, ...] = get_args(Way)
CLEARED_LEGS: tuple[Leg, ...] = ("arrival", "outbound", "reversal", "inbound", "final", "hold")

_METRES: dict[AltitudeUnit, float] = {"ft": FT, "m": 1.0}
_LEAST_M, _MOST_M = -1500.0 * FT, 60000.0 * FT  # as for the altitudes of a procedure file
_OF_A_REVERSAL: tuple[Leg, ...] = ("outbound", "reversal")


@dataclass(frozen=True)
class Clearance:
    """What was cleared: a way to the final course without a reversal, and altitudes assigned to legs, in the order flown. [m]

    `way` is None where neither straight in nor vectors was cleared. An empty clearance leaves everything as charted.
    """

    way: Way | None = None
    assigned_m: tuple[tuple[Leg, float], ...] = ()


AS_CHARTED = Clearance()


def fix_legs(roles: Sequence[FixRole]) -> tuple[Leg, ...]:
    """The leg that leads to each fix of the final course, from the roles of the fixes in the order passed.

    ``inbound`` up to the final approach fix, ``final`` beyond it; where none of them is one, all lie on the final leg.
    """
    before = roles.index("final-approach-fix") + 1 if "final-approach-fix" in roles else 0
    return tuple("inbound" if number < before else "final" for number in range(len(roles)))


def read_clearance(words: Sequence[str], procedure: Procedure) -> Clearance:
    """The clearance stated by these words: ``straight-in``, ``vectors``, or ``LEG=ALTITUDE`` in the procedure's altitude unit.

    Raises
    ------
    ClearanceError
        A word is none of these, two contradict each other, or one does not fit the procedure: an altitude of a leg that is not
        charted, or above its charted maximum.
    """
    ways = [word for word in _WAYS if word in words]
    if len(ways) > 1:
        raise ClearanceError(
            "--cleared straight-in and --cleared vectors: vectors to the final course lead straight in; give vectors alone"
        )
    assigned: dict[Leg, float] = {}
    for word in words:
        if word in _WAYS:
            continue
        leg, altitude_m = _assigned(word, procedure.altitude_unit)
        if leg in assigned:
            raise ClearanceError(f"--cleared {word}: the {leg} leg has an assigned altitude already; give each leg once")
        if ways and leg in _OF_A_REVERSAL:
            raise ClearanceError(
                f"--cleared {ways[0]} and --cleared {word}: cleared so, there is no {leg} leg; leave out one of the two"
            )
        _fits(word, leg, altitude_m, procedure)
        assigned[leg] = altitude_m
    return Clearance(ways[0] if ways else None, tuple((leg, assigned[leg]) for leg in CLEARED_LEGS if leg in assigned))


def _assigned(word: str, unit: AltitudeUnit) -> tuple[Leg, float]:
    """A leg and the altitude assigned to it. [m]"""
    name, equals, number = word.partition("=")
    leg = next((leg for leg in CLEARED_LEGS if leg == name.strip()), None)
    if not equals or leg is None:
        raise ClearanceError(
            f"--cleared {word}: must be straight-in, vectors, or a leg and its assigned altitude like inbound=3000; "
            f"legs are {', '.join(CLEARED_LEGS)}"
        )
    units = {"ft": "feet", "m": "metres"}[unit]
    least, most = (f"{bound / _METRES[unit]:.0f}" for bound in (_LEAST_M, _MOST_M))
    try:
        altitude_m = float(number) * _METRES[unit]
    except ValueError:
        altitude_m = math.nan
    if not _LEAST_M <= altitude_m <= _MOST_M:
        raise ClearanceError(
            f"--cleared {word}: {number.strip() or 'nothing'} is no altitude; give {units} above mean sea level, as the "
            f"procedure file does, from {least} to {most}, like {leg}={'3000' if unit == 'ft' else '900'}"
        )
    return leg, altitude_m


def _fits(word: str, leg: Leg, altitude_m: float, procedure: Procedure) -> None:
    """Raise `ClearanceError` where an assigned altitude does not fit what is charted."""
    if leg in _OF_A_REVERSAL and procedure.reversal.kind == "none":
        raise ClearanceError(f"--cleared {word}: {procedure.title} charts no reversal, so it has no {leg} leg; leave it out")
    if leg == "hold" and not procedure.holds:
        raise ClearanceError(
            f"--cleared {word}: {procedure.title} has no [[holds]]; for a hold in lieu of a procedure turn give outbound, "
            "reversal or inbound"
        )
    unit = procedure.altitude_unit
    for ceiling_m, where in _ceilings(leg, procedure):
        if altitude_m > ceiling_m:
            raise ClearanceError(
                f"--cleared {word}: above the charted maximum of {ceiling_m / _METRES[unit]:.0f} {unit} {where}, so no "
                "flight could keep both; correct the altitude, or the maximum in the procedure file"
            )


def _ceilings(leg: Leg, procedure: Procedure) -> Iterator[tuple[float, str]]:
    """The charted maximums of a leg and of its fixes, of holds the highest one; each with where it holds. [m]"""
    ceilings: Iterable[float | None] = (
        [hold.maximum_ft for hold in procedure.holds] if leg == "hold" else [procedure.altitudes.ceilings_by_leg().get(leg)]
    )
    yield max(math.inf if ceiling is None else ceiling * FT for ceiling in ceilings), f"on the {leg} leg"
    for fix, of_leg in zip(procedure.fixes, fix_legs([fix.role for fix in procedure.fixes]), strict=True):
        if of_leg == leg and fix.maximum_ft is not None:
            yield fix.maximum_ft * FT, f"at {fix.name}"
