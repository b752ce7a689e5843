"""One leg of a coded approach, from its primary record (ARINC 424-18, 4.1.9.1)."""

from __future__ import annotations

from typing import Literal

from analyzer.frozen import dataclass
from analyzer.procedure.coded.fields import Course, FieldError, Levels, columns, course, hundredths, levels, tenths, whole
from analyzer.procedure.values import Direction

__all__ = ["Leg", "Reference", "leg_of"]

_TURNS: dict[str, Direction | None] = {"L": "left", "R": "right", "E": None, " ": None}


@dataclass(frozen=True)
class Reference:
    """A fix or navaid as a leg names it: its ident, its region and the section of its record."""

    ident: str
    region: str
    section: str

    def __str__(self) -> str:
        kinds = {"D": "VHF navaid", "DB": "NDB", "PN": "terminal NDB", "EA": "waypoint", "PC": "terminal waypoint",
                 "HC": "terminal waypoint", "PG": "runway", "PI": "localizer", "HI": "localizer", "PA": "airport"}  # fmt: skip
        region = f" of region {self.region}" if self.region else ""
        return f"{kinds.get(self.section, f'fix of section {self.section}')} {self.ident}{region}"


@dataclass(frozen=True)
class Leg:
    """One leg.

    Attributes
    ----------
    path : str
        Path and terminator, such as CF.
    description : str
        The four letters of the waypoint description (5.17).
    navaid : Reference, optional
        The recommended navaid.
    theta_deg, rho_nm : float, optional
        Bearing and distance of the fix from that navaid, by its declination.
    distance_nm, time_s : float, optional
        Length or time of the leg; the distance of a procedure turn is the one to remain within, that of a hold the length of
        its leg.
    speed_is : {"at", "most", "least"}
        How the speed limit applies.
    line : int
        Line number of the record.
    """

    sequence: str
    fix: Reference | None
    description: str
    turn: Direction | None
    path: str
    navaid: Reference | None
    theta_deg: float | None
    rho_nm: float | None
    course: Course | None
    distance_nm: float | None
    time_s: float | None
    levels: Levels
    speed_kt: float | None
    speed_is: Literal["at", "most", "least"]
    angle_deg: float | None
    cycle: str
    line: int

    @property
    def role(self) -> str:
        """The fourth letter of the description (5.17).

        A, C and D are initial fixes, B intermediate ones; I is the final approach course fix, F the final approach fix, M the
        missed approach point.
        """
        return self.description[3]

    @property
    def is_step_down(self) -> bool:
        """Whether the fix is a step-down fix, named or not (5.17: S, A and B in the third place)."""
        return self.description[2] in "SAB"

    @property
    def begins_missed(self) -> bool:
        """Whether the missed approach begins with this leg (5.17: M in the third place)."""
        return self.description[2] == "M"


def leg_of(record: str, line: int) -> Leg:
    """Decode a leg from its primary record.

    Raises
    ------
    FieldError
        A field is invalid.
    """
    turn = columns(record, 44, 44)
    if turn not in _TURNS:
        raise FieldError("the turn", 44, turn, "L, R or E")
    length = columns(record, 75, 78)
    timed = length.startswith("T")
    speed = whole(record, "the speed limit", 100, 102)
    described = columns(record, 118, 118)
    return Leg(
        sequence=columns(record, 27, 29),
        fix=_reference(columns(record, 30, 34), columns(record, 35, 36), columns(record, 37, 38)),
        description=columns(record, 40, 43),
        turn=_TURNS[turn],
        path=columns(record, 48, 49).strip(),
        navaid=_reference(columns(record, 51, 54), columns(record, 55, 56), columns(record, 79, 80)),
        theta_deg=tenths(record, "theta", 63, 66),
        rho_nm=tenths(record, "rho", 67, 70),
        course=course(record, "the course", 71, 74),
        distance_nm=None if timed else tenths(record, "the distance", 75, 78),
        time_s=_seconds(record) if timed else None,
        levels=levels(record),
        speed_kt=float(speed) if speed else None,
        speed_is={"+": "least", "-": "most"}.get(described, "at"),  # type: ignore[arg-type] # 5.261
        angle_deg=hundredths(record, "the vertical angle", 103, 106),
        cycle=columns(record, 129, 132),
        line=line,
    )


def _seconds(record: str) -> float | None:
    """Decode a time in tenths of a minute after a T: T010 is one minute (5.27). [s]"""
    minutes = tenths(record, "the time", 76, 78)
    return None if minutes is None else minutes * 60.0


def _reference(ident: str, region: str, section: str) -> Reference | None:
    return Reference(ident.strip(), region.strip(), section.strip()) if ident.strip() else None
