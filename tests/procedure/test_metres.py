"""Procedure files in metres: the same procedure as in feet, and errors in the words of the file."""

import datetime as dt
import math
import tomllib
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wendle import COMPLETE, whole

from analyzer.errors import ProcedureError
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.read import read_procedure
from analyzer.procedure.schema import Procedure
from analyzer.procedure.write import procedure_toml

DAY = dt.date(2026, 11, 25)


def in_metres(value: Any) -> Any:
    """The tables with every key in feet as one in metres: a foot is 0.3048 m by definition."""
    if isinstance(value, list):
        return [in_metres(item) for item in value]
    if not isinstance(value, dict):
        return value
    return {
        f"{key[:-3]}_m" if key.endswith("_ft") else key: item * 0.3048 if key.endswith("_ft") else in_metres(item)
        for key, item in value.items()
    }


@pytest.fixture
def metres() -> dict[str, Any]:
    return {"units": {"altitude": "m"}, **in_metres(whole())}


def _plain(charted: Charted) -> dict[str, Any]:
    return {
        f.name: getattr(charted, f.name) for f in fields(charted) if f.name not in ("procedure", "altitude_unit", "warnings")
    }


def test_a_file_in_metres_is_the_same_procedure(metres):
    feet, metric = Procedure.model_validate(whole()), Procedure.model_validate(metres)
    assert metric.model_copy(update={"units": None}) == feet
    assert (feet.altitude_unit, metric.altitude_unit) == ("ft", "m")
    found = resolve(metric, DAY)
    assert _plain(found) == _plain(resolve(feet, DAY))
    assert (found.altitude_unit, resolve(feet, DAY).altitude_unit) == ("m", "ft")


def test_json_has_feet_and_the_unit(metres):
    shown = Procedure.model_validate(metres).to_json()
    assert shown.pop("units") == {"altitude": "m"}
    assert shown == Procedure.model_validate(whole()).to_json()
    assert shown["fixes"][1]["minimum_ft"] == 1300.0


def test_feet_may_be_said(tables):
    procedure = Procedure.model_validate({"units": {"altitude": "ft"}, **tables})
    assert procedure.altitude_unit == "ft"
    assert procedure.model_copy(update={"units": None}) == Procedure.model_validate(tables)


def test_what_is_written_reads_back_as_the_same(metres):
    for tables in (whole(), metres):
        procedure = Procedure.model_validate(tables)
        assert Procedure.model_validate(tomllib.loads(procedure_toml(procedure, "A remark."))) == procedure
    text = procedure_toml(Procedure.model_validate(metres), "A remark.")
    assert "_ft" not in text
    assert 'units = { altitude = "m" }' in text
    assert "arrival_m = 914.4\n" in text


@given(st.floats(-457.0, 18288.0))
def test_any_altitude_in_metres_is_kept_through_writing(altitude):
    tables = {**in_metres(COMPLETE), "units": {"altitude": "m"}}
    tables["altitudes"] = {"arrival_m": altitude}
    procedure = Procedure.model_validate(tables)
    read = procedure.altitudes.arrival_ft
    assert read is not None
    assert math.isclose(read * 0.3048, altitude, abs_tol=1e-6)
    assert Procedure.model_validate(tomllib.loads(procedure_toml(procedure, "x"))) == procedure


def fault(write, tables) -> str:
    path = write(tables)
    with pytest.raises(ProcedureError) as caught:
        read_procedure(path)
    return str(caught.value).removeprefix(f"{path}: ")


def test_feet_in_a_file_in_metres_and_metres_in_one_in_feet(write, tables, metres):
    metres["altitudes"]["inbound_ft"] = 2200
    assert fault(write, metres) == (
        '[altitudes] inbound_ft = 2200: unknown key; units = { altitude = "m" } at the top makes all altitudes metres: '
        "write inbound_m, in metres"
    )
    del metres["altitudes"]["inbound_ft"]
    metres["fixes"][1]["minimum_ft"] = 1300
    assert fault(write, metres).startswith("[[fixes]] 2 minimum_ft = 1300: unknown key; units = ")
    tables["altitudes"]["inbound_m"] = 700
    assert fault(write, tables) == (
        '[altitudes] inbound_m = 700: unknown key; write inbound_ft, in feet; units = { altitude = "m" } at the top makes all '
        "altitudes metres"
    )


@pytest.mark.parametrize(
    ("table", "key", "value", "said"),
    [
        ("altitudes", "arrival_m", 20000, "20000: too large; accepted: metres above mean sea level, -457 to 18288"),
        ("altitudes", "arrival_m", "900", '"900": not a number; accepted: metres above mean sea level, -457 to 18288'),
        ("altitudes", "arrival_m", True, "true: not a number; accepted: metres above mean sea level, -457 to 18288"),
        ("altitudes", "arrival_m", math.nan, "nan: not a finite number; accepted: metres above mean sea level, -457 to 18288"),
        ("runway", "length_m", 100, "100: too small; accepted: metres from 152 to 6096"),
        ("altitudes", "arival_m", 900, "900: unknown key; did you mean arrival_m?"),
        ("missed_approach", "climb_m", 1000, "1000: above altitude_m = 914.4; correct one"),
    ],
)
def test_faults_are_told_as_the_file_has_it(write, metres, table, key, value, said):
    metres[table][key] = value
    assert fault(write, metres) == f"[{table}] {key} = {said}"


def test_warnings_are_told_as_the_file_has_it(metres):
    metres["altitudes"]["inbound_m"] = 700.0
    said = "[altitudes] inbound_m = 700 is above reversal_m = 670.56"
    assert any(line.startswith(said) for line in Procedure.model_validate(metres).warnings)


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ({"altitude": "km"}, '[units] altitude = "km": not one of the choices; did you mean "m"? accepted: "ft" or "m"'),
        ("m", 'units = "m": not a table; accepted: a table with the keys altitude'),
        ({"speed": "kt"}, '[units] speed = "kt": unknown key; accepted: altitude'),
    ],
)
def test_units_that_are_none(write, tables, units, said):
    assert fault(write, {"units": units, **tables}) == said
