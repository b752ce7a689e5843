"""The fix of a draft and the station of its arc, as the user gives them."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from analyzer.errors import ProcedureError
from analyzer.frozen import dataclass
from analyzer.procedure.faults import accepted_text
from analyzer.procedure.schema import Fix
from analyzer.procedure.spoken import spoken

__all__ = ["FixGiven", "fix_given"]

_OPTION = {"name": "--name", "kind": "--kind", "variation_deg_east": "--variation"}


@dataclass(frozen=True)
class FixGiven:
    """The fix as the user gives it. Without a variation, that of the magnetic model is used.

    `station_deg` is the latitude and longitude of an arc's station, if that is not the fix.
    """

    latitude_deg: float
    longitude_deg: float
    name: str = "FIX"
    kind: str = "waypoint"
    variation_deg_east: float | None = None
    station_deg: tuple[float, float] | None = None

    @property
    def table(self) -> dict[str, Any]:
        """The table ``[fix]`` of a procedure file."""
        variation = {} if self.variation_deg_east is None else {"variation_deg_east": self.variation_deg_east}
        place = {"latitude_deg": self.latitude_deg, "longitude_deg": self.longitude_deg}
        return {"name": self.name, "kind": self.kind, **place, **variation}


def fix_given(place: str, name: str, kind: str, variation_deg_east: float | None, station: str | None = None) -> FixGiven:
    """The fix as given on the command line, with places like ``48.35,-24.7``. Raises `ProcedureError`."""
    latitude, longitude = _place("--fix", place)
    station_deg = None if station is None else _place("--station", station)
    fix = FixGiven(latitude, longitude, name, kind, variation_deg_east, station_deg)
    if station_deg is not None:
        _accepted({**fix.table, "latitude_deg": station_deg[0], "longitude_deg": station_deg[1]}, "--station")
    _accepted(fix.table, "--fix")
    return fix


def _place(option: str, place: str) -> tuple[float, float]:
    latitude, _, longitude = place.partition(",")
    found = [_degrees(key, text) for key, text in (("latitude_deg", latitude), ("longitude_deg", longitude))]
    if found[0] is None or found[1] is None:
        raise ProcedureError(
            f"{option} {place}: must be latitude and longitude, such as 48.35,-24.7 or as charts write it, N48 21.0, W024 42.0"
        )
    return found[0], found[1]


def _degrees(key: str, text: str) -> float | None:
    """A position in degrees, or with minutes and seconds and its hemisphere; None where it is neither."""
    return next((value for value in spoken(key, text) if isinstance(value, float)), None)


def _accepted(table: dict[str, Any], place_option: str) -> None:
    try:
        Fix.model_validate(table)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = str(first["loc"][0])
        option = place_option if key in ("latitude_deg", "longitude_deg") else _OPTION[key]
        raise ProcedureError(f"{option} {first['input']}: accepted: {accepted_text('fix', key)}") from None
