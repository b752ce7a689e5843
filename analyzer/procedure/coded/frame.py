"""The frame of a conversion: one reversal of an approach, the records around it, and the declinations of its courses."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
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

    Attributes
    ----------
    approach, reversal
        The approach, and the reversal in it.
    at : Lookup
        The records that it refers to.
    by : CourseBy
        The source of the final course. Courses inbound, of fixes and of the missed approach use its declination.
    same : tuple of CodedReversal
        The same reversal in all routes that have it.
    fix : Facility
        The fix of the procedure file.
    fix_variation_deg_east : float, optional
        The declination of all other courses.
    inbound_deg : float
        The inbound course.
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
        """Name of the approach in errors."""
        return f"{self.approach.airport} {self.approach.ident}"

    def true_of(self, leg: Leg, before: Facility | None) -> float | None:
        """True course of a leg: as coded, else the course from the fix before, at its end. [degrees]"""
        if leg.course is not None:
            return true_degrees(leg.course, declination(leg, self.at, self.by))
        end = self.at.find(leg.fix) if leg.fix is not None else None
        if before is None or end is None or before == end:
            return None
        return (bearing_and_distance(end, before)[0] + 180.0) % 360.0

    @property
    def inbound_true_deg(self) -> float | None:
        """True inbound course. [degrees]"""
        by = self.by.variation_deg_east
        return None if by is None else (self.inbound_deg + by) % 360.0

    def by_guidance(self, leg: Leg, before: Facility | None = None) -> float | None:
        """Magnetic course of a leg, by the declination of the inbound course. [degrees]"""
        return self._magnetic(leg, before, self.by.variation_deg_east)

    def by_fix(self, leg: Leg, before: Facility | None = None) -> float | None:
        """Magnetic course of a leg, by the declination of the reversal fix. [degrees]"""
        return self._magnetic(leg, before, self.fix_variation_deg_east)

    def _magnetic(self, leg: Leg, before: Facility | None, variation_deg_east: float | None) -> float | None:
        true = self.true_of(leg, before)
        if true is not None and variation_deg_east is not None:
            return rounded(true - variation_deg_east)
        # without a declination, a magnetic course stays as it is
        return leg.course.degrees if leg.course is not None and not leg.course.true else None

    def fail(self, words: str) -> ProcedureError:
        """An error about this approach."""
        return ProcedureError(f"{self.at.file.name}: {self.name}: {words}")

    def last_fix(self, legs: Sequence[Leg]) -> Facility | None:
        """The last fix of some legs whose position is known."""
        return next((place for leg in reversed(legs) if leg.fix is not None and (place := self.at.find(leg.fix))), None)


def apart(one_deg: float, other_deg: float) -> float:
    """The angle from one course to another, positive right, from -180 to 180. [degrees]"""
    return math.remainder(other_deg - one_deg, 360.0)


def rounded(degrees: float) -> float:
    """A course rounded to a tenth, from 0 to below 360. [degrees]"""
    return round(degrees % 360.0, 1) % 360.0
