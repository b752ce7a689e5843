"""What the user says about a log: which column is which, in which unit, from which instant, and of which aircraft."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from analyzer.errors import LogError
from analyzer.track.air import STANDARD_AIR, Air
from analyzer.track.quantities import KINDS, accepted_units, parse_unit, suits

__all__ = ["ReadOptions", "read_log_format"]

_KEYS = ("columns", "units", "start", "altitude_required", "only")


@dataclass(frozen=True)
class ReadOptions:
    """Choices that settle what a log leaves open. The default leaves everything to the log.

    `columns` maps a quantity to the file's own column name (``--column altitude=NAME``), `units` a quantity to a unit
    (``--unit altitude=m``). `start` is the instant of the first row of a log that gives elapsed seconds, or the date of one
    that gives a time of day only. Without `altitude_required` a log may lack altitude. `only` keeps the rows in which the
    column has the value (``--only COLUMN=VALUE``). `air` is what is known of the day's air. Raises `LogError` for a quantity or
    unit that is not one.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    start: datetime | None = None
    altitude_required: bool = True
    only: tuple[str, str] | None = None
    air: Air = STANDARD_AIR

    def __post_init__(self) -> None:
        for quantity in (*self.columns, *self.units):
            if quantity not in KINDS:
                raise LogError(f"{quantity!r} is not a quantity of a log: use one of {', '.join(KINDS)}")
        for quantity, text in self.units.items():
            unit = parse_unit(text)
            if unit is None or not suits(unit, quantity):
                raise LogError(f"--unit {quantity}={text}: not a unit of {quantity}: use one of {accepted_units(quantity)}")

    @property
    def start_s(self) -> float | None:
        """`start` in seconds since 1970-01-01 UTC; one without a zone is UTC."""
        if self.start is None:
            return None
        return (self.start if self.start.tzinfo else self.start.replace(tzinfo=UTC)).timestamp()

    def over(self, base: ReadOptions) -> ReadOptions:
        """These choices, and those of `base` where these say nothing. The command line goes over a log format."""
        return ReadOptions(
            columns={**base.columns, **self.columns},
            units={**base.units, **self.units},
            start=self.start or base.start,
            altitude_required=self.altitude_required and base.altitude_required,
            only=self.only or base.only,
            air=self.air,
        )


def read_log_format(path: str | Path) -> ReadOptions:
    """The choices kept in a log-format file (TOML).

    Tables ``[columns]`` and ``[units]`` map quantities to column names and units; ``start`` is a date-time, ``only`` a pair
    ``["COLUMN", "VALUE"]``, ``altitude_required`` true or false. All are optional. Raises `LogError` naming file and key.
    """
    import tomllib

    try:
        content = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except OSError as error:
        raise LogError(f"{path}: cannot be read: {error.strerror}: check the name and the rights") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise LogError(f"{path}: not a TOML file: {error}") from error
    for key in content:
        if key not in _KEYS:
            raise LogError(f"{path}: unknown key {key!r}: use {', '.join(_KEYS)}")
    try:
        return ReadOptions(
            columns=_texts(content, "columns"),
            units=_texts(content, "units"),
            start=_instant(content),
            altitude_required=_flag(content, "altitude_required"),
            only=_pair(content, "only"),
        )
    except LogError as error:
        raise LogError(f"{path}: {error}") from error


def _texts(content: Mapping[str, object], key: str) -> dict[str, str]:
    table = content.get(key, {})
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()):
        raise LogError(f'[{key}] must map quantities to texts, such as altitude = "..."')
    return table


def _instant(content: Mapping[str, object]) -> datetime | None:
    start = content.get("start")
    if start is None:
        return None
    if not isinstance(start, datetime):
        raise LogError(f"start = {start!r} is not a date-time: write it as 2026-05-01T14:00:00Z")
    return start


def _flag(content: Mapping[str, object], key: str) -> bool:
    value = content.get(key, True)
    if not isinstance(value, bool):
        raise LogError(f"{key} = {value!r}: use true or false")
    return value


def _pair(content: Mapping[str, object], key: str) -> tuple[str, str] | None:
    value = content.get(key)
    if value is None:
        return None
    if isinstance(value, list) and len(value) == 2 and all(isinstance(item, str) for item in value):
        return value[0], value[1]
    raise LogError(f'{key} = {value!r}: use two texts, ["COLUMN", "VALUE"]')
