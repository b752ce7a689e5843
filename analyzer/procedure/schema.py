"""The procedure file as it is written: every table and key, in the file's own units.

A `Procedure` is always complete for its kind of reversal, and free of contradictions: both are checked when the value is made,
whether from a file or in Python. `Procedure.warnings` reports what is odd but possible. Altitudes are in feet, whatever the
file's unit, which `Procedure.altitude_unit` keeps.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Any, Self

from pydantic import Field, ValidationError, ValidationInfo, field_validator, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from analyzer.procedure import plausibility
from analyzer.procedure.altitude_unit import altitude_unit, feet_named
from analyzer.procedure.approach_schema import (
    ArrivalTable,
    DmeTable,
    FixTable,
    HoldTable,
    MinimumLine,
    MinimumTable,
    MissedApproachTable,
    Speeds,
    Units,
)
from analyzer.procedure.contradictions import contradictions
from analyzer.procedure.values import (
    AltitudeUnit,
    Category,
    Course,
    Direction,
    Elevation,
    FixKind,
    Floor,
    GuidanceKind,
    Latitude,
    LegBy,
    LegLength,
    LegTime,
    Longitude,
    ReversalKind,
    Speed,
    Table,
    Text,
    VariationEast,
    WithinBy,
)
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

_MOST = 50  # tables of a list

# What each kind of reversal requires in addition to the inbound course.
_NEEDED: dict[str, tuple[str, ...]] = {
    "procedure-turn": ("side", "outbound_course_deg", "within_nm"),
    "base-turn": ("turn", "outbound_course_deg"),
    "hold": ("turn",),
    "arc": ("turn",),
    "none": (),
}


class Fix(Table):
    """``[fix]``: the fix that the reversal starts from and is measured from."""

    name: Text
    kind: FixKind
    latitude_deg: Latitude
    longitude_deg: Longitude
    elevation_ft: Elevation = 0.0
    variation_deg_east: VariationEast | None = None
    variation_date: Annotated[dt.date, Field(description="a date without quotes, like 2026-11-25")] | None = None


class Point(Table):
    """``within_from``: the point that the distance limit is measured from, where it is not the fix."""

    latitude_deg: Latitude
    longitude_deg: Longitude


class Reversal(Table):
    """``[reversal]``: what is charted, with magnetic courses."""

    kind: ReversalKind
    side: Direction | None = None
    turn: Direction | None = None
    outbound_course_deg: Course | None = None
    inbound_course_deg: Course
    within_nm: Annotated[float, Field(ge=1, le=30, description="nautical miles from 1 to 30")] | None = None
    within_from: Point | None = None
    within_by: WithinBy | None = None
    maximum_speed_kias: Speed | None = None
    offset_course_deg: Course | None = None
    leg_time_s: LegTime | None = None
    leg_length_nm: LegLength | None = None
    leg_by: LegBy | None = None
    maximum_time_s: LegTime | None = None
    entry_within_deg: Annotated[float, Field(ge=1, le=180, description="degrees from 1 to 180")] | None = None
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
            raise PydanticCustomError("contradiction", "given with leg_time_s: a hold has one of the two; leave the other out")
        return value


class Arc(Table):
    """``[arc]``: the arc flown to the inbound course."""

    latitude_deg: Latitude
    longitude_deg: Longitude
    radius_nm: Annotated[float, Field(ge=0.5, le=100, description="nautical miles from 0.5 to 100")]


class GuidanceTable(Table):
    """``[guidance]``: what the course is flown by."""

    kind: GuidanceKind
    latitude_deg: Latitude | None = None
    longitude_deg: Longitude | None = None
    full_scale_deg: Annotated[float, Field(ge=0.5, le=45, description="degrees from 0.5 to 45")] | None = None
    full_scale_nm: Annotated[float, Field(ge=0.05, le=10, description="nautical miles from 0.05 to 10")] | None = None
    variation_deg_east: VariationEast | None = None

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


class GlidePath(Table):
    """``[glide_path]``: the published descent path on final."""

    angle_deg: Annotated[float, Field(ge=1, le=10, description="degrees from 1 to 10")]
    threshold_crossing_height_ft: Annotated[float, Field(ge=0, le=200, description="feet from 0 to 200")] = 50.0


class Altitudes(Table):
    """``[altitudes]``: at or above, and at or below, leg by leg; a leg without a key has no floor or ceiling."""

    arrival_ft: Floor | None = None
    outbound_ft: Floor | None = None
    reversal_ft: Floor | None = None
    inbound_ft: Floor | None = None
    final_ft: Floor | None = None
    arrival_maximum_ft: Floor | None = None
    outbound_maximum_ft: Floor | None = None
    reversal_maximum_ft: Floor | None = None
    inbound_maximum_ft: Floor | None = None
    final_maximum_ft: Floor | None = None

    def by_leg(self) -> dict[Leg, float]:
        """The floors that are given, in feet by leg, in the order flown."""
        floors = {leg: getattr(self, f"{leg}_ft") for leg in LEGS}
        return {leg: floor for leg, floor in floors.items() if floor is not None}

    def ceilings_by_leg(self) -> dict[Leg, float]:
        """The ceilings that are given, in feet by leg, in the order flown."""
        ceilings = {leg: getattr(self, f"{leg}_maximum_ft") for leg in LEGS}
        return {leg: ceiling for leg, ceiling in ceilings.items() if ceiling is not None}


class RunwayTable(Table):
    """``[runway]``: the landing runway."""

    name: Text
    threshold_latitude_deg: Latitude
    threshold_longitude_deg: Longitude
    threshold_elevation_ft: Elevation
    true_heading_deg: Course
    length_ft: Annotated[float, Field(ge=500, le=20000, description="feet from 500 to 20000")] | None = None


class Procedure(Table):
    """The procedure file: root of all tables."""

    title: Text
    category: Category | None = None
    units: Units | None = None
    fix: Fix
    reversal: Reversal
    arc: Arc | None = None
    guidance: GuidanceTable | None = None
    glide_path: GlidePath | None = None
    altitudes: Altitudes = Field(default_factory=Altitudes)
    runway: RunwayTable | None = None
    minimum: MinimumTable | None = None
    missed_approach: MissedApproachTable | None = None
    speeds: Speeds | None = None
    dme: DmeTable | None = None
    fixes: Annotated[tuple[FixTable, ...], Field(strict=False, max_length=_MOST)] = ()
    minimums: Annotated[tuple[MinimumLine, ...], Field(strict=False, max_length=_MOST)] = ()
    holds: Annotated[tuple[HoldTable, ...], Field(strict=False, max_length=_MOST)] = ()
    arrivals: Annotated[tuple[ArrivalTable, ...], Field(strict=False, max_length=_MOST)] = ()

    @model_validator(mode="before")
    @classmethod
    def _in_feet(cls, tables: Any) -> Any:
        return feet_named(tables) if isinstance(tables, Mapping) and altitude_unit(tables) == "m" else tables

    @model_validator(mode="after")
    def _no_contradiction(self) -> Self:
        faults = contradictions(self)
        if faults:
            details: list[InitErrorDetails] = [
                {
                    "type": PydanticCustomError(fault.kind, "{text}", {"text": fault.text}),
                    "loc": fault.place,
                    "input": self._at(fault.place),
                }
                for fault in faults
            ]
            raise ValidationError.from_exception_data("Procedure", details)
        return self

    def _at(self, place: tuple[int | str, ...]) -> Any:
        """The value at a place in the file, a whole number without decimals; None where there is none."""
        value: Any = self
        for part in place:
            value = value[part] if isinstance(part, int) else getattr(value, part, None)
        return int(value) if isinstance(value, float) and value.is_integer() else value

    def to_json(self) -> dict[str, Any]:
        """The tables as plain values for JSON, altitudes in feet; keys and lists that the file leaves out are absent."""
        return {key: value for key, value in self.model_dump(mode="json", exclude_none=True).items() if value != []}

    @property
    def altitude_unit(self) -> AltitudeUnit:
        """The unit of altitudes in the file and in reports."""
        return self.units.altitude if self.units is not None else "ft"

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
