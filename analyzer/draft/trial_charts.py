"""Trial charts for an approach, made from the courses it kept: one of each kind, to be tried on the flight."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from analyzer.draft.arc_flown import ArcFlown
from analyzer.draft.fix import FixGiven
from analyzer.physics.units import DEG, NM, wrap
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.schema import Procedure
from analyzer.track.track import Track

__all__ = ["LIMIT_NM", "barbed", "diverge", "on_the_day", "reversals_by", "round_arc"]

LIMIT_NM = 10.0  # the common one: AIM 5-4-9 a.1; a log does not show it
_LEAST_DIVERGENCE_RAD, _MOST_DIVERGENCE_RAD = 8.0 * DEG, 50.0 * DEG  # of a base turn's courses


def on_the_day(track: Track, procedure: Procedure) -> Charted:
    """Resolve a procedure for the day of a log. Raises `ProcedureError` if no magnetic model covers the place or date."""
    return resolve(procedure, datetime.fromtimestamp(float(track.time_s[0]), tz=UTC).date())


def barbed(fix: FixGiven, inbound_deg: float) -> Procedure:
    """A procedure turn with a magnetic inbound course."""
    inbound = inbound_deg % 360.0
    return _chart(
        fix,
        {
            "kind": "procedure-turn",
            "inbound_course_deg": inbound,
            "side": "left",
            "outbound_course_deg": (inbound + 180.0) % 360.0,
            "within_nm": LIMIT_NM,
        },
    )


def round_arc(fix: FixGiven, inbound_deg: float, arc: ArcFlown) -> Procedure:
    """An arc that leads to a magnetic inbound course."""
    turn = "right" if arc.turn > 0 else "left"
    table = {
        "latitude_deg": arc.latitude_rad / DEG,
        "longitude_deg": arc.longitude_rad / DEG,
        "radius_nm": arc.radius_m / NM,
    }
    return _chart(fix, {"kind": "arc", "inbound_course_deg": inbound_deg % 360.0, "turn": turn}, arc=table)


def reversals_by(
    fix: FixGiven, inbound_rad: float, outward_rad: tuple[float, ...], east_rad: float, leg_s: float
) -> Iterator[Procedure]:
    """Charts of every kind of reversal with an inbound course, and base turns for each fitting outbound course.

    Parameters
    ----------
    fix : FixGiven
        The fix.
    inbound_rad : float
        The true inbound course. [rad]
    outward_rad : tuple of float
        Reciprocals of the true courses on which the fix was left. [rad]
    east_rad : float
        The declination, east positive. [rad]
    leg_s : float
        Approximate time of the legs of a hold. [s]
    """
    inbound_deg = (inbound_rad - east_rad) / DEG
    yield barbed(fix, inbound_deg)
    for turn in ("right", "left"):
        yield _chart(fix, {"kind": "hold", "inbound_course_deg": inbound_deg % 360.0, "turn": turn, "leg_time_s": leg_s})
    for outward in outward_rad:
        apart = float(wrap(outward - inbound_rad))
        if diverge(inbound_rad, outward):
            outbound_deg = ((outward - east_rad) / DEG + 180.0) % 360.0
            turn = "left" if apart > 0.0 else "right"
            table = {"kind": "base-turn", "inbound_course_deg": inbound_deg % 360.0, "turn": turn}
            yield _chart(fix, {**table, "outbound_course_deg": outbound_deg})


def diverge(inbound_rad: float, outward_rad: float) -> bool:
    """Whether an inbound course and the reciprocal of an outbound one diverge as in a base turn."""
    return _LEAST_DIVERGENCE_RAD < abs(float(wrap(outward_rad - inbound_rad))) < _MOST_DIVERGENCE_RAD


def _chart(fix: FixGiven, reversal: dict[str, Any], **tables: Any) -> Procedure:
    return Procedure.model_validate({"title": "Draft", "fix": fix.table, "reversal": reversal, **tables})
