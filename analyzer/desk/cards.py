"""The card of a flight, a small TOML file next to its log with what the user said about it; and the settings of the desk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated

from pydantic import Field

from analyzer.checks.excuse_file import ExcuseTable
from analyzer.checks.standard import DEFAULT_STANDARD
from analyzer.desk.changes import Place
from analyzer.desk.store import CARD, SETTINGS, Store
from analyzer.desk.toml_text import file_of
from analyzer.errors import DeskError
from analyzer.toml_files import Line, Table, checked, read_toml
from analyzer.track.air import Air
from analyzer.track.instants import offset_text, stated_offset
from analyzer.track.limits import Limits
from analyzer.track.log_format_tables import LogFormatTables
from analyzer.track.options import ReadOptions
from analyzer.track.references import AltitudeFrom

__all__ = ["LIMITS",
    "FlightCard", "KeptReading", "Reading", "Settings", "card_file", "kept_reading", "options_over", "read_card",
    "read_settings", "settings_file",
]  # fmt: skip

# enough for the longest flights, and no more than fits on a small machine
LIMITS = Limits(max_bytes=256 * 2**20, max_samples=500_000)
_CARD_HEAD = "What the desk knows about the log of the same name. Plain text; you may edit it."
_SETTINGS_HEAD = "The settings of this desk, and how logs with the same columns are read. Plain text; you may edit it."
_Words = Annotated[str, Field(max_length=2000)]
_MOST_READINGS = 200


class Reading(LogFormatTables):
    """How a log is read, as in a log-format file, with the QNH and temperature of the day."""

    qnh: float | None = None  # hPa, or inches of mercury
    temperature_c: float | None = None

    def options(self) -> ReadOptions:
        """The options for `read_track`. Raises `LogError`."""
        return ReadOptions(
            columns=self.columns,
            units=self.units,
            start=self.start,
            utc_offset_s=None if self.utc_offset is None else stated_offset(self.utc_offset),
            altitude_required=self.altitude_required,
            altitude_from=self.altitude_from,
            only=(self.only[0], self.only[1]) if self.only is not None else None,
            air=Air.given(self.qnh, self.temperature_c),
            limits=LIMITS,
        )


class FlightCard(Table):
    """What is known about a flight besides its log; all of it optional."""

    name: Line = ""
    pilot: Line = ""
    aircraft: Line = ""
    remark: _Words = ""
    procedure: Line = ""
    brief: Line = ""
    cleared: list[str] = Field(default_factory=list)
    flown: list[str] = Field(default_factory=list)
    excused: list[ExcuseTable] = Field(default_factory=list)
    reading: Reading = Field(default_factory=Reading)


class KeptReading(Table):
    """How logs with these columns are read, without the date and the choice of aircraft, which belong to one flight."""

    header: list[str]
    columns: dict[str, str] = Field(default_factory=dict)
    units: dict[str, str] = Field(default_factory=dict)
    utc_offset: Line | None = None
    altitude_required: bool = True
    altitude_from: AltitudeFrom | None = None


class Settings(Table):
    """The settings of a desk."""

    standard: Line = DEFAULT_STANDARD
    watched: Line = ""
    readings: list[KeptReading] = Field(default_factory=list)

    def reading(self, header: tuple[str, ...]) -> KeptReading | None:
        """How logs with these columns were read before; None if none were."""
        return next((one for one in self.readings if tuple(one.header) == header), None)


def read_card(store: Store, log: str) -> FlightCard:
    """The card of a log, empty if it has none. Raises `DeskError`."""
    path = store.path("logs", log + CARD)
    if not path.is_file():
        return FlightCard()
    return checked(FlightCard, read_toml(path, "card of a flight", DeskError), str(path), DeskError)


def card_file(log: str, card: FlightCard) -> Mapping[Place, bytes]:
    """The card of a log, as a file to write."""
    return {("logs", log + CARD): file_of(card, _CARD_HEAD)}


def read_settings(store: Store) -> Settings:
    """The settings, or the defaults if there is no file. Raises `DeskError`."""
    path = store.settings
    if not path.is_file():
        return Settings()
    return checked(Settings, read_toml(path, "file of settings", DeskError), str(path), DeskError)


def settings_file(settings: Settings) -> Mapping[Place, bytes]:
    """The settings, as a file to write."""
    return {("", SETTINGS): file_of(settings, _SETTINGS_HEAD)}


def kept_reading(settings: Settings, header: tuple[str, ...], given: ReadOptions) -> Settings:
    """The settings with a reading for logs with these columns put first, replacing any earlier one."""
    kept = KeptReading(
        header=list(header),
        columns=dict(given.columns),
        units=dict(given.units),
        utc_offset=None if given.utc_offset_s is None else offset_text(given.utc_offset_s),
        altitude_required=given.altitude_required,
        altitude_from=given.altitude_from,
    )
    others = [one for one in settings.readings if tuple(one.header) != header]
    return settings.model_copy(update={"readings": [kept, *others][:_MOST_READINGS]})


def options_over(kept: KeptReading | None, own: Reading) -> ReadOptions:
    """The options for a log: those on its card, and otherwise those kept for logs with the same columns."""
    options = own.options()
    if kept is None:
        return options
    base = ReadOptions(
        columns=kept.columns,
        units=kept.units,
        utc_offset_s=None if kept.utc_offset is None else stated_offset(kept.utc_offset),
        altitude_required=kept.altitude_required,
        altitude_from=kept.altitude_from,
    )
    return replace(options.over(base), limits=options.limits)
