"""Fields of the reading form that no column settles: the time zone, what altitudes count from, the air of the day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace

from analyzer.desk.asked import Ask, Choice
from analyzer.errors import LogError, printable
from analyzer.physics.units import DEG
from analyzer.track.air import Air
from analyzer.track.instants import offset_text, stated_offset
from analyzer.track.options import ReadOptions
from analyzer.track.quantities import accepted_units
from analyzer.track.references import altitude_from
from analyzer.track.timestamps import NO_ZONE
from analyzer.track.track import Track

__all__ = ["NO_COLUMN", "also_fields", "with_also", "zone_ask"]

_HOUR_S = 3600.0
_LEAST_H, _MOST_H = -12, 14  # the westernmost zone and the easternmost
# zones of part hours that are kept today (IANA time zone database, from memory)
_PART_HOURS = (-9.5, -3.5, 3.5, 4.5, 5.5, 5.75, 6.5, 8.75, 9.5, 10.5, 12.75)
_DEGREES_AN_HOUR = 15.0
_ALTITUDE_FROM = (
    Choice("", "As the log says"),
    Choice("sea-level", "Mean sea level"),
    Choice("pressure", "Pressure altitude, on 1013.25 hPa"),
    Choice("ellipsoid", "The WGS 84 ellipsoid (GNSS height)"),
)
NO_COLUMN = "-"  # the choice of no column at all
_COLUMNS, _UNITS = ("time", "date", "latitude", "longitude", "altitude"), ("altitude", "time", "date", "latitude", "longitude")
_MOST_COLUMNS = 40


def zone_ask(track: Track, options: ReadOptions) -> Ask | None:
    """The field for the zone of times that name none; None where they do, or where it was said."""
    if options.utc_offset_s is not None or all(note.text != NO_ZONE for note in track.notes):
        return None
    first = dt.datetime.fromtimestamp(float(track.time_s[0]), tz=dt.UTC)
    by_sun = round(float(track.longitude_rad[0]) / DEG / _DEGREES_AN_HOUR)
    near = [hours for hours in (by_sun, by_sun + 1) if hours and _LEAST_H <= hours <= _MOST_H]
    others = sorted((*range(_LEAST_H, _MOST_H + 1), *_PART_HOURS))
    choices = [_zone(0.0, first, "", chosen=True), *(_zone(hours, first, ", likely by the longitude") for hours in near)]
    choices += [_zone(hours, first, "") for hours in others if hours and hours not in near]
    words = (
        "The log's times do not say whether they are UTC or local. Each choice says when the first row then was; the debrief "
        "shows its times in UTC."
    )
    return Ask("utc_offset", "Time zone of the log's clock", words, "column", tuple(choices))


def _zone(hours: float, first: dt.datetime, why: str, *, chosen: bool = False) -> Choice:
    at = first - dt.timedelta(hours=hours)
    words = f"UTC{offset_text(hours * _HOUR_S)}{why}" if hours else "UTC"
    return Choice(offset_text(hours * _HOUR_S), words, f"first row at {at:%H:%M} UTC", chosen)


def also_fields(options: ReadOptions, names: Sequence[str]) -> tuple[Ask, ...]:
    """The fields for what no log says by itself, and for what it is mistaken in, with what was said before.

    `names` are those of its columns.
    """
    said = options.altitude_from or ""
    counts_from = tuple(replace(choice, chosen=choice.value == said) for choice in _ALTITUDE_FROM)
    qnh, celsius = options.air.qnh_hpa, options.air.field_temperature_c
    return (
        Ask(
            "altitude_from", "Altitudes count from", "Minimums are above mean sea level; what counts from elsewhere is off.",
            "column", counts_from, needed=False,
        ),
        Ask(
            "qnh", "QNH", "The altimeter setting of the flight, in hPa or inches of mercury, for pressure altitude.",
            "text", (), "" if qnh is None else f"{qnh:.4g}", needed=False,
        ),
        Ask(
            "temperature", "Temperature at the airfield", "In °C, for airspeeds.", "text", (),
            "" if celsius is None else f"{celsius:.3g}", needed=False,
        ),
        *(_column(quantity, options, names) for quantity in _COLUMNS),
        *(_unit(quantity, options) for quantity in _UNITS),
    )  # fmt: skip


def _column(quantity: str, options: ReadOptions, names: Sequence[str]) -> Ask:
    said = options.columns.get(quantity, "" if quantity != "altitude" or options.altitude_required else NO_COLUMN)
    choices = [Choice("", "As found", chosen=not said)]
    choices += [Choice(name, printable(name), chosen=name == said) for name in names[:_MOST_COLUMNS]]
    if quantity == "altitude":
        choices.append(Choice(NO_COLUMN, "None: the log has no altitude", chosen=said == NO_COLUMN))
    return Ask(f"column {quantity}", f"Column of the {quantity}", "", "column", tuple(choices), needed=False)


def _unit(quantity: str, options: ReadOptions) -> Ask:
    said, label = options.units.get(quantity, ""), f"Unit of the {'altitudes' if quantity == 'altitude' else quantity}"
    if quantity == "altitude" and said in ("", "ft", "m"):
        units = (("", "As found"), ("ft", "Feet"), ("m", "Metres"))
        choices = tuple(Choice(value, words, chosen=value == said) for value, words in units)
        return Ask("unit altitude", label, "", "column", choices, needed=False)
    words = f"As found where nothing is typed; otherwise one of {accepted_units(quantity)}."
    return Ask(f"unit {quantity}", label, words, "text", (), said, needed=False)


def with_also(answers: Mapping[str, str], options: ReadOptions) -> ReadOptions:
    """The options with what was answered in these fields; one that is empty takes back what was said before.

    Raises `LogError`.
    """
    zone, counts_from = answers.get("utc_offset", "").strip(), answers.get("altitude_from")
    if zone:
        options = replace(options, utc_offset_s=stated_offset(zone))
    if counts_from is not None:
        options = replace(options, altitude_from=altitude_from(counts_from) if counts_from else None)
    if "qnh" in answers or "temperature" in answers:
        air = Air.given(_number(answers.get("qnh", ""), "QNH"), _number(answers.get("temperature", ""), "temperature"))
        options = replace(options, air=air)
    taken_back = {field.partition(" ")[::2] for field, text in answers.items() if not text.strip()}
    return replace(
        options,
        columns={quantity: name for quantity, name in options.columns.items() if ("column", quantity) not in taken_back},
        units={quantity: unit for quantity, unit in options.units.items() if ("unit", quantity) not in taken_back},
    )


def _number(text: str, what: str) -> float | None:
    said = text.strip().replace(",", ".")
    if not said:
        return None
    try:
        return float(said)
    except ValueError as error:
        raise LogError(f"{printable(said)[:40]}: not a number for the {what}") from error
