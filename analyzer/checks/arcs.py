"""Check of an arc: how well its radius was held."""

from __future__ import annotations

import numpy as np

from analyzer.checks.check import Check
from analyzer.checks.finding import Context, Finding, judge
from analyzer.checks.phrases import clock, miles
from analyzer.physics import geodesy
from analyzer.physics.units import NM

__all__ = ["CHECKS", "arc_radius"]


def arc_radius(context: Context) -> tuple[Finding, ...]:
    """Greatest and RMS departure from the radius of the charted arc."""
    part, charted = context.reversal.part("arc"), context.motion.charted
    radius, latitude, longitude = charted.arc_radius_m, charted.arc_latitude_rad, charted.arc_longitude_rad
    if part is None or radius is None or latitude is None or longitude is None:
        return ()
    states = context.motion.states.between(part.start_s, part.end_s)
    if not len(states):
        return ()
    limit = context.standard["arc_radius"]
    distance, _ = geodesy.inverse_near(latitude, longitude, states.latitude_rad, states.longitude_rad)
    off = distance - radius
    k = int(np.argmax(np.abs(off)))
    time = float(states.time_s[k])
    margin = limit.value * NM - abs(float(off[k]))
    verdict, reason = judge(margin, context.motion.position_sd_m, context.incomplete(part.start_s, part.end_s, part.name))
    rms = float(np.sqrt(np.mean(off**2)))
    return (
        Finding(
            check="arc_radius",
            leg=part.leg,
            part=part.name,
            sentence=(
                f"Arc of {miles(radius, 1)}: at most {miles(abs(float(off[k])))} {'outside' if off[k] > 0 else 'inside'} it, "
                f"at {clock(time)}; {miles(rms)} RMS; limit {miles(limit.value * NM, 1)}."
            ),
            verdict=verdict,
            measured=abs(float(off[k])) / NM,
            limit=limit.value,
            unit="NM",
            margin=margin / NM,
            sd=context.motion.position_sd_m / NM,
            source=limit.source,
            reason=reason,
            details={"rms_nm": rms / NM},
            place=context.place(time),
        ),
    )


CHECKS = (
    Check(
        "arc_radius",
        arc_radius,
        "Greatest departure from the charted arc on the arc part.",
        "Geodesic distance from the arc's centre less its radius.",
        limits={"arc_radius": ("NM",)},
        weight=10.0,
        all_lost_by={"NM": 1.0},
    ),
)
