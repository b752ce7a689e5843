"""What the user says about a log: which column is which, in which unit, from which instant, and of which aircraft."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from datetime import UTC, datetime

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.track.air import STANDARD_AIR, Air
from analyzer.track.limits import DEFAULT_LIMITS, Limits
from analyzer.track.quantities import KINDS, accepted_units, parse_unit, suits
from analyzer.track.references import AltitudeFrom, altitude_from

__all__ = ["ReadOptions"]


@dataclass(frozen=True)
class ReadOptions:
    """Choices that settle what a log leaves open. The default leaves everything to the log.

    `columns` maps a quantity to the file's own column name (``--column altitude=NAME``), `units` a quantity to a unit
    (``--unit altitude=m``), `open_units` to one for logs that state none. `start` is the instant of the first row of a log that
    gives elapsed seconds, or the date of one that gives a time of day only. `utc_offset_s` is how far times without a zone are
    ahead of UTC (``--utc-offset +02:00``). Without `altitude_required` a log may lack altitude. `altitude_from` says what its
    altitude counts from (``--altitude-from sea-level``). `only` keeps the rows in which the column has the value
    (``--only COLUMN=VALUE``). `air` is what is known of the day's air, `limits` how large the log may be. Raises `LogError` for
    a quantity, unit or reference of altitudes that is not one.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    open_units: Mapping[str, str] = field(default_factory=dict)
    start: datetime | None = None
    utc_offset_s: float | None = None
    altitude_required: bool = True
    altitude_from: AltitudeFrom | None = None
    only: tuple[str, str] | None = None
    air: Air = STANDARD_AIR
    limits: Limits = DEFAULT_LIMITS

    def __post_init__(self) -> None:
        if self.start is not None and not 1900 <= self.start.year < 2200:
            raise LogError(f"--start {self.start.isoformat()}: give an instant of the years 1900 to 2199")
        if self.altitude_from is not None:
            altitude_from(self.altitude_from)
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

    def for_several(self) -> ReadOptions:
        """These choices for several logs: a unit settles what one of them leaves open; a log that states its own keeps it."""
        return replace(self, units={}, open_units={**self.open_units, **self.units})

    def over(self, base: ReadOptions) -> ReadOptions:
        """These choices, and those of `base` where these say nothing. The command line goes over a log format."""
        return ReadOptions(
            columns={**base.columns, **self.columns},
            units={**base.units, **self.units},
            open_units={**base.open_units, **self.open_units},
            start=self.start or base.start,
            utc_offset_s=base.utc_offset_s if self.utc_offset_s is None else self.utc_offset_s,
            altitude_required=self.altitude_required and base.altitude_required,
            altitude_from=self.altitude_from or base.altitude_from,
            only=self.only or base.only,
            air=self.air,
            limits=base.limits if self.limits == DEFAULT_LIMITS else self.limits,
        )
