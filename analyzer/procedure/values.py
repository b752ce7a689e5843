"""The kinds of value in a procedure file, each with its bounds and what is accepted in words, and the base of its tables."""

import re
from typing import Annotated, Literal, TypeAlias

from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

__all__ = [
    "AltitudeUnit",
    "Categories",
    "Category",
    "Course",
    "Direction",
    "Elevation",
    "FixKind",
    "FixRole",
    "Floor",
    "GuidanceKind",
    "Latitude",
    "LegBy",
    "LegLength",
    "LegTime",
    "Line",
    "Longitude",
    "MinimumKind",
    "ReversalKind",
    "Speed",
    "Table",
    "Text",
    "VariationEast",
    "WithinBy",
]

ReversalKind: TypeAlias = Literal["procedure-turn", "base-turn", "hold", "arc", "none"]
FixKind: TypeAlias = Literal["vor", "ndb", "marker", "waypoint"]
GuidanceKind: TypeAlias = Literal["vor", "localizer", "ndb", "gps"]
Direction: TypeAlias = Literal["left", "right"]
Category: TypeAlias = Literal["A", "B", "C", "D", "E"]
FixRole: TypeAlias = Literal["intermediate-fix", "final-approach-fix", "step-down", "missed-approach-point"]
MinimumKind: TypeAlias = Literal["mda", "da"]
Line: TypeAlias = Literal["straight-in", "circling"]
LegBy: TypeAlias = Literal["dme", "along-track", "from-fix"]
WithinBy: TypeAlias = Literal["dme"]
AltitudeUnit: TypeAlias = Literal["ft", "m"]

# Line breaks, control characters, which a terminal obeys, and characters that reverse the direction of the text after them.
_NO_TEXT = r"\x00-\x1f\x7f-\x9f\u{2028}-\u{202e}\u{2066}-\u{2069}"
Text: TypeAlias = Annotated[
    str, Field(min_length=1, max_length=120, pattern=rf"^[^{_NO_TEXT}]+$", description="a line of 1 to 120 characters")
]


def _categories(text: str) -> str:
    """A category, or a range of them that runs upwards."""
    if re.fullmatch("A(-[B-E])?|B(-[C-E])?|C(-[DE])?|D(-E)?|E", text) is None:
        raise PydanticCustomError("categories", "not of that form")
    return text


Categories: TypeAlias = Annotated[
    str, AfterValidator(_categories), Field(description='a category from "A" to "E", or several as "A-B"')
]
Latitude: TypeAlias = Annotated[float, Field(ge=-90, le=90, description="degrees from -90 to 90, north positive")]
Longitude: TypeAlias = Annotated[float, Field(ge=-180, le=180, description="degrees from -180 to 180, east positive")]
Course: TypeAlias = Annotated[float, Field(ge=0, le=360, description="degrees from 0 to 360")]
VariationEast: TypeAlias = Annotated[float, Field(ge=-180, le=180, description="degrees, east positive")]
Elevation: TypeAlias = Annotated[float, Field(ge=-1500, le=20000, description="feet above mean sea level, -1500 to 20000")]
Floor: TypeAlias = Annotated[float, Field(ge=-1500, le=60000, description="feet above mean sea level, -1500 to 60000")]
Speed: TypeAlias = Annotated[float, Field(ge=40, le=400, description="knots from 40 to 400")]
LegTime: TypeAlias = Annotated[float, Field(ge=10, le=600, description="seconds from 10 to 600")]
LegLength: TypeAlias = Annotated[float, Field(ge=0.5, le=50, description="nautical miles from 0.5 to 50")]


class Table(BaseModel):
    """A table of the file: no unknown keys, no strings for numbers, no nan or inf; not to be changed once made."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, validate_default=True)
