"""Why no approach by a chart was found in a flight: it was flown elsewhere, or a position is mistaken."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM, FloatArray

if TYPE_CHECKING:
    from analyzer.procedure.schema import Procedure
    from analyzer.track.track import Track

__all__ = ["misfit_words"]

_ELSEWHERE_NM = 60.0  # from the fix; an approach with its arrival comes nearer
_LETTERS = "look at the letters or signs of the positions, in the chart and in the log"
_PLACES = 100  # of the flight, of which the nearest counts


def misfit_words(track: Track, procedure: Procedure) -> str:
    """What stands next to a chart by which no approach was found."""
    latitudes, longitudes = (one[:: max(1, len(track) // _PLACES)] for one in (track.latitude_rad, track.longitude_rad))
    nearest = _nearest_nm(procedure, latitudes, longitudes)
    if nearest < _ELSEWHERE_NM:
        return "The flight does not fit it: no approach on its courses was found."
    fix = procedure.fix.name
    slips = {
        "latitude and longitude": (longitudes, latitudes, "choose their columns under “Read the log differently”"),
        "east and west": (latitudes, -longitudes, _LETTERS),
        "north and south": (-latitudes, longitudes, _LETTERS),
    }
    for what, (there, across, advice) in slips.items():
        if abs(there).max() <= 90.0 * DEG and _nearest_nm(procedure, there, across) < _ELSEWHERE_NM:
            return f"With {what} exchanged the flight comes near {fix}: {advice}."
    return f"The flight was elsewhere: it comes no nearer to {fix} than {nearest:,.0f} NM."


def _nearest_nm(procedure: Procedure, latitudes_rad: FloatArray, longitudes_rad: FloatArray) -> float:
    """The distance of the nearest of some places to the fix. [NM]"""
    fix = procedure.fix
    distances, _ = geodesy.inverse(fix.latitude_deg * DEG, fix.longitude_deg * DEG, latitudes_rad, longitudes_rad)
    return float(distances.min()) / NM
