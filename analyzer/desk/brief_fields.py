"""The fields of a brief at the desk, each bound to a slider, and the conditions that they ask for.

A field is what the option of the same meaning is on the command line; what it holds goes through the same understanding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from analyzer.brief.conditions import Conditions, asked_for
from analyzer.brief.patterns import shapes_of
from analyzer.desk.brief_values import BriefField
from analyzer.errors import BriefError
from analyzer.procedure.charted import Charted
from analyzer.procedure.schema import Procedure
from analyzer.procedure.values import Line
from analyzer.vocabulary import FLOWN_LEGS

__all__ = ["brief_fields", "conditions_of", "line_asked", "misses"]

_WIND, _TURNS, _LEGS, _AIR, _AFTER = (
    "Wind and speed", "Turns and outbound leg", "Speeds of single legs", "Air and altitude", "Missed approach and minimum",
)  # fmt: skip
# A round speed between the lowest and the highest of each category; common practice, no source.
_USUAL_KT: Mapping[str | None, float] = {"A": 90.0, "B": 110.0, "C": 140.0, "D": 160.0, "E": 180.0, None: 100.0}
_SPEED = BriefField("speed_kt", "Speed", "kt indicated", _WIND, 60.0, 250.0, 1.0, 30.0, 500.0, 100.0, "needed")
_ROWS = (
    BriefField("wind_from_deg", "Wind from", "° true", _WIND, 0.0, 360.0, 1.0, 0.0, 360.0, 0.0, "calm",
               "As in a forecast; a tower gives magnetic."),
    BriefField("wind_kt", "Wind speed", "kt", _WIND, 0.0, 60.0, 1.0, 0.0, 150.0, 0.0, "calm"),
    _SPEED,
    replace(_SPEED, name="final_kt", label="Speed on final", empty="as above", like="speed_kt"),
    BriefField("rate_deg_s", "Rate of turn", "°/s", _TURNS, 1.0, 4.0, 0.1, 0.3, 6.0, 3.0, "3, standard",
               "At most 30° of bank."),
    BriefField("bank_deg", "Bank", "°", _TURNS, 5.0, 30.0, 1.0, 3.0, 45.0, 20.0, "by the rate"),
    BriefField("outbound_nm", "Outbound leg", "NM", _TURNS, 0.5, 10.0, 0.1, 0.5, 30.0, 4.5, "chosen"),
    BriefField("outbound_s", "Outbound time", "s", _TURNS, 30.0, 240.0, 1.0, 10.0, 600.0, 60.0, "by length",
               "Instead of a length."),
    BriefField("keep_nm", "Keep inside the limit", "NM", _TURNS, 0.0, 5.0, 0.1, 0.0, 10.0, 1.0, "1"),
    BriefField("arrival_deg", "Course of arrival", "° magnetic", _TURNS, 0.0, 360.0, 1.0, 0.0, 360.0, 0.0, "straight out",
               "On which you reach the fix."),
    *(replace(_SPEED, name=f"{leg}_kt", label=f"Speed, {leg}", group=_LEGS, empty="as above", like="speed_kt")
      for leg in FLOWN_LEGS if leg != "final"),
    BriefField("qnh_hpa", "QNH", "hPa", _AIR, 950.0, 1050.0, 1.0, 800.0, 1100.0, 1013.0, "standard"),
    BriefField("temperature_c", "Temperature at the airfield", "°C", _AIR, -30.0, 45.0, 1.0, -60.0, 60.0, 15.0, "standard"),
    BriefField("altitude_ft", "Altitude", "ft", _AIR, 0.0, 15_000.0, 100.0, -1500.0, 60_000.0, 3000.0, "as charted",
               "Of legs without a charted one."),
    BriefField("climb_fpm", "Rate of climb", "ft/min", _AFTER, 200.0, 2000.0, 50.0, 50.0, 6000.0, 600.0, "200 ft/NM",
               "In the missed approach."),
)  # fmt: skip
_BY_NAME = {row.name: row for row in _ROWS}


def brief_fields(charted: Charted, texts: Mapping[str, str]) -> tuple[BriefField, ...]:
    """The fields that a chart asks for, with what was given. An empty form has the usual speed of the category."""
    usual = _USUAL_KT[charted.procedure.category]
    given = texts or {"speed_kt": f"{usual:g}", "wind_from_deg": "0", "wind_kt": "0"}
    rows = (row for row in _ROWS if not (row.name == "keep_nm" and charted.limit_m is None))
    rows = (row for row in rows if not (row.name == "climb_fpm" and charted.missed is None))
    return tuple(replace(row, text=given.get(row.name, "")) for row in (*rows, *_choices(charted)))


def _choices(charted: Charted) -> Iterator[BriefField]:
    """The fields with choices, where the chart leaves any."""
    first, *others = shapes_of(charted)
    if others:
        yield BriefField(
            "shape", "Kind of turn", "", _TURNS, choices=(("", f"{first}, the usual"), *zip(others, others, strict=True))
        )
    if charted.missed is not None:
        yield BriefField(
            "missed", "Plan goes on with", "", _AFTER, choices=(("", "the landing"), ("yes", "the missed approach"))
        )
    if any(line.line == "circling" for line in charted.procedure.minimums):
        yield BriefField("line", "Minimum", "", _AFTER, choices=(("", "straight-in"), ("circling", "circling")))


def line_asked(texts: Mapping[str, str], procedure: Procedure) -> Line:
    """The line of minimums that is asked for; straight in where the chart has no other."""
    circling = texts.get("line") == "circling" and any(line.line == "circling" for line in procedure.minimums)
    return "circling" if circling else "straight-in"


def misses(texts: Mapping[str, str]) -> bool:
    """Whether the plan goes on with the missed approach."""
    return texts.get("missed") == "yes"


def conditions_of(charted: Charted, texts: Mapping[str, str]) -> Conditions:
    """The conditions that a form asks for.

    Raises
    ------
    BriefError
        A field holds no number, or one that is not accepted; the message names the field.
    """
    value = {name: _value(_BY_NAME[name], texts.get(name, "")) for name in _BY_NAME}
    if value["speed_kt"] is None:
        raise BriefError("“Speed” is empty: give the indicated airspeed in knots")
    if value["outbound_nm"] is not None and value["outbound_s"] is not None:
        raise BriefError("“Outbound leg” and “Outbound time” both say how long it is: empty one of them")
    legs = [f"{leg}={value[f'{leg}_kt']:g}" for leg in FLOWN_LEGS if value[f"{leg}_kt"] is not None]
    wind = f"{value['wind_from_deg'] or 0.0:g}/{value['wind_kt']:g}" if value["wind_kt"] else None
    outbound = f"{value['outbound_s']:g}s" if value["outbound_s"] is not None else None
    outbound = f"{value['outbound_nm']:g}" if value["outbound_nm"] is not None else outbound
    rate, keep = value["rate_deg_s"], value["keep_nm"]
    return asked_for(
        charted,
        speeds=[f"{value['speed_kt']:g}", *legs],
        true_speeds=[],
        winds=[wind] if wind is not None else [],
        bank_deg=value["bank_deg"],
        rate_deg_s=3.0 if rate is None else rate,
        shape=texts.get("shape") or None,
        outbound=outbound,
        keep_nm=1.0 if keep is None else keep,
        arrival_deg=value["arrival_deg"],
        altitude_ft=value["altitude_ft"],
        air=(value["qnh_hpa"], value["temperature_c"]),
        climb_fpm=value["climb_fpm"],
    )


def _value(row: BriefField, text: str) -> float | None:
    """What a field holds, to two decimals; None where it is empty. Raises `BriefError`."""
    if not text.strip():
        return None
    try:
        number = float(text.strip().replace(",", "."))
    except ValueError:
        number = math.nan
    if not row.low <= number <= row.high:
        unit = row.unit if row.unit.startswith("°") else f" {row.unit}"
        raise BriefError(f"“{row.label}”: {text.strip()[:40]!r} must be a number from {row.low:,g} to {row.high:,g}{unit}")
    return round(number, 2) + 0.0
