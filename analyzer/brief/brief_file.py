"""Reading a brief back from its JSON, for comparison with a flight.

Keys and units are those of the file; what a comparison does not need is ignored.
"""

from __future__ import annotations

import json
import math
import os
from itertools import groupby
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from analyzer.errors import BriefError
from analyzer.files import read_bounded
from analyzer.physics import geodesy
from analyzer.physics.units import DEG, NM
from analyzer.procedure.charted import Charted
from analyzer.procedure.values import Line, MinimumKind
from analyzer.vocabulary import Leg, PartName

__all__ = ["Card", "CardMinimum", "CardPart", "CardPath", "read_card"]

_LARGEST_BYTES = 10_000_000
_SAME_FIX_M = 0.1 * NM
_SAME_COURSE_DEG = 1.0


class _Read(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True, strict=True, allow_inf_nan=False)


class CardPart(_Read):
    """A part as briefed. Angles magnetic; `bank_deg` None in a straight part; altitudes None where none is charted."""

    part: PartName
    leg: Leg
    heading_deg_magnetic: float
    course_deg_magnetic: float | None
    wind_from_deg_true: float
    wind_kt: float
    ground_speed_kt: float
    duration_s: float
    length_nm: float
    bank_deg: float | None
    altitude_start_ft: float | None
    altitude_end_ft: float | None
    end_distance_nm: float


class CardPath(_Read):
    """The path as briefed, from the fix on."""

    latitude_deg: list[Annotated[float, Field(ge=-90, le=90)]] = Field(min_length=2)
    longitude_deg: list[Annotated[float, Field(ge=-180, le=180)]] = Field(min_length=2)


class _CardReversal(_Read):
    inbound_course_deg: float


class _CardFix(_Read):
    name: str
    latitude_deg: float
    longitude_deg: float


class _CardProcedure(_Read):
    title: str
    fix: _CardFix
    reversal: _CardReversal


class CardMinimum(_Read):
    """The minimum of the final leg that the brief was made for."""

    kind: MinimumKind
    altitude_ft: float
    line: Line


class Card(_Read):
    """A brief: the shape, its parts in order, the greatest distance and the path.

    `minimum` is None if none is charted, or the file is from a version that does not write it.
    """

    version: Literal[1]
    procedure: _CardProcedure
    conditions: str
    shape: str
    parts: list[CardPart] = Field(min_length=1)
    farthest_nm: float
    path: CardPath
    minimum: CardMinimum | None = None

    @property
    def whole_parts(self) -> tuple[CardPart, ...]:
        """The parts, with consecutive ones of the same name (a leg and the turn at its end) merged."""
        return tuple(_whole(tuple(run)) for _, run in groupby(self.parts, key=lambda part: part.part))

    def briefs(self, charted: Charted) -> bool:
        """Whether the brief is of this procedure: the same fix and inbound course."""
        fix, here = self.procedure.fix, charted.procedure
        apart, _ = geodesy.inverse(
            charted.fix_latitude_rad, charted.fix_longitude_rad, fix.latitude_deg * DEG, fix.longitude_deg * DEG
        )
        turned = math.remainder(self.procedure.reversal.inbound_course_deg - here.reversal.inbound_course_deg, 360.0)
        return float(apart) < _SAME_FIX_M and abs(turned) <= _SAME_COURSE_DEG


def _whole(run: tuple[CardPart, ...]) -> CardPart:
    first, last = run[0], run[-1]
    if len(run) == 1:
        return first
    seconds, length = sum(part.duration_s for part in run), sum(part.length_nm for part in run)
    speed = sum(part.ground_speed_kt * part.duration_s for part in run) / seconds if seconds > 0.0 else first.ground_speed_kt
    return first.model_copy(
        update={
            "heading_deg_magnetic": last.heading_deg_magnetic,
            "ground_speed_kt": speed,
            "duration_s": seconds,
            "length_nm": length,
            "bank_deg": None,
            "course_deg_magnetic": last.course_deg_magnetic,
            "altitude_end_ft": last.altitude_end_ft,
            "end_distance_nm": last.end_distance_nm,
        }
    )


def read_card(path: str | os.PathLike[str]) -> Card:
    """Read a brief from a file that ``brief --json`` wrote.

    Raises
    ------
    BriefError
        The file cannot be read, or is not a brief of this version; the message says how to make one.
    """
    remedy = "give a file that `analyzer brief PROCEDURE --json FILE` wrote"
    try:
        content = read_bounded(path, _LARGEST_BYTES)
    except (OSError, ValueError) as error:
        raise BriefError(f"{path}: {getattr(error, 'strerror', None) or error}; {remedy}") from None
    if len(content) > _LARGEST_BYTES:
        raise BriefError(f"{path}: over {_LARGEST_BYTES:,} bytes, too long for a brief; {remedy}")
    try:
        document = json.loads(content)
    except (ValueError, RecursionError):
        raise BriefError(f"{path}: not JSON; {remedy}") from None
    try:
        card = Card.model_validate(document)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(step) for step in first["loc"]) or "the whole"
        raise BriefError(f"{path}: no brief of this version: {where}: {first['msg'].lower()}; {remedy}") from None
    if len(card.path.latitude_deg) != len(card.path.longitude_deg):
        raise BriefError(f"{path}: its path has not as many latitudes as longitudes; {remedy}")
    return card
