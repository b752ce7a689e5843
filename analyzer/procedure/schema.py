"""The procedure file as it is written: every table and key, in the file's own units.

A `Procedure` is always complete for its kind of reversal: what the kind needs is checked when the value is made, whether
from a file or in Python. What is odd but possible is left to `Procedure.warnings`.
"""

import datetime as dt
from typing import Annotated, Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from analyzer.procedure import plausibility
from analyzer.vocabulary import LEGS, Leg

__all__ = [
    "Altitudes",
    "Arc",
    "Fix",
    "GlidePath",
    "GuidanceTable",
    "Point",
    "Procedure",
    "Reversal",
    "ReversalKind",
    "RunwayTable",
]

ReversalKind: TypeAlias = Literal["procedure-turn", "base-turn", "hold", "arc", "none"]
FixKind: TypeAlias = Literal["vor", "ndb", "marker", "waypoint"]
GuidanceKind: TypeAlias = Literal["vor", "localizer", "ndb", "gps"]
Direction: TypeAlias = Literal["left", "right"]

# Breaks, control characters, which a terminal obeys, and those that turn the direction of what is written after them.
_NO_TEXT = r"\x00-\x1f\x7f-\x9f\u{2028}-\u{202e}\u{2066}-\u{2069}"
Text: TypeAlias = Annotated[
    str, Field(min_length=1, max_length=120, pattern=rf"^[^{_NO_TEXT}]+$", description="a line of 1 to 120 characters")
]
Latitude: TypeAlias = Annotated[float, Field(ge=-90, le=90, description="degrees from -90 to 90, north positive")]
Longitude: TypeAlias = Annotated[float, Field(ge=-180, le=180, description="degrees from -180 to 180, east positive")]
Course: TypeAlias = Annotated[float, Field(ge=0, le=360, description="degrees from 0 to 360")]
Elevation: TypeAlias = Annotated[float, Field(ge=-1500, le=20000, description="feet above mean sea level, -1500 to 20000")]
Floor: TypeAlias = Annotated[float, Field(ge=-1500, le=60000, description="feet above mean sea level, -1500 to 60000")]

# What each kind of reversal cannot do without, beside the inbound course.
_NEEDED: dict[str, tuple[str, ...]] = {
    "procedure-turn": ("side", "outbound_course_deg", "within_nm"),
    "base-turn": ("turn", "outbound_course_deg"),
    "hold": ("turn",),
    "arc": ("turn",),
    "none": (),
}


class _Table(BaseModel):
    """A table of the file: no unknown keys, no strings for numbers, no nan or inf; not to be changed once made."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, validate_default=True)


class Fix(_Table):
    """``[fix]``: the fix that the reversal starts from and is measured from."""

    name: Text
    kind: FixKind
    latitude_deg: Latitude
    longitude_deg: Longitude
    elevation_ft: Elevation = 0.0
    variation_deg_east: Annotated[float, Field(ge=-180, le=180, description="degrees, east positive")] | None = None
    variation_date: Annotated[dt.date, Field(description="a date without quotes, like 2026-11-25")] | None = None


class Point(_Table):
    """``within_from``: the point that the distance limit is measured from, where it is not the fix."""

    latitude_deg: Latitude
    longitude_deg: Longitude


class Reversal(_Table):
    """``[reversal]``: what is charted, with magnetic courses."""

    kind: ReversalKind
    side: Direction | None = None
    turn: Direction | None = None
    outbound_course_deg: Course | None = None
    inbound_course_deg: Course
    within_nm: Annotated[float, Field(ge=1, le=30, description="nautical miles from 1 to 30")] | None = None
    within_from: Point | None = None
    maximum_speed_kias: Annotated[float, Field(ge=40, le=400, description="knots from 40 to 400")] | None = None
    offset_course_deg: Course | None = None
    leg_time_s: Annotated[float, Field(ge=10, le=600, description="seconds from 10 to 600")] | None = None
    leg_length_nm: Annotated[float, Field(ge=0.5, le=50, description="nautical miles from 0.5 to 50")] | None = None
    depicted_track: bool = False  # charted as a track that must be flown exactly as drawn (AIM 5-4-9 a.1)

    @field_validator("side", "turn", "outbound_course_deg", "within_nm")
    @classmethod
    def _needed_by_kind(cls, value: object, info: ValidationInfo) -> object:
        kind = info.data.get("kind")
        if value is None and kind is not None and info.field_name in _NEEDED[kind]:
            raise PydanticCustomError("needed", "missing, and a reversal of kind {kind} needs it", {"kind": kind})
        return value

    @field_validator("turn")
    @classmethod
    def _turn_against_side(cls, value: Direction | None, info: ValidationInfo) -> Direction | None:
        # Whatever the shape, the long turn back leads from the side that was manoeuvred on towards the other one.
        if info.data.get("kind") != "arc" and value is not None and value == info.data.get("side"):
            raise PydanticCustomError(
                "contradiction",
                'contradicts side = "{value}": a reversal on one side of the outbound course turns back to the other; '
                "correct one or leave it out",
                {"value": value},
            )
        return value

    @field_validator("leg_length_nm")
    @classmethod
    def _one_leg_limit(cls, value: float | None, info: ValidationInfo) -> float | None:
        if info.data.get("kind") != "hold" or "leg_time_s" not in info.data:
            return value
        if value is None and info.data["leg_time_s"] is None:
            raise PydanticCustomError("needed", "missing, and so is leg_time_s: a hold needs the one or the other")
        if value is not None and info.data["leg_time_s"] is not None:
            raise PydanticCustomError(
                "contradiction", "given beside leg_time_s: a hold has one of the two; leave the other out"
            )
        return value


class Arc(_Table):
    """``[arc]``: the arc flown to the inbound course."""

    latitude_deg: Latitude
    longitude_deg: Longitude
    radius_nm: Annotated[float, Field(ge=0.5, le=100, description="nautical miles from 0.5 to 100")]


class GuidanceTable(_Table):
    """``[guidance]``: what the course is flown by."""

    kind: GuidanceKind
    latitude_deg: Latitude | None = None
    longitude_deg: Longitude | None = None
    full_scale_deg: Annotated[float, Field(ge=0.5, le=45, description="degrees from 0.5 to 45")] | None = None
    full_scale_nm: Annotated[float, Field(ge=0.05, le=10, description="nautical miles from 0.05 to 10")] | None = None

    @field_validator("longitude_deg")
    @classmethod
    def _whole_position(cls, value: float | None, info: ValidationInfo) -> float | None:
        if "latitude_deg" in info.data and (value is None) != (info.data["latitude_deg"] is None):
            raise PydanticCustomError("needed", "latitude_deg and longitude_deg go together: give both, or neither for the fix")
        return value

    @field_validator("full_scale_deg", "full_scale_nm")
    @classmethod
    def _unit_of_kind(cls, value: float | None, info: ValidationInfo) -> float | None:
        kind = info.data.get("kind")
        if value is None or kind is None:
            return value
        right = "full_scale_nm" if kind == "gps" else "full_scale_deg"
        if info.field_name != right:
            raise PydanticCustomError(
                "contradiction", "does not go with kind {kind}; use {right} instead", {"kind": kind, "right": right}
            )
        return value


class GlidePath(_Table):
    """``[glide_path]``: the published descent path on final."""

    angle_deg: Annotated[float, Field(ge=1, le=10, description="degrees from 1 to 10")]
    threshold_crossing_height_ft: Annotated[float, Field(ge=0, le=200, description="feet from 0 to 200")] = 50.0


class Altitudes(_Table):
    """``[altitudes]``: at or above, leg by leg; a leg without a key has no floor."""

    arrival_ft: Floor | None = None
    outbound_ft: Floor | None = None
    reversal_ft: Floor | None = None
    inbound_ft: Floor | None = None
    final_ft: Floor | None = None

    def by_leg(self) -> dict[Leg, float]:
        """The floors that are given, in feet by leg, in the order flown."""
        floors = {leg: getattr(self, f"{leg}_ft") for leg in LEGS}
        return {leg: floor for leg, floor in floors.items() if floor is not None}


class RunwayTable(_Table):
    """``[runway]``: the landing runway."""

    name: Text
    threshold_latitude_deg: Latitude
    threshold_longitude_deg: Longitude
    threshold_elevation_ft: Elevation
    true_heading_deg: Course


class Procedure(_Table):
    """The procedure file: root of all tables."""

    title: Text
    category: Literal["A", "B", "C", "D", "E"] | None = None
    fix: Fix
    reversal: Reversal
    arc: Arc | None = None
    guidance: GuidanceTable | None = None
    glide_path: GlidePath | None = None
    altitudes: Altitudes = Field(default_factory=Altitudes)
    runway: RunwayTable | None = None

    @field_validator("arc")
    @classmethod
    def _arc_for_arcs(cls, value: Arc | None, info: ValidationInfo) -> Arc | None:
        reversal = info.data.get("reversal")
        if value is None and isinstance(reversal, Reversal) and reversal.kind == "arc":
            raise PydanticCustomError("needed", "missing, and a reversal of kind arc needs it")
        return value

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is odd about the values taken together, one sentence each; none of it stops an analysis."""
        return plausibility.warnings(self)
