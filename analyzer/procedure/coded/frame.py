"""What a conversion works with: one reversal of an approach, the records around it, and courses by one declination."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.errors import ProcedureError
from analyzer.procedure.coded.approach import CodedApproach
from analyzer.procedure.coded.closure import bearing_and_distance
from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.guidance import CourseBy, declination, true_degrees
from analyzer.procedure.coded.leg import Leg
from analyzer.procedure.coded.lookup import Lookup
from analyzer.procedure.coded.reversals import CodedReversal

__all__ = ["Frame", "apart", "rounded"]


@dataclass(frozen=True, eq=False)
class Frame:
    """One reversal to be converted.

    `same` are the reversals of other routes that are the same one. `fix` is the fix of the procedure file, `by` what gives the
    final course. Courses of the inbound course, the fixes and the missed approach are magnetic by `by`, all others by
    `fix_variation_deg_east`.
    """

    approach: CodedApproach
    at: Lookup
    by: CourseBy
    reversal: CodedReversal
    same: tuple[CodedReversal, ...]
    fix: Facility
    fix_variation_deg_east: float | None
    inbound_deg: float

    @property
    def name(self) -> str:
        """The approach as errors name it."""
        return f"{self.approach.airport} {self.approach.ident}"

    def true_of(self, leg: Leg, before: Facility | None = None) -> float | None:
        """The true course of a leg: as coded, else that on which the way from the fix before it ends. [degrees]"""
        if leg.course is not None:
            return true_degrees(leg.course, declination(leg, self.at, self.by))
        end = self.at.find(leg.fix) if leg.fix is not None else None
        if before is None or end is None or before == end:
            return None
        return (bearing_and_distance(end, before)[0] + 180.0) % 360.0

    @property
    def inbound_true_deg(self) -> float | None:
        """The true inbound course."""
        by = self.by.variation_deg_east
        return None if by is None else (self.inbound_deg + by) % 360.0

    def by_guidance(self, leg: Leg, before: Facility | None = None) -> float | None:
        """The course of a leg, magnetic as the inbound course is."""
        return self._magnetic(leg, before, self.by.variation_deg_east)

    def by_fix(self, leg: Leg, before: Facility | None = None) -> float | None:
        """The course of a leg, magnetic by the declination of the reversal fix."""
        return self._magnetic(leg, before, self.fix_variation_deg_east)

    def _magnetic(self, leg: Leg, before: Facility | None, variation_deg_east: float | None) -> float | None:
        true = self.true_of(leg, before)
        if true is not None and variation_deg_east is not None:
            return rounded(true - variation_deg_east)
        # no declination is known, so that a magnetic course stays what it is
        return leg.course.degrees if leg.course is not None and not leg.course.true else None

    def fail(self, words: str) -> ProcedureError:
        """An error about this approach."""
        return ProcedureError(f"{self.at.file.name}: {self.name}: {words}")

    def last_fix(self, legs: Sequence[Leg]) -> Facility | None:
        """The last fix of some legs whose place is known."""
        return next((found for leg in reversed(legs) if leg.fix is not None and (found := self.at.find(leg.fix))), None)


def apart(one_deg: float, other_deg: float) -> float:
    """The angle from the one course to the other, right positive, -180 to 180 degrees."""
    return math.remainder(other_deg - one_deg, 360.0)


def rounded(degrees: float) -> float:
    """A course to the tenth of a degree, from 0 up to 360."""
    return round(degrees % 360.0, 1) % 360.0
