"""The length of the legs of a hold or teardrop, by time or distance, and the DME station it is read from."""

from __future__ import annotations

from typing import Any

from analyzer.procedure.coded.facilities import Facility
from analyzer.procedure.coded.frame import Frame
from analyzer.procedure.coded.leg import Leg

__all__ = ["dme_station", "leg_length"]

_BY_DME = ("FD", "CD", "VD")  # legs that end at a DME distance; the distance of FC and CF is along the track


def leg_length(frame: Frame, leg: Leg) -> dict[str, Any]:
    """The keys of the limit of a leg: a time, or a distance and how it is measured; empty if none is coded.

    The legs of a hold are measured along the track if the approach is flown by satellite, else by DME if its leg names a
    station (AIM 5-3-8 j.5 and j.7).
    """
    if leg.time_s is not None:
        return {"leg_time_s": leg.time_s}
    if leg.distance_nm is None:
        return {}
    hold = leg.path.startswith("H")
    station = dme_station(frame)
    by_dme = (hold and frame.by.kind != "gps") or leg.path in _BY_DME
    read = by_dme and station is not None and leg.navaid is not None and leg.navaid.ident == station.ident
    return {"leg_length_nm": leg.distance_nm, "leg_by": "dme" if read else "along-track"}


def dme_station(frame: Frame) -> Facility | None:
    """The station that the legs of the reversal are measured from, if they are measured by DME."""
    leg = frame.reversal.leg
    if leg.distance_nm is None or leg.path not in (*_BY_DME, "HF") or leg.navaid is None or frame.by.kind == "gps":
        return None
    return frame.at.find(leg.navaid) if leg.navaid.section == "D" else None
