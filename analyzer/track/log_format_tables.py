"""The log-format file as it is written. Its own module, so that a log is read without pydantic where there is no such file."""

import datetime as dt
from typing import Annotated

from pydantic import Field

from analyzer.toml_files import Table
from analyzer.track.limits import DEFAULT_LIMITS
from analyzer.track.references import AltitudeFrom

__all__ = ["LogFormatTables"]

_TEXTS = 'a table of quantities with texts, like altitude = "..."'
_Number = Annotated[int, Field(description="a whole number above 0")]


class LogFormatTables(Table):
    """All tables and keys of the file."""

    columns: dict[str, str] = Field(default_factory=dict, description=_TEXTS)
    units: dict[str, str] = Field(default_factory=dict, description=_TEXTS)
    start: Annotated[dt.datetime, Field(description="a date with a time, like 2026-05-01T14:00:00Z")] | None = None
    utc_offset: Annotated[str, Field(description='how far times that name no zone are ahead of UTC, like "+02:00"')] | None = (
        None
    )
    altitude_required: bool = True
    altitude_from: AltitudeFrom | None = None
    only: Annotated[list[str], Field(min_length=2, max_length=2, description='two texts, ["COLUMN", "VALUE"]')] | None = None
    max_bytes: _Number = DEFAULT_LIMITS.max_bytes
    max_samples: _Number = DEFAULT_LIMITS.max_samples
