"""Magnetic declination (variation) from published models of the Earth's main field.

The World Magnetic Model of the date's epoch is used from 2010 on, the International Geomagnetic Reference Field before. Both
model the main field at a place; the alignment of a station's radials may lag behind it by years.
"""

from __future__ import annotations

import datetime as dt
import functools
import math
from typing import TYPE_CHECKING

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.physics.units import DEG

if TYPE_CHECKING:
    from pygeomag import GeoMag

__all__ = ["Variation", "declination"]

# First year of an epoch -> name, coefficient file, and the error model of the declination: a and b of sqrt(a² + (b/H)²) degrees
# with H in nT. No error model was found for 2010 and before; that of 2015 is used.
_WMM = {
    2010: ("WMM2010", "wmm/WMM_2010.COF", 0.23, 5430.0),
    2015: ("WMM2015v2", "wmm/WMM_2015v2.COF", 0.23, 5430.0),
    2020: ("WMM2020", "wmm/WMM_2020.COF", 0.26, 5625.0),
    2025: ("WMM2025", "wmm/WMM_2025.COF", 0.26, 5417.0),
}
_EPOCH_YEARS = 5
_FIRST_YEAR, _LAST_YEAR = 1900, 2029
_BLACKOUT_NT, _CAUTION_NT = 2000.0, 6000.0  # horizontal intensity: zones of the WMM reports


@dataclass(frozen=True)
class Variation:
    """A declination: `east_rad` positive where magnetic north lies east of true north, so true = magnetic + variation.

    `model` names its source and `date` the day it is valid for. `sd_rad` is its standard deviation from what a compass shows
    there, 0 unless a model gave it. `caution` is a sentence where compasses are unreliable, else empty.
    """

    east_rad: float
    model: str
    sd_rad: float
    date: dt.date | None = None
    caution: str = ""


@functools.lru_cache(maxsize=64)  # a folder of logs covers few places and days
def declination(latitude_rad: float, longitude_rad: float, height_m: float, date: dt.date) -> Variation:
    """Magnetic declination at a place and date.

    Parameters
    ----------
    latitude_rad, longitude_rad : float
        WGS 84. [rad]
    height_m : float
        Above the ellipsoid or mean sea level; the difference is negligible here. [m]
    date : dt.date
        From 1900-01-01 to 2029-12-31.

    Raises
    ------
    ProcedureError
        If no model covers the date, or the horizontal intensity is below 2,000 nT, where declination is meaningless.

    References
    ----------
    .. [1] NOAA NCEI and British Geological Survey, "The US/UK World Magnetic Model", reports of 2010 to 2025: the models, the
       error model of D, and the blackout and caution zones.
    .. [2] IAGA Working Group V-MOD, "International Geomagnetic Reference Field: the fourteenth generation".

    """
    if not _FIRST_YEAR <= date.year <= _LAST_YEAR:
        raise ProcedureError(
            f"No magnetic model covers {date.isoformat()}: they reach from {_FIRST_YEAR} to {_LAST_YEAR}; "
            "give variation_deg_east (or a variation_date in those years) under [fix]"
        )
    epoch = date.year - date.year % _EPOCH_YEARS
    name, file, constant, slope = _WMM.get(epoch, ("IGRF-14", "", *_WMM[2015][2:]))
    place = (math.degrees(latitude_rad), math.degrees(longitude_rad), height_m / 1000.0)
    east_rad, horizontal_nt = _world_magnetic_model(file, *place, date) if file else _reference_field(*place, date)
    if horizontal_nt < _BLACKOUT_NT:
        raise ProcedureError(
            f"The magnetic field at {place[0]:.2f}°, {place[1]:.2f}° is too steep for a compass (horizontal intensity "
            f"{horizontal_nt:.0f} nT, below {_BLACKOUT_NT:.0f}); give variation_deg_east under [fix]"
        )
    caution = (
        f"The horizontal magnetic field at the fix is only {horizontal_nt:.0f} nT: compass and variation are uncertain there."
        if horizontal_nt < _CAUTION_NT
        else ""
    )
    return Variation(east_rad, name, math.hypot(constant, slope / horizontal_nt) * DEG, date, caution)


def _world_magnetic_model(
    file: str, latitude_deg: float, longitude_deg: float, height_km: float, date: dt.date
) -> tuple[float, float]:
    """Declination [rad] and horizontal intensity [nT] of the World Magnetic Model in `file`."""
    first = dt.date(date.year, 1, 1)
    days = (dt.date(date.year + 1, 1, 1) - first).days
    year = date.year + (date - first).days / days
    field = _model(file).calculate(glat=latitude_deg, glon=longitude_deg, alt=height_km, time=year)
    return math.radians(field.d), float(field.h)


@functools.lru_cache(maxsize=len(_WMM))
def _model(file: str) -> GeoMag:
    """The model with its coefficients, read once: reading takes longer than finding the legs of a flight."""
    from pygeomag import GeoMag

    return GeoMag(coefficients_file=file)


def _reference_field(latitude_deg: float, longitude_deg: float, height_km: float, date: dt.date) -> tuple[float, float]:
    """Declination [rad] and horizontal intensity [nT] of the International Geomagnetic Reference Field."""
    import ppigrf  # imports pandas, which is slow and not needed for current dates

    midnight = dt.datetime.combine(date, dt.time())
    east, north, _ = (float(part.item()) for part in ppigrf.igrf(longitude_deg, latitude_deg, height_km, midnight))
    return math.atan2(east, north), math.hypot(east, north)
