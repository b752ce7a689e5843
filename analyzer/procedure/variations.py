"""The declinations of a procedure: of the reversal fix, and of the station that gives the courses."""

import datetime as dt
import math

from analyzer.errors import ProcedureError
from analyzer.physics.magnetics import Variation, declination
from analyzer.physics.units import DEG, FT
from analyzer.procedure.schema import Procedure

__all__ = ["course_variation", "fix_variation"]

_GIVEN_MODEL = "given in the procedure file"
_DISAGREEMENT_RAD = 2.0 * DEG


def fix_variation(procedure: Procedure, date: dt.date) -> tuple[Variation, tuple[str, ...]]:
    """The declination of the reversal fix, and what is odd about it.

    Raises
    ------
    ProcedureError
        If the file gives no declination, for the fix or for the guidance, and no model can.
    """
    fix, guidance = procedure.fix, procedure.guidance
    place = (fix.latitude_deg * DEG, fix.longitude_deg * DEG, fix.elevation_ft * FT)
    on = fix.variation_date or date
    if fix.variation_deg_east is None:
        try:
            variation = declination(*place, on)
        except ProcedureError:
            if guidance is None or guidance.variation_deg_east is None:
                raise
            return Variation(guidance.variation_deg_east * DEG, _GIVEN_MODEL, 0.0), ()
        return variation, (variation.caution,) if variation.caution else ()
    stated = Variation(fix.variation_deg_east * DEG, _GIVEN_MODEL, 0.0)
    try:
        model = declination(*place, on)
    except ProcedureError:  # no model to compare with; what is given needs none
        return stated, ()
    if abs(math.remainder(model.east_rad - stated.east_rad, math.tau)) <= _DISAGREEMENT_RAD:
        return stated, ()
    charted, modelled = (_east_words(degrees) for degrees in (fix.variation_deg_east, model.east_rad / DEG))
    warning = (
        f"The variation of {fix.name} as charted, {charted}, is used, since a station's radials are aligned to its own "
        f"declination (AIM 1-1-17), but {model.model} gives {modelled} there on {on.isoformat()}."
    )
    return stated, (warning,)


def _east_words(east_deg: float) -> str:
    """A variation in words: ``8° west``, ``24.1° east``."""
    return f"{abs(round(east_deg, 1)):g}° {'west' if east_deg < 0.0 else 'east'}"


def course_variation(procedure: Procedure, at_fix: Variation) -> Variation:
    """The declination that the inbound course is charted with: the guidance's own where it is given, else the fix's."""
    guidance = procedure.guidance
    if guidance is None or guidance.variation_deg_east is None:
        return at_fix
    return Variation(guidance.variation_deg_east * DEG, _GIVEN_MODEL, 0.0)
