"""Which column holds which quantity, in which unit, and why: the user's word first, then the format's, then the name's."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import TypeAlias

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.track.column_names import LOCAL, Reading, read_name
from analyzer.track.missing_columns import or_without, question_of
from analyzer.track.open_questions import Question
from analyzer.track.options import ReadOptions
from analyzer.track.quantities import FIELDS, Unit, accepted_units, parse_unit, suits
from analyzer.track.raw_table import RawTable
from analyzer.track.track import Column, Note

__all__ = ["Match", "Matched", "Settled", "match_columns"]

# quantity -> the unit that its values settled, and why
Settled: TypeAlias = Mapping[str, tuple[str, str]]

_NEEDED = ("time", "latitude", "longitude")
_AHEAD = "--utc-offset +HH:MM"


@dataclass(frozen=True)
class Match:
    """A column that holds a quantity. `unit` is None where neither the user nor the file gives one."""

    name: str
    quantity: str
    unit: Unit | None
    basis: str


@dataclass(frozen=True)
class Matched:
    """The columns by quantity, for each column that plays no part why, and what only the user can settle."""

    by_quantity: Mapping[str, Match]
    unused: Mapping[str, str]
    notes: tuple[Note, ...]
    questions: tuple[Question, ...] = ()

    @property
    def altitude_is_pressure(self) -> bool:
        """Whether the log's only altitude is pressure altitude."""
        altitude, pressure = (self.by_quantity.get(quantity) for quantity in ("altitude", "pressure_altitude"))
        return altitude is not None and pressure is not None and altitude.name == pressure.name

    def columns(self, table: RawTable, settled: Settled) -> tuple[Column, ...]:
        """How each column of the file was understood, in file order."""
        by_name = {match.name: match for match in reversed(list(self.by_quantity.values()))}
        columns = []
        for name in table.names:
            match = by_name.get(name)
            if match is None:
                columns.append(Column(name, "unused", "", self.unused.get(name, "")))
            else:
                unit, why = settled.get(match.quantity, (match.unit.text if match.unit else "", ""))
                columns.append(Column(name, match.quantity, unit, f"{match.basis}; {why}" if why else match.basis))
        return tuple(columns)


@dataclasses.dataclass
class _Search:
    """The matching under way."""

    table: RawTable
    options: ReadOptions
    file: str
    found: dict[str, Match] = field(default_factory=dict)
    unused: dict[str, str] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)


def match_columns(table: RawTable, options: ReadOptions, file: str) -> Matched:
    """Find the quantities among the columns.

    It is a question to the user where time, latitude, longitude or a required altitude has no column, or several with an equal
    claim, or where the altitude's unit is not known. Raises `LogError` where a column that the user named is not there, or
    the format has no place for what is missing.
    """
    search = _Search(table, options, file)
    for quantity, asked in options.columns.items():
        name = _named(table, asked, file, quantity)
        search.found[quantity] = _match(search, name, quantity, "chosen by the user", _defined_unit(table, name, quantity))
    _note_pressure_altitude_chosen(search)
    for name, meaning in table.defined.items():
        if name in table.names and meaning.quantity not in search.found and not _is_taken(search, name):
            basis = f"defined by {table.format}"
            search.found[meaning.quantity] = _match(search, name, meaning.quantity, basis, parse_unit(meaning.unit))
    _match_by_words(search)
    _settle_zone(search)
    _fall_back_on_pressure_altitude(search)
    _settle_weeks(search)
    _settle_altitude(search)
    _ask_for_missing(search)
    _leave_out_unitless(search)
    return Matched(search.found, search.unused, tuple(dict.fromkeys(search.notes)), tuple(search.questions))


def _named(table: RawTable, asked: str, file: str, quantity: str) -> str:
    folded = {name.casefold(): name for name in reversed(table.names)}
    name = folded.get(asked.strip().casefold())
    if name is None:
        from difflib import get_close_matches

        near = get_close_matches(asked.casefold(), folded, n=1)
        hint = f" Did you mean {folded[near[0]]!r}?" if near else ""
        raise LogError(f"{file}: no column {asked!r} for {quantity}.{hint} The columns are {table.listing()}")
    return name


def _defined_unit(table: RawTable, name: str, quantity: str) -> Unit | None:
    """The unit that the format gives the column, where numbers of the quantity can come in it."""
    meaning = table.defined.get(name)
    unit = parse_unit(meaning.unit) if meaning is not None else None
    return unit if unit is not None and suits(unit, quantity) else None


def _note_pressure_altitude_chosen(search: _Search) -> None:
    """An altitude that the user took from a column of pressure altitude is one: a QNH corrects it."""
    altitude = search.found.get("altitude")
    if altitude is None or "pressure_altitude" in search.found:
        return
    meaning = search.table.defined.get(altitude.name)
    if (meaning.quantity if meaning is not None else read_name(altitude.name).quantity) == "pressure_altitude":
        search.found["pressure_altitude"] = replace(altitude, quantity="pressure_altitude")


def _is_taken(search: _Search, name: str) -> bool:
    return any(match.name == name for match in search.found.values())


def _match(search: _Search, name: str, quantity: str, basis: str, defined: Unit | None = None) -> Match:
    """The column with its unit: by the user, the format's definition, the name, or the row below the header."""
    unit, below = defined or read_name(name).unit, ""
    if unit is None and search.table.units:
        unit = parse_unit(search.table.units[search.table.names.index(name)])
        below = ", unit from the row below" if unit else ""
    own = unit if unit is not None and suits(unit, quantity) else None
    if quantity not in search.options.units:
        if own is None and quantity in search.options.open_units:
            return Match(name, quantity, parse_unit(search.options.open_units[quantity]), f"{basis}, unit by the user")
        return Match(name, quantity, own, f"{basis}{below}")
    given = parse_unit(search.options.units[quantity])
    if given is not None and own is not None and given.kind == own.kind and given.factor != own.factor:
        differs = f"{quantity} is read in {given.text}, as --unit says, though the log itself says {own.text} ({name!r})"
        search.notes.append(Note(differs))
    return Match(name, quantity, given, f"{basis}, unit by the user")


def _match_by_words(search: _Search) -> None:
    claims: dict[str, list[tuple[str, Reading]]] = {}
    for name in search.table.names:
        reading = read_name(name)
        if _is_taken(search, name):
            continue
        if reading.quantity is None:
            search.unused[name] = ""
        elif reading.quantity in search.found:
            search.unused[name] = f"{reading.quantity} is taken from {search.found[reading.quantity].name!r}"
        elif reading.doubt:
            search.unused[name] = f"could be {reading.quantity}, but {reading.doubt}"
        else:
            claims.setdefault(reading.quantity, []).append((name, reading))
    for quantity, claimants in claims.items():
        _decide(search, quantity, claimants)


def _decide(search: _Search, quantity: str, claimants: Sequence[tuple[str, Reading]]) -> None:
    """The one claimant of the lowest rank; of several, an error where the quantity is needed, else none of them."""
    lowest = min(reading.rank for _, reading in claimants)
    best = [name for name, reading in claimants if reading.rank == lowest]
    if len(best) == 1:
        search.found[quantity] = _match(search, best[0], quantity, "by its name")
        for name, _ in claimants:
            if name != best[0]:
                search.unused[name] = f"{quantity} is taken from {best[0]!r}"
        return
    listed = ", ".join(repr(name) for name in best[:-1]) + f" and {best[-1]!r}"
    choice = f"--column {quantity}={_quoted(best[-1])}"
    if quantity in _NEEDED or (quantity == "altitude" and search.options.altitude_required):
        search.asked.add(quantity)
        text = f"the columns {listed} could each be {quantity}. Choose one, such as {choice}"
        search.questions.append(Question(text, (choice,)))
        return
    for name in best:
        search.unused[name] = f"could be {quantity}, like another column"
    search.notes.append(Note(f"{listed} could each be {quantity}: none is used ({choice} chooses)"))


def _settle_zone(search: _Search) -> None:
    """Use local times if the user or a column gives their offset; note it where what a column gives may be meant for others."""
    offset = search.found.get("utc_offset")
    given = search.options.utc_offset_s is not None
    if offset is None and not given:
        return
    beside = "--utc-offset" if offset is None else repr(offset.name)
    for quantity in ("time", "date"):
        local = [name for name in search.table.names if (read := read_name(name)).quantity == quantity and read.doubt == LOCAL]
        if quantity not in search.found and len(local) == 1:
            search.found[quantity] = _match(search, local[0], quantity, f"by its name, with {beside}")
            search.unused.pop(local[0], None)
    time = search.found.get("time")
    if offset is None or "utc_offset" in search.options.columns or time is None or read_name(time.name).doubt == LOCAL:
        return
    del search.found["utc_offset"]
    choice = f"--column utc_offset={_quoted(offset.name)}"
    search.unused[offset.name] = f"{time.name!r} is taken as UTC; if it is local: {choice}"


def _quoted(name: str) -> str:
    return f'"{name}"' if " " in name or "(" in name else name


def _fall_back_on_pressure_altitude(search: _Search) -> None:
    pressure = search.found.get("pressure_altitude")
    if pressure is None or "altitude" in search.found or "altitude" in _doubted(search):
        return
    altitude = _match(search, pressure.name, "altitude", "pressure altitude, the log has no other", pressure.unit)
    search.found = {"altitude": altitude, **search.found}


def _doubted(search: _Search) -> dict[str, str]:
    """Quantity -> the column that could hold it but for a doubt."""
    readings = {name: read_name(name) for name in search.table.names}
    return {reading.quantity: name for name, reading in readings.items() if reading.quantity and reading.doubt}


def _settle_weeks(search: _Search) -> None:
    """Weeks count only together with seconds of the week."""
    time, week = search.found.get("time"), search.found.get("gps_week")
    if week is None or time is None or "gps_week" in search.options.columns:
        return
    if not {"tow", "sow", "week"} & set(re.findall("[a-z]+", time.name.casefold())):
        del search.found["gps_week"]
        search.unused[week.name] = f"the time is taken from {time.name!r} alone"


def _ask_for_missing(search: _Search) -> None:
    """Questions for what is needed and has no column; those without a likely column are asked together."""
    needed = (*_NEEDED, *(("altitude",) if search.options.altitude_required else ()))
    missing = [quantity for quantity in needed if quantity not in search.found and quantity not in search.asked]
    doubted = _doubted(search)
    for quantity in missing:
        name = doubted.get(quantity)
        if name is not None:
            choice, doubt = f"--column {quantity}={_quoted(name)}", read_name(name).doubt
            ahead = (
                f"Say how far its clock is ahead of UTC: {_AHEAD}, or take it for UTC" if doubt == LOCAL else "If it will do"
            )
            text = f"the column {name!r} could be {quantity}, but {doubt}. {ahead}: {choice}"
            options = (_AHEAD, choice) if doubt == LOCAL else (choice,)
            search.questions.append(Question(text + or_without([quantity]), options))
        elif quantity in {meaning.quantity for meaning in search.table.defined.values()}:
            raise LogError(f"{search.file}: the points have no {quantity}: export the track with it{or_without([quantity])}")
    unknown = [quantity for quantity in missing if quantity not in doubted]
    if unknown:
        left = [name for name in search.table.names if not _is_taken(search, name)]
        search.questions.append(
            question_of(search.table, unknown, left, "altitude" in {**search.options.open_units, **search.options.units})
        )


def _settle_altitude(search: _Search) -> None:
    """Altitude needs a unit, which is asked for where the log states none."""
    altitude = search.found.get("altitude")
    if altitude is None:
        if not search.options.altitude_required:
            search.notes.append(Note("the log is read without altitude"))
    elif altitude.unit is None:
        name = altitude.name
        if search.options.altitude_required:
            text = f"the unit of the altitude column {name!r} is not stated. Say which: --unit altitude=ft or --unit altitude=m"
            search.questions.append(Question(text, ("--unit altitude=ft",)))
            return
        del search.found["altitude"]
        search.unused[name] = "altitude without a unit"
        search.notes.append(Note(f"altitude is not used: the unit of {name!r} is not stated (--unit altitude=ft or m)"))


def _leave_out_unitless(search: _Search) -> None:
    """Quantities that are merely useful are left out where their unit is not stated."""
    left_out = [match for quantity, match in search.found.items() if quantity in FIELDS and match.unit is None]
    for match in left_out:
        del search.found[match.quantity]
        if not _is_taken(search, match.name):
            search.unused[match.name] = f"{match.quantity} without a unit"
    if left_out:
        listed = ", ".join(f"{match.name!r} ({match.quantity})" for match in left_out)
        choices = f"--unit {left_out[0].quantity}=... ({accepted_units(left_out[0].quantity)})"
        search.notes.append(Note(f"not used, as no unit is given: {listed}. Say which with {choices}"))
