"""The course reversals in a coded approach: procedure turns, holds in lieu, teardrops and arcs, by route.

A procedure turn is a PI leg, a hold in lieu an HF leg, an arc an AF leg. A teardrop (base turn) has no leg type of its own: it
is a course outbound from a fix, to a distance or another fix, and then a course back to a fix, with a reversing turn between
them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from analyzer.frozen import dataclass
from analyzer.procedure.coded.approach import CodedApproach, Route
from analyzer.procedure.coded.leg import Leg, Reference
from analyzer.procedure.coded.turns import INTERCEPT, OUTWARD, REVERSES_DEG
from analyzer.procedure.values import Direction

__all__ = ["CodedReversal", "distinct", "reversals"]

CodedKind = Literal["procedure-turn", "hold", "base-turn", "arc"]


@dataclass(frozen=True)
class CodedReversal:
    """A reversal of one route.

    Attributes
    ----------
    kind, route : str
        Its kind, and the name of the route.
    leg : Leg
        The leg that codes it: the PI, HF or last AF leg; of a teardrop the outbound leg.
    fix : Reference
        Where it begins, or where the arc ends.
    before, after : tuple of Leg
        The other legs of the route.
    turn : str
        Direction of the turn back, or round the centre of the arc.
    inbound : Leg, optional
        The leg back of a teardrop.
    begins : Leg, optional
        The first AF leg of an arc.
    """

    kind: CodedKind
    route: str
    leg: Leg
    fix: Reference
    before: tuple[Leg, ...]
    after: tuple[Leg, ...]
    turn: Direction
    inbound: Leg | None = None
    begins: Leg | None = None

    @property
    def side(self) -> Direction:
        """The side of the outbound course that a procedure turn lies on: it turns back the other way."""
        return "left" if self.turn == "right" else "right"

    @property
    def key(self) -> tuple[object, ...]:
        """Key that is equal for the same reversal in different routes."""
        leg, course = self.leg, self.leg.course
        if self.kind == "arc":
            return (self.kind, leg.navaid, leg.rho_nm, self.fix, self.turn)
        return (self.kind, self.fix, self.turn, course, leg.distance_nm, leg.time_s, leg.levels)


def reversals(approach: CodedApproach) -> tuple[CodedReversal, ...]:
    """The reversal of each route that has one: its procedure turn or hold, else its teardrop, else its arc."""
    by_route = (_reversal(route) for route in approach.routes)
    return tuple(reversal for reversal in by_route if reversal is not None)


def distinct(of_routes: Sequence[CodedReversal]) -> list[list[CodedReversal]]:
    """Group equal reversals, in the order of the routes."""
    groups: dict[tuple[object, ...], list[CodedReversal]] = {}
    for reversal in of_routes:
        groups.setdefault(reversal.key, []).append(reversal)
    return list(groups.values())


def _reversal(route: Route) -> CodedReversal | None:
    for search in (_turn_or_hold, _teardrop, _arc):
        reversal = next(search(route), None)
        if reversal is not None:
            return reversal
    return None


def _turn_or_hold(route: Route) -> Iterator[CodedReversal]:
    for i, leg in enumerate(route.legs):
        if leg.path in ("PI", "HF") and leg.fix is not None and leg.turn is not None and leg.course is not None:
            kind: CodedKind = "procedure-turn" if leg.path == "PI" else "hold"
            yield CodedReversal(kind, route.name, leg, leg.fix, route.legs[:i], route.legs[i + 1 :], leg.turn)


def _teardrop(route: Route) -> Iterator[CodedReversal]:
    for i, out in enumerate(route.legs):
        fix = out.fix if out.path.startswith("F") else route.legs[i - 1].fix if i else None
        if out.path not in OUTWARD or out.course is None or fix is None:
            continue
        k = next((k for k in range(i + 1, len(route.legs)) if route.legs[k].path not in INTERCEPT), None)
        if k is None:
            continue
        back = route.legs[k]
        if back.path != "CF" or back.course is None or back.course.true != out.course.true:
            continue
        swept = math.remainder(back.course.degrees - out.course.degrees, 360.0)
        turns = [leg.turn for leg in route.legs[i + 1 : k + 1] if leg.turn is not None]
        if abs(swept) >= REVERSES_DEG and (turns or abs(swept) < 180.0 - 1e-6):
            # without a direction the turn is the shorter way round (5.20: no direction is coded for a turn of less than 90°)
            turn: Direction = turns[0] if turns else "right" if swept > 0.0 else "left"
            yield CodedReversal("base-turn", route.name, out, fix, route.legs[:i], route.legs[k + 1 :], turn, inbound=back)


def _arc(route: Route) -> Iterator[CodedReversal]:
    """The last arc of a route, including the arcs before it that it continues."""
    arcs = [i for i, leg in enumerate(route.legs) if leg.path == "AF" and leg.fix and leg.turn and leg.navaid and leg.rho_nm]
    if not arcs:
        return
    last = first = arcs[-1]
    leg = route.legs[last]
    while first - 1 in arcs and _same_arc(route.legs[first - 1], leg):
        first -= 1
    if leg.fix is not None and leg.turn is not None:
        yield CodedReversal(
            "arc", route.name, leg, leg.fix, route.legs[:first], route.legs[last + 1 :], leg.turn, begins=route.legs[first]
        )


def _same_arc(one: Leg, other: Leg) -> bool:
    return (one.navaid, one.rho_nm, one.turn) == (other.navaid, other.rho_nm, other.turn)
